//! What a job still takes after this machine.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use tenths_domain::plan::{LaterOperation, MinutesAfter, minutes_after};
use tenths_domain::policy::{BuildMethod, Policy, Site};
use tenths_domain::route::OperationKind;

fn here(kind: OperationKind, minutes: Option<u32>) -> LaterOperation {
    LaterOperation { kind, site: Site::InHouse, vendor: None, minutes }
}

fn away(kind: OperationKind, vendor: &str) -> LaterOperation {
    LaterOperation { kind, site: Site::Vendor, vendor: Some(vendor.to_owned()), minutes: None }
}

/// Plating at a vendor: five days for hard chrome, two for selective plating.
fn policy() -> Policy {
    let mut policy = Policy::common_practice();
    for entry in &mut policy.methods {
        entry.site = Site::Vendor;
        entry.lead_time_days = match entry.method {
            BuildMethod::HardChrome => Some(5),
            BuildMethod::SelectivePlating => Some(2),
            _ => None,
        };
    }
    policy
}

fn known(minutes: u32) -> MinutesAfter {
    MinutesAfter { minutes, ..MinutesAfter::default() }
}

#[test]
fn work_in_the_shop_takes_its_minutes() {
    let later =
        [here(OperationKind::FinishGrind, Some(40)), here(OperationKind::Inspect, Some(10))];
    assert_eq!(minutes_after(&later, &policy()), known(50));
    assert_eq!(minutes_after(&[], &policy()), known(0));
}

#[test]
fn one_absence_takes_one_lead_time_the_longest_that_it_may_be() {
    let plated = [away(OperationKind::Plate, "Anode"), away(OperationKind::Bake, "Anode")];
    assert_eq!(minutes_after(&plated, &policy()), known(5 * 24 * 60));
    let twice = [
        away(OperationKind::Plate, "Anode"),
        here(OperationKind::ReturnInspect, Some(5)),
        away(OperationKind::Plate, "Anode"),
    ];
    assert_eq!(minutes_after(&twice, &policy()), known(2 * 5 * 24 * 60 + 5));
    let elsewhere = [away(OperationKind::Plate, "Anode"), away(OperationKind::Plate, "Cathode")];
    assert_eq!(minutes_after(&elsewhere, &policy()), known(2 * 5 * 24 * 60));
}

#[test]
fn what_is_not_known_is_named_and_counts_as_nothing() {
    let later = [
        away(OperationKind::Spray, "Anode"),
        here(OperationKind::FinishGrind, None),
        here(OperationKind::Inspect, Some(10)),
    ];
    let found = minutes_after(&later, &policy());
    assert_eq!(found.minutes, 10);
    let unknown: Vec<_> = found.unknown.into_iter().collect();
    assert_eq!(unknown, [OperationKind::Spray, OperationKind::FinishGrind]);
}

/// A vendor that sprays in the policy does not make spraying in the shop a matter of days.
#[test]
fn a_lead_time_is_for_what_is_away() {
    let mut policy = policy();
    policy.methods.iter_mut().for_each(|entry| entry.lead_time_days = Some(9));
    assert_eq!(minutes_after(&[here(OperationKind::Spray, Some(30))], &policy), known(30));
}
