//! Recorded assessments with what they rest on, and the decisions made beside them.

use crate::entities::{assessment_findings, assessment_readings, assessments, decisions};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{length, lines, named, named_option};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::{AssessmentId, FeatureId, PieceId};
use tenths_domain::units::{Length, Unit};
use tenths_domain::verdict::DecisionRule;

/// What the readings said of one feature, as recorded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewAssessment {
    /// The piece.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// How often the feature had been reconditioned.
    pub round: i64,
    /// Who asked for it.
    pub person: String,
    /// When, in Unix microseconds.
    pub created_at: i64,
    /// The unit that its sentences are written in.
    pub text_unit: Unit,
    /// The station that does not wear, or empty.
    pub reference_station: String,
    /// The size that it was judged against.
    pub nominal: Length,
    /// Where that nominal comes from.
    pub nominal_source: String,
    /// Lower limit of size.
    pub limit_lower: Option<Length>,
    /// Upper limit of size.
    pub limit_upper: Option<Length>,
    /// Where those limits come from.
    pub limit_source: String,
    /// Smallest reading at 20 C, the reference station left out.
    pub min: Length,
    /// Largest reading at 20 C, the reference station left out.
    pub max: Length,
    /// Mean of the readings.
    pub mean: Length,
    /// Greatest difference at one station, if one was read in two orientations.
    pub out_of_round: Option<Length>,
    /// Greatest difference along the axis in one orientation, if two stations were read in one.
    pub taper: Option<Length>,
    /// Wear on diameter.
    pub wear: Option<Length>,
    /// What wear was measured against: `reference_station`, `nominal` or empty.
    pub wear_basis: String,
    /// The limit of wear.
    pub wear_limit: Option<Length>,
    /// Expanded uncertainty (k=2) of a size.
    pub uncertainty: Length,
    /// How sure its findings are is said by this rule.
    pub rule: DecisionRule,
    /// What was proposed.
    pub disposition: Disposition,
    /// Why, in sentences.
    pub reasons: Vec<String>,
    /// Everything that was compared with a limit.
    pub findings: Vec<AssessmentFinding>,
    /// The readings that it rests on.
    pub readings: Vec<i64>,
}

/// One thing that was compared with a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssessmentFinding {
    /// What was compared.
    pub criterion: String,
    /// What was measured.
    pub measured: Length,
    /// The limit.
    pub limit: Length,
    /// Whether it is within, taken as it reads.
    pub within: bool,
    /// The verdict's name.
    pub verdict: String,
    /// Probability of being inside, in parts per billion.
    pub probability_in_ppb: i64,
    /// The finding in a sentence.
    pub text: String,
}

/// A recorded assessment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assessment {
    /// Row number.
    pub id: AssessmentId,
    /// What was recorded.
    pub record: NewAssessment,
}

/// The owner's decision beside a proposal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// The piece.
    pub piece: PieceId,
    /// What was proposed, if anything was.
    pub proposed: Option<Disposition>,
    /// What was decided.
    pub decided: Disposition,
    /// Why.
    pub reason: String,
    /// Who decided.
    pub person: String,
    /// When, in Unix microseconds.
    pub created_at: i64,
}

