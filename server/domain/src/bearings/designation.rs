//! The basic number of a deep groove ball bearing, read into its boundary dimensions.
//!
//! Series 60, 62, 63, 68 (also written 618) and 69 (also written 619) with bore codes 00 to 20;
//! boundary dimensions of ISO 15:2017. The bore is five times the bore code from 04 on, and 10,
//! 12, 15, 17 mm for 00 to 03 (the numbering is common practice; ISO 15 gives the sizes).
//! What follows the basic number (seals, cage, precision) differs from maker to maker and is kept
//! as written; only the internal clearance group of ISO 5753-1 is read out of it.

use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// Radial internal clearance group (ISO 5753-1:2009), smallest clearance first.
    ClearanceGroup, "internal clearance group" {
        /// Less than normal.
        C2 = "C2",
        /// Normal, also meant when nothing is written.
        Cn = "CN",
        /// More than normal.
        C3 = "C3",
        /// More than C3.
        C4 = "C4",
        /// More than C4.
        C5 = "C5",
    }
}

/// The sizes by which bearings are interchangeable (ISO 15:2017).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BoundaryDimensions {
    /// Bore.
    pub bore: Length,
    /// Outside diameter.
    pub outside_diameter: Length,
    /// Width of one ring.
    pub width: Length,
}

/// A bearing's number, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Designation {
    /// The basic number in its short form, for example `6205` or `6805` (also for `61805`).
    pub basic: String,
    /// What follows the basic number, as written, without the separator; empty if nothing does.
    pub suffix: String,
    /// The internal clearance group, if the suffix says it.
    pub clearance: Option<ClearanceGroup>,
    /// The boundary dimensions.
    pub dimensions: BoundaryDimensions,
}

/// A number that names no bearing known here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{text:?} is not a known bearing number; nearest: {nearest}; allowed: series 60, 62, 63, \
     68 or 618, 69 or 619 with bore codes 00 to 20"
)]
pub struct DesignationError {
    /// What was given.
    pub text: String,
    /// The nearest number that is known.
    pub nearest: String,
}

/// One series: its digits, the long form of its digits, outside diameter and width by bore code.
struct Series {
    digits: &'static str,
    long_digits: Option<&'static str>,
    outside_diameter_and_width_mm: [(u8, u8); 21],
}

/// Bores of codes 00 to 03; from 04 on the bore is five times the code.
const SMALL_BORES_MM: [i64; 4] = [10, 12, 15, 17];
const BORE_CODES: usize = 21;

/// ISO 15:2017, dimension series 10, 02, 03, 18 and 19 (outside diameters over 255 do not occur).
#[rustfmt::skip]
const SERIES: [Series; 5] = [
    Series { digits: "60", long_digits: None, outside_diameter_and_width_mm: [
        (26, 8), (28, 8), (32, 9), (35, 10), (42, 12), (47, 12), (55, 13),
        (62, 14), (68, 15), (75, 16), (80, 16), (90, 18), (95, 18), (100, 18),
        (110, 20), (115, 20), (125, 22), (130, 22), (140, 24), (145, 24), (150, 24),
    ] },
    Series { digits: "62", long_digits: None, outside_diameter_and_width_mm: [
        (30, 9), (32, 10), (35, 11), (40, 12), (47, 14), (52, 15), (62, 16),
        (72, 17), (80, 18), (85, 19), (90, 20), (100, 21), (110, 22), (120, 23),
        (125, 24), (130, 25), (140, 26), (150, 28), (160, 30), (170, 32), (180, 34),
    ] },
    Series { digits: "63", long_digits: None, outside_diameter_and_width_mm: [
        (35, 11), (37, 12), (42, 13), (47, 14), (52, 15), (62, 17), (72, 19),
        (80, 21), (90, 23), (100, 25), (110, 27), (120, 29), (130, 31), (140, 33),
        (150, 35), (160, 37), (170, 39), (180, 41), (190, 43), (200, 45), (215, 47),
    ] },
    Series { digits: "68", long_digits: Some("618"), outside_diameter_and_width_mm: [
        (19, 5), (21, 5), (24, 5), (26, 5), (32, 7), (37, 7), (42, 7),
        (47, 7), (52, 7), (58, 7), (65, 7), (72, 9), (78, 10), (85, 10),
        (90, 10), (95, 10), (100, 10), (110, 13), (115, 13), (120, 13), (125, 13),
    ] },
    Series { digits: "69", long_digits: Some("619"), outside_diameter_and_width_mm: [
        (22, 6), (24, 6), (28, 7), (30, 7), (37, 9), (42, 9), (47, 9),
        (55, 10), (62, 12), (68, 12), (72, 12), (80, 13), (85, 13), (90, 13),
        (100, 16), (105, 16), (110, 16), (120, 18), (125, 18), (130, 18), (140, 20),
    ] },
];

