//! A straightened shaft is measured between centres too before its job ends.

use super::FinishJob;
use crate::app::error::Error;
use tenths_domain::policy::Policy;
use tenths_domain::route::OperationKind;
use tenths_domain::state::{OperationState, RejectReason};
use tenths_domain::units::{Length, Unit};
use tenths_storage::{Job, JobOperation};

/// What the run-out after the work says.
pub(super) struct RunOut {
    /// As it is written down with the last operation; empty where nothing was measured.
    pub(super) said: String,
    /// Why it is bent still.
    pub(super) still_bent: Option<String>,
}

/// Looks at the run-out, which whoever straightened a shaft has to give: no reading of a diameter
/// says it. Where it is beyond what the shop straightens from, straightening failed.
///
/// # Errors
/// [`Error::Invalid`] where it is missing.
pub(super) fn run_out(
    job: &Job,
    route: &mut [JobOperation],
    policy: &Policy,
    order: &FinishJob,
) -> Result<RunOut, Error> {
    let straightened = route.iter_mut().find(|one| one.kind == OperationKind::Straighten);
    let Some(run_out) = order.run_out_tir else {
        if straightened.is_some() {
            let problem = format!(
                "it is not given; {} was straightened: measure the run-out between centres",
                job.tag
            );
            return Err(Error::invalid("run_out", problem));
        }
        return Ok(RunOut { said: String::new(), still_bent: None });
    };
    let unit = order.readings.readings.first().map_or(Unit::Inch, |one| one.entry.unit);
    let shown = |length: Length| length.display_in(unit);
    let said = format!("run-out {}", shown(run_out));
    let most = policy.straighten_from.as_ref().map(|noted| noted.value);
    let still_bent = most.filter(|most| run_out > *most).map(|most| {
        format!("{said}, and the shop straightens what is above {}: bent still", shown(most))
    });
    if let (Some(operation), true) = (straightened, still_bent.is_some()) {
        operation.state = OperationState::Rejected;
        operation.passed = Some(false);
        operation.reject_reason = Some(RejectReason::RunOut);
        said.clone_into(&mut operation.note);
    }
    Ok(RunOut { said, still_bent })
}
