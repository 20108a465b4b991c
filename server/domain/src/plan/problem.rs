//! What both planners share: weights, latest starts, set-ups, and the plan of an order.

use super::{Floor, LatestStart, Plan, PlanJob, PlanLine, PlanRules, batch};
use crate::units::Length;
use crate::yields::PPM;

/// Jobs and rules, with what is worked out of them once.
pub(super) struct Problem<'a> {
    pub(super) jobs: &'a [PlanJob],
    pub(super) rules: &'a PlanRules,
    weights: Vec<i128>,
    latest: Vec<Option<i64>>,
    /// The set-up that each job needs: family and band.
    setups: Vec<(&'a str, Length)>,
    /// What the machine is set up for.
    now: Option<(&'a str, Length)>,
}

impl<'a> Problem<'a> {
    pub(super) fn new(jobs: &'a [PlanJob], rules: &'a PlanRules) -> Problem<'a> {
        let of = |job: &'a PlanJob| (job.setup_family.as_str(), job.finish_size);
        let now = rules.set_up.as_ref().map(|(family, size)| (family.as_str(), *size));
        let bands = bands(jobs.iter().map(of).chain(now), rules);
        Problem {
            jobs,
            rules,
            weights: jobs.iter().map(weight).collect(),
            latest: jobs.iter().map(|job| Some(latest_start(job, rules)?.minute)).collect(),
            setups: jobs.iter().map(|job| band(&bands, of(job))).collect(),
            now: now.map(|set_up| band(&bands, set_up)),
        }
    }

    pub(super) fn weight(&self, job: usize) -> i128 {
        self.weights[job]
    }

    /// The set-up that a job needs: the family, and the smallest size of the band.
    pub(super) fn setup(&self, job: usize) -> (&'a str, Length) {
        self.setups[job]
    }

    /// Set-up minutes of a job after another, or after what the machine is set up for.
    pub(super) fn setup_minutes(&self, before: Option<usize>, job: usize) -> u32 {
        let rules = self.rules;
        let (family, size_band) = self.setups[job];
        match before.map(|before| self.setups[before]).or(self.now) {
            Some((same, same_band)) if same == family && same_band == size_band => 0,
            Some((same, _)) if same == family => rules.setup_band_minutes,
            _ => rules.setup_family_minutes,
        }
    }

    /// The job that must go next at this time: the earliest latest start that has come.
    pub(super) fn forced(
        &self,
        remaining: impl Iterator<Item = usize>,
        time: i64,
    ) -> Option<usize> {
        let due = remaining.filter_map(|job| Some((self.latest[job]?, job)));
        let has_come = due.filter(|(latest, _)| *latest <= time);
        let key = |(latest, job): &(i64, usize)| {
            (*latest, self.jobs[*job].queued_at_min, self.jobs[*job].id, *job)
        };
        has_come.min_by_key(key).map(|(_, job)| job)
    }

    /// The plan that an order of preference comes to.
    pub(super) fn plan(&self, order: &[usize]) -> Plan {
        let mut lines = self.lines(order);
        let loss = self.loss(&lines);
        let batches = batch::batches(self, &mut lines);
        let alone = u64::from(self.rules.setup_family_minutes) * lines.len() as u64;
        let setup_minutes = setup_minutes_of(&lines);
        Plan { lines, batches, loss, setup_minutes, setup_minutes_alone: alone }
    }

    /// The lines of an order of preference: the next of it, unless one is forced.
    pub(super) fn lines(&self, order: &[usize]) -> Vec<PlanLine> {
        let mut remaining: Vec<usize> = order.to_vec();
        let mut lines: Vec<PlanLine> = Vec::with_capacity(order.len());
        let mut time = self.rules.now_min;
        while let Some(first) = remaining.first().copied() {
            let forced = self.forced(remaining.iter().copied(), time);
            let job = forced.unwrap_or(first);
            remaining.retain(|other| *other != job);
            let before = lines.last().map(|line| line.job);
            let setup_minutes = self.setup_minutes(before, job);
            let finish_min = time + i64::from(setup_minutes) + i64::from(self.jobs[job].minutes);
            let is_forced = forced.is_some();
            lines.push(PlanLine {
                job,
                start_min: time,
                setup_minutes,
                finish_min,
                is_forced,
                batch: 0,
            });
            time = finish_min;
        }
        lines
    }

    /// Where a job stands among those that value does not tell apart: due date (none is last), queue
    /// time, number.
    pub(super) fn turn(&self, job: usize) -> (i64, i64, i64, usize) {
        let PlanJob { due_at_min, queued_at_min, id, .. } = &self.jobs[job];
        (due_at_min.unwrap_or(i64::MAX), *queued_at_min, *id, job)
    }

    /// How many pairs stand against their turn: of plans that lose the same, the one with the fewest
    /// is what a person would do.
    pub(super) fn out_of_turn(&self, lines: &[PlanLine]) -> usize {
        let turns: Vec<_> = lines.iter().map(|line| self.turn(line.job)).collect();
        let later = |(at, turn)| turns[at + 1..].iter().filter(move |other| *other < turn).count();
        turns.iter().enumerate().map(later).sum()
    }

    /// The sum of weight times finish.
    pub(super) fn loss(&self, lines: &[PlanLine]) -> i128 {
        lines.iter().map(|line| self.loss_of(line.job, line.finish_min)).sum()
    }

    pub(super) fn loss_of(&self, job: usize, finish_min: i64) -> i128 {
        self.weights[job] * i128::from(finish_min - self.rules.now_min)
    }
}