impl Series {
    fn dimensions(&self, bore_code: usize) -> BoundaryDimensions {
        let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
        let (outside_diameter, width) = self.outside_diameter_and_width_mm[bore_code];
        let bore = SMALL_BORES_MM.get(bore_code).copied().unwrap_or(5 * bore_code as i64);
        BoundaryDimensions {
            bore: mm(bore),
            outside_diameter: mm(i64::from(outside_diameter)),
            width: mm(i64::from(width)),
        }
    }

    /// The bore code, if the number is of this series.
    fn bore_code(&self, number: &str) -> Option<usize> {
        let long = self.long_digits.and_then(|digits| number.strip_prefix(digits));
        let forms = [number.strip_prefix(self.digits), long];
        let code = forms.into_iter().flatten().find(|code| code.len() == 2)?;
        code.parse().ok().filter(|&code| code < BORE_CODES)
    }
}

/// Reads a bearing's number such as `6205`, `6205-C3` or `61805-2RS`.
///
/// ```
/// use tenths_domain::bearings::designation::{ClearanceGroup, parse};
/// let found = parse("6205-2RS-C3").unwrap();
/// assert_eq!(found.dimensions.bore.nm(), 25_000_000);
/// assert_eq!(found.suffix, "2RS-C3");
/// assert_eq!(found.clearance, Some(ClearanceGroup::C3));
/// assert_eq!(parse("6221").unwrap_err().nearest, "6220");
/// ```
pub fn parse(text: &str) -> Result<Designation, DesignationError> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    let found = SERIES.iter().find_map(|series| Some((series, series.bore_code(number)?)));
    let (series, bore_code) = found
        .ok_or_else(|| DesignationError { text: text.to_owned(), nearest: nearest(number) })?;
    let suffix = rest.trim_start_matches(SEPARATORS).trim_end();
    Ok(Designation {
        basic: format!("{}{bore_code:02}", series.digits),
        suffix: suffix.to_owned(),
        clearance: suffix.split(SEPARATORS).find_map(|part| part.parse().ok()),
        dimensions: series.dimensions(bore_code),
    })
}

/// What may stand between a basic number and its suffixes.
const SEPARATORS: [char; 3] = ['-', '/', ' '];

/// The known number with the fewest digits to change, then the least difference as a number.
fn nearest(number: &str) -> String {
    let known = SERIES.iter().flat_map(|series| {
        let forms = [Some(series.digits), series.long_digits].into_iter().flatten();
        forms.flat_map(|digits| (0..BORE_CODES).map(move |code| format!("{digits}{code:02}")))
    });
    let number = &number[..number.len().min(NUMBER_LENGTH_MAX)];
    let value: i64 = number.parse().unwrap_or(0);
    known
        .min_by_key(|name| {
            let difference = name.parse::<i64>().map_or(i64::MAX, |name| (name - value).abs());
            (edits(number.as_bytes(), name.as_bytes()), difference)
        })
        .expect("some numbers are known")
}

/// Longer numbers are cut before the nearest is sought: it bounds the work.
const NUMBER_LENGTH_MAX: usize = 12;

/// The least number of digits to change, add or drop between two numbers.
fn edits(from: &[u8], to: &[u8]) -> usize {
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in to.iter().enumerate() {
            let changed = diagonal + usize::from(a != b);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn suffixes_are_split_off_and_kept_as_written() {
        for (text, basic, suffix, clearance) in [
            ("6205", "6205", "", None),
            ("6205-C3", "6205", "C3", Some(ClearanceGroup::C3)),
            ("6205/C4", "6205", "C4", Some(ClearanceGroup::C4)),
            ("6205ZZ CN", "6205", "ZZ CN", Some(ClearanceGroup::Cn)),
            ("61805-2RS", "6805", "2RS", None),
            ("6905-C3X", "6905", "C3X", None),
            ("61920", "6920", "", None),
        ] {
            let found = parse(text).unwrap();
            assert_eq!(
                (found.basic.as_str(), found.suffix.as_str(), found.clearance),
                (basic, suffix, clearance),
                "{text}"
            );
        }
    }

    #[test]
    fn an_unknown_number_names_the_nearest() {
        for (text, wanted) in [
            ("6221", "6220"),
            ("6105", "6005"),
            ("6321-C3", "6320"),
            ("62055", "6205"),
            ("608", "6008"),
            ("", "6000"),
            ("61821", "61820"),
        ] {
            let error = parse(text).unwrap_err();
            assert_eq!(error.nearest, wanted, "{text}");
            assert!(parse(&error.nearest).is_ok());
            assert!(error.to_string().contains("bore codes 00 to 20"));
        }
    }
}
