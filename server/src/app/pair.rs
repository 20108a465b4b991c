//! The fit of two named parts: what is known of each side, how sure the fit is, what to measure next.

mod known;
mod next_step;

pub use known::SizeKnowledge;
pub(crate) use known::believe;
pub use next_step::Register;

use super::act::View;
use super::error::Error;
use super::fits::Doubt;
use super::standards::spoken;
use super::trace::{Trace, fine, range};
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::entry::size_doubt;
use tenths_domain::fit::{
    BeliefKind, ClearanceWindow, FitJudgement, Requirement, SizeBelief, judge_by,
};
use tenths_domain::item::Side;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::DecisionRule;

/// Two parts and what their fit must be.
#[derive(Clone, Debug)]
pub struct JudgeFit {
    /// The nominal size.
    pub nominal: Option<Entry>,
    /// The bore.
    pub internal: SizeKnowledge,
    /// The shaft.
    pub external: SizeKnowledge,
    /// What the fit must be.
    pub requirement: Requirement,
    /// How the proven ends are guarded.
    pub rule: DecisionRule,
}

impl JudgeFit {
    /// The unit of the nominal size, else that of what was measured.
    fn unit(&self) -> Unit {
        let read = |known: &SizeKnowledge| match known {
            SizeKnowledge::Measured { min, .. } => Some(min.unit),
            _ => None,
        };
        let nominal = self.nominal.as_ref().map(|entry| entry.unit);
        let unit = nominal.or_else(|| read(&self.internal)).or_else(|| read(&self.external));
        spoken(unit.unwrap_or(Unit::Millimetre))
    }

    /// The ISO 492 class of the ring that one class alone stands against: the one named; else the
    /// normal one, which is an assumption.
    fn ring(&self) -> Ring {
        match (&self.internal, &self.external) {
            (SizeKnowledge::Ring(class), _) | (_, SizeKnowledge::Ring(class)) => {
                Ring::Named(*class)
            }
            _ => Ring::Assumed(ToleranceClass::Normal),
        }
    }
}

/// The class of a bearing's ring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ring {
    Named(ToleranceClass),
    Assumed(ToleranceClass),
}

impl Ring {
    const fn class(self) -> ToleranceClass {
        match self {
            Ring::Named(class) | Ring::Assumed(class) => class,
        }
    }
}

/// A judged fit.
#[derive(Clone, Debug)]
pub struct JudgedFit {
    /// The unit to show lengths in.
    pub unit: Unit,
    /// What is required.
    pub window: ClearanceWindow,
    /// What was found.
    pub found: FitJudgement,
    /// What is behind the bore's size.
    pub internal: BeliefKind,
    /// What is behind the shaft's size.
    pub external: BeliefKind,
    /// What to measure next, in a sentence; empty if proven.
    pub measure_next: String,
    /// The values behind the answer.
    pub traces: Vec<Trace>,
    /// What was assumed, in sentences.
    pub notes: Vec<String>,
}

/// Judges the fit of two parts and says what to measure next, with a gauge of the register.
///
/// # Errors
/// [`Error::NotFound`] for a gauge or piece; [`Error::Invalid`] for a requirement without meaning at that size.
pub async fn judge_fit(
    view: View<'_>,
    order: &JudgeFit,
    register: &Register,
) -> Result<JudgedFit, Error> {
    let nominal = order.nominal.as_ref().map(|entry| entry.length);
    let unit = order.unit();
    let (internal, bore) =
        believe(view, "internal", &order.internal, nominal, Side::Internal, unit).await?;
    let (external, shaft) =
        believe(view, "external", &order.external, nominal, Side::External, unit).await?;
    let ring = order.ring();
    // Explicit limits of clearance need no nominal size.
    let at = nominal.unwrap_or(external.largest());
    let (window, required) = required(&order.requirement, at, ring, unit)?;
    let found = judge_by(&internal, &external, window, order.rule);
    let mut traces = vec![bore, shaft, required];
    traces.extend(decisions(&internal, &external, window, order.rule, unit));
    Ok(JudgedFit {
        unit,
        window,
        found,
        internal: internal.kind(),
        external: external.kind(),
        measure_next: register.advise([&internal, &external], window, &found, unit),
        traces,
        notes: notes(order, [&internal, &external], ring, at),
    })
}

