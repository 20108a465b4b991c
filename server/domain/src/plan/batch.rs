//! Runs of jobs on one set-up.

use super::PlanLine;
use super::problem::Problem;
use crate::units::Length;

/// Jobs that follow each other on one set-up: "four at 0.7400, one set-up".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    /// The family of set-ups.
    pub setup_family: String,
    /// The smallest finished size in it.
    pub smallest: Length,
    /// The largest.
    pub largest: Length,
    /// Which of the jobs given, in order.
    pub jobs: Vec<usize>,
    /// The set-up that it begins with; nothing if the machine stood so.
    pub setup_minutes: u32,
}

/// The batches of a plan; writes into each line which it is in.
pub(super) fn batches(problem: &Problem<'_>, lines: &mut [PlanLine]) -> Vec<Batch> {
    let mut batches: Vec<Batch> = Vec::new();
    let mut current = None;
    for line in lines {
        let setup = problem.setup(line.job);
        let size = problem.jobs[line.job].finish_size;
        match batches.last_mut().filter(|_| current == Some(setup)) {
            Some(batch) => {
                batch.jobs.push(line.job);
                batch.smallest = batch.smallest.min(size);
                batch.largest = batch.largest.max(size);
            }
            None => batches.push(Batch {
                setup_family: setup.0.to_owned(),
                smallest: size,
                largest: size,
                jobs: vec![line.job],
                setup_minutes: line.setup_minutes,
            }),
        }
        current = Some(setup);
        line.batch = batches.len() - 1;
    }
    batches
}
