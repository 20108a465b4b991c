//! How long a job still takes once this machine is done with it.

use crate::policy::{Policy, Site};
use crate::route::OperationKind;
use std::collections::BTreeSet;

const MINUTES_A_DAY: u32 = 24 * 60;

/// An operation of a job that comes later.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LaterOperation {
    /// What is done.
    pub kind: OperationKind,
    /// Where.
    pub site: Site,
    /// The vendor, where one is settled.
    pub vendor: Option<String>,
    /// Its minutes, where they are known.
    pub minutes: Option<u32>,
}

/// What later operations take.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MinutesAfter {
    /// Minutes, as far as they are known.
    pub minutes: u32,
    /// The operations whose time is not known, counted as nothing.
    pub unknown: BTreeSet<OperationKind>,
}

/// Adds up what later operations take, without set-ups and waits. In the shop that is their minutes.
/// A run of operations at one vendor is one absence: it takes the lead time that the policy gives
/// the method, the longest where the operation belongs to several (plating is hard chrome or
/// selective), or the minutes of its operations where no lead time is set.
pub fn minutes_after(later: &[LaterOperation], policy: &Policy) -> MinutesAfter {
    let mut sum = MinutesAfter::default();
    let is_one_absence = |a: &LaterOperation, b: &LaterOperation| {
        a.site == Site::Vendor && b.site == Site::Vendor && a.vendor == b.vendor
    };
    for run in later.chunk_by(is_one_absence) {
        let lead = run.iter().filter(|one| one.site == Site::Vendor);
        let lead = lead.filter_map(|one| lead_time_minutes(one.kind, policy)).max();
        match lead {
            Some(minutes) => sum.minutes = sum.minutes.saturating_add(minutes),
            None => run.iter().for_each(|one| match one.minutes {
                Some(minutes) => sum.minutes = sum.minutes.saturating_add(minutes),
                None => {
                    sum.unknown.insert(one.kind);
                }
            }),
        }
    }
    sum
}

fn lead_time_minutes(kind: OperationKind, policy: &Policy) -> Option<u32> {
    let methods = policy.methods.iter().filter(|entry| entry.site == Site::Vendor);
    let days = methods.filter(|entry| entry.method.operation() == kind);
    days.filter_map(|entry| entry.lead_time_days)
        .max()
        .map(|days| days.saturating_mul(MINUTES_A_DAY))
}
