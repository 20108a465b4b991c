//! What a match is asked and answered with.

use super::Act;
use crate::bearings::iso492::ToleranceClass;
use crate::fit::{ClearanceWindow, CloseIn, FitJudgement, Requirement, SizeBelief};
use crate::item::{FeatureKind, ItemKind};
use crate::named::named_enum;
use crate::substitution::{AgeLimit, DateCode};
use crate::temperature::Material;
use crate::units::Length;
use crate::verdict::Judgement;

named_enum! {
    /// Whether a part has been in service.
    Condition, "condition" {
        /// Never in service.
        New = "new",
        /// Taken out of a machine.
        Used = "used",
    }
}

/// Where on what part a size is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// What the part is.
    pub item: ItemKind,
    /// What place on it.
    pub feature: FeatureKind,
    /// What it is made of, if known.
    pub material: Option<Material>,
}

/// What is asked: a measured part and the fit that its mate must give.
#[derive(Clone, Debug)]
pub struct Question {
    /// The measured place; candidates on the other side of a fit are its mates.
    pub place: Place,
    /// Its size. Of a bushing's bore: before pressing, if `close_in` is given.
    pub size: SizeBelief,
    /// The ISO 492 class of the measured part, if it is a bearing.
    pub ring: Option<ToleranceClass>,
    /// The fit wanted.
    pub requirement: Requirement,
    /// How much a bushing's bore, the measured one's or a candidate's, closes in when pressed. None
    /// if the sizes are of the bore as it will run.
    pub close_in: Option<CloseIn>,
    /// The other end of the same part: the housing that a bearing or bushing for this shaft goes
    /// into.
    pub other: Option<OtherEnd>,
    /// The shop's policy on date codes.
    pub age: Option<AgePolicy>,
}

/// The other end that one candidate must fit as well.
#[derive(Clone, Debug)]
pub struct OtherEnd {
    /// The place.
    pub place: Place,
    /// Its size.
    pub size: SizeBelief,
    /// The fit wanted there.
    pub requirement: Requirement,
    /// The outside diameter of the housing: with it a bushing is judged as pressed, its bore closed
    /// in by thick cylinders.
    pub housing_outside: Option<Length>,
}

/// How old a date-coded rolling bearing may be, and what time it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AgePolicy {
    /// The limit.
    pub limit: AgeLimit,
    /// The time, in Unix microseconds.
    pub now: i64,
}

impl AgePolicy {
    /// Whether what has this date code is older than allowed; nothing if its age cannot be told.
    pub fn is_passed(self, date_code: Option<&str>) -> Option<bool> {
        date_code.and_then(DateCode::parse).map(|code| self.limit.is_passed(code, self.now))
    }
}

/// A part in stock that might fit.
#[derive(Clone, Debug)]
pub struct Candidate<'a, K> {
    /// What the caller knows it by; the last word in the order.
    pub key: K,
    /// The place that would mate.
    pub place: Place,
    /// Its nominal size: the requirement's window is taken here.
    pub nominal: Length,
    /// Its size.
    pub size: SizeBelief,
    /// Its ISO 492 class, if it is a bearing.
    pub ring: Option<ToleranceClass>,
    /// New or used.
    pub condition: Condition,
    /// How many are free; none or fewer means that all are held.
    pub available: i64,
    /// Date code, written so that the older sorts first (year before month).
    pub date_code: Option<&'a str>,
    /// The place that would mate with the other end; needed where one is asked for.
    pub other: Option<OtherFeature>,
}

/// A candidate's other place, for questions with two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OtherFeature {
    /// What place it is.
    pub feature: FeatureKind,
    /// Its nominal size.
    pub nominal: Length,
    /// Its size.
    pub size: SizeBelief,
    /// Its ISO 492 class, if it is a bearing.
    pub ring: Option<ToleranceClass>,
}

/// The most fits and misses to answer with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caps {
    /// Most fits.
    pub fits: usize,
    /// Most misses.
    pub misses: usize,
}

