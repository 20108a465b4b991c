//! What to measure next: which side of a fit, with which gauge of the register, would prove it.

use super::{ClearanceWindow, SIZE_MAX, SizeBelief, judge_by};
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
    /// The gauge with the largest uncertainty that would do; a finer one does too.
    pub gauge: K,
    /// Its expanded uncertainty (k = 2).
    pub expanded_uncertainty: Length,
}

/// What a step, or both, would come to if the reading stayed where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// The verdict and its probability.
    pub judgement: Judgement,
    /// Whether some size was not read yet and the middle of its range stood for it.
    pub is_middle_assumed: bool,
}

/// How good a gauge would have to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needed {
    /// The side that would be enough alone; nothing if both have to be measured that well.
    pub side: Option<Side>,
    /// The largest expanded uncertainty (k = 2) that would do, of each that is measured.
    pub expanded_uncertainty: Length,
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
        /// What the best gauges would come to; nothing if none measures these sizes better than
        /// they are known.
        best: Option<Reach>,
        /// How good a gauge would have to be; nothing if none could prove it, as at a limit.
        needed: Option<Needed>,
    },
}

/// The least work that makes the verdict a proof: which side to measure, with which gauge.
///
/// Each side is thought measured anew: at its present readings or, if it has none, at the middle of
/// its range. A side that was read is only read again with a gauge of smaller uncertainty than its
/// readings have. One side is advised before both, a side without readings before one that has
/// them, then the coarser reading; the gauge is the coarsest that would do. Under simple
/// acceptance, which proves nothing, the proof is that of [`DecisionRule::proving`]. The new
/// reading may of course come out elsewhere: the advice says what could prove the fit, not that it
/// will.
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
///     Advice::Measure { step, .. } => assert_eq!(step.gauge, "M-07"),
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
    let pair = Pair { sides: [*internal, *external], window, rule: rule.proving() };
    let now = pair.judge().verdict;
    if is_proof(now) {
        return Advice::Proven(now);
    }
    let better = SIDES.map(|side| better_gauges(side, &pair.sides[index(side)], register));
    for side in pair.order() {
        let mut coarsest_first = better[index(side)].iter();
        let found = coarsest_first.find_map(|gauge| {
            let reach = pair.measured(side, gauge.expanded_uncertainty).proof(&pair)?;
            Some(Advice::Measure { step: Step::with(gauge), reach })
        });
        if let Some(advice) = found {
            return advice;
        }
    }
    pair.both(&better)
        .unwrap_or_else(|| Advice::NoGauge { best: pair.best(&better), needed: pair.needed() })
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

impl<K: Copy> Step<K> {
    fn with(gauge: &RegisterGauge<K>) -> Self {
        Step {
            side: gauge.side,
            gauge: gauge.key,
            expanded_uncertainty: gauge.expanded_uncertainty,
        }
    }
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

