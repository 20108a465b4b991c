//! How much clearance a plain bearing should run with: four rules of thumb that disagree, or stated
//! limits.
//!
//! All four are in use side by side (a motor repair association's article in a plant engineering
//! magazine, June 2016, read at a web copy); which one holds is the shop's choice by application,
//! so none is the default.

use crate::fit::{ClearanceWindow, FitError};
use crate::named::named_enum;
use crate::units::Length;
use crate::units::rounding::divide_half_even;

/// One thou.
const THOU_NM: i64 = 25_400;

named_enum! {
    /// A rule for the diametral running clearance of a plain bearing.
    RunningRule, "running clearance rule" {
        /// 0.001 in, and 0.001 in per inch of journal.
        OneThouAndOnePerInch = "one_thou_and_one_per_inch",
        /// 0.002 in, and 0.001 in per inch of journal.
        TwoThouAndOnePerInch = "two_thou_and_one_per_inch",
        /// 0.0015 in per inch of journal.
        ThouAndHalfPerInch = "thou_and_half_per_inch",
        /// 0.002 in per inch of journal.
        TwoThouPerInch = "two_thou_per_inch",
    }
}

impl RunningRule {
    /// The clearance for a journal, on diameter, rounded once to the nanometre.
    ///
    /// ```
    /// use tenths_domain::bushings::RunningRule;
    /// use tenths_domain::units::{Length, Unit};
    /// let journal = Length::from_nm(19_050_000); // 0.750 in
    /// let clearance = RunningRule::OneThouAndOnePerInch.clearance(journal);
    /// assert_eq!(clearance.display(Unit::Inch, 5), "0.00175 in");
    /// ```
    pub fn clearance(self, journal: Length) -> Length {
        let (thou, halves_per_thousand) = match self {
            RunningRule::OneThouAndOnePerInch => (1, 2),
            RunningRule::TwoThouAndOnePerInch => (2, 2),
            RunningRule::ThouAndHalfPerInch => (0, 3),
            RunningRule::TwoThouPerInch => (0, 4),
        };
        let share = divide_half_even(i128::from(journal.nm()) * halves_per_thousand, 2_000);
        // A share of an i64 by less than one always fits.
        Length::from_nm(thou * THOU_NM + share as i64)
    }

    /// Where the rule is from.
    pub const fn source(self) -> &'static str {
        "one of four rules in use: a motor repair association's article in a plant engineering \
         magazine, June 2016 (web copy)"
    }
}

/// What clearance a plain bearing should have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunningClearance {
    /// By a rule, and a tolerance above it: the rules say where to aim, not how far off one may be.
    ByRule {
        /// The rule.
        rule: RunningRule,
        /// How much more is still right.
        tolerance: Length,
    },
    /// Explicit limits, such as the maker's.
    Explicit(ClearanceWindow),
}

impl RunningClearance {
    /// The window of clearance for a journal.
    ///
    /// ```
    /// use tenths_domain::bushings::{RunningClearance, RunningRule};
    /// use tenths_domain::units::Length;
    /// let nm = Length::from_nm;
    /// let wanted =
    ///     RunningClearance::ByRule { rule: RunningRule::TwoThouPerInch, tolerance: nm(12_700) };
    /// let window = wanted.window(nm(19_050_000)).unwrap();
    /// assert_eq!((window.min, window.max), (nm(38_100), nm(50_800)));
    /// ```
    pub fn window(self, journal: Length) -> Result<ClearanceWindow, FitError> {
        match self {
            RunningClearance::Explicit(window) => Ok(window),
            RunningClearance::ByRule { rule, tolerance } => {
                let least = rule.clearance(journal);
                ClearanceWindow::new(least, least + tolerance)
            }
        }
    }
}