/// A candidate that fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Match<K> {
    /// The candidate's key.
    pub key: K,
    /// The clearance that the requirement allows at the candidate's nominal size.
    pub window: ClearanceWindow,
    /// The clearance that the two sizes give, and how sure the fit is.
    pub fit: FitJudgement,
    /// Twice the distance of the middle clearance from the middle of the window, at both ends.
    pub off_centre: Length,
    /// The other end, where two were asked for.
    pub other: Option<OtherFit>,
    /// The bore of a bushing as it will be once pressed, where that was worked out.
    pub installed: Option<SizeBelief>,
}

impl<K> Match<K> {
    /// How sure it is that both ends fit: the worse verdict of the two, and the probability of
    /// both, taken as independent.
    pub fn judgement(&self) -> Judgement {
        both(self.fit.judgement, self.other.as_ref())
    }
}

/// How the other end fits, or misses.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherFit {
    /// The clearance that the requirement allows there.
    pub window: ClearanceWindow,
    /// The clearance that the two sizes give, and how sure the fit is.
    pub fit: FitJudgement,
    /// By how much it leaves the window; zero if it fits.
    pub by: Length,
    /// The end of the window that blocks; none if it fits.
    pub side: Option<MissSide>,
    /// The cheapest act that the trade allows, if it misses and the trade allows one.
    pub act: Option<Act>,
}

fn both(first: Judgement, other: Option<&OtherFit>) -> Judgement {
    let Some(other) = other.map(|other| other.fit.judgement) else { return first };
    Judgement {
        verdict: first.verdict.max(other.verdict),
        probability_in: first.probability_in * other.probability_in,
    }
}

named_enum! {
    /// Which end of the window a miss is beyond.
    MissSide, "side of a miss" {
        /// Too little clearance, or too much interference.
        TooTight = "too_tight",
        /// Too much clearance, or too little interference.
        TooLoose = "too_loose",
        /// Beyond both ends, or within them but with gauges too coarse to tell.
        Both = "both",
    }
}

/// A candidate that does not fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Miss<K> {
    /// The candidate's key.
    pub key: K,
    /// The clearance that the requirement allows at the candidate's nominal size.
    pub window: ClearanceWindow,
    /// The clearance that the two sizes give, and how sure the misfit is.
    pub fit: FitJudgement,
    /// By how much the clearance leaves the window; the larger where it leaves at both ends.
    pub by: Length,
    /// The end of the window that blocks.
    pub side: MissSide,
    /// The cheapest act that the trade allows, if it allows one.
    pub act: Option<Act>,
    /// The other end, where two were asked for. Then `by`, `side` and `act` are of the first end
    /// alone, zero and none if that one fits.
    pub other: Option<OtherFit>,
    /// The bore of a bushing as it will be once pressed, where that was worked out.
    pub installed: Option<SizeBelief>,
}

impl<K> Miss<K> {
    /// By how much the worse of both ends misses.
    pub fn worst(&self) -> Length {
        self.other.as_ref().map_or(self.by, |other| self.by.max(other.by))
    }

    /// How sure the misfit is; see [`Match::judgement`].
    pub fn judgement(&self) -> Judgement {
        both(self.fit.judgement, self.other.as_ref())
    }
}

/// What came of every candidate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Candidates that fit, listed or not.
    pub fits: u64,
    /// Candidates that miss, listed or not.
    pub misses: u64,
    /// Rolling bearings taken off a machine: never offered.
    pub removed_bearings: u64,
    /// Rolling bearings whose date code is older than the shop's policy allows.
    pub too_old: u64,
    /// Rolling bearings with a policy on date codes and none that can be read; they are offered.
    pub age_unknown: u64,
    /// Candidates on the same side of a fit as the measured part.
    pub not_mates: u64,
    /// Candidates that the requirement says nothing about, such as a class that does not exist at
    /// their size or a ring of unknown class.
    pub not_judged: u64,
}

/// What in stock fits, and what nearly does.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer<K> {
    /// The fits, best first.
    pub fits: Vec<Match<K>>,
    /// The misses, nearest first.
    pub misses: Vec<Miss<K>>,
    /// What came of every candidate.
    pub counts: Counts,
}
