//! Decisions as they are on record, with the names of what they are about.

use crate::app::act::View;
use crate::app::error::Error;
use crate::app::views::{missing, name, name_or_empty};
use tenths_storage::{Page, RepairDecision};

/// A decision with its names.
#[derive(Clone, Debug)]
pub struct DecisionView {
    /// The decision.
    pub decision: RepairDecision,
    /// The tag of the piece.
    pub piece_tag: String,
    /// The name of the feature.
    pub feature: String,
    /// The tag of the job, or empty.
    pub job_tag: String,
}

impl View<'_> {
    /// Decisions on worn features with their names.
    pub(crate) async fn decisions(
        &self,
        decisions: Vec<RepairDecision>,
    ) -> Result<Vec<DecisionView>, Error> {
        let pieces =
            self.tx.piece_tags(decisions.iter().map(|one| one.piece).collect::<Vec<_>>()).await?;
        let features = self
            .tx
            .features_by_ids(decisions.iter().map(|one| one.feature).collect::<Vec<_>>())
            .await?;
        let jobs = self
            .tx
            .job_tags(decisions.iter().filter_map(|one| one.job).collect::<Vec<_>>())
            .await?;
        decisions
            .into_iter()
            .map(|decision| {
                let feature =
                    features.get(&decision.feature).ok_or_else(|| missing(&decision.feature))?;
                Ok(DecisionView {
                    piece_tag: name(&pieces, decision.piece)?,
                    feature: feature.feature.name.clone(),
                    job_tag: name_or_empty(&jobs, decision.job)?,
                    decision,
                })
            })
            .collect()
    }

    /// One decision with its names.
    pub(crate) async fn decision(&self, decision: RepairDecision) -> Result<DecisionView, Error> {
        let key = decision.id;
        self.decisions(vec![decision]).await?.pop().ok_or_else(|| missing(&key))
    }
}

/// Lists decisions, oldest first.
///
/// # Errors
/// [`Error::NotFound`] for a piece that the filter names.
pub async fn list_repair_decisions(
    view: View<'_>,
    page: Page,
    piece_tag: Option<String>,
) -> Result<Vec<DecisionView>, Error> {
    let piece = match &piece_tag {
        Some(tag) => Some(view.find_piece(tag).await?.id),
        None => None,
    };
    let decisions = view.tx.repair_decisions_page(page, piece).await?;
    view.decisions(decisions).await
}
