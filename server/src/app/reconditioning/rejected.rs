//! What a piece was given up for in a job: no reading of a size says it again.

use crate::app::act::View;
use crate::app::error::Error;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::FeatureId;
use tenths_domain::route::OperationKind;
use tenths_domain::state::{JobOutcome, Method, PieceState, RejectReason, ScrapReason};
use tenths_storage::{Job, JobOperation, Piece};

/// Why a job of a piece was given up.
pub(crate) struct Rejected {
    /// The feature that was worked on.
    pub(crate) feature: FeatureId,
    /// The reason.
    pub(crate) reason: RejectReason,
    /// In words.
    pub(crate) words: String,
}

impl Rejected {
    /// The reason for which the part is condemned until a person says otherwise, if it is one.
    pub(crate) fn condemns(&self) -> Option<ScrapReason> {
        (self.reason == RejectReason::Crack).then_some(ScrapReason::Crack)
    }
}

/// Work that was done, as far as it can mend what a part was rejected for.
pub(crate) struct Work {
    feature: FeatureId,
    method: Method,
    is_straightened: bool,
}

impl Work {
    /// The work of a job by its route.
    pub(crate) fn of(job: &Job, route: &[JobOperation]) -> Self {
        let is_straightened = route.iter().any(|one| one.kind == OperationKind::Straighten);
        Work { feature: job.feature, method: job.method, is_straightened }
    }

    /// Whether it mends what a feature was rejected for. A bend is the whole shaft's, all else is mended
    /// where it is; a crack nothing mends.
    fn mends(&self, feature: FeatureId, reason: RejectReason) -> bool {
        use Method::{BuildUp, Hone, Polish, Regrind, Sleeve};
        let cuts = matches!(self.method, Regrind | Polish | Hone | BuildUp | Sleeve);
        match reason {
            RejectReason::Bent | RejectReason::RunOut => self.is_straightened,
            _ if self.feature != feature => false,
            RejectReason::PoorBond | RejectReason::TooThin | RejectReason::NotBaked => {
                self.method.adds_metal()
            }
            RejectReason::GrindingBurn | RejectReason::Corrosion | RejectReason::Handling => cuts,
            _ => false,
        }
    }
}

/// What a piece that is in no stock was rejected for, where its sizes do not say it: nothing once it
/// was mended by later work, `under_way` counted, or a person has decided for reuse since.
pub(crate) async fn rejected(
    view: View<'_>,
    piece: &Piece,
    under_way: Option<Work>,
) -> Result<Option<Rejected>, Error> {
    if !matches!(piece.state, PieceState::Inspection | PieceState::Reconditioning) {
        return Ok(None);
    }
    let decided = view.tx.decisions_on(piece.id).await?.into_iter();
    let decided = decided.filter(|one| one.decided == Disposition::Reuse);
    let decided = decided.map(|one| one.created_at).max();
    let mut work: Vec<Work> = under_way.into_iter().collect();
    for job in view.tx.ended_jobs_of(piece.id).await? {
        if job.outcome == Some(JobOutcome::ToStock) {
            break;
        }
        let route = view.tx.operations_of([job.id]).await?;
        let found = route.iter().find_map(|one| Some((one, one.reject_reason?)));
        let Some((operation, reason)) = found else {
            work.push(Work::of(&job, &route));
            continue;
        };
        let is_decided = decided.is_some_and(|at| operation.finished_at.is_some_and(|it| it < at));
        if is_decided {
            break;
        }
        if is_hidden(reason) && !work.iter().any(|work| work.mends(job.feature, reason)) {
            let words = format!("{} was rejected at {}: {reason}", job.tag, operation.kind);
            let words = words.replace('_', " ");
            return Ok(Some(Rejected { feature: job.feature, reason, words }));
        }
    }
    Ok(None)
}

/// Whether no size says it.
fn is_hidden(reason: RejectReason) -> bool {
    use RejectReason::{
        Bent, Corrosion, Crack, GrindingBurn, Handling, NotBaked, PoorBond, RunOut, TooThin,
    };
    matches!(
        reason,
        Bent | Corrosion | Crack | GrindingBurn | Handling | NotBaked | PoorBond | RunOut | TooThin
    )
}
