//! Values behind an answer, with where they come from.

use tenths_domain::assembly::Source;
use tenths_domain::units::{Length, Unit};

/// A value behind an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// What the value is.
    pub what: String,
    /// The value as text with its unit.
    pub value: String,
    /// Standard, edition and table, or the formula.
    pub source: String,
    /// Whether it is known from memory alone.
    pub unconfirmed: bool,
}

impl Trace {
    /// A value of a published table.
    pub fn table(what: &str, value: impl Into<String>, source: &str, unconfirmed: bool) -> Self {
        Trace { what: what.to_owned(), value: value.into(), source: source.to_owned(), unconfirmed }
    }

    /// A value of a formula or of practice.
    pub fn of(what: &str, value: impl Into<String>, source: Source) -> Self {
        Trace::table(what, value, source.text, !source.is_confirmed)
    }
}

/// A small length as people speak of it: micrometres, or thou where inches are spoken.
pub fn fine(length: Length, unit: Unit) -> String {
    match unit {
        Unit::Inch | Unit::Thou => length.display(Unit::Thou, 2),
        Unit::Millimetre | Unit::Micrometre => length.display(Unit::Micrometre, 1),
    }
}

/// Two lengths as a range, both to as many places as the one that needs more; one length where both
/// are the same.
pub fn range(lower: Length, upper: Length, unit: Unit) -> String {
    if lower == upper {
        return upper.display_in(unit);
    }
    let places = lower.places_in(unit).max(upper.places_in(unit));
    format!("{}..{}", lower.number(unit, places), upper.display(unit, places))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_of_a_range_have_as_many_places_and_one_size_stands_once() {
        let nm = Length::from_nm;
        assert_eq!(range(nm(0), nm(32_004), Unit::Inch), "0.00000..0.00126 in");
        assert_eq!(range(nm(-2_540), nm(2_540), Unit::Inch), "-0.0001..0.0001 in");
        assert_eq!(range(nm(25_003_000), nm(25_003_000), Unit::Millimetre), "25.0030 mm");
    }
}
