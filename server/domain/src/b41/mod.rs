//! ANSI B4.1-1967 (R), preferred limits and fits for cylindrical parts, in inches: from a fit class
//! such as `RC4` and a nominal size to the limits of hole and shaft and the clearance between them.
//!
//! Fits are on the basic hole. Limits are printed in thousandths of an inch to two places, which are
//! whole nanometres (0.01 thousandth is 254 nm), so every answer is exact. Steps are "over .. to":
//! a step includes its upper end. The standard's surprises, all kept as printed and noted on the
//! answer ([`B41Fit::note`]): two clearances of LC8 that do not follow from the limits beside them,
//! and tolerances of LC1, LT1, LT2 and LN1 that are not their grade's; LT3 and LT4 begin over
//! 0.24 in, FN3 over 0.95 in.
//!
//! Metric classes (ISO 286) live in [`crate::iso286`].

mod class;
mod irregular;
mod tables;

pub use class::{FitClass, FitClassParseError, FitFamily};
use tables::{Row, TABLES, Table};

use crate::fit::ClearanceWindow;
use crate::iso286::{Deviations, millimetres};
use crate::named::named_enum;
use crate::units::{Length, Unit};

/// One hundredth of an inch, the unit of the size steps.
const STEP_UNIT_NM: i64 = 254_000;
/// One hundredth of a thousandth of an inch, the unit of the limits.
const LIMIT_UNIT_NM: i64 = 254;

/// A standard inch fit at a nominal size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct B41Fit {
    /// The class asked for.
    pub class: FitClass,
    /// The nominal size asked for.
    pub nominal: Length,
    /// Lower end of the size step, exclusive.
    pub over: Length,
    /// Upper end of the size step, inclusive.
    pub to: Length,
    /// Limit deviations of the hole.
    pub hole: Deviations,
    /// Limit deviations of the shaft.
    pub shaft: Deviations,
    /// Smallest hole minus largest shaft; negative is interference.
    pub min_clearance: Length,
    /// Largest hole minus smallest shaft.
    pub max_clearance: Length,
    /// The minimum clearance as printed; it differs from the above only where a note says so.
    pub printed_min_clearance: Length,
    /// The maximum clearance as printed; it differs from the above only where a note says so.
    pub printed_max_clearance: Length,
    /// What is irregular about this row as printed.
    pub note: Option<&'static str>,
    /// The hole's symbol in the American-British-Canadian system, such as `H8`.
    pub hole_symbol: &'static str,
    /// The shaft's symbol, such as `f7`; RC9, LC10, LC11 and FN1 have none.
    pub shaft_symbol: Option<&'static str>,
    /// Standard, edition and table, and the handbook that prints it.
    pub source: &'static str,
    /// Known from memory alone, wholly or in one limit: say so beside the answer.
    pub unconfirmed: bool,
}

/// A question that ANSI B4.1 has no answer to.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum B41Error {
    /// The class has no values at this size.
    #[error("fit class {class} has no values for {} ({}); allowed: over {} to {}{}",
        nominal.display(Unit::Inch, 5), millimetres(*nominal), over.number(Unit::Inch, 2),
        to.display(Unit::Inch, 2), offer(*nearest))]
    SizeNotCovered {
        /// The class asked for.
        class: FitClass,
        /// The nominal size asked for.
        nominal: Length,
        /// The class begins over this size.
        over: Length,
        /// The class ends at this size, inclusive.
        to: Length,
        /// The nearest class of the same kind that has values, if any has.
        nearest: Option<FitClass>,
    },
}

fn offer(nearest: Option<FitClass>) -> String {
    nearest.map_or_else(String::new, |class| format!("; the nearest class that does is {class}"))
}

