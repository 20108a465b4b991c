//! What to measure next, in words, with the gauges of the register.

use crate::app::act::View;
use crate::app::error::Error;
use crate::app::trace::fine;
use std::collections::BTreeMap;
use tenths_domain::fit::{
    Advice, ClearanceWindow, FitJudgement, Needed, RegisterGauge, SIZE_MAX, SizeBelief, Step,
    what_to_measure_next,
};
use tenths_domain::ids::GaugeId;
use tenths_domain::item::Side;
use tenths_domain::measure::SettingMethod;
use tenths_domain::state::GaugeState;
use tenths_domain::units::{Length, Unit};
use tenths_domain::verdict::DecisionRule;
use tenths_storage::{Gauge, Page};

/// Most gauges of the register that are thought of.
const GAUGES_MAX: u64 = 1_000;

/// The gauges that may be used today, once for each side that they reach, with their tags.
#[derive(Clone, Debug, Default)]
pub struct Register {
    gauges: Vec<RegisterGauge<GaugeId>>,
    tags: BTreeMap<GaugeId, String>,
}

impl Register {
    /// Reads it from the books.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn of(view: View<'_>) -> Result<Self, Error> {
        let gauges = view.tx.gauges_page(Page { after: 0, limit: GAUGES_MAX }).await?;
        let usable = gauges.into_iter().filter(|gauge| {
            // A plug or ring gauge gives a bound, not a value.
            gauge.state == GaugeState::InUse
                && gauge.calibration_due_at >= view.now
                && gauge.setting_method != SettingMethod::PlugOrRingGauge
        });
        let mut register = Register::default();
        for gauge in usable {
            register.gauges.extend(reached(&gauge));
            register.tags.insert(gauge.id, gauge.tag);
        }
        Ok(register)
    }

    /// What to measure next to prove what was found of a pair, in a sentence; empty if proven.
    pub fn advise(
        &self,
        [internal, external]: [&SizeBelief; 2],
        window: ClearanceWindow,
        found: &FitJudgement,
        unit: Unit,
    ) -> String {
        let advice = what_to_measure_next(internal, external, window, found.rule, &self.gauges);
        let tag = |id: &GaugeId| self.tags.get(id).cloned().unwrap_or_default();
        words(&advice, found, unit, tag)
    }
}

/// A gauge, once for each side that it reaches.
fn reached(gauge: &Gauge) -> impl Iterator<Item = RegisterGauge<GaugeId>> + '_ {
    let sides = [Side::External, Side::Internal].into_iter();
    let reached = sides.filter(|side| gauge.side.is_none_or(|only| only == *side));
    reached.map(|side| RegisterGauge {
        key: gauge.id,
        side,
        size_min: gauge.size_min.as_ref().map_or(Length::ZERO, |entry| entry.length),
        size_max: gauge.size_max.as_ref().map_or(SIZE_MAX, |entry| entry.length),
        expanded_uncertainty: gauge.uncertainty.length,
    })
}

/// The advice in a sentence; empty if the fit is proven.
fn words<K: Copy>(
    advice: &Advice<K>,
    found: &FitJudgement,
    unit: Unit,
    name: impl Fn(&K) -> String,
) -> String {
    let step = |step: &Step<K>| {
        let uncertainty = fine(step.expanded_uncertainty, unit);
        format!("{} with {} (U {uncertainty}) or finer", part(step.side), name(&step.gauge))
    };
    let said = match advice {
        Advice::Proven(_) if found.rule == DecisionRule::SimpleAcceptance => {
            "it is proven as it stands".to_owned()
        }
        Advice::Proven(_) => return String::new(),
        Advice::Measure { step: one, reach } => {
            format!("measure {}: at the present reading it would be {}", step(one), reach.judgement)
        }
        Advice::MeasureBoth { internal, external, reach } => format!(
            "measure both, {} and {}: at the present readings it would be {}",
            step(internal),
            step(external),
            reach.judgement
        ),
        Advice::NoGauge { best, needed } => {
            let lack = match best {
                Some(_) => "no gauge in the register can prove it at the present reading",
                None => "no gauge in the register measures these sizes better than they are known",
            };
            let present = found.judgement.probability_in;
            let better = best.filter(|reach| reach.judgement.probability_in > present);
            let better = better.map(|reach| format!("; the best would give {}", reach.judgement));
            format!("{lack}{}; {}", better.unwrap_or_default(), needed_words(*needed, unit))
        }
    };
    match found.rule {
        DecisionRule::SimpleAcceptance => {
            let proving = found.rule.proving().title();
            format!("simple acceptance proves nothing; by {proving}, {said}")
        }
        _ => said,
    }
}

const fn part(side: Side) -> &'static str {
    match side {
        Side::Internal => "the bore",
        Side::External => "the shaft",
    }
}

fn needed_words(needed: Option<Needed>, unit: Unit) -> String {
    let Some(needed) = needed else {
        return "at the present reading no gauge could, however fine".to_owned();
    };
    let most = most_words(needed.expanded_uncertainty, unit);
    match needed.side {
        Some(side) => format!("on {} alone it would take U (k=2) of {most} or less", part(side)),
        None => format!("it would take U (k=2) of {most} or less on both sides"),
    }
}

/// An uncertainty rounded down to what is shown, so that it does suffice; in full where that would
/// be nothing.
fn most_words(uncertainty: Length, unit: Unit) -> String {
    let shown = match unit {
        Unit::Inch | Unit::Thou => Length::from_nm(254),
        Unit::Millimetre | Unit::Micrometre => Length::from_nm(100),
    };
    let floor = uncertainty.nm() / shown.nm() * shown.nm();
    match floor {
        0 => uncertainty.display(Unit::Micrometre, 3),
        floor => fine(Length::from_nm(floor), unit),
    }
}
