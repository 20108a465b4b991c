//! A good order for any number of jobs.

use super::problem::{Problem, setup_minutes_of};
use super::{Plan, PlanJob, PlanRules};
use crate::units::Length;
use std::collections::BTreeMap;

/// The jobs at the head of the queue that are moved about; the rest keeps its order. A day's work
/// of a machine is far fewer, and the queue is planned again as it moves (our own choice).
const MOVED_MAX: usize = 24;
/// The longest run of jobs that is moved as one.
const RUN_MAX: usize = 4;

/// A good order. Takes time with the square of the number of jobs.
pub fn plan(jobs: &[PlanJob], rules: &PlanRules) -> Plan {
    let problem = Problem::new(jobs, rules);
    let starts = [densest_next(&problem), by_density(&problem), by_family(&problem)];
    let bettered = starts.iter().map(|start| better(&problem, start));
    let best = bettered.min_by_key(|plan| rank(&problem, plan));
    best.unwrap_or_else(|| problem.plan(&[]))
}

/// Where a plan stands: less is better.
fn rank(problem: &Problem<'_>, plan: &Plan) -> (i128, u64, usize) {
    (plan.loss, plan.setup_minutes, problem.out_of_turn(&plan.lines))
}

/// Weight per minute, as a fraction that is compared exactly: greater first, then due date (none is
/// last), queue time, id.
fn is_before(problem: &Problem<'_>, one: (usize, u32), other: (usize, u32)) -> bool {
    let minutes = |(job, setup): (usize, u32)| {
        i128::from((u64::from(setup) + u64::from(problem.jobs[job].minutes)).max(1))
    };
    let left = problem.weight(one.0) * minutes(other);
    let right = problem.weight(other.0) * minutes(one);
    left > right || (left == right && problem.turn(one.0) < problem.turn(other.0))
}

/// The job with the most weight per minute of set-up and work, again and again.
fn densest_next(problem: &Problem<'_>) -> Vec<usize> {
    let mut remaining: Vec<usize> = (0..problem.jobs.len()).collect();
    let mut order: Vec<usize> = Vec::with_capacity(remaining.len());
    while !remaining.is_empty() {
        let last = order.last().copied();
        let with_setup = remaining.iter().map(|job| (*job, problem.setup_minutes(last, *job)));
        let best = with_setup.reduce(|a, b| if is_before(problem, b, a) { b } else { a });
        let Some((job, _)) = best else { break };
        remaining.retain(|other| *other != job);
        order.push(job);
    }
    order
}

/// Smith's rule: by weight per minute of work alone.
pub(super) fn by_density(problem: &Problem<'_>) -> Vec<usize> {
    let mut order: Vec<usize> = (0..problem.jobs.len()).collect();
    order.sort_by(|a, b| {
        if is_before(problem, (*a, 0), (*b, 0)) {
            std::cmp::Ordering::Less
        } else if a == b {
            std::cmp::Ordering::Equal
        } else {
            std::cmp::Ordering::Greater
        }
    });
    order
}

/// Whole set-ups in order of their weight per minute, within each by Smith's rule.
fn by_family(problem: &Problem<'_>) -> Vec<usize> {
    let mut groups: BTreeMap<(&str, Length), Vec<usize>> = BTreeMap::new();
    for job in by_density(problem) {
        groups.entry(problem.setup(job)).or_default().push(job);
    }
    let mut groups: Vec<Vec<usize>> = groups.into_values().collect();
    let total = |group: &[usize]| {
        let weight: i128 = group.iter().map(|job| problem.weight(*job)).sum();
        let work = group.iter().map(|job| i128::from(problem.jobs[*job].minutes));
        let minutes = i128::from(problem.rules.setup_family_minutes) + work.sum::<i128>();
        (weight, minutes.max(1))
    };
    groups.sort_by(|a, b| {
        let ((weight_a, minutes_a), (weight_b, minutes_b)) = (total(a), total(b));
        (weight_b * minutes_a).cmp(&(weight_a * minutes_b))
    });
    groups.concat()
}

/// Moves runs of jobs and exchanges two, at the head of the order, while that helps.
///
/// Only the head is planned again and again: what follows it loses its whole weight for every
/// minute that the head takes longer.
fn better(problem: &Problem<'_>, start: &[usize]) -> Plan {
    let begun: Vec<usize> = problem.lines(start).iter().map(|line| line.job).collect();
    let (head, tail) = begun.split_at(begun.len().min(MOVED_MAX));
    let tail_weight: i128 = tail.iter().map(|job| problem.weight(*job)).sum();
    let scored = |order: Vec<usize>| {
        let lines = problem.lines(&order);
        let end = lines.last().map_or(problem.rules.now_min, |line| line.finish_min);
        let taken = i128::from(end - problem.rules.now_min);
        let loss = problem.loss(&lines) + tail_weight * taken;
        (loss, setup_minutes_of(&lines), problem.out_of_turn(&lines), order)
    };
    let mut best = scored(head.to_vec());
    loop {
        let found = neighbours(&best.3).map(scored).min();
        match found.filter(|found| (found.0, found.1, found.2) < (best.0, best.1, best.2)) {
            Some(found) => best = found,
            None => break,
        }
    }
    let bettered = problem.plan(&[best.3.as_slice(), tail].concat());
    let plain = problem.plan(&begun);
    if rank(problem, &bettered) < rank(problem, &plain) { bettered } else { plain }
}

fn neighbours(order: &[usize]) -> impl Iterator<Item = Vec<usize>> + '_ {
    let count = order.len();
    let moves = (0..count).flat_map(move |from| {
        let runs = 1..=RUN_MAX.min(count - from);
        runs.flat_map(move |run| {
            (0..=count - run)
                .filter(move |to| *to != from)
                .map(move |to| moved(order, from, run, to))
        })
    });
    let swaps = (0..count).flat_map(move |a| (a + 1..count).map(move |b| swapped(order, a, b)));
    moves.chain(swaps)
}

/// A run of jobs taken out and put back elsewhere.
fn moved(order: &[usize], from: usize, run: usize, to: usize) -> Vec<usize> {
    let mut order = order.to_vec();
    let taken: Vec<usize> = order.drain(from..from + run).collect();
    order.splice(to..to, taken);
    order
}

fn swapped(order: &[usize], a: usize, b: usize) -> Vec<usize> {
    let mut order = order.to_vec();
    order.swap(a, b);
    order
}