/// The fit of a class at a nominal size.
///
/// ```
/// use tenths_domain::b41::fit;
/// use tenths_domain::units::Length;
/// // RC4 at 1 in: hole +1.2 0, shaft -0.8 -1.6 thousandths; clearance 0.8 to 2.8.
/// let rc4 = fit(Length::from_nm(25_400_000), "RC4".parse().unwrap()).unwrap();
/// assert_eq!((rc4.hole.upper.nm(), rc4.shaft.lower.nm()), (30_480, -40_640));
/// assert_eq!((rc4.min_clearance.nm(), rc4.max_clearance.nm()), (20_320, 71_120));
/// ```
pub fn fit(nominal: Length, class: FitClass) -> Result<B41Fit, B41Error> {
    let table = &TABLES[class.index()];
    let (over, row) = find(table, nominal).ok_or_else(|| refused(nominal, class, table))?;
    let limit = |units: i16| Length::from_nm(i64::from(units) * LIMIT_UNIT_NM);
    let hole = Deviations { lower: Length::ZERO, upper: limit(row.hole_upper) };
    let shaft = Deviations { lower: limit(row.shaft_lower), upper: limit(row.shaft_upper) };
    let (min_clearance, max_clearance) = (hole.lower - shaft.upper, hole.upper - shaft.lower);
    let irregularity = irregular::irregularity(class, row.to);
    let printed_min = irregularity.and_then(|found| found.printed_min);
    let printed_max = irregularity.and_then(|found| found.printed_max);
    Ok(B41Fit {
        class,
        nominal,
        over: size(over),
        to: size(row.to),
        hole,
        shaft,
        min_clearance,
        max_clearance,
        printed_min_clearance: printed_min.map_or(min_clearance, limit),
        printed_max_clearance: printed_max.map_or(max_clearance, limit),
        note: irregularity.map(|found| found.note),
        hole_symbol: table.hole_symbol,
        shaft_symbol: table.shaft_symbol,
        source: table.source,
        unconfirmed: !row.is_read,
    })
}

fn size(hundredths: u16) -> Length {
    Length::from_nm(i64::from(hundredths) * STEP_UNIT_NM)
}

/// The row that covers a size, with the lower end of its step.
fn find(table: &'static Table, nominal: Length) -> Option<(u16, &'static Row)> {
    if nominal <= size(table.over) {
        return None;
    }
    let index = table.rows.partition_point(|row| size(row.to) < nominal);
    let over = if index == 0 { table.over } else { table.rows[index - 1].to };
    table.rows.get(index).map(|row| (over, row))
}

#[cold]
fn refused(nominal: Length, class: FitClass, table: &Table) -> B41Error {
    let covers = |other: &FitClass| {
        other.family() == class.family() && find(&TABLES[other.index()], nominal).is_some()
    };
    let distance = |other: &FitClass| (other.number().abs_diff(class.number()), other.number());
    B41Error::SizeNotCovered {
        class,
        nominal,
        over: size(table.over),
        to: table.rows.last().map_or(size(table.over), |row| size(row.to)),
        nearest: FitClass::ALL.into_iter().filter(covers).min_by_key(distance),
    }
}

named_enum! {
    /// What one value behind an inch fit is.
    B41What, "step of an explanation" {
        /// Lower limit deviation of the hole, printed.
        HoleLower = "hole_lower",
        /// Upper limit deviation of the hole, printed.
        HoleUpper = "hole_upper",
        /// Lower limit deviation of the shaft, printed.
        ShaftLower = "shaft_lower",
        /// Upper limit deviation of the shaft, printed.
        ShaftUpper = "shaft_upper",
        /// Smallest hole minus largest shaft, worked out.
        MinClearance = "min_clearance",
        /// Largest hole minus smallest shaft, worked out.
        MaxClearance = "max_clearance",
    }
}

/// One value behind an inch fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct B41Step {
    /// What the value is.
    pub what: B41What,
    /// The value, signed.
    pub value: Length,
    /// Standard, edition, table and size step; or the difference that gives the value, with what is
    /// printed where that differs.
    pub source: String,
    /// Known from memory alone, wholly or in one limit of the row.
    pub unconfirmed: bool,
}

impl B41Fit {
    /// The clearances that the limits allow, as a window that a fit can be judged against.
    pub const fn window(&self) -> ClearanceWindow {
        ClearanceWindow { min: self.min_clearance, max: self.max_clearance }
    }

