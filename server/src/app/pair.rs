//! The fit of two named parts: what is known of each side, how sure the fit is, what to measure next.

use super::act::View;
use super::error::Error;
use super::fits::{Doubt, measured_belief, uncertainty_of};
use super::trace::{Trace, fine, range};
use tenths_domain::bearings::iso492::{self, ToleranceClass};
use tenths_domain::fit::{
    Advice, ClearanceWindow, FitJudgement, RegisterGauge, Requirement, SizeBelief, Step, judge_by,
    what_to_measure_next,
};
use tenths_domain::iso286::{self, Class};
use tenths_domain::item::{Limits, Side};
use tenths_domain::state::GaugeState;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::DecisionRule;
use tenths_storage::Page;

/// Most gauges of the register that are thought of.
const GAUGES_MAX: u64 = 1_000;

/// What is known of one size.
#[derive(Clone, Debug)]
pub enum SizeKnowledge {
    /// It was measured.
    Measured {
        /// Smallest reading.
        min: Entry,
        /// Largest reading.
        max: Entry,
        /// How well it is known.
        doubt: Doubt,
    },
    /// It is anywhere within limits.
    Limits(Limits),
    /// Fixed gauges bound it.
    Bound {
        /// At least this.
        at_least: Option<Length>,
        /// At most this.
        at_most: Option<Length>,
    },
    /// The readings of a piece's feature.
    Piece {
        /// The piece.
        tag: String,
        /// The feature.
        feature: String,
    },
    /// Anywhere within a tolerance class at the nominal size.
    Class(Class),
    /// A bearing ring at the nominal size.
    Ring(ToleranceClass),
}

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

/// A judged fit.
#[derive(Clone, Debug)]
pub struct JudgedFit {
    /// The unit to show lengths in.
    pub unit: Unit,
    /// What is required.
    pub window: ClearanceWindow,
    /// What was found.
    pub found: FitJudgement,
    /// What to measure next, in a sentence; empty if proven.
    pub measure_next: String,
    /// The values behind the answer.
    pub traces: Vec<Trace>,
}

/// What is believed of a size, and where that comes from. `field` names it in violations.
///
/// # Errors
/// [`Error::NotFound`] for a gauge or piece; [`Error::Invalid`] for a size without meaning.
pub(crate) async fn believe(
    view: View<'_>,
    field: &str,
    known: &SizeKnowledge,
    nominal: Option<Length>,
    side: Side,
) -> Result<(SizeBelief, Trace), Error> {
    let invalid = |error: &dyn std::fmt::Display| Error::invalid(field, error.to_string());
    let of = |belief: SizeBelief, source: &str, unconfirmed: bool| {
        let value = range(belief.smallest(), belief.largest(), Unit::Millimetre);
        Ok((belief, Trace::table(field, value, source, unconfirmed)))
    };
    match known {
        SizeKnowledge::Measured { min, max, doubt } => {
            let (uncertainty, _) = uncertainty_of(view, min, doubt).await?;
            let belief = SizeBelief::measured(min.length, max.length, uncertainty)
                .map_err(|error| invalid(&error))?;
            of(belief, &format!("measured, U (k=2) {}", fine(uncertainty, min.unit)), false)
        }
        SizeKnowledge::Limits(limits) => of(
            SizeBelief::toleranced(*limits).map_err(|error| invalid(&error))?,
            "limits as given",
            false,
        ),
        SizeKnowledge::Bound { at_least, at_most } => {
            let belief = SizeBelief::bound(*at_least, *at_most, Length::ZERO)
                .map_err(|error| invalid(&error))?;
            of(belief, "bounded by fixed gauges", false)
        }
        SizeKnowledge::Piece { tag, feature } => {
            let belief = measured_belief(view, tag, feature).await?;
            of(belief, &format!("readings of piece {tag} {feature}"), false)
        }
        SizeKnowledge::Class(class) => {
            if class.side() != side {
                return Err(Error::invalid(
                    field,
                    format!("class {class} is for the other side of a fit"),
                ));
            }
            let nominal = need_nominal(nominal)?;
            let limits = iso286::limits(nominal, class).map_err(|error| invalid(&error))?;
            let unconfirmed =
                iso286::is_unconfirmed(nominal, class).map_err(|error| invalid(&error))?;
            let belief = SizeBelief::toleranced(limits).map_err(|error| invalid(&error))?;
            of(belief, &format!("{class}, {}", iso286::source(class)), unconfirmed)
        }
        SizeKnowledge::Ring(class) => {
            let nominal = need_nominal(nominal)?;
            let deviations = match side {
                Side::Internal => iso492::mean_bore_deviations(nominal, *class),
                Side::External => iso492::mean_outside_diameter_deviations(nominal, *class),
            };
            let limits = deviations.map_err(|error| invalid(&error))?.about(nominal);
            let belief = SizeBelief::toleranced(limits).map_err(|error| invalid(&error))?;
            of(belief, &format!("ISO 492:2014, class {class}"), false)
        }
    }
}