impl Tx {
    /// Records an assessment with its findings and the readings that it rests on.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn insert_assessment(
        &self,
        record: NewAssessment,
    ) -> Result<Assessment, StorageError> {
        let row = assessments::Entity::insert(assessment_row(&record))
            .exec_with_returning(&self.inner)
            .await?;
        let findings = record.findings.iter().map(|finding| finding_row(row.id, finding));
        assessment_findings::Entity::insert_many(findings)
            .exec_without_returning(&self.inner)
            .await?;
        let readings = record.readings.iter().map(|reading| assessment_readings::ActiveModel {
            id: NotSet,
            assessment_id: Set(row.id),
            reading_id: Set(*reading),
        });
        assessment_readings::Entity::insert_many(readings)
            .exec_without_returning(&self.inner)
            .await?;
        Ok(Assessment { id: AssessmentId(row.id), record })
    }

    /// Assessments in order of recording. `ids` narrows to these, if any.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn assessments_page(
        &self,
        page: Page,
        piece: Option<PieceId>,
        ids: Option<&[i64]>,
    ) -> Result<Vec<Assessment>, StorageError> {
        let mut query = assessments::Entity::find().filter(assessments::Column::Id.gt(page.after));
        if let Some(piece) = piece {
            query = query.filter(assessments::Column::PieceId.eq(piece.0));
        }
        if let Some(ids) = ids {
            query = query.filter(assessments::Column::Id.is_in(ids.iter().copied()));
        }
        let rows =
            query.order_by_asc(assessments::Column::Id).limit(page.limit).all(&self.inner).await?;
        self.with_details(rows).await
    }

    /// The latest assessment of each feature of a piece in its current round, given the round of
    /// each feature.
    ///
    /// # Errors
    /// As [`Tx::assessments_page`].
    pub async fn latest_assessments(
        &self,
        piece: PieceId,
        rounds: &HashMap<FeatureId, i64>,
    ) -> Result<Vec<Assessment>, StorageError> {
        let rows = assessments::Entity::find()
            .filter(assessments::Column::PieceId.eq(piece.0))
            .order_by_asc(assessments::Column::Id)
            .all(&self.inner)
            .await?;
        let mut latest: HashMap<i64, assessments::Model> = HashMap::new();
        for row in rows {
            if rounds.get(&FeatureId(row.feature_id)).copied().unwrap_or(0) == row.round {
                latest.insert(row.feature_id, row);
            }
        }
        let mut rows: Vec<_> = latest.into_values().collect();
        rows.sort_by_key(|row| row.feature_id);
        self.with_details(rows).await
    }

    /// Records a decision.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn insert_decision(&self, decision: &Decision) -> Result<(), StorageError> {
        let row = decisions::ActiveModel {
            id: NotSet,
            piece_id: Set(decision.piece.0),
            proposed: Set(decision.proposed.map(|disposition| disposition.as_str().to_owned())),
            decided: Set(decision.decided.as_str().to_owned()),
            reason: Set(decision.reason.clone()),
            person: Set(decision.person.clone()),
            created_at: Set(decision.created_at),
        };
        row.insert(&self.inner).await?;
        Ok(())
    }

    /// The decisions on a piece, in order of making.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn decisions_on(&self, piece: PieceId) -> Result<Vec<Decision>, StorageError> {
        let rows = decisions::Entity::find()
            .filter(decisions::Column::PieceId.eq(piece.0))
            .order_by_asc(decisions::Column::Id)
            .all(&self.inner)
            .await?;
        let decision = |row: decisions::Model| {
            Ok(Decision {
                piece: PieceId(row.piece_id),
                proposed: named_option("decisions", row.id, row.proposed.as_deref())?,
                decided: named("decisions", row.id, &row.decided)?,
                reason: row.reason,
                person: row.person,
                created_at: row.created_at,
            })
        };
        rows.into_iter().map(decision).collect()
    }

    async fn with_details(
        &self,
        rows: Vec<assessments::Model>,
    ) -> Result<Vec<Assessment>, StorageError> {
        use assessment_findings::Column as Finding;
        use assessment_readings::Column as Link;
        let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
        let mut findings =
            self.rows_in::<assessment_findings::Entity>(Finding::AssessmentId, &ids).await?;
        findings.sort_by_key(|row| row.id);
        let mut links =
            self.rows_in::<assessment_readings::Entity>(Link::AssessmentId, &ids).await?;
        links.sort_by_key(|row| row.id);
        let mut findings_by: HashMap<i64, Vec<AssessmentFinding>> = HashMap::new();
        for row in findings {
            findings_by.entry(row.assessment_id).or_default().push(finding(row));
        }
        let mut readings_by: HashMap<i64, Vec<i64>> = HashMap::new();
        for row in links {
            readings_by.entry(row.assessment_id).or_default().push(row.reading_id);
        }
        rows.into_iter()
            .map(|row| {
                let findings = findings_by.remove(&row.id).unwrap_or_default();
                let readings = readings_by.remove(&row.id).unwrap_or_default();
                assessment(row, findings, readings)
            })
            .collect()
    }
}

