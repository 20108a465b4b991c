//! What to measure next: which side of a fit, with which gauge of the register, would prove it.

use super::{ClearanceWindow, SizeBelief, judge_by};
use crate::item::Side;
use crate::units::Length;
use crate::verdict::{DecisionRule, Judgement, Verdict};

/// A gauge of the register, as far as advice goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RegisterGauge<K> {
    /// What the caller knows it by; the last word where two gauges are alike.
    pub key: K,
    /// What it can reach: a bore or an outside diameter.
    pub side: Side,
    /// The smallest size that it measures.
    pub size_min: Length,
    /// The largest size that it measures.
    pub size_max: Length,
    /// Its expanded uncertainty (k = 2), setting included.
    pub expanded_uncertainty: Length,
}

/// One measurement that is advised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step<K> {
    /// The side to measure.
    pub side: Side,
    /// The gauge with the smallest uncertainty for it.
    pub gauge: K,
    /// The gauge with the largest uncertainty that would still do.
    pub coarsest: K,
}

/// What a step, or both, would come to if the reading stayed where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// The verdict and its probability.
    pub judgement: Judgement,
    /// Whether some size was not read yet and the middle of its range stood for it.
    pub is_middle_assumed: bool,
}

/// What to measure next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Advice<K> {
    /// It is proven already.
    Proven(Verdict),
    /// One measurement would prove it.
    Measure {
        /// What to do.
        step: Step<K>,
        /// What it would come to.
        reach: Reach,
    },
    /// Only both sides measured anew would prove it.
    MeasureBoth {
        /// The internal side.
        internal: Step<K>,
        /// The external side.
        external: Step<K>,
        /// What both would come to.
        reach: Reach,
    },
    /// No gauge in the register can prove it at the present reading.
    NoGauge {
        /// What the best gauges would come to; nothing if none measures these sizes.
        best: Option<Reach>,
    },
}

/// Which side to measure with which gauge so that the verdict becomes a proof.
///
/// Each side is thought measured anew: at its present readings or, if it has none, at the middle of
/// its range. The smallest uncertainty comes first; the coarsest gauge that would do is named
/// beside it. One side is advised before both, a side without readings before one that has them.
/// The new reading may of course come out elsewhere: the advice says what could prove the fit, not
/// that it will.
///
/// ```
/// use tenths_domain::fit::{Advice, ClearanceWindow, RegisterGauge, SizeBelief};
/// use tenths_domain::fit::what_to_measure_next;
/// use tenths_domain::item::Side;
/// use tenths_domain::units::Length;
/// use tenths_domain::verdict::DecisionRule;
/// let nm = Length::from_nm;
/// let bore = SizeBelief::measured(nm(20_010_000), nm(20_010_000), nm(1_000)).unwrap();
/// let journal = SizeBelief::measured(nm(19_985_000), nm(19_985_000), nm(8_000)).unwrap();
/// let window = ClearanceWindow::new(nm(20_000), nm(41_000)).unwrap();
/// let micrometer = |key, uncertainty| RegisterGauge {
///     key,
///     side: Side::External,
///     size_min: nm(0),
///     size_max: nm(25_400_000),
///     expanded_uncertainty: nm(uncertainty),
/// };
/// let register = [micrometer("M-07", 4_600), micrometer("C-01", 2_500)];
/// let rule = DecisionRule::FullGuardBand;
/// match what_to_measure_next(&bore, &journal, window, rule, &register) {
///     Advice::Measure { step, .. } => assert_eq!((step.gauge, step.coarsest), ("C-01", "M-07")),
///     other => panic!("{other:?}"),
/// }
/// ```
pub fn what_to_measure_next<K: Copy + Ord>(
    internal: &SizeBelief,
    external: &SizeBelief,
    window: ClearanceWindow,
    rule: DecisionRule,
    register: &[RegisterGauge<K>],
) -> Advice<K> {
    let pair = Pair { sides: [*internal, *external], window, rule };
    let now = pair.judge().verdict;
    if is_proof(now) {
        return Advice::Proven(now);
    }
    let finest = SIDES.map(|side| finest_for(side, &pair.sides[index(side)], register));
    for side in pair.order() {
        let Some(gauge) = finest[index(side)] else { continue };
        if let Some(reach) = pair.measured(side, gauge).proof(&pair) {
            return Advice::Measure { step: pair.step(side, gauge, register), reach };
        }
    }
    let [Some(bore), Some(shaft)] = finest else {
        let one = finest[0].map(|gauge| (Side::Internal, gauge));
        let one = one.or(finest[1].map(|gauge| (Side::External, gauge)));
        return Advice::NoGauge {
            best: one.map(|(side, gauge)| pair.measured(side, gauge).reach(&pair)),
        };
    };
    let both = pair.measured(Side::Internal, bore).measured(Side::External, shaft);
    match both.proof(&pair) {
        Some(reach) => Advice::MeasureBoth {
            internal: pair.measured(Side::External, shaft).step(Side::Internal, bore, register),
            external: pair.measured(Side::Internal, bore).step(Side::External, shaft, register),
            reach,
        },
        None => Advice::NoGauge { best: Some(both.reach(&pair)) },
    }
}