/// The clearance that is required at a size, and where that comes from.
fn required(
    requirement: &Requirement,
    at: Length,
    ring: Ring,
    unit: Unit,
) -> Result<(ClearanceWindow, Trace), Error> {
    let refused =
        |error: tenths_domain::fit::FitError| Error::invalid("requirement", error.to_string());
    let window = requirement.window(at, Some(ring.class())).map_err(refused)?;
    let unconfirmed = requirement.is_unconfirmed(at).map_err(refused)?;
    let value = range(window.min, window.max, unit);
    let trace = Trace::table("required clearance", value, &requirement.source(), unconfirmed);
    Ok((window, trace))
}

/// What each decision rule comes to, the one asked for first.
fn decisions(
    internal: &SizeBelief,
    external: &SizeBelief,
    window: ClearanceWindow,
    asked: DecisionRule,
    unit: Unit,
) -> Vec<Trace> {
    let others = DecisionRule::ALL.iter().copied().filter(|&rule| rule != asked);
    let traces = [asked].into_iter().chain(others).map(|rule| {
        let found = judge_by(internal, external, window, rule);
        let guard_band = fine(rule.guard_band(found.expanded_uncertainty), unit);
        let what = match rule == asked {
            true => format!("decision rule {rule}"),
            false => format!("the same by {rule}"),
        };
        Trace::table(
            &what,
            format!("{}, guard band {guard_band}", found.decision),
            rule.source(),
            false,
        )
    });
    traces.collect()
}

/// What may be wrong with the sizes as written, and what was taken where no gauge was named.
fn doubts(order: &JudgeFit, sizes: [&SizeBelief; 2], at: Length) -> Vec<String> {
    let mut doubts = Vec::new();
    let nominal = order.nominal.as_ref().map(|_| at);
    let sides = [("bore", &order.internal, sizes[1]), ("shaft", &order.external, sizes[0])];
    for (part, known, other) in sides {
        let SizeKnowledge::Measured { min, max, doubt } = known else { continue };
        let expected = nominal.unwrap_or(other.largest());
        let far = [min, max].into_iter().find_map(|read| Some((read, size_doubt(read, expected)?)));
        doubts.extend(far.map(|(read, doubt)| format!("the {part}, {read}, {doubt}")));
        if matches!(doubt, Doubt::LastPlace) {
            let last_place = min.resolution.display_in(min.unit);
            doubts.push(format!(
                "no gauge was named for the {part}: it is taken as known to ±{last_place} (one \
                 last place as written)"
            ));
        }
    }
    doubts
}

/// What a reader must know before relying on the verdict.
fn notes(
    order: &JudgeFit,
    [internal, external]: [&SizeBelief; 2],
    ring: Ring,
    at: Length,
) -> Vec<String> {
    let mut notes = doubts(order, [internal, external], at);
    let is_unmeasured = |size: &SizeBelief| size.kind() == BeliefKind::Toleranced;
    match (is_unmeasured(internal), is_unmeasured(external)) {
        (true, true) => notes.push(
            "neither side is measured: both are taken to be within their limits, and the verdict \
             holds only if they are"
                .to_owned(),
        ),
        (true, false) => {
            notes.push("the bore is not measured: it is taken to be within its limits".to_owned());
        }
        (false, true) => {
            notes.push("the shaft is not measured: it is taken to be within its limits".to_owned());
        }
        (false, false) => {}
    }
    let bounds = [internal, external].map(SizeBelief::open);
    if bounds.iter().any(|open| open.below || open.above) {
        notes.push(
            "a fixed gauge bounds one side of a size only: the probability is the most that it can \
             be, and the fit can be proven out but never in"
                .to_owned(),
        );
    }
    if let (Some(class), Ring::Assumed(ring)) = (order.requirement.on_ring(), ring) {
        notes.push(format!(
            "{class} alone is required against a bearing's ring: class {ring} is assumed, since \
             none is named"
        ));
    }
    notes.extend(order.requirement.note(at).map(str::to_owned));
    notes
}
