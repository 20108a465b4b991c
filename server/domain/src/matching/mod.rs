//! Matching: which parts of the stock fit a measured part, best first, and how the nearest of the
//! others miss.
//!
//! Pure ranking: the caller brings the candidates, one by one, and gets back at most as many fits
//! and misses as it asked for; memory is bounded by that, however many candidates there are. No
//! index and no stock is here, and no substitution of one bearing for another (C3 for CN).
//!
//! A candidate *fits* if the clearance at both extremes of the sizes is within the window of the
//! requirement at the candidate's nominal size, and the gauges do not make even that improbable.
//! All others *miss*. How sure a fit is, is its verdict ([`crate::fit::judge`]).
//!
//! Order of fits: best verdict, then nearest to the middle of the window, then free before held,
//! then oldest date code, then key. Order of misses: smallest miss, then key. Both are total as
//! long as keys differ, so an answer does not depend on the order in which candidates come.
//!
//! Rules of the trade that hold here: a rolling bearing that was taken off is never offered (common
//! practice, also in US Army TM 11-6125-240-34); what may be done to make a miss fit is in [`Act`].

mod act;
mod best;
mod question;

pub(crate) use act::REAM_MAX;
pub use act::Act;
use act::{Gap, Pair};
use best::Best;
pub use question::{
    Answer, Candidate, Caps, Condition, Counts, Match, Miss, MissSide, Place, Question,
};

use crate::fit::{ClearanceWindow, FitError, FitJudgement, SizeBelief, installed_bore, judge};
use crate::item::{FeatureKind, ItemKind, Side};
use crate::units::Length;
use crate::verdict::Verdict;

/// Finds what fits among the candidates.
///
/// ```
/// use tenths_domain::fit::SizeBelief;
/// use tenths_domain::item::{FeatureKind, ItemKind, Limits};
/// use tenths_domain::matching::{Candidate, Caps, Condition, Place, Question, answer};
/// use tenths_domain::bearings::iso492::ToleranceClass;
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// let seat = Place { item: ItemKind::Shaft, feature: FeatureKind::RollingSeat, material: None };
/// let question = Question {
///     place: seat,
///     size: SizeBelief::measured(nm(30_005_000), nm(30_006_000), nm(1_000)).unwrap(),
///     ring: None,
///     requirement: "k5".parse().unwrap(),
///     close_in: None,
/// };
/// let ring = Limits { lower: nm(29_990_000), upper: nm(30_000_000) };
/// let bearing = Candidate {
///     key: "LOT-7",
///     place: Place { item: ItemKind::RollingBearing, feature: FeatureKind::Bore, material: None },
///     nominal: nm(30_000_000),
///     size: SizeBelief::toleranced(ring).unwrap(),
///     ring: Some(ToleranceClass::Normal),
///     condition: Condition::New,
///     available: 4,
///     date_code: Some("2025-03"),
/// };
/// let answer = answer(&question, [bearing], Caps { fits: 20, misses: 5 });
/// assert_eq!(answer.fits[0].key, "LOT-7");
/// assert!(answer.misses.is_empty());
/// ```
pub fn answer<'a, K: Ord>(
    question: &Question,
    candidates: impl IntoIterator<Item = Candidate<'a, K>>,
    caps: Caps,
) -> Answer<K> {
    let mut counts = Counts::default();
    let mut fits = Best::new(caps.fits);
    let mut misses = Best::new(caps.misses);
    for candidate in candidates {
        if is_removed_bearing(&candidate) {
            counts.removed_bearings += 1;
        } else if candidate.place.feature.side() == question.place.feature.side() {
            counts.not_mates += 1;
        } else {
            match Pairing::new(question, &candidate) {
                Ok(pairing) => pairing.offer(candidate, &mut fits, &mut misses, &mut counts),
                Err(_) => counts.not_judged += 1,
            }
        }
    }
    Answer {
        fits: fits.into_sorted().map(|(rank, found)| found.of(rank.key)).collect(),
        misses: misses.into_sorted().map(|(rank, found)| found.of(rank)).collect(),
        counts,
    }
}

/// The rule of the trade: a rolling bearing that was pulled off is not used again.
fn is_removed_bearing<K>(candidate: &Candidate<'_, K>) -> bool {
    candidate.place.item == ItemKind::RollingBearing && candidate.condition == Condition::Used
}

