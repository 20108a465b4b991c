//! Where the limits of a class come from: each value taken, with standard, edition and table.
//!
//! Not for the hot path: an explanation allocates. [`super::deviations`] gives the same limits.

use super::class::{Class, FundamentalDeviation as Letter};
use super::deviation::{Edge, Origin, Rule, origin, standard_tolerance_nm};
use super::step::Step;
use super::{Deviations, Iso286Error, deviations, memory, no_such_class};
use crate::item::Side;
use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// What one step of an explanation takes or works out.
    ExplainWhat, "step of an explanation" {
        /// The width of the tolerance zone, from Table 1.
        StandardTolerance = "standard_tolerance",
        /// The deviation of the edge nearer to the nominal size (of js: half the tolerance).
        FundamentalDeviation = "fundamental_deviation",
        /// What is added to the mirrored deviation of a hole.
        Delta = "delta",
        /// The lower limit deviation, worked out.
        LowerDeviation = "lower_deviation",
        /// The upper limit deviation, worked out.
        UpperDeviation = "upper_deviation",
    }
}

/// One value behind the limits of a class.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExplainStep {
    /// What the value is.
    pub what: ExplainWhat,
    /// The value, signed.
    pub value: Length,
    /// Standard, edition, table and size step; or the sum that gives the value.
    pub source: String,
    /// Known from memory alone, not read in a published page yet.
    pub unconfirmed: bool,
}

/// Every value behind the limits of a class at a nominal size, in the order of use.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// The nominal size asked for.
    pub nominal: Length,
    /// The class asked for.
    pub class: Class,
    /// The limit deviations that the steps lead to.
    pub deviations: Deviations,
    /// The values taken, then the two worked out.
    pub steps: Vec<ExplainStep>,
}

impl Explanation {
    /// Whether any value behind the limits is known from memory alone.
    pub fn is_unconfirmed(&self) -> bool {
        self.steps.iter().any(|step| step.unconfirmed)
    }
}

/// Which of the values behind an edge are from memory alone.
pub(super) struct Unread {
    pub(super) deviation: bool,
    pub(super) delta: bool,
}

/// What is unread behind the edge that a rule gave.
pub(super) fn unread(class: Class, step: Step, rule: Rule) -> Unread {
    let is_shaft_value = matches!(rule, Rule::Read | Rule::Mirror | Rule::MirrorPlusDelta { .. })
        && class.deviation() != Letter::J;
    Unread {
        deviation: is_shaft_value && memory::shaft_is(class.deviation(), step),
        delta: matches!(rule, Rule::MirrorPlusDelta { .. })
            && memory::delta_is(class.grade(), step),
    }
}

/// Explains the limits of a class at a nominal size over 0 to 3150 mm.
///
/// ```
/// use tenths_domain::iso286::{ExplainWhat, explain};
/// use tenths_domain::units::Length;
/// let p7 = explain(Length::from_nm(25_000_000), &"P7".parse().unwrap()).unwrap();
/// let taken: Vec<_> = p7.steps.iter().map(|step| (step.what, step.value.nm())).collect();
/// assert_eq!(taken[0], (ExplainWhat::StandardTolerance, 21_000));
/// assert_eq!(taken[1], (ExplainWhat::FundamentalDeviation, -22_000));
/// assert_eq!(taken[2], (ExplainWhat::Delta, 8_000));
/// assert_eq!(p7.deviations.upper.nm(), -14_000);
/// assert_eq!(p7.steps[0].source, "ISO 286-1:2010, Table 1: IT7 over 18 to 30 mm");
/// ```
pub fn explain(nominal: Length, class: &Class) -> Result<Explanation, Iso286Error> {
    let found = deviations(nominal, class)?;
    let step = Step::of(nominal).ok_or(Iso286Error::SizeNotCovered { nominal })?;
    let refused = |refusal| no_such_class(nominal, *class, step, refusal);
    let tolerance_nm = standard_tolerance_nm(class.grade(), step).map_err(refused)?;
    let origin = origin(*class, step).map_err(refused)?;
    let mut steps = vec![tolerance_step(*class, step, tolerance_nm)];
    steps.extend(deviation_steps(*class, step, origin, tolerance_nm));
    steps.extend(limit_steps(found, origin.edge));
    Ok(Explanation { nominal, class: *class, deviations: found, steps })
}

fn tolerance_step(class: Class, step: Step, tolerance_nm: i64) -> ExplainStep {
    let (over, to) = step.main_mm();
    ExplainStep {
        what: ExplainWhat::StandardTolerance,
        value: Length::from_nm(tolerance_nm),
        source: format!("ISO 286-1:2010, Table 1: {} over {over} to {to} mm", class.grade()),
        unconfirmed: memory::grade_is(class.grade(), step),
    }
}

