//! What the shop does not offer, whatever its size, by the rules of [`tenths_domain::matching`].
//! Questions of fit leave that to matching itself.

use crate::app::finding::Policy;
use crate::app::index::{RowView, matched_as};
use tenths_domain::item::ItemKind;
use tenths_domain::matching::is_removed_bearing;

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
    let kind = row.item().kind;
    if is_removed_bearing(kind, matched_as(row.condition())) {
        return Some(Withheld::RemovedBearing);
    }
    let age = policy.bearing_age(now).filter(|_| kind == ItemKind::RollingBearing);
    let is_too_old = age.and_then(|age| age.is_passed(row.date_code())).unwrap_or(false);
    is_too_old.then_some(Withheld::TooOld)
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