/// Where a fit stands; compared field by field, the smallest is the best.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct FitRank<'a, K> {
    verdict: Verdict,
    /// Twice the distance of the middle clearance from the middle of the window.
    off_centre: Length,
    is_held: bool,
    has_no_date_code: bool,
    date_code: &'a str,
    key: K,
}

/// Where a miss stands; the smallest is the nearest.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct MissRank<K> {
    by: Length,
    key: K,
}

/// A fit without its key, which its rank holds.
struct FoundFit {
    window: ClearanceWindow,
    fit: FitJudgement,
}

impl FoundFit {
    fn of<K>(self, key: K) -> Match<K> {
        Match { key, window: self.window, fit: self.fit }
    }
}

/// A miss without what its rank holds.
struct FoundMiss {
    window: ClearanceWindow,
    fit: FitJudgement,
    side: MissSide,
    act: Option<Act>,
}

impl FoundMiss {
    fn of<K>(self, rank: MissRank<K>) -> Miss<K> {
        let FoundMiss { window, fit, side, act } = self;
        Miss { key: rank.key, window, fit, by: rank.by, side, act }
    }
}

/// The measured part and one candidate as the two sides of a fit.
struct Pairing {
    internal: Place,
    external: Place,
    bore: SizeBelief,
    shaft: SizeBelief,
    window: ClearanceWindow,
    /// How much of the clearance is unknown only because a part was not measured.
    unmeasured: Length,
}

impl Pairing {
    fn new<K>(question: &Question, candidate: &Candidate<'_, K>) -> Result<Self, FitError> {
        let measured = (question.place, question.size, question.ring);
        let found = (candidate.place, candidate.size, candidate.ring);
        let (inner, outer) = match question.place.feature.side() {
            Side::Internal => (measured, found),
            Side::External => (found, measured),
        };
        let ((internal, free_bore, bore_ring), (external, shaft, shaft_ring)) = (inner, outer);
        let window = question.requirement.window(candidate.nominal, bore_ring.or(shaft_ring))?;
        let is_bushing =
            internal.item == ItemKind::Bushing && internal.feature == FeatureKind::Bore;
        let bore = match question.close_in.filter(|_| is_bushing) {
            Some(close_in) => installed_bore(&free_bore, close_in)?,
            None => free_bore,
        };
        let unmeasured = [free_bore, shaft].into_iter().filter(|size| !size.is_measured());
        let unmeasured = unmeasured.map(|size| size.largest() - size.smallest()).sum();
        Ok(Pairing { internal, external, bore, shaft, window, unmeasured })
    }

    /// Puts the candidate where it belongs, if it is good enough to be kept there.
    fn offer<'a, K: Ord>(
        self,
        candidate: Candidate<'a, K>,
        fits: &mut Best<FitRank<'a, K>, FoundFit>,
        misses: &mut Best<MissRank<K>, FoundMiss>,
        counts: &mut Counts,
    ) {
        let gap = Gap::new(&self.bore, &self.shaft, self.window);
        let judge = || judge(&self.bore, &self.shaft, self.window);
        let fit = gap.is_inside().then(judge);
        if let Some(fit) = fit.filter(|fit| fit.judgement.verdict <= Verdict::NotProven) {
            counts.fits += 1;
            let rank = FitRank {
                verdict: fit.judgement.verdict,
                off_centre: self.off_centre(&fit),
                is_held: candidate.available <= 0,
                has_no_date_code: candidate.date_code.is_none(),
                date_code: candidate.date_code.unwrap_or_default(),
                key: candidate.key,
            };
            fits.offer(rank, || FoundFit { window: self.window, fit });
            return;
        }
        counts.misses += 1;
        misses.offer(MissRank { by: gap.by(), key: candidate.key }, || {
            let fit = fit.unwrap_or_else(judge);
            let pair = Pair {
                internal: self.internal,
                external: self.external,
                gap,
                unmeasured: self.unmeasured,
                probability_in: fit.judgement.probability_in,
            };
            FoundMiss { window: self.window, fit, side: gap.side(), act: act::cheapest(&pair) }
        });
    }

    fn off_centre(&self, fit: &FitJudgement) -> Length {
        let middle = fit.clearance_min + fit.clearance_max;
        (middle - (self.window.min + self.window.max)).abs()
    }
}
