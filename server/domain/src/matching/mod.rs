//! Matching: which parts of the stock fit a measured part, best first, and how the nearest of the
//! others miss.
//!
//! Pure ranking: the caller brings the candidates, one by one, and gets back at most as many fits
//! and misses as it asked for; memory is bounded by that, however many candidates there are. No
//! index and no stock is here, and no substitution of one bearing for another (C3 for CN), which is
//! in [`crate::substitution`].
//!
//! A candidate *fits* if the clearance at both extremes of the sizes is within the window of the
//! requirement at the candidate's nominal size, and the gauges do not make even that improbable.
//! All others *miss*. How sure a fit is, is its verdict ([`crate::fit::judge`]).
//!
//! Order of fits: best verdict, then nearest to the middle of the window, then free before held,
//! then oldest date code, then key. Order of misses: smallest miss, then free before held, then
//! oldest date code, then key. Both are total as long as keys differ, so an answer does not depend
//! on the order in which candidates come.
//!
//! Rules of the trade that hold here: a rolling bearing that was taken off is never offered (common
//! practice, also in US Army TM 11-6125-240-34); what may be done to make a miss fit is in [`Act`].

mod act;
mod best;
mod change;
mod ends;
mod question;
mod weigh;

pub use act::Act;
use act::Gap;
pub(crate) use act::REAM_MAX;
use best::Best;
pub use change::{Change, End, smallest_changes};
use ends::{BothFits, Ends};
pub use question::{
    AgePolicy, Answer, Candidate, Caps, Condition, Counts, Match, Miss, MissSide, OtherEnd,
    OtherFeature, OtherFit, Place, Question,
};
pub use weigh::{Weight, improbable_within, mate_limits, weigh};

use crate::fit::{ClearanceWindow, FitJudgement, SizeBelief};
use crate::item::ItemKind;
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
///     other: None,
///     age: None,
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
///     other: None,
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
    let mut found = Found {
        fits: Best::new(caps.fits),
        misses: Best::new(caps.misses),
        counts: Counts::default(),
    };
    for candidate in candidates {
        if is_removed_bearing(candidate.place.item, candidate.condition) {
            found.counts.removed_bearings += 1;
        } else if is_too_old(question, &candidate, &mut found.counts) {
            found.counts.too_old += 1;
        } else if candidate.place.feature.side() == question.place.feature.side() {
            found.counts.not_mates += 1;
        } else {
            match Ends::new(question, &candidate) {
                Ok(ends) => found.offer(ends, candidate),
                Err(_) => found.counts.not_judged += 1,
            }
        }
    }
    Answer {
        fits: found
            .fits
            .into_sorted()
            .map(|(rank, fit)| fit.of(rank.off_centre, rank.key))
            .collect(),
        misses: found.misses.into_sorted().map(|(rank, miss)| miss.of(rank)).collect(),
        counts: found.counts,
    }
}

/// The rule of the trade: a rolling bearing that was pulled off is not used again.
pub fn is_removed_bearing(item: ItemKind, condition: Condition) -> bool {
    item == ItemKind::RollingBearing && condition == Condition::Used
}

/// The shop's policy on shelf age: a rolling bearing with an older date code is not offered. One
/// whose age cannot be told is, and counted.
fn is_too_old<K>(question: &Question, candidate: &Candidate<'_, K>, counts: &mut Counts) -> bool {
    let Some(age) = question.age else { return false };
    if candidate.place.item != ItemKind::RollingBearing {
        return false;
    }
    let is_passed = age.is_passed(candidate.date_code);
    counts.age_unknown += u64::from(is_passed.is_none());
    is_passed.unwrap_or(false)
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
struct MissRank<'a, K> {
    by: Length,
    is_held: bool,
    has_no_date_code: bool,
    date_code: &'a str,
    key: K,
}

/// A fit without its key, which its rank holds.
struct FoundFit {
    window: ClearanceWindow,
    fit: FitJudgement,
    other: Option<OtherFit>,
    installed: Option<SizeBelief>,
}

impl FoundFit {
    fn of<K>(self, off_centre: Length, key: K) -> Match<K> {
        let FoundFit { window, fit, other, installed } = self;
        Match { key, window, fit, off_centre, other, installed }
    }
}

/// A miss without what its rank holds.
struct FoundMiss {
    window: ClearanceWindow,
    fit: FitJudgement,
    by: Length,
    side: MissSide,
    act: Option<Act>,
    other: Option<OtherFit>,
    installed: Option<SizeBelief>,
}

impl FoundMiss {
    fn of<K>(self, rank: MissRank<'_, K>) -> Miss<K> {
        let FoundMiss { window, fit, by, side, act, other, installed } = self;
        Miss { key: rank.key, window, fit, by, side, act, other, installed }
    }
}

/// Whether a pair fits: inside at both extremes, and not improbable even so.
fn is_fit(gap: Gap, fit: &FitJudgement) -> bool {
    gap.is_inside() && fit.judgement.verdict <= Verdict::NotProven
}

/// Where fits and misses are kept, and what is counted.
struct Found<'a, K> {
    fits: Best<FitRank<'a, K>, FoundFit>,
    misses: Best<MissRank<'a, K>, FoundMiss>,
    counts: Counts,
}

impl<'a, K: Ord> Found<'a, K> {
    /// Puts a candidate where it belongs, if it is good enough to be kept there.
    fn offer(&mut self, ends: Ends, candidate: Candidate<'a, K>) {
        let gaps_close =
            ends.first.gap.is_inside() && ends.other.as_ref().is_none_or(|o| o.gap.is_inside());
        let judged = gaps_close.then(|| ends.judge());
        match judged.filter(|both| both.verdict() <= Verdict::NotProven) {
            Some(both) => self.offer_fit(&ends, &both, candidate),
            None => self.offer_miss(&ends, judged, candidate),
        }
    }

    fn offer_fit(&mut self, ends: &Ends, both: &BothFits, candidate: Candidate<'a, K>) {
        self.counts.fits += 1;
        let rank = FitRank {
            verdict: both.verdict(),
            off_centre: ends.off_centre(),
            is_held: candidate.available <= 0,
            has_no_date_code: candidate.date_code.is_none(),
            date_code: candidate.date_code.unwrap_or_default(),
            key: candidate.key,
        };
        self.fits.offer(rank, || FoundFit {
            window: ends.first.window,
            fit: both.first,
            other: ends.as_other(both),
            installed: ends.installed,
        });
    }

    fn offer_miss(&mut self, ends: &Ends, judged: Option<BothFits>, candidate: Candidate<'a, K>) {
        self.counts.misses += 1;
        let other = ends.other.as_ref().map_or(Length::ZERO, |other| other.gap.by());
        let by = ends.first.gap.by().max(other);
        let rank = MissRank {
            by,
            is_held: candidate.available <= 0,
            has_no_date_code: candidate.date_code.is_none(),
            date_code: candidate.date_code.unwrap_or_default(),
            key: candidate.key,
        };
        self.misses.offer(rank, || {
            let both = judged.unwrap_or_else(|| ends.judge());
            let fits = is_fit(ends.first.gap, &both.first);
            FoundMiss {
                window: ends.first.window,
                fit: both.first,
                by: ends.first.gap.by(),
                side: ends.first.gap.side(),
                act: if fits { None } else { ends.first.act(&both.first) },
                other: ends.as_other(&both),
                installed: ends.installed,
            }
        });
    }
}
