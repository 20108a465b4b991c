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

/// Two lengths as a range.
pub fn range(lower: Length, upper: Length, unit: Unit) -> String {
    format!("{}..{}", lower.number(unit, lower.places_in(unit)), upper.display_in(unit))
}
