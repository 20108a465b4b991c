//! The basic number of a deep groove ball bearing, read into its boundary dimensions.
//!
//! Series 60, 62, 63, 68 (also written 618) and 69 (also written 619), with bore codes 00 to 40
//! (63: to 36) and with the bore itself (`608`, `62/22`, `618/2.5`): the tables and how numbers are written are
//! in `series`, the sizes are those of ISO 15:2017. What follows the basic number is read only as
//! far as the standards and plain trade custom go (see [`Closure`]); the rest differs from maker to
//! maker, is kept as written and is said to be uninterpreted.

pub use super::boundary::BoundaryDimensions;
use super::boundary::SOURCE;
pub use super::iso5753::ClearanceGroup;
use super::nearest::nearest;
use super::series::{Entry, SERIES};
pub use super::suffix::Closure;
use super::suffix::{self, SEPARATORS};

/// A bearing's number, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Designation {
    /// The basic number in its short form, for example `6205` or `6805` (also for `61805`).
    pub basic: String,
    /// What follows the basic number, as written, without the separator; empty if nothing does.
    pub suffix: String,
    /// The internal clearance group, if the suffix says it; nothing said means CN, unless
    /// `unknown_group` says something.
    pub clearance: Option<ClearanceGroup>,
    /// What is written where a clearance group would be, if it is none of ISO 5753-1 (`C6`) or more
    /// than one (`C3 C4`): never taken as CN.
    pub unknown_group: Option<String>,
    /// Seals or shields, if the suffix says it; nothing said means open.
    pub closure: Option<Closure>,
    /// The parts of the suffix that were not interpreted, as written.
    pub uninterpreted: Vec<String>,
    /// The boundary dimensions.
    pub dimensions: BoundaryDimensions,
    /// The published table that the boundary dimensions rest on.
    pub source: &'static str,
    /// Whether the boundary dimensions are known from memory alone: say so beside them.
    pub is_unconfirmed: bool,
}

/// A number that names no bearing known here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{text:?} is not a known bearing number; nearest: {nearest}; allowed: single-row deep groove \
     ball bearings, series 60, 62, 63, 68 or 618, 69 or 619 with bore codes 00 to 22 and even ones \
     to 40 (63: to 36), or with the bore itself as in 608, 62/22, 618/2.5"
)]
pub struct DesignationError {
    /// What was given.
    pub text: String,
    /// The nearest number that is known.
    pub nearest: String,
}

/// Reads a bearing's number such as `6205`, `6205-C3`, `61805-2RS` or `62/22 ZZ`.
///
/// ```
/// use tenths_domain::bearings::designation::{ClearanceGroup, Closure, parse};
/// let found = parse("6205-2RS-C3-P63").unwrap();
/// assert_eq!(found.dimensions.bore.nm(), 25_000_000);
/// assert_eq!(found.suffix, "2RS-C3-P63");
/// assert_eq!(found.clearance, Some(ClearanceGroup::C3));
/// assert_eq!(found.closure, Some(Closure::SealBothSides));
/// assert_eq!(found.uninterpreted, ["P63"]);
/// assert_eq!(parse("6223").unwrap_err().nearest, "6222");
/// ```
pub fn parse(text: &str) -> Result<Designation, DesignationError> {
    let trimmed = text.trim();
    let (entry, rest) = split(trimmed).ok_or_else(|| DesignationError {
        text: text.to_owned(),
        nearest: nearest(written_number(trimmed)),
    })?;
    let suffix = rest.trim_start_matches(SEPARATORS);
    let read = suffix::read(suffix);
    Ok(Designation {
        basic: entry.basic,
        suffix: suffix.to_owned(),
        clearance: read.clearance,
        unknown_group: read.unknown_group,
        closure: read.closure,
        uninterpreted: read.uninterpreted,
        dimensions: entry.dimensions,
        source: SOURCE,
        is_unconfirmed: entry.is_from_memory,
    })
}

/// The bearing that a text begins with, and what follows it.
fn split(text: &str) -> Option<(Entry, &str)> {
    let whole = head(text);
    let figures = &text[..digits_end(text)];
    // A 2 run on to the number belongs to the seals or shields: 62052RS, 6082Z.
    let run_on = ["2RS", "2Z"].iter().any(|word| {
        let start = figures.len().checked_sub(1);
        start.is_some_and(|start| text[start..].to_ascii_uppercase().starts_with(word))
    });
    let heads = [Some(whole), Some(figures), run_on.then(|| &figures[..figures.len() - 1])];
    heads.into_iter().flatten().find_map(|head| Some((named(head)?, &text[head.len()..])))
}

/// What was meant as the number, a slip of the pen included: `62O5`, `-6205`.
fn written_number(text: &str) -> &str {
    let text = text.trim_start_matches(|c: char| !c.is_ascii_alphanumeric());
    let number = head(text);
    let word = text.split(['-', ' ']).next().unwrap_or_default();
    if word.len() > number.len() { word } else { number }
}

/// The figures a text begins with, and a bore behind a stroke if there is one.
fn head(text: &str) -> &str {
    let figures = digits_end(text);
    let Some(behind) = text[figures..].strip_prefix('/') else { return &text[..figures] };
    let bore = behind.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(behind.len());
    // A 2 behind the stroke may begin the seals: 6205/2RS.
    if bore == 0 { &text[..figures] } else { &text[..figures + 1 + bore] }
}

fn digits_end(text: &str) -> usize {
    text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len())
}

