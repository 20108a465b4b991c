//! What to do with a measured feature: reuse it, recondition it, scrap it, or ask the owner.
//!
//! A proposal is advice with its reasons; the owner's decision is recorded beside it elsewhere.
//! Which repair it will be (grind, plate, sleeve), its cost and its step are not decided here.

mod advice;
mod findings;

use crate::item::{Feature, FeatureKind};
use crate::measure::{Assessment, WearBasis};
use crate::named::named_enum;
use crate::units::{Length, Unit};
use crate::verdict::{DecisionRule, Judgement, Verdict};
use findings::Manner;
use std::cmp::Reverse;

named_enum! {
    /// What is proposed for a feature or a piece, the best first.
    Disposition, "disposition" {
        /// Within every limit that was set: use it as it is.
        Reuse = "reuse",
        /// Not known to be beyond a limit, but something is missing to say that it is within.
        HoldForDecision = "hold_for_decision",
        /// Beyond a limit: not for use as it is.
        Recondition = "recondition",
        /// Beyond a limit and past what is worth reconditioning.
        Scrap = "scrap",
    }
}

named_enum! {
    /// What was compared with a limit.
    Criterion, "criterion" {
        /// Wear, from the reference station or from nominal.
        Wear = "wear",
        /// The smallest size against the lower limit of size.
        SmallestSize = "smallest_size",
        /// The largest size against the upper limit of size.
        LargestSize = "largest_size",
        /// Out-of-round.
        OutOfRound = "out_of_round",
        /// Taper.
        Taper = "taper",
        /// The most worn reading against the size past which reconditioning is not worth starting.
        ReconditionLimit = "recondition_limit",
    }
}

/// One measured value beside its limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What was compared.
    pub criterion: Criterion,
    /// The station it was found at, where it is one station's.
    pub station: Option<String>,
    /// The measured value.
    pub measured: Length,
    /// The limit, itself allowed.
    pub limit: Length,
    /// How sure it is that the true value is within.
    pub judgement: Judgement,
    /// Whether the value as it was read is within: simple acceptance, the limit included.
    pub within: bool,
    /// The finding in words.
    pub text: String,
}

/// What is proposed for one feature, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The name of the feature.
    pub feature: String,
    /// What is proposed.
    pub disposition: Disposition,
    /// Every value that was compared with a limit.
    pub findings: Vec<Finding>,
    /// Why, in words, the deciding reason first.
    pub reasons: Vec<String>,
}

/// What is proposed for a whole piece: the worst of its features.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PieceProposal {
    /// What is proposed.
    pub disposition: Disposition,
    /// The reasons of every feature that is not simply for reuse, the worst feature first.
    pub reasons: Vec<String>,
}

/// Proposes what to do with a feature, in words that give lengths in `unit`.
///
/// The limits of size govern rolling seats and housing bores always (without them these are held,
/// whatever their wear), other features only where no wear limit is set: a journal whose mate
/// adjusts may be worn below its making tolerance and still serve. Values are compared as they were read; [`Finding::judgement`] says how sure that is.
///
/// Beyond a limit is [`Disposition::Recondition`], or [`Disposition::Scrap`] when the recondition
/// limit is passed too or the part is one that is never reconditioned. Without a limit that governs,
/// or with a limit that could not be compared, it is [`Disposition::HoldForDecision`].
///
/// ```
/// use tenths_domain::disposition::{Disposition, propose};
/// use tenths_domain::item::{Feature, FeatureKind, Tolerance};
/// use tenths_domain::measure::{Basis, ExpandedUncertainty, Reading, assess};
/// use tenths_domain::units::{Length, Unit};
/// let journal = Feature {
///     name: "disc journal".into(),
///     kind: FeatureKind::Journal,
///     nominal: Length::from_nm(23_825_200),
///     tolerance: Tolerance::None,
///     wear_limit: Some(Length::from_nm(50_800)),
///     recondition_limit: None,
///     out_of_round_limit: None,
///     taper_limit: None,
///     reference_station: None,
///     limit_source: "shop".into(),
/// };
/// let reading = Reading {
///     station: "C".into(),
///     orientation_deg: 0,
///     value_at_20c: Length::from_nm(23_749_000),
///     expanded_uncertainty: ExpandedUncertainty::new(Length::from_nm(4_600))?,
///     resolution: Length::from_nm(25_400),
/// };
/// let assessment = assess(&[reading], &Basis::of(&journal))?;
/// let proposal = propose(&journal, &assessment, Unit::Inch);
/// assert_eq!(proposal.disposition, Disposition::Recondition);
/// assert_eq!(
///     proposal.reasons[0],
///     "wear 0.0030 in at station C, limit 0.0020 in: beyond the limit; not for reuse as it is"
/// );
/// # Ok::<(), tenths_domain::measure::MeasureError>(())
/// ```
pub fn propose(feature: &Feature, assessment: &Assessment, unit: Unit) -> Proposal {
    propose_by(feature, assessment, unit, DecisionRule::FullGuardBand)
}