    /// The pair with one side measured to an expanded uncertainty.
    fn measured(mut self, side: Side, expanded_uncertainty: Length) -> Pair {
        let size = &mut self.sides[index(side)];
        let (low, high) = present_reading(size);
        // Sizes were checked when the belief was made; a gauge without an uncertainty is left out
        // of the register by `better_gauges`.
        if let Ok(belief) = SizeBelief::measured(low, high, expanded_uncertainty) {
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

    /// Both sides measured anew, by the pair of gauges with the largest uncertainty together that
    /// would do. The finer the one is, the coarser the other may be, so both lists, coarsest first,
    /// are walked once: the external one from its finest end.
    fn both<K: Copy>(&self, better: &[Vec<RegisterGauge<K>>; 2]) -> Option<Advice<K>> {
        let [bores, shafts] = better;
        let mut found: Option<(i128, Advice<K>)> = None;
        let mut finest = shafts.len();
        for bore in bores {
            let with_bore = self.measured(Side::Internal, bore.expanded_uncertainty);
            while let Some(shaft) = finest.checked_sub(1).map(|place| &shafts[place]) {
                let both = with_bore.measured(Side::External, shaft.expanded_uncertainty);
                let Some(reach) = both.proof(self) else { break };
                let together = squares([bore, shaft].map(|gauge| gauge.expanded_uncertainty));
                if found.as_ref().is_none_or(|(most, _)| together > *most) {
                    let (internal, external) = (Step::with(bore), Step::with(shaft));
                    found = Some((together, Advice::MeasureBoth { internal, external, reach }));
                }
                finest -= 1;
            }
        }
        found.map(|(_, advice)| advice)
    }

    /// What the finest gauges would come to, on both sides or on the one that they reach.
    fn best<K>(&self, better: &[Vec<RegisterGauge<K>>; 2]) -> Option<Reach> {
        let mut best = *self;
        for (side, gauges) in SIDES.into_iter().zip(better) {
            if let Some(finest) = gauges.last() {
                best = best.measured(side, finest.expanded_uncertainty);
            }
        }
        better.iter().any(|gauges| !gauges.is_empty()).then(|| best.reach(self))
    }

    /// The largest uncertainty that would prove it: of one side if one is enough, else of both.
    fn needed(&self) -> Option<Needed> {
        let alone = |side| {
            let most = largest(|uncertainty| self.measured(side, uncertainty).proof(self))?;
            Some(Needed { side: Some(side), expanded_uncertainty: most })
        };
        // The last of equals is taken, so the side that is worth more stands last.
        let [first, second] = self.order();
        let one = [second, first].into_iter().filter_map(alone);
        one.max_by_key(|needed| needed.expanded_uncertainty).or_else(|| {
            let most = largest(|uncertainty| {
                SIDES.iter().fold(*self, |pair, &side| pair.measured(side, uncertainty)).proof(self)
            })?;
            Some(Needed { side: None, expanded_uncertainty: most })
        })
    }
}

/// The largest expanded uncertainty with a proof; nothing if not even a nanometre has one. A proof
/// is never lost by a finer gauge.
fn largest(proof: impl Fn(Length) -> Option<Reach>) -> Option<Length> {
    let proves = |nm: i64| proof(Length::from_nm(nm)).is_some();
    if !proves(1) {
        return None;
    }
    let (mut yes, mut no) = (1, SIZE_MAX.nm() + 1);
    while no - yes > 1 {
        let middle = yes + (no - yes) / 2;
        if proves(middle) { yes = middle } else { no = middle }
    }
    Some(Length::from_nm(yes))
}

fn squares(uncertainties: [Length; 2]) -> i128 {
    uncertainties.iter().map(|length| i128::from(length.nm()).pow(2)).sum()
}

/// The readings that a side is thought to have: its own, or the middle of its range.
fn present_reading(size: &SizeBelief) -> (Length, Length) {
    if size.is_measured() {
        return (size.smallest(), size.largest());
    }
    let middle = Length::mean(&[size.smallest(), size.largest()]).unwrap_or(size.smallest());
    (middle, middle)
}

/// The gauges that measure a side better than it is known, the coarsest first.
fn better_gauges<K: Copy + Ord>(
    side: Side,
    size: &SizeBelief,
    register: &[RegisterGauge<K>],
) -> Vec<RegisterGauge<K>> {
    let (low, high) = present_reading(size);
    let is_better = |gauge: &&RegisterGauge<K>| {
        gauge.side == side
            && gauge.size_min <= low
            && high <= gauge.size_max
            && gauge.expanded_uncertainty > Length::ZERO
            && (!size.is_measured() || gauge.expanded_uncertainty < size.expanded_uncertainty())
    };
    let mut gauges: Vec<_> = register.iter().filter(is_better).copied().collect();
    gauges.sort_by_key(|gauge| (std::cmp::Reverse(gauge.expanded_uncertainty), gauge.key));
    gauges
}
