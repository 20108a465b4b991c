//! Lengths and tolerances as cells: `25 mm`, `15/16 in`, `k5`, `ring:normal`, `24.98..25 mm`.

use tenths_domain::item::{Limits, Tolerance};
use tenths_domain::units::{Entry, Length, Unit};

/// What stands before an ISO 492 class, to tell `5` from a tolerance class.
const RING: &str = "ring:";
const ALLOWED: &str = "allowed: empty, a class such as k5 or H7, ring:normal, or limits such as \
                       24.98..25 mm";

/// A size with its unit.
pub(super) fn size(text: &str) -> Result<Entry, String> {
    Entry::parse_with_suffix(text, None).map_err(|error| error.to_string())
}

/// How the limits of a feature are given.
pub(super) fn tolerance(text: &str) -> Result<Tolerance, String> {
    if let Some(class) = text.strip_prefix(RING) {
        return class.trim().parse().map(Tolerance::Iso492).map_err(|error| refused(&error));
    }
    let Some((lower, upper)) = text.split_once("..") else {
        return text.parse().map(Tolerance::Class).map_err(|error| refused(&error));
    };
    let upper = size(upper).map_err(|error| refused(&error))?;
    let lower =
        Entry::parse_with_suffix(lower, Some(upper.unit)).map_err(|error| refused(&error))?;
    Ok(Tolerance::Explicit(Limits { lower: lower.length, upper: upper.length }))
}

fn refused(error: &impl std::fmt::Display) -> String {
    format!("{error}; {ALLOWED}")
}

/// The cell that [`tolerance`] reads as this tolerance.
pub(super) fn tolerance_text(tolerance: &Tolerance, unit: Unit) -> String {
    match tolerance {
        Tolerance::None => String::new(),
        Tolerance::Class(class) => class.to_string(),
        Tolerance::Iso492(class) => format!("{RING}{class}"),
        Tolerance::Explicit(limits) => {
            let both = |unit| Some((exact(limits.lower, unit)?, exact(limits.upper, unit)?, unit));
            let fine = Unit::Millimetre;
            let (lower, upper, unit) = both(unit)
                .unwrap_or_else(|| (nanometres(limits.lower), nanometres(limits.upper), fine));
            format!("{lower}..{upper} {unit}")
        }
    }
}

/// A length in `unit` if that is exact, else in millimetres, which always are.
pub(super) fn exact_text(length: Length, unit: Unit) -> String {
    match exact(length, unit) {
        Some(number) => format!("{number} {unit}"),
        None => format!("{} {}", nanometres(length), Unit::Millimetre),
    }
}

/// The number in `unit`, if it has few enough places to be entered again.
fn exact(length: Length, unit: Unit) -> Option<String> {
    let number = length.number(unit, unit.places_max());
    let again = Entry::parse_signed(&number, unit).ok()?;
    (again.length == length).then(|| without_zeros(&number))
}

fn nanometres(length: Length) -> String {
    without_zeros(&length.number(Unit::Millimetre, Unit::Millimetre.places_max()))
}

/// Without the zeros at the end of its decimal places; every number here has some places.
fn without_zeros(number: &str) -> String {
    number.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tolerances_read_back_from_what_is_written() {
        for (text, unit, written) in [
            ("k5", Unit::Millimetre, "k5"),
            ("ring:normal", Unit::Millimetre, "ring:normal"),
            ("ring: 5", Unit::Millimetre, "ring:5"),
            ("24.980..25.000 mm", Unit::Millimetre, "24.98..25 mm"),
            ("0.98425..0.9850in", Unit::Inch, "0.98425..0.985 in"),
            // Limits in another unit than the nominal size, and a fraction finer than 0.00001 in.
            ("24.987..25.001 mm", Unit::Inch, "24.987..25.001 mm"),
            ("15/64..1/4 in", Unit::Inch, "5.953125..6.35 mm"),
        ] {
            let read = tolerance(text).unwrap();
            assert_eq!(tolerance_text(&read, unit), written);
            assert_eq!(tolerance(written), Ok(read), "{text}");
        }
    }

    #[test]
    fn what_is_no_tolerance_says_what_is_allowed() {
        for text in ["ring:soft", "q", "1..2", "..", "1 mm..2", "-1..2 mm", "24.98..25 mm..26 mm"] {
            let reason = tolerance(text).unwrap_err();
            assert!(reason.ends_with(ALLOWED), "{text}: {reason}");
        }
    }

    #[test]
    fn a_length_is_written_in_its_unit_or_exactly() {
        for (nm, unit, written) in [
            (25_400_000, Unit::Inch, "1 in"),
            (76_200, Unit::Thou, "3 thou"),
            (396_875, Unit::Inch, "0.396875 mm"),
            (20_000_000, Unit::Inch, "20 mm"),
        ] {
            assert_eq!(exact_text(Length::from_nm(nm), unit), written);
            assert_eq!(size(written).unwrap().length.nm(), nm);
        }
    }
}
