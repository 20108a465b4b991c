//! What of a long queue is worth planning.

use super::problem::{Problem, latest_start};
use super::{PlanJob, PlanRules, order};

/// The jobs that a plan is made of, as their places among those given, `most` at most: taken in turn
/// from those whose latest start comes first and from those with the most weight per minute, so that
/// neither a due date nor a value is passed over for the other. The rest waits for the next plan.
///
/// ```
/// # use tenths_domain::plan::{PlanJob, PlanRules, most_pressing};
/// # use tenths_domain::units::Length;
/// # let rules = PlanRules { now_min: 0, setup_family_minutes: 0, setup_band_minutes: 0,
/// #     band_width: Length::from_nm(1), max_wait_minutes: None, due_floor_minutes: 0, set_up: None };
/// let job = |id, value_minor, due_at_min| PlanJob { id, value_minor, due_at_min,
///     setup_family: "lathe".into(), finish_size: Length::from_nm(0), minutes: 10,
///     minutes_after: 0, chance_ppm: 1_000_000, queued_at_min: 0 };
/// let jobs = [job(1, 0, None), job(2, 900, None), job(3, 0, Some(60)), job(4, 500, None)];
/// assert_eq!(most_pressing(&jobs, &rules, 2), [1, 2]); // the most valued, the first due
/// assert_eq!(most_pressing(&jobs, &rules, 9), [0, 1, 2, 3]);
/// ```
pub fn most_pressing(jobs: &[PlanJob], rules: &PlanRules, most: usize) -> Vec<usize> {
    if jobs.len() <= most {
        return (0..jobs.len()).collect();
    }
    let mut by_start: Vec<usize> = (0..jobs.len()).collect();
    by_start.sort_by_key(|job| {
        let one = &jobs[*job];
        (latest_start(one, rules).map_or(i64::MAX, |it| it.minute), one.queued_at_min, one.id)
    });
    let by_weight = order::by_density(&Problem::new(jobs, rules));
    let mut is_taken = vec![false; jobs.len()];
    let mut taken = 0;
    for job in by_start.into_iter().zip(by_weight).flat_map(|(start, weight)| [start, weight]) {
        if taken < most && !is_taken[job] {
            is_taken[job] = true;
            taken += 1;
        }
    }
    (0..jobs.len()).filter(|job| is_taken[*job]).collect()
}
