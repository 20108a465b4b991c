//! What the last job of a piece was given up for: no reading of a size says it again.

use crate::app::act::View;
use crate::app::error::Error;
use tenths_domain::ids::FeatureId;
use tenths_domain::state::{JobOutcome, PieceState, RejectReason, ScrapReason};
use tenths_storage::Piece;

/// Why the last job of a piece was given up.
pub(crate) struct Rejected {
    /// The feature that was worked on.
    pub(crate) feature: FeatureId,
    /// The reason.
    pub(crate) reason: RejectReason,
    /// In words.
    pub(crate) words: String,
}

impl Rejected {
    /// The reason for which a part is condemned until a person says otherwise, if it is one.
    pub(crate) fn condemns(&self) -> Option<ScrapReason> {
        match self.reason {
            RejectReason::Crack => Some(ScrapReason::Crack),
            RejectReason::Bent => Some(ScrapReason::Bent),
            RejectReason::Corrosion => Some(ScrapReason::Corrosion),
            _ => None,
        }
    }
}

/// What a piece that waits for a decision was rejected for, where its sizes do not say it; nothing
/// once a person has decided, or later work went well.
pub(crate) async fn rejected(view: View<'_>, piece: &Piece) -> Result<Option<Rejected>, Error> {
    use RejectReason::{
        Bent, Corrosion, Crack, GrindingBurn, Handling, NotBaked, PoorBond, RunOut, TooThin,
    };
    if piece.state != PieceState::Inspection {
        return Ok(None);
    }
    let last = view.tx.last_ended_job_of(piece.id).await?;
    let Some(job) = last.filter(|job| job.outcome == Some(JobOutcome::ForDecision)) else {
        return Ok(None);
    };
    let route = view.tx.operations_of([job.id]).await?;
    let found = route.into_iter().find_map(|one| Some((one.kind, one.reject_reason?)));
    let serious = found.filter(|(_, reason)| {
        let hidden =
            [Bent, Corrosion, Crack, GrindingBurn, Handling, NotBaked, PoorBond, RunOut, TooThin];
        hidden.contains(reason)
    });
    Ok(serious.map(|(kind, reason)| {
        let words = format!("{} was rejected at {kind}: {reason}", job.tag).replace('_', " ");
        Rejected { feature: job.feature, reason, words }
    }))
}
