//! Judging: what the standing readings say of a piece, what is proposed, and what was decided.

use super::act::{Act, View};
use super::assessment_traces;
use super::error::Error;
use super::lookup::feature_of;
use super::reconditioning::rejected;
use super::trace::Trace;
use super::views::AssessmentView;
use std::collections::{BTreeSet, HashMap};
use tenths_domain::disposition::{self, Disposition, Proposal};
use tenths_domain::ids::FeatureId;
use tenths_domain::item::{Feature, Side, Tolerance};
use tenths_domain::measure::{self, Basis, ExpandedUncertainty, MeasureError, WearBasis};
use tenths_domain::state::{PieceCondition, PieceState};
use tenths_domain::units::{Length, Unit};
use tenths_domain::verdict::DecisionRule;
use tenths_storage::{
    Assessment, AssessmentFinding, Decision, Item, ItemFeature, NewAssessment, Page, Piece,
    PieceSize, Reading,
};

/// Assesses a piece.
#[derive(Clone, Debug)]
pub struct AssessPiece {
    /// The piece.
    pub piece_tag: String,
    /// Only this feature.
    pub feature: Option<String>,
    /// How it is judged.
    pub manner: Manner,
}

/// How readings are judged.
#[derive(Clone, Debug)]
pub struct Manner {
    /// The station that does not wear, where the item names none.
    pub reference_station: Option<String>,
    /// The unit of the sentences; none takes that of the first reading.
    pub text_unit: Option<Unit>,
    /// How the proven ends are guarded.
    pub rule: DecisionRule,
}

impl Default for Manner {
    /// By the full guard band, in the unit of the readings.
    fn default() -> Self {
        Manner { reference_station: None, text_unit: None, rule: DecisionRule::FullGuardBand }
    }
}

/// What an assessment of a piece says.
#[derive(Clone, Debug)]
pub struct PieceAssessment {
    /// One assessment per measured feature.
    pub assessments: Vec<AssessmentView>,
    /// The worst over its features.
    pub disposition: Disposition,
    /// Features without a reading.
    pub unmeasured: Vec<String>,
    /// The values behind the assessments.
    pub traces: Vec<Trace>,
}

/// What is proposed for a whole piece as it stands, for whoever decides.
pub(crate) struct Proposed {
    /// What its latest assessments propose, if there are any.
    pub(crate) disposition: Option<Disposition>,
    /// Whether the piece may go into stock without an override.
    pub(crate) allows_reuse: bool,
    /// Why not.
    pub(crate) why: String,
    /// The same by feature: its name, and what it lacks.
    pub(crate) lacking: Vec<(String, String)>,
}

/// The feature as this piece is judged by it: a reconditioned one has its own size, and is judged by
/// its limits of size where there are any, since a wear limit is what service may take off later.
pub(crate) fn effective_feature(feature: &Feature, size: &PieceSize) -> Feature {
    let Some(target) = size.target else {
        let wear_limit =
            feature.wear_limit.filter(|_| size.round == 0 || feature.tolerance == Tolerance::None);
        return Feature { wear_limit, ..feature.clone() };
    };
    Feature {
        wear_limit: None,
        // The size at which there is most material: what wear is counted from.
        nominal: match feature.kind.side() {
            Side::External => target.upper,
            Side::Internal => target.lower,
        },
        tolerance: Tolerance::Explicit(target),
        limit_source: format!("reconditioned in round {}", size.round),
        ..feature.clone()
    }
}

/// The readings that speak for a feature: of the current round, not voided, and of each place
/// (station and orientation) those taken last. Measuring a place again, with a better gauge say,
/// lets the newer reading speak; the older one stays on record.
pub(crate) fn standing(readings: Vec<Reading>, round: i64) -> Vec<Reading> {
    let mut readings = readings;
    readings.retain(|reading| reading.round == round && reading.void.is_none());
    let place = |reading: &Reading| (reading.station.clone(), reading.orientation_deg);
    // In order of recording: the last request that read a place wins.
    let last: HashMap<_, String> =
        readings.iter().map(|reading| (place(reading), reading.request_id.clone())).collect();
    readings.retain(|reading| last.get(&place(reading)) == Some(&reading.request_id));
    readings
}

