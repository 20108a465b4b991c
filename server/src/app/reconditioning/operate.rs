//! Working on an operation: start, pause, finish, reject.

use crate::app::act::Act;
use tenths_domain::state::{OperationState, RejectReason};
use tenths_storage::JobOperation;

/// Stops the clock of an operation that runs, at `at`.
pub(super) fn stop_clock(operation: &mut JobOperation, at: i64) {
    if let Some(since) = operation.resumed_at.take() {
        operation.worked_micros += at.saturating_sub(since).max(0);
    }
}

/// Notes that an operation could not be done.
pub(super) fn reject(
    operation: &mut JobOperation,
    act: &Act<'_>,
    reason: RejectReason,
    note: &str,
) {
    stop_clock(operation, act.now);
    operation.state = OperationState::Rejected;
    act.person.clone_into(&mut operation.worker);
    operation.finished_at = Some(act.now);
    operation.passed = Some(false);
    operation.reject_reason = Some(reason);
    note.clone_into(&mut operation.note);
}