/// The fundamental deviation and, where one is added, delta.
fn deviation_steps(
    class: Class,
    step: Step,
    origin: Origin,
    tolerance_nm: i64,
) -> Vec<ExplainStep> {
    let unread = unread(class, step, origin.rule);
    let edge_nm = match origin.edge {
        Edge::Upper(nm) | Edge::Lower(nm) => nm,
        Edge::Symmetric => tolerance_nm / 2,
    };
    let delta_nm = match origin.rule {
        Rule::MirrorPlusDelta { delta_nm } => Some(delta_nm),
        _ => None,
    };
    let mut steps = vec![ExplainStep {
        what: ExplainWhat::FundamentalDeviation,
        value: Length::from_nm(edge_nm - delta_nm.unwrap_or(0)),
        source: deviation_source(class, step, origin.rule),
        unconfirmed: unread.deviation,
    }];
    let (over, to) = step.main_mm();
    steps.extend(delta_nm.map(|delta_nm| ExplainStep {
        what: ExplainWhat::Delta,
        value: Length::from_nm(delta_nm),
        source: format!(
            "ISO 286-1:2010, {}, delta columns: {} over {over} to {to} mm",
            hole_table(class.deviation()),
            class.grade()
        ),
        unconfirmed: unread.delta,
    }));
    steps
}

fn shaft_table(letter: Letter) -> &'static str {
    if letter <= Letter::Js { "Table 4" } else { "Table 5" }
}

fn hole_table(letter: Letter) -> &'static str {
    if letter <= Letter::M { "Table 2" } else { "Table 3" }
}

fn deviation_source(class: Class, step: Step, rule: Rule) -> String {
    let letter = class.deviation();
    let (over, to) = step.fine_mm();
    let (name, shaft) = (letter.letters(class.side()), letter.letters(Side::External));
    let table = match class.side() {
        Side::External => shaft_table(letter),
        Side::Internal => hole_table(letter),
    };
    let place = format!("ISO 286-1:2010, {table}: {name} over {over} to {to} mm");
    match rule {
        Rule::Half => format!("ISO 286-1:2010, {table}: {name} is half the tolerance to each side"),
        Rule::Read => place,
        Rule::Zero => format!("{place}, zero in {}", class.grade()),
        Rule::Mirror | Rule::MirrorPlusDelta { .. } => {
            format!("{place}, the sign of {shaft} ({}) changed", shaft_table(letter))
        }
        Rule::ExceptionM6 => format!("{place}, the exception printed for M6"),
    }
}

/// The two limit deviations: one is the edge, the other lies the tolerance away.
fn limit_steps(found: Deviations, edge: Edge) -> [ExplainStep; 2] {
    let [the_edge, plus, minus] = [
        "the edge that the fundamental deviation gives",
        "lower limit deviation plus standard tolerance",
        "upper limit deviation minus standard tolerance",
    ];
    let (lower, upper) = match edge {
        Edge::Upper(_) => (minus, the_edge),
        Edge::Lower(_) => (the_edge, plus),
        Edge::Symmetric => {
            ("half the standard tolerance below", "half the standard tolerance above")
        }
    };
    let step = |what, value, source: &str| ExplainStep {
        what,
        value,
        source: source.to_owned(),
        unconfirmed: false,
    };
    [
        step(ExplainWhat::LowerDeviation, found.lower, lower),
        step(ExplainWhat::UpperDeviation, found.upper, upper),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sources(text: &str, mm: i64) -> Vec<String> {
        let class = text.parse().unwrap();
        let found = explain(Length::from_nm(mm * 1_000_000), &class).unwrap();
        found.steps.into_iter().map(|step| step.source).collect()
    }

    #[test]
    fn each_rule_is_named_in_words() {
        for (class, mm, index, wanted) in [
            ("k5", 30, 1, "ISO 286-1:2010, Table 5: k over 24 to 30 mm"),
            ("k8", 30, 1, "ISO 286-1:2010, Table 5: k over 24 to 30 mm, zero in IT8"),
            ("js7", 25, 1, "ISO 286-1:2010, Table 4: js is half the tolerance to each side"),
            ("J7", 25, 1, "ISO 286-1:2010, Table 2: J over 24 to 30 mm"),
            ("N9", 25, 1, "ISO 286-1:2010, Table 3: N over 24 to 30 mm, zero in IT9"),
            ("M6", 300, 1, "Table 2: M over 280 to 315 mm, the exception printed for M6"),
            ("F8", 600, 1, "Table 2: F over 560 to 630 mm, the sign of f (Table 4) changed"),
            ("P7", 25, 2, "ISO 286-1:2010, Table 3, delta columns: IT7 over 18 to 30 mm"),
            ("P7", 25, 3, "upper limit deviation minus standard tolerance"),
            ("k5", 30, 3, "lower limit deviation plus standard tolerance"),
        ] {
            let found = &sources(class, mm)[index];
            assert!(found.ends_with(wanted), "{class} at {mm} mm: {found}");
        }
    }
}