/// Assesses a piece, records what was found and what it rests on, and proposes a disposition.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if nothing is measured.
pub async fn assess_piece(act: &Act<'_>, order: &AssessPiece) -> Result<PieceAssessment, Error> {
    let view = act.view();
    let piece = view.find_piece(&order.piece_tag).await?;
    let item = view.item_of(&piece).await?;
    let features: Vec<&ItemFeature> = match &order.feature {
        Some(name) => vec![feature_of(&item, name)?],
        None => item.features.iter().collect(),
    };
    let (mut recorded, mut proposals, mut unmeasured) = (Vec::new(), Vec::new(), Vec::new());
    let mut grounds = Vec::new();
    for feature in features {
        let size = act.tx.piece_size(piece.id, feature.id).await?;
        let readings = standing(act.tx.readings_of(piece.id, feature.id).await?, size.round);
        if readings.is_empty() {
            unmeasured.push(feature.feature.name.clone());
            continue;
        }
        let judged = effective_feature(&feature.feature, &size);
        let judging = Judging {
            piece: &piece,
            feature: feature.id,
            judged: &judged,
            is_reground: size.target.is_some(),
            readings: &readings,
        };
        let (assessment, proposal) = judging.record(act, size.round, &order.manner).await?;
        recorded.push(assessment);
        proposals.push(proposal);
        grounds.push((judged, readings));
    }
    if recorded.is_empty() {
        let description = format!("piece {} has no readings: measure it first", piece.tag);
        return Err(Error::forbidden("NOT_MEASURED", piece.tag, description));
    }
    let all = grounds.iter().flat_map(|(_, readings)| readings);
    check_reference(order.manner.reference_station.as_deref(), all)?;
    let disposition = disposition::combine(&proposals).disposition;
    let assessments = view.assessments(recorded).await?;
    let mut traces = Vec::new();
    for (assessment, (judged, readings)) in assessments.iter().zip(&grounds) {
        let gauges: Vec<_> = readings.iter().map(|reading| reading.gauge).collect();
        let gauges = act.tx.gauge_tags(gauges).await?;
        traces.extend(assessment_traces::of(assessment, judged, readings, &gauges));
    }
    traces.push(assessment_traces::of_piece(disposition));
    Ok(PieceAssessment { assessments, disposition, unmeasured, traces })
}

/// Whether a station was read; its letters may be in any case.
fn has_station<'r>(readings: impl IntoIterator<Item = &'r Reading>, station: &str) -> bool {
    readings.into_iter().any(|reading| reading.station.eq_ignore_ascii_case(station))
}

/// Refuses a station that wear is to be counted from where nothing was read there.
pub(crate) fn check_reference<'r>(
    named: Option<&str>,
    readings: impl IntoIterator<Item = &'r Reading>,
) -> Result<(), Error> {
    let Some(station) = named else { return Ok(()) };
    let read: BTreeSet<&str> =
        readings.into_iter().map(|reading| reading.station.as_str()).collect();
    if read.iter().any(|one| one.eq_ignore_ascii_case(station)) {
        return Ok(());
    }
    let read: Vec<&str> = read.into_iter().collect();
    let problem = format!("nothing was read at station {station}; read are {}", read.join(", "));
    Err(Error::invalid("reference_station", problem))
}

/// One feature of a piece with its standing readings, to be judged.
pub(crate) struct Judging<'a> {
    pub(crate) piece: &'a Piece,
    pub(crate) feature: FeatureId,
    /// The feature by whose limits it is judged.
    pub(crate) judged: &'a Feature,
    /// Whether it was reground: then no other station is a measure of its wear.
    pub(crate) is_reground: bool,
    pub(crate) readings: &'a [Reading],
}