    /// Every value behind the fit: the four limits taken, then the two clearances worked out.
    ///
    /// ```
    /// use tenths_domain::b41::{B41What, fit};
    /// use tenths_domain::units::Length;
    /// let lc8 = fit(Length::from_nm(2_540_000), "LC8".parse().unwrap()).unwrap();
    /// let last = lc8.explain().pop().unwrap();
    /// assert_eq!((last.what, last.value.nm()), (B41What::MaxClearance, 91_440));
    /// assert!(last.source.contains("printed: 2.00 thou"), "{}", last.source);
    /// ```
    pub fn explain(&self) -> Vec<B41Step> {
        let [over, to] = [self.over, self.to].map(|end| end.number(Unit::Inch, 2));
        let table = format!("{}: {} over {over} to {to} in", self.source, self.class);
        let clearance = |sum: &str, value: Length, printed: Length| {
            if printed == value {
                return sum.to_owned();
            }
            format!("{sum}; printed: {}", printed.display(Unit::Thou, 2))
        };
        let min = clearance(
            "hole lower minus shaft upper",
            self.min_clearance,
            self.printed_min_clearance,
        );
        let max = clearance(
            "hole upper minus shaft lower",
            self.max_clearance,
            self.printed_max_clearance,
        );
        [
            (B41What::HoleLower, self.hole.lower, table.clone()),
            (B41What::HoleUpper, self.hole.upper, table.clone()),
            (B41What::ShaftLower, self.shaft.lower, table.clone()),
            (B41What::ShaftUpper, self.shaft.upper, table),
            (B41What::MinClearance, self.min_clearance, min),
            (B41What::MaxClearance, self.max_clearance, max),
        ]
        .map(|(what, value, source)| B41Step { what, value, source, unconfirmed: self.unconfirmed })
        .into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(nm: i64, class: &str) -> Result<B41Fit, B41Error> {
        fit(Length::from_nm(nm), class.parse().unwrap())
    }

    #[test]
    fn a_step_includes_its_upper_end_and_not_its_lower() {
        // 1.19 in is 30.226 mm: RC4 over 0.71 to 1.19 in, then over 1.19 to 1.97 in.
        assert_eq!(ask(30_226_000, "RC4").unwrap().hole.upper.nm(), 30_480);
        assert_eq!(ask(30_226_001, "RC4").unwrap().hole.upper.nm(), 40_640);
        // 19.69 in is 500.126 mm, the end of the tables.
        assert_eq!(ask(500_126_000, "RC4").unwrap().hole.upper.nm(), 101_600);
    }

    #[test]
    fn a_refusal_names_the_class_the_size_and_what_is_allowed() {
        for (nm, class, wanted) in [
            (0, "RC4", "RC4 has no values for 0.00000 in (0 mm); allowed: over 0.00 to 19.69 in"),
            (-1, "FN2", "FN2 has no values for 0.00000 in (-0.000001 mm); allowed: over 0.00"),
            (500_126_001, "LN1", "for 19.69000 in (500.126001 mm); allowed: over 0.00 to 19.69 in"),
            (
                6_096_000,
                "LT3",
                "allowed: over 0.24 to 19.69 in; the nearest class that does is LT2",
            ),
            (
                6_096_000,
                "LT4",
                "allowed: over 0.24 to 19.69 in; the nearest class that does is LT5",
            ),
            (
                24_130_000,
                "FN3",
                "allowed: over 0.95 to 19.69 in; the nearest class that does is FN2",
            ),
        ] {
            let message = ask(nm, class).unwrap_err().to_string();
            assert!(message.contains(wanted), "{message}");
        }
        assert!(!ask(0, "RC4").unwrap_err().to_string().contains("nearest"));
        assert!(ask(6_096_001, "LT3").is_ok() && ask(24_130_001, "FN3").is_ok());
    }

    #[test]
    fn a_fit_is_a_window_of_clearance_of_its_kind() {
        use crate::fit::FitKind;
        let kind = |class: &str| ask(25_400_000, class).unwrap().window().kind();
        assert_eq!(kind("RC1"), FitKind::Clearance);
        assert_eq!(kind("LT3"), FitKind::Transition);
        assert_eq!(kind("FN2"), FitKind::Interference);
    }
}
