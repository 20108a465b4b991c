//! What the shop does not offer, whatever its size. Questions of fit leave that to
//! [`tenths_domain::matching`], which has the same two rules.

use crate::app::finding::Policy;
use crate::app::index::RowView;
use tenths_domain::item::ItemKind;
use tenths_domain::state::PieceCondition;
use tenths_domain::substitution::{AgeLimit, DateCode};

/// Why something is not offered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Withheld {
    /// A rolling bearing that was taken off a machine.
    RemovedBearing,
    /// A rolling bearing whose date code is older than the shop allows.
    TooOld,
}

/// Why a row is not offered at a time; nothing if it is.
pub(super) fn withheld(row: RowView<'_>, policy: Policy, now: i64) -> Option<Withheld> {
    if row.item().kind != ItemKind::RollingBearing {
        return None;
    }
    if row.condition() != PieceCondition::New {
        return Some(Withheld::RemovedBearing);
    }
    let code = row.date_code().and_then(DateCode::parse);
    let is_too_old = |(limit, code): (AgeLimit, DateCode)| limit.is_passed(code, now);
    policy.bearing_age_max.zip(code).is_some_and(is_too_old).then_some(Withheld::TooOld)
}

/// What is told of rows that were left out.
pub(super) fn notes(removed: usize, too_old: usize) -> Vec<String> {
    let told = [
        (removed, "removed rolling bearings were left out: they are never reused"),
        (too_old, "were left out: their date code is older than the shop allows"),
    ];
    let told = told.into_iter().filter(|(count, _)| *count > 0);
    told.map(|(count, text)| format!("{count} {text}")).collect()
}