/// Proposes as [`propose`] does, with the verdicts of a decision rule of choice. The rule says how
/// sure a finding is; which side of its limit a value reads on, and so what is proposed, is the same
/// by every rule.
pub fn propose_by(
    feature: &Feature,
    assessment: &Assessment,
    unit: Unit,
    rule: DecisionRule,
) -> Proposal {
    let manner = Manner { unit, rule };
    let compared = findings::compare(feature, assessment, manner);
    let (mut findings, open) = (compared.findings, compared.open);
    let beyond: Vec<Finding> = findings.iter().filter(|found| !found.within).cloned().collect();
    let mut reasons: Vec<String> = Vec::new();
    let disposition = if !beyond.is_empty() {
        let limit = findings::recondition_limit(feature, assessment, manner);
        let is_past = limit.as_ref().is_some_and(|found| !found.within);
        reasons.extend(beyond.iter().map(|found| found.text.clone()));
        reasons.extend(limit.iter().filter(|_| is_past).map(|found| found.text.clone()));
        reasons.push(advice::beyond(feature, assessment.side, &beyond).to_owned());
        findings.extend(limit);
        let is_never_reconditioned = advice::is_replaced(feature, assessment.side, &beyond);
        let scrap = is_past || is_never_reconditioned;
        if scrap { Disposition::Scrap } else { Disposition::Recondition }
    } else if open.is_empty() {
        reasons.extend(findings.iter().map(|found| found.text.clone()));
        Disposition::Reuse
    } else {
        Disposition::HoldForDecision
    };
    reasons.extend(open);
    reasons.extend(doubts(&findings, disposition));
    reasons.extend(notes(feature, assessment, unit));
    Proposal { feature: feature.name.clone(), disposition, findings, reasons }
}

/// Proposes what to do with a piece from the proposals of its features: the worst of them. A piece
/// of which nothing was assessed is held.
pub fn combine(proposals: &[Proposal]) -> PieceProposal {
    let Some(disposition) = proposals.iter().map(|proposal| proposal.disposition).max() else {
        let reason = "no feature has been assessed: measure at least one".to_owned();
        return PieceProposal { disposition: Disposition::HoldForDecision, reasons: vec![reason] };
    };
    let mut not_reused: Vec<&Proposal> =
        proposals.iter().filter(|one| one.disposition != Disposition::Reuse).collect();
    not_reused.sort_by_key(|proposal| Reverse(proposal.disposition));
    let worded = |proposal: &&Proposal| {
        let Proposal { feature, disposition, reasons, .. } = proposal;
        reasons.iter().map(|reason| format!("{feature} ({disposition}): {reason}")).collect()
    };
    let reasons: Vec<Vec<String>> = not_reused.iter().map(worded).collect();
    PieceProposal { disposition, reasons: reasons.concat() }
}

/// What the gauge could not prove of the findings that decided.
fn doubts(findings: &[Finding], disposition: Disposition) -> Vec<String> {
    let decided = |found: &&Finding| disposition == Disposition::Reuse || !found.within;
    let unproven = |found: &&Finding| {
        !matches!(found.judgement.verdict, Verdict::ProvenIn | Verdict::ProvenOut)
    };
    let worded = |found: &Finding| {
        let side = if found.within { "within" } else { "beyond" };
        format!("{} reads {side} its limit: {}", found.criterion, found.judgement)
    };
    findings.iter().filter(decided).filter(unproven).map(worded).collect()
}

/// What a reader should know of the numbers, whatever was decided.
fn notes(feature: &Feature, assessment: &Assessment, unit: Unit) -> Vec<String> {
    let mut notes = Vec::new();
    let basis = assessment.wear.as_ref().map(|wear| &wear.basis);
    if let (Some(station), Some(WearBasis::Nominal { size })) = (&feature.reference_station, basis)
    {
        let size = size.display_in(unit);
        let so = match feature.limits() {
            Ok(Some(_)) => "and only what lies past the limits of size counts as wear",
            _ => "so what the making tolerance took off counts too",
        };
        notes.push(format!(
            "reference station {station} was not read: wear is counted from the nominal {size}, {so}"
        ));
    }
    if let Some(inferred) = assessment.inferred_nominal
        && inferred.is_far_from(feature.nominal)
    {
        notes.push(format!(
            "the reference station points to a standard size of {}, the item says {}: is it the \
             right item, or was it built up before?",
            inferred.size.display_in(unit),
            feature.nominal.display_in(unit),
        ));
    }
    if feature.kind == FeatureKind::RollingSeat && assessment.out_of_round.is_none() {
        notes.push("a seat read in one direction only does not show out-of-round".to_owned());
    }
    notes
}
