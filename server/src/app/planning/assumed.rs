//! What a plan takes for granted, in sentences.

use super::PlanDay;
use super::waiting::Queue;
use std::collections::BTreeSet;
use tenths_domain::plan::{Plan, PlanLine, PlanRules};
use tenths_domain::policy::Policy;
use tenths_domain::route::OperationKind;

/// Most late jobs that are named.
const LATE_NAMED: usize = 10;

/// One sentence for each thing that was taken for granted.
pub(super) fn sentences(
    order: &PlanDay,
    policy: &Policy,
    queue: &Queue,
    rules: &PlanRules,
    pressing: &[usize],
    planned: &Plan,
) -> Vec<String> {
    let version = policy.version;
    let mut said = Vec::new();
    if let (Some(minutes), false) = (order.assumed_minutes, queue.assumed.is_empty()) {
        let kinds = listed(&queue.assumed);
        said.push(format!(
            "nobody has set the minutes of {kinds}: taken as {minutes} min each, as asked"
        ));
    }
    if !queue.unknown.is_empty() {
        let kinds = listed(&queue.unknown);
        said.push(format!(
            "what {kinds} take later is not known and counts as nothing: a due date may be nearer \
             than it looks"
        ));
    }
    if !pressing.is_empty() {
        said.extend(of_set_ups(policy, rules));
    }
    if policy.queue.max_wait_minutes.is_none() {
        said.push(format!(
            "policy version {version} sets no longest wait: a job without a due date may be passed \
             for ever"
        ));
    }
    let worthless = pressing.iter().filter(|job| queue.jobs[**job].value.is_none()).count();
    if worthless > 0 {
        said.push(format!(
            "{worthless} of {} jobs have no value (no rebuild that waits for them has one): only \
             due dates and waits put them forward",
            pressing.len()
        ));
    }
    for rebuild in &queue.foreign {
        let currency = policy.currency.as_str();
        said.push(format!(
            "{rebuild} is valued in another currency than the policy's {currency}: counted as nothing"
        ));
    }
    said.extend(late(queue, pressing, planned));
    said.push("times count working minutes on from now, without breaks and nights".to_owned());
    said
}

/// What will be late however it is planned here, with what is still to be done after this machine.
fn late(queue: &Queue, pressing: &[usize], planned: &Plan) -> Option<String> {
    let is_late = |line: &&PlanLine| {
        let job = &queue.jobs[pressing[line.job]].plan;
        let done = line.finish_min.saturating_add(i64::from(job.minutes_after));
        job.due_at_min.is_some_and(|due| done > due)
    };
    let tag = |line: &PlanLine| queue.jobs[pressing[line.job]].job.job.tag.clone();
    let late: Vec<String> = planned.lines.iter().filter(is_late).map(tag).collect();
    let named = late.iter().take(LATE_NAMED).cloned().collect::<Vec<_>>().join(", ");
    match late.len() {
        0 => None,
        count if count > LATE_NAMED => {
            Some(format!("{count} jobs will be late by this plan, among them {named}"))
        }
        _ => Some(format!("late by this plan, what is left to do after it counted: {named}")),
    }
}

fn of_set_ups(policy: &Policy, rules: &PlanRules) -> Vec<String> {
    let unset = [
        (policy.queue.setup_family_minutes.is_none(), "setting up for another family"),
        (policy.queue.setup_band_minutes.is_none(), "changing the size band"),
    ];
    let unset: Vec<&str> = unset.iter().filter(|(is, _)| *is).map(|(_, what)| *what).collect();
    let mut said = Vec::new();
    if !unset.is_empty() {
        said.push(format!(
            "policy version {} sets no minutes for {}: counted as 0",
            policy.version,
            unset.join(" and ")
        ));
    }
    if rules.set_up.is_none() {
        let text = "no operation was started on it yet, so the first job counts a set-up";
        said.push(text.to_owned());
    }
    said
}

fn listed(kinds: &BTreeSet<OperationKind>) -> String {
    let kinds: Vec<&str> = kinds.iter().map(|kind| kind.as_str()).collect();
    kinds.join(", ")
}