fn need_nominal(nominal: Option<Length>) -> Result<Length, Error> {
    nominal
        .ok_or_else(|| Error::invalid("nominal", "it is not given; a class needs the nominal size"))
}

/// Judges the fit of two parts and says what to measure next.
///
/// # Errors
/// [`Error::NotFound`] for a gauge or piece; [`Error::Invalid`] for a requirement without meaning at that size.
pub async fn judge_fit(view: View<'_>, order: &JudgeFit) -> Result<JudgedFit, Error> {
    let nominal = order.nominal.as_ref().map(|entry| entry.length);
    let (internal, bore) =
        believe(view, "internal", &order.internal, nominal, Side::Internal).await?;
    let (external, shaft) =
        believe(view, "external", &order.external, nominal, Side::External).await?;
    let ring = match (&order.internal, &order.external) {
        (SizeKnowledge::Ring(class), _) | (_, SizeKnowledge::Ring(class)) => Some(*class),
        _ => None,
    };
    // Explicit limits of clearance need no nominal size.
    let at = nominal.unwrap_or(external.largest());
    let window = order
        .requirement
        .window(at, ring)
        .map_err(|error| Error::invalid("requirement", error.to_string()))?;
    let found = judge_by(&internal, &external, window, order.rule);
    let register = register(view).await?;
    let advice = what_to_measure_next(&internal, &external, window, order.rule, &register);
    let unit = super::standards::spoken(
        order.nominal.as_ref().map_or(Unit::Millimetre, |entry| entry.unit),
    );
    let names =
        view.tx.gauge_tags(register.iter().map(|gauge| gauge.key).collect::<Vec<_>>()).await?;
    let name = |id: &tenths_domain::ids::GaugeId| names.get(id).cloned().unwrap_or_default();
    let required = Trace::table(
        "required clearance",
        range(window.min, window.max, unit),
        &order.requirement.source(),
        false,
    );
    Ok(JudgedFit {
        unit,
        window,
        found,
        measure_next: advice_words(&advice, found.judgement.probability_in, name),
        traces: vec![
            bore,
            shaft,
            required,
            Trace::table("decision rule", order.rule.as_str(), order.rule.source(), false),
        ],
    })
}

async fn register(
    view: View<'_>,
) -> Result<Vec<RegisterGauge<tenths_domain::ids::GaugeId>>, Error> {
    let gauges = view.tx.gauges_page(Page { after: 0, limit: GAUGES_MAX }).await?;
    let usable = gauges
        .into_iter()
        .filter(|gauge| gauge.state == GaugeState::InUse && gauge.calibration_due_at >= view.now);
    let mut register = Vec::new();
    for gauge in usable {
        let sides = match gauge.side {
            Some(side) => vec![side],
            None => vec![Side::External, Side::Internal],
        };
        register.extend(sides.into_iter().map(|side| RegisterGauge {
            key: gauge.id,
            side,
            size_min: gauge.size_min.as_ref().map_or(Length::ZERO, |entry| entry.length),
            size_max:
                gauge.size_max.as_ref().map_or(tenths_domain::fit::SIZE_MAX, |entry| entry.length),
            expanded_uncertainty: gauge.uncertainty.length,
        }));
    }
    Ok(register)
}

fn advice_words<K: Copy>(advice: &Advice<K>, present: f64, name: impl Fn(&K) -> String) -> String {
    let step = |step: &Step<K>| {
        let part = match step.side {
            Side::Internal => "the bore",
            Side::External => "the shaft",
        };
        format!("{part} with {}", name(&step.gauge))
    };
    match advice {
        Advice::Proven(_) => String::new(),
        Advice::Measure { step: one, reach } => {
            format!("measure {}: at the present reading it would be {}", step(one), reach.judgement)
        }
        Advice::MeasureBoth { internal, external, reach } => format!(
            "measure both, {} and {}: at the present readings it would be {}",
            step(internal),
            step(external),
            reach.judgement
        ),
        Advice::NoGauge { best: Some(reach) } if reach.judgement.probability_in > present => {
            format!(
                "no gauge in the register can prove it at the present reading; the best would give {}",
                reach.judgement
            )
        }
        Advice::NoGauge { best: Some(_) } => {
            "no gauge in the register can prove it at the present reading".to_owned()
        }
        Advice::NoGauge { best: None } => {
            "no gauge in the register measures these sizes".to_owned()
        }
    }
}