impl Judging<'_> {
    /// What the readings say. Wear is counted from the station named, if it was read, else from the
    /// item's own that does not wear; of a reground feature that is left out, and wear is counted
    /// from its finished size.
    pub(crate) fn assess(
        &self,
        named: Option<&str>,
    ) -> Result<(measure::Assessment, Basis), Error> {
        let mut basis = Basis::of(self.judged);
        let mut readings = self.domain_readings()?;
        if let Some(station) = named.filter(|station| has_station(self.readings, station)) {
            basis.reference_station = Some(station.to_owned());
        }
        if self.is_reground
            && let Some(station) = basis.reference_station.take()
        {
            readings.retain(|reading| !reading.station.eq_ignore_ascii_case(&station));
        }
        let refused = |error: MeasureError| {
            Error::forbidden("NOT_MEASURED", self.piece.tag.clone(), error.to_string())
        };
        Ok((measure::assess(&readings, &basis).map_err(refused)?, basis))
    }

    /// Assesses, proposes and records.
    pub(crate) async fn record(
        &self,
        act: &Act<'_>,
        round: i64,
        manner: &Manner,
    ) -> Result<(Assessment, Proposal), Error> {
        let unit = manner.text_unit.unwrap_or_else(|| shown_unit(self.readings));
        let (assessment, basis) = self.assess(manner.reference_station.as_deref())?;
        let judged =
            Feature { reference_station: basis.reference_station.clone(), ..self.judged.clone() };
        let mut proposal = disposition::propose_by(&judged, &assessment, unit, manner.rule);
        self.doubt_gauges(act, &mut proposal).await?;
        let limits = self.judged.limits().ok().flatten();
        let wear = assessment.wear.as_ref();
        let record = NewAssessment {
            piece: self.piece.id,
            feature: self.feature,
            round,
            person: act.person.to_owned(),
            created_at: act.now,
            text_unit: unit,
            reference_station: basis.reference_station.unwrap_or_default(),
            nominal: self.judged.nominal,
            nominal_source: nominal_source(self.judged, round, &assessment),
            limit_lower: limits.as_ref().map(|(limits, _)| limits.lower),
            limit_upper: limits.as_ref().map(|(limits, _)| limits.upper),
            limit_source: limits
                .map_or_else(|| self.judged.limit_source.clone(), |(_, source)| source),
            min: assessment.min.value,
            max: assessment.max.value,
            mean: assessment.mean,
            out_of_round: assessment.out_of_round.as_ref().map(|found| found.amount),
            taper: assessment.taper.as_ref().map(|found| found.amount),
            wear: wear.map(|wear| wear.amount),
            wear_basis: wear.map_or("", |wear| wear_basis(&wear.basis)).to_owned(),
            wear_limit: self.judged.wear_limit,
            uncertainty: assessment.expanded_uncertainty.length(),
            rule: manner.rule,
            disposition: proposal.disposition,
            reasons: proposal.reasons.clone(),
            findings: proposal.findings.iter().map(finding).collect(),
            readings: self.readings.iter().map(|reading| reading.id.0).collect(),
        };
        Ok((act.tx.insert_assessment(record).await?, proposal))
    }

    /// What was read with a gauge that was found wrong is not for reuse on its word alone.
    async fn doubt_gauges(&self, act: &Act<'_>, proposal: &mut Proposal) -> Result<(), Error> {
        let wrong = act.tx.gauges_found_wrong().await?;
        if let Some(tag) = self.readings.iter().find_map(|reading| wrong.get(&reading.gauge)) {
            if proposal.disposition == Disposition::Reuse {
                proposal.disposition = Disposition::HoldForDecision;
            }
            proposal
                .reasons
                .insert(0, format!("gauge {tag} was found wrong: measure again with another"));
        }
        if self.readings.iter().any(|reading| reading.gauge_overdue) {
            let reason = "a gauge was past its calibration date when it was read".to_owned();
            proposal.reasons.push(reason);
        }
        Ok(())
    }

    pub(crate) fn domain_readings(&self) -> Result<Vec<measure::Reading>, Error> {
        let one = |reading: &Reading| {
            let expanded_uncertainty =
                ExpandedUncertainty::new(reading.uncertainty).map_err(|error| {
                    Error::forbidden("NOT_MEASURED", self.piece.tag.clone(), error.to_string())
                })?;
            Ok(measure::Reading {
                station: reading.station.clone(),
                orientation_deg: reading.orientation_deg,
                value_at_20c: reading.at_20c,
                expanded_uncertainty,
                // The last place written is in the uncertainty already.
                resolution: Length::from_nm(1),
            })
        };
        self.readings.iter().map(one).collect()
    }
}

fn finding(finding: &disposition::Finding) -> AssessmentFinding {
    AssessmentFinding {
        criterion: finding.criterion.as_str().to_owned(),
        measured: finding.measured,
        limit: finding.limit,
        within: finding.within,
        verdict: finding.judgement.verdict.as_str().to_owned(),
        // A probability is kept to the parts per billion: exact on both databases.
        probability_in_ppb: (finding.judgement.probability_in * 1e9).round() as i64,
        text: finding.text.clone(),
    }
}

fn wear_basis(basis: &WearBasis) -> &'static str {
    match basis {
        WearBasis::ReferenceStation { .. } => "reference_station",
        WearBasis::Nominal { .. } => "nominal",
    }
}

fn nominal_source(judged: &Feature, round: i64, assessment: &measure::Assessment) -> String {
    let origin = match round {
        0 => "the item".to_owned(),
        _ if matches!(judged.tolerance, Tolerance::Explicit(_)) => judged.limit_source.clone(),
        _ => format!("the item, after reconditioning ({round})"),
    };
    let confirmed = match assessment.inferred_nominal {
        Some(inferred) if inferred.is_far_from(judged.nominal) => {
            ", not confirmed by the reference station"
        }
        Some(_) => ", confirmed by the reference station",
        None => "",
    };
    format!("{origin}{confirmed}")
}

/// Inch readings are spoken of in inches, metric ones in millimetres.
pub(crate) fn shown_unit(readings: &[Reading]) -> Unit {
    match readings.first().map(|reading| reading.value_unit) {
        Some(Unit::Inch | Unit::Thou) => Unit::Inch,
        Some(Unit::Millimetre | Unit::Micrometre) | None => Unit::Millimetre,
    }
}