/// All set-up minutes of some lines.
pub(super) fn setup_minutes_of(lines: &[PlanLine]) -> u64 {
    lines.iter().map(|line| u64::from(line.setup_minutes)).sum()
}

fn weight(job: &PlanJob) -> i128 {
    i128::from(job.value_minor.max(0)) * i128::from(job.chance_ppm.min(PPM))
}

/// The minute from which a job goes ahead of value, and why; nothing if it has neither a due date nor
/// a longest wait. Where both come at once it is the due date.
pub fn latest_start(job: &PlanJob, rules: &PlanRules) -> Option<LatestStart> {
    let ahead =
        [job.minutes, job.minutes_after, rules.setup_family_minutes, rules.due_floor_minutes];
    let ahead: i64 = ahead.iter().map(|minutes| i64::from(*minutes)).sum();
    let by_due = job.due_at_min.map(|due| due.saturating_sub(ahead));
    let waits = rules.max_wait_minutes.map(i64::from);
    let by_wait = waits.map(|minutes| job.queued_at_min.saturating_add(minutes));
    let by_due = by_due.map(|minute| LatestStart { minute, floor: Floor::DueDate });
    let by_wait = by_wait.map(|minute| LatestStart { minute, floor: Floor::LongestWait });
    by_due.into_iter().chain(by_wait).min_by_key(|start| start.minute)
}

/// The smallest size of every band, in order. A band begins at the smallest size that no band holds
/// yet and is as wide as the rules say, so that no fixed edge parts two sizes that are next to each
/// other.
fn bands<'a>(
    set_ups: impl Iterator<Item = (&'a str, Length)>,
    rules: &PlanRules,
) -> Vec<(&'a str, Length)> {
    let width = rules.band_width.max(Length::from_nm(1));
    let mut begun: Vec<(&str, Length)> = Vec::new();
    let mut set_ups: Vec<_> = set_ups.collect();
    set_ups.sort_unstable();
    for (family, size) in set_ups {
        let is_in = begun.last().is_some_and(|last| last.0 == family && size - last.1 < width);
        if !is_in {
            begun.push((family, size));
        }
    }
    begun
}

/// The band that a set-up is in: the last that begins at or before it.
fn band<'a>(bands: &[(&'a str, Length)], set_up: (&'a str, Length)) -> (&'a str, Length) {
    let after = bands.partition_point(|band| *band <= set_up);
    after.checked_sub(1).map_or(set_up, |at| bands[at])
}
