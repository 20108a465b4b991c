//! The best order there is, for few jobs.
//!
//! Dynamic programming over subsets (Held and Karp, 1962): for every set of jobs done and the last
//! of them, the pairs of time and loss that no other pair beats on both. Keeping only these is
//! exact: who arrives earlier can do whatever who arrives later can, because being later only adds
//! forced jobs, and the forced one is the same.

use super::problem::Problem;
use super::{Plan, PlanJob, PlanRules};
use std::collections::BTreeMap;

/// The most jobs that are tried in every order.
pub const EXACT_JOBS_MAX: usize = 8;

/// A way to a set of jobs done.
#[derive(Clone)]
struct Way {
    time: i64,
    loss: i128,
    order: Vec<usize>,
}

/// The plan with the least loss, of these the one with the least set-up; nothing for more than
/// [`EXACT_JOBS_MAX`] jobs.
pub fn plan_exact(jobs: &[PlanJob], rules: &PlanRules) -> Option<Plan> {
    if jobs.len() > EXACT_JOBS_MAX {
        return None;
    }
    let problem = Problem::new(jobs, rules);
    let start = Way { time: rules.now_min, loss: 0, order: Vec::new() };
    let mut ways: BTreeMap<(u32, Option<usize>), Vec<Way>> = BTreeMap::new();
    ways.insert((0, None), vec![start]);
    // A set is always a larger number than any set within it, so it comes later.
    while let Some(((done, last), front)) = ways.pop_first() {
        if done.count_ones() as usize == jobs.len() {
            ways.insert((done, last), front);
            break;
        }
        for way in front {
            for job in choices(&problem, done, way.time) {
                let next = longer(&problem, &way, last, job);
                keep(ways.entry((done | 1 << job, Some(job))).or_default(), next);
            }
        }
    }
    let best =
        ways.into_values().flatten().min_by_key(|way| (way.loss, way.time, way.order.clone()));
    best.map(|way| problem.plan(&way.order))
}

/// What may go next: the forced one alone, or any.
fn choices(problem: &Problem<'_>, done: u32, time: i64) -> Vec<usize> {
    let remaining = (0..problem.jobs.len()).filter(|job| done & (1 << job) == 0);
    match problem.forced(remaining.clone(), time) {
        Some(job) => vec![job],
        None => remaining.collect(),
    }
}

fn longer(problem: &Problem<'_>, way: &Way, last: Option<usize>, job: usize) -> Way {
    let setup = i64::from(problem.setup_minutes(last, job));
    let time = way.time + setup + i64::from(problem.jobs[job].minutes);
    let order = way.order.iter().copied().chain([job]).collect();
    Way { time, loss: way.loss + problem.loss_of(job, time), order }
}

/// Keeps a way unless another is at least as early at no more loss; drops what it beats.
fn keep(front: &mut Vec<Way>, way: Way) {
    if front.iter().any(|other| other.time <= way.time && other.loss <= way.loss) {
        return;
    }
    front.retain(|other| way.time > other.time || way.loss > other.loss);
    front.push(way);
}
