//! The values behind a judgement, with the formula of each, and what to measure next to prove it.

use super::measured::Measured;
use crate::app::pair::Register;
use crate::app::trace::{Trace, fine, range};
use tenths_domain::fit::{ClearanceWindow, FitJudgement, SizeBelief};
use tenths_domain::item::Side;
use tenths_domain::units::Unit;

const CLEARANCE: &str = "smallest bore less largest shaft to largest bore less smallest shaft; \
                         negative is interference (ISO 286-1:2010, 3.3)";
const UNCERTAINTY: &str = "root sum of squares of both sides' U (JCGM 100:2008, 5.1.2)";
const PROBABILITY: &str = "P that the pair is inside at both extremes: measured sizes normal with U / 2, \
                           unmeasured ones uniform over their limits, convolved (JCGM 106:2012, 7; \
                           JCGM 101:2008)";

/// The clearance, its uncertainty, the verdict with its probability, and the rule that it is by.
pub(super) fn judged(found: &FitJudgement, unit: Unit) -> Vec<Trace> {
    let clearance = range(found.clearance_min, found.clearance_max, unit);
    let guard_band = found.rule.guard_band(found.expanded_uncertainty);
    let rule = format!("{}, guard band {}", found.rule, fine(guard_band, unit));
    let uncertainty = fine(found.expanded_uncertainty, unit);
    vec![
        Trace::table("clearance", clearance, CLEARANCE, false),
        Trace::table("U (k=2) of the clearance", uncertainty, UNCERTAINTY, false),
        Trace::table("verdict", found.judgement.to_string(), PROBABILITY, false),
        Trace::table("decision rule", rule, found.rule.source(), false),
    ]
}

/// What to measure next at one end, with which gauge of the register; empty where it is proven. A
/// bushing's bore that was worked out as pressed is to be measured once it is.
pub(super) fn measure_next(
    register: &Register,
    measured: &Measured,
    found: &SizeBelief,
    installed: Option<SizeBelief>,
    window: ClearanceWindow,
    fit: &FitJudgement,
) -> String {
    let (free_bore, shaft) = match measured.place.feature.side() {
        Side::Internal => (&measured.belief, found),
        Side::External => (found, &measured.belief),
    };
    let bore = installed.as_ref().unwrap_or(free_bore);
    let said = register.advise([bore, shaft], window, fit, measured.unit);
    match installed {
        Some(_) if !said.is_empty() => format!("once it is pressed, {said}"),
        _ => said,
    }
}