fn assessment(
    row: assessments::Model,
    findings: Vec<AssessmentFinding>,
    readings: Vec<i64>,
) -> Result<Assessment, StorageError> {
    let id = row.id;
    Ok(Assessment {
        id: AssessmentId(id),
        record: NewAssessment {
            piece: PieceId(row.piece_id),
            feature: FeatureId(row.feature_id),
            round: row.round,
            person: row.person,
            created_at: row.created_at,
            text_unit: named("assessments", id, &row.text_unit)?,
            reference_station: row.reference_station,
            nominal: Length::from_nm(row.nominal_nm),
            nominal_source: row.nominal_source,
            limit_lower: length(row.limit_lower_nm),
            limit_upper: length(row.limit_upper_nm),
            limit_source: row.limit_source,
            min: Length::from_nm(row.min_nm),
            max: Length::from_nm(row.max_nm),
            mean: Length::from_nm(row.mean_nm),
            out_of_round: length(row.out_of_round_nm),
            taper: length(row.taper_nm),
            wear: length(row.wear_nm),
            wear_basis: row.wear_basis,
            wear_limit: length(row.wear_limit_nm),
            uncertainty: Length::from_nm(row.uncertainty_nm),
            // Before the rule could be chosen it was the full guard band.
            rule: named_option("assessments", id, row.decision_rule.as_deref())?
                .unwrap_or(DecisionRule::FullGuardBand),
            disposition: named("assessments", id, &row.disposition)?,
            reasons: lines(&row.reasons),
            findings,
            readings,
        },
    })
}

fn assessment_row(record: &NewAssessment) -> assessments::ActiveModel {
    assessments::ActiveModel {
        id: NotSet,
        piece_id: Set(record.piece.0),
        feature_id: Set(record.feature.0),
        round: Set(record.round),
        person: Set(record.person.clone()),
        created_at: Set(record.created_at),
        text_unit: Set(record.text_unit.as_str().to_owned()),
        reference_station: Set(record.reference_station.clone()),
        nominal_nm: Set(record.nominal.nm()),
        nominal_source: Set(record.nominal_source.clone()),
        limit_lower_nm: Set(record.limit_lower.map(Length::nm)),
        limit_upper_nm: Set(record.limit_upper.map(Length::nm)),
        limit_source: Set(record.limit_source.clone()),
        min_nm: Set(record.min.nm()),
        max_nm: Set(record.max.nm()),
        mean_nm: Set(record.mean.nm()),
        out_of_round_nm: Set(record.out_of_round.map(Length::nm)),
        taper_nm: Set(record.taper.map(Length::nm)),
        wear_nm: Set(record.wear.map(Length::nm)),
        wear_basis: Set(record.wear_basis.clone()),
        wear_limit_nm: Set(record.wear_limit.map(Length::nm)),
        uncertainty_nm: Set(record.uncertainty.nm()),
        disposition: Set(record.disposition.as_str().to_owned()),
        reasons: Set(record.reasons.join("\n")),
        decision_rule: Set(Some(record.rule.as_str().to_owned())),
    }
}

fn finding_row(assessment: i64, finding: &AssessmentFinding) -> assessment_findings::ActiveModel {
    assessment_findings::ActiveModel {
        id: NotSet,
        assessment_id: Set(assessment),
        criterion: Set(finding.criterion.clone()),
        measured_nm: Set(finding.measured.nm()),
        limit_nm: Set(finding.limit.nm()),
        within: Set(finding.within),
        verdict: Set(finding.verdict.clone()),
        probability_in_ppb: Set(finding.probability_in_ppb),
        text: Set(finding.text.clone()),
    }
}

fn finding(row: assessment_findings::Model) -> AssessmentFinding {
    AssessmentFinding {
        criterion: row.criterion,
        measured: Length::from_nm(row.measured_nm),
        limit: Length::from_nm(row.limit_nm),
        within: row.within,
        verdict: row.verdict,
        probability_in_ppb: row.probability_in_ppb,
        text: row.text,
    }
}