fn named(number: &str) -> Option<Entry> {
    SERIES.iter().find_map(|series| {
        series.forms().find_map(|(digits, is_long)| {
            number.strip_prefix(digits).and_then(|rest| series.named(rest, is_long))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, basic: &str, suffix: &str) -> Designation {
        let found = parse(text).unwrap();
        assert_eq!((found.basic.as_str(), found.suffix.as_str()), (basic, suffix), "{text}");
        found
    }

    #[test]
    fn suffixes_are_split_off_and_kept_as_written() {
        for (text, basic, suffix, clearance) in [
            ("6205", "6205", "", None),
            (" 6205 ", "6205", "", None),
            ("6205-C3", "6205", "C3", Some(ClearanceGroup::C3)),
            ("6205/C4", "6205", "C4", Some(ClearanceGroup::C4)),
            ("6205 c3", "6205", "c3", Some(ClearanceGroup::C3)),
            ("6205ZZ CN", "6205", "ZZ CN", Some(ClearanceGroup::Cn)),
            ("6205ZZC3", "6205", "ZZC3", Some(ClearanceGroup::C3)),
            ("61805-2RS", "6805", "2RS", None),
            ("6905-C3X", "6905", "C3X", None),
            ("61920", "6920", "", None),
        ] {
            assert_eq!(check(text, basic, suffix).clearance, clearance, "{text}");
        }
    }

    #[test]
    fn a_bore_may_be_written_out() {
        for (text, basic, suffix) in [
            ("608", "608", ""),
            ("608-2Z/C3", "608", "2Z/C3"),
            ("618/8", "688", ""),
            ("68/8", "688", ""),
            ("688", "688", ""),
            ("618/2.5", "68/2.5", ""),
            ("62/22", "62/22", ""),
            ("62/22-2RS", "62/22", "2RS"),
            ("6222RS", "6222", "RS"),
            ("623RS", "623", "RS"),
            ("6252RS", "625", "2RS"),
            ("6232RS", "6232", "RS"),
            ("62322RS", "6232", "2RS"),
            ("62502RS", "625", "never"),
            ("6205/2RS", "6205", "2RS"),
            ("62052RS", "6205", "2RS"),
            ("6082Z", "608", "2Z"),
            ("6202RS", "6202", "RS"),
        ] {
            match suffix {
                "never" => assert!(parse(text).is_err(), "{text}"),
                _ => assert_eq!(check(text, basic, suffix).uninterpreted, [""; 0], "{text}"),
            }
        }
        for text in ["6188", "62/23", "62/", "618/22.", "/22", "60/3"] {
            assert!(parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn seals_and_shields_are_read_and_the_rest_is_said_to_be_uninterpreted() {
        let none: &[&str] = &[];
        for (suffix, closure, uninterpreted) in [
            ("", None, none),
            ("-Z", Some(Closure::ShieldOneSide), none),
            ("-ZZ", Some(Closure::ShieldBothSides), none),
            ("-2Z", Some(Closure::ShieldBothSides), none),
            ("-2RS", Some(Closure::SealBothSides), none),
            ("RS", Some(Closure::SealOneSide), none),
            (" sealed C3", Some(Closure::SealBothSides), none),
            (" shielded", Some(Closure::ShieldBothSides), none),
            (" open", Some(Closure::Open), none),
            ("-2RS1", Some(Closure::SealBothSides), &["1 of 2RS1"]),
            ("-2RS1/C3", Some(Closure::SealBothSides), &["1 of 2RS1"]),
            ("-Z2", Some(Closure::ShieldOneSide), &["2 of Z2"]),
            ("2RS1C3", Some(Closure::SealBothSides), &["1 of 2RS1C3"]),
            ("-2RSX", None, &["2RSX"]),
            ("-2RS-XY/C3-T9", Some(Closure::SealBothSides), &["XY", "T9"]),
            ("-ZZ-2Z", Some(Closure::ShieldBothSides), none),
            // Contradictions are left to the reader.
            ("-ZZ-2RS", None, &["ZZ", "2RS"]),
        ] {
            let found = parse(&format!("6205{suffix}")).unwrap();
            assert_eq!(found.closure, closure, "{suffix}");
            assert_eq!(found.uninterpreted, uninterpreted, "{suffix}");
        }
        let torn = parse("6205-C3-C4").unwrap();
        assert_eq!((torn.clearance, torn.uninterpreted.len()), (None, 2));
        assert_eq!(torn.unknown_group.as_deref(), Some("C3 C4"));
        for (text, unknown) in [
            ("6205-C1", Some("C1")),
            ("6205 2Z/c6", Some("c6")),
            ("6205ZZC6", Some("C6")),
            ("6205-C3", None),
        ] {
            let found = parse(text).unwrap();
            assert_eq!(found.unknown_group.as_deref(), unknown, "{text}");
            assert_eq!(found.clearance.is_some(), unknown.is_none(), "{text}");
        }
        assert_eq!(parse("6205-2RS1/C3").unwrap().clearance, Some(ClearanceGroup::C3));
    }

    #[test]
    fn an_unknown_number_names_the_nearest() {
        for (text, wanted) in [
            ("6223", "6222"),
            ("6105", "6005"),
            ("6323-C3", "6322"),
            ("6342", "6332"),
            // Angular contact and cylindrical roller bearings are not kept.
            ("7205", "6205"),
            ("NU205", "6205"),
            ("62055", "6205"),
            ("62/23", "62/22"),
            ("61823", "61822"),
            ("618/2.6", "618/2.5"),
        ] {
            let error = parse(text).unwrap_err();
            assert_eq!(error.nearest, wanted, "{text}");
            assert!(parse(&error.nearest).is_ok());
            assert!(error.to_string().contains("bore codes 00 to 22"));
        }
        for text in ["", "x", "\u{b5}\u{2205}", "999999999999999999999999", "/"] {
            assert!(parse(&parse(text).unwrap_err().nearest).is_ok(), "{text}");
        }
    }
}