const SIDES: [Side; 2] = [Side::Internal, Side::External];

const fn index(side: Side) -> usize {
    match side {
        Side::Internal => 0,
        Side::External => 1,
    }
}

fn is_proof(verdict: Verdict) -> bool {
    matches!(verdict, Verdict::ProvenIn | Verdict::ProvenOut)
}

/// The two sides of a fit, as they are or as they are thought measured.
#[derive(Clone, Copy)]
struct Pair {
    sides: [SizeBelief; 2],
    window: ClearanceWindow,
    rule: DecisionRule,
}

impl Pair {
    fn judge(&self) -> Judgement {
        let [internal, external] = &self.sides;
        judge_by(internal, external, self.window, self.rule).judgement
    }

    /// The sides, the one that is worth more to measure first: one without readings, then the one
    /// with the larger uncertainty.
    fn order(&self) -> [Side; 2] {
        let [internal, external] =
            self.sides.map(|size| (!size.is_measured(), size.expanded_uncertainty()));
        if external > internal { [Side::External, Side::Internal] } else { SIDES }
    }

    /// The pair with one side measured by a gauge.
    fn measured<K>(mut self, side: Side, gauge: &RegisterGauge<K>) -> Pair {
        let size = &mut self.sides[index(side)];
        let (low, high) = present_reading(size);
        // Sizes and uncertainties were checked when the belief was made; a gauge that cannot be is
        // left out of the register by `finest_for`.
        if let Ok(belief) = SizeBelief::measured(low, high, gauge.expanded_uncertainty) {
            *size = belief;
        }
        self
    }

    fn reach(&self, before: &Pair) -> Reach {
        let is_middle_assumed =
            self.sides.iter().zip(before.sides).any(|(now, was)| now != &was && !was.is_measured());
        Reach { judgement: self.judge(), is_middle_assumed }
    }

    fn proof(&self, before: &Pair) -> Option<Reach> {
        Some(self.reach(before)).filter(|reach| is_proof(reach.judgement.verdict))
    }

    /// The step to measure one side, with the coarsest gauge that would still prove the fit.
    fn step<K: Copy + Ord>(
        &self,
        side: Side,
        finest: &RegisterGauge<K>,
        register: &[RegisterGauge<K>],
    ) -> Step<K> {
        let size = &self.sides[index(side)];
        let would_do = usable(side, size, register)
            .filter(|gauge| is_proof(self.measured(side, gauge).judge().verdict));
        let coarsest = would_do.max_by_key(|gauge| (gauge.expanded_uncertainty, gauge.key));
        Step { side, gauge: finest.key, coarsest: coarsest.unwrap_or(finest).key }
    }
}

/// The readings that a side is thought to have: its own, or the middle of its range.
fn present_reading(size: &SizeBelief) -> (Length, Length) {
    if size.is_measured() {
        return (size.smallest(), size.largest());
    }
    let middle = Length::mean(&[size.smallest(), size.largest()]).unwrap_or(size.smallest());
    (middle, middle)
}

fn usable<'a, K>(
    side: Side,
    size: &SizeBelief,
    register: &'a [RegisterGauge<K>],
) -> impl Iterator<Item = &'a RegisterGauge<K>> {
    let (low, high) = present_reading(size);
    register.iter().filter(move |gauge| {
        gauge.side == side
            && gauge.size_min <= low
            && high <= gauge.size_max
            && gauge.expanded_uncertainty > Length::ZERO
    })
}

fn finest_for<'a, K: Copy + Ord>(
    side: Side,
    size: &SizeBelief,
    register: &'a [RegisterGauge<K>],
) -> Option<&'a RegisterGauge<K>> {
    usable(side, size, register).min_by_key(|gauge| (gauge.expanded_uncertainty, gauge.key))
}