/// What a piece's latest assessments propose, and whether it may go into stock as it is.
///
/// Every feature that has a limit must be assessed on its latest readings and be for reuse. A new
/// piece may also go in unmeasured: its limits are what the maker promised.
pub(crate) async fn proposed(
    view: View<'_>,
    piece: &Piece,
    item: &Item,
) -> Result<Proposed, Error> {
    let sizes = view.tx.piece_sizes([piece.id]).await?.remove(&piece.id).unwrap_or_default();
    let rounds: HashMap<FeatureId, i64> =
        sizes.iter().map(|size| (size.feature, size.round)).collect();
    let latest = view.tx.latest_assessments(piece.id, &rounds).await?;
    let wrong = view.tx.gauges_found_wrong().await?;
    let mut lacking = Vec::new();
    for feature in &item.features {
        let size = sizes.iter().find(|size| size.feature == feature.id);
        let measured = size.map_or(0, |size| size.reading_count);
        let name = &feature.feature.name;
        match latest.iter().find(|one| one.record.feature == feature.id) {
            _ if measured == 0
                && (piece.condition == PieceCondition::New || !has_limit(&feature.feature)) => {}
            None if measured == 0 => {
                lacking.push((name.clone(), format!("{name} is not measured")))
            }
            None => lacking.push((name.clone(), format!("{name} is not assessed"))),
            Some(one) if !is_current(view, one, piece, size).await? => {
                let why = format!("{name} has readings that its assessment does not know of");
                lacking.push((name.clone(), why));
            }
            Some(one) if one.record.disposition != Disposition::Reuse => {
                let reason = one.record.reasons.first().cloned().unwrap_or_default();
                let why = format!("{name} is for {}: {reason}", one.record.disposition);
                lacking.push((name.clone(), why));
            }
            Some(one) => {
                let readings = view.tx.readings_by_ids(&one.record.readings).await?;
                let tag = readings.iter().find_map(|reading| wrong.get(&reading.gauge));
                lacking.extend(tag.map(|tag| {
                    let why = format!("{name} was read with gauge {tag}, which was found wrong");
                    (name.clone(), why)
                }));
            }
        }
    }
    // While a job is under way its end says what it mends.
    if piece.state == PieceState::Inspection
        && let Some(found) = rejected(view, piece, None).await?
    {
        let feature = item.feature_by_id(found.feature);
        lacking
            .push((feature.map(|one| one.feature.name.clone()).unwrap_or_default(), found.words));
    }
    Ok(Proposed {
        disposition: latest.iter().map(|one| one.record.disposition).max(),
        allows_reuse: lacking.is_empty(),
        why: lacking.iter().map(|(_, why)| why.as_str()).collect::<Vec<_>>().join("; "),
        lacking,
    })
}

fn has_limit(feature: &Feature) -> bool {
    feature.wear_limit.is_some()
        || feature.out_of_round_limit.is_some()
        || feature.taper_limit.is_some()
        || feature.tolerance != Tolerance::None
}

async fn is_current(
    view: View<'_>,
    assessment: &Assessment,
    piece: &Piece,
    size: Option<&PieceSize>,
) -> Result<bool, Error> {
    let round = size.map_or(0, |size| size.round);
    let readings = standing(view.tx.readings_of(piece.id, assessment.record.feature).await?, round);
    let now: Vec<i64> = readings.iter().map(|reading| reading.id.0).collect();
    Ok(now == assessment.record.readings)
}

/// Records what was decided beside what was proposed.
pub(crate) async fn decide(
    act: &Act<'_>,
    piece: &Piece,
    proposed: Option<Disposition>,
    decided: Disposition,
    reason: &str,
) -> Result<(), Error> {
    let decision = Decision {
        piece: piece.id,
        proposed,
        decided,
        reason: reason.to_owned(),
        person: act.person.to_owned(),
        created_at: act.now,
    };
    Ok(act.tx.insert_decision(&decision).await?)
}

/// Lists recorded assessments in order of recording.
///
/// # Errors
/// [`Error::NotFound`] for a piece or gauge that the filter names.
pub async fn list_assessments(
    view: View<'_>,
    page: Page,
    piece_tag: Option<String>,
    gauge_tag: Option<String>,
) -> Result<Vec<AssessmentView>, Error> {
    let piece = match &piece_tag {
        Some(tag) => Some(view.find_piece(tag).await?.id),
        None => None,
    };
    let ids = match &gauge_tag {
        Some(tag) => {
            let gauge = view.find_gauge(tag).await?;
            Some(view.tx.assessments_on_gauge(gauge.id).await?)
        }
        None => None,
    };
    let assessments = view.tx.assessments_page(page, piece, ids.as_deref()).await?;
    view.assessments(assessments).await
}
