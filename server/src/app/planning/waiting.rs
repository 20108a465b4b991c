//! The jobs that wait for a machine, as the planner takes them.

use super::yields::Known;
use super::{PLANNED_MAX, PlanDay, minute_of};
use crate::app::act::View;
use crate::app::error::{Error, Obstacle};
use crate::app::views::JobView;
use std::collections::{BTreeSet, HashMap};
use tenths_domain::ids::RebuildId;
use tenths_domain::money::Money;
use tenths_domain::plan::{LaterOperation, PlanJob, minutes_after, share_of_rebuild};
use tenths_domain::policy::{Policy, Site};
use tenths_domain::route::OperationKind;
use tenths_domain::units::Length;
use tenths_domain::yields::chance_of_route_ppm;
use tenths_storage::{JobOperation, StorageError, WaitingRebuild};

/// A job that waits.
#[derive(Clone, Debug)]
pub(super) struct Waiting {
    /// With its names.
    pub(super) job: JobView,
    /// What is done on this machine.
    pub(super) operation: OperationKind,
    /// What it is worth; none if nobody has said.
    pub(super) value: Option<Money>,
    /// As the planner takes it.
    pub(super) plan: PlanJob,
}

/// A machine's queue, or the head of a long one.
#[derive(Clone, Debug, Default)]
pub(super) struct Queue {
    /// The jobs looked at, in order of queueing.
    pub(super) jobs: Vec<Waiting>,
    /// How many wait in all.
    pub(super) waiting: i64,
    /// The operations for which minutes were assumed, this machine's and later ones.
    pub(super) assumed: BTreeSet<OperationKind>,
    /// Later operations whose time is not known.
    pub(super) unknown: BTreeSet<OperationKind>,
    /// Rebuilds whose value is in another currency than the policy's.
    pub(super) foreign: BTreeSet<String>,
}

/// Loads the queue of a machine.
pub(super) async fn load(view: View<'_>, order: &PlanDay, policy: &Policy) -> Result<Queue, Error> {
    let (waiting, jobs) = view.tx.waiting_on(order.machine, view.now, PLANNED_MAX).await?;
    let rebuilds = jobs.iter().filter_map(|job| job.rebuild).collect::<Vec<_>>();
    let rebuilds = view.tx.waiting_rebuilds(rebuilds).await?;
    let known = Known::load(view, policy.yield_prior.value).await?;
    let mut loading = Loading {
        order,
        policy,
        rebuilds,
        known,
        unset: BTreeSet::new(),
        queue: Queue { waiting, ..Queue::default() },
    };
    for job in view.jobs(jobs).await? {
        loading.take(job)?;
    }
    loading.finish()
}

struct Loading<'a> {
    order: &'a PlanDay,
    policy: &'a Policy,
    rebuilds: HashMap<RebuildId, WaitingRebuild>,
    known: Known,
    /// Operations of this machine whose minutes nobody has set.
    unset: BTreeSet<OperationKind>,
    queue: Queue,
}

impl Loading<'_> {
    fn take(&mut self, view: JobView) -> Result<(), Error> {
        let at = view.job.current.as_ref().map_or(0, |current| current.position);
        let mut route = view.operations.iter().filter(|operation| operation.position >= at);
        let missing = || StorageError::Corrupt {
            table: "jobs",
            id: view.job.tag.clone(),
            reason: "it waits for no operation".to_owned(),
        };
        let current = route.next().ok_or_else(missing)?;
        let operation = current.kind;
        let minutes = self.minutes_here(current);
        let later: Vec<LaterOperation> = route.map(|one| self.later(one)).collect();
        let after = minutes_after(&later, self.policy);
        self.queue.unknown.extend(after.unknown);
        let yields: Vec<_> = at_stake(&view.operations, at)
            .map(|one| self.known.of(one.kind, one.site, one.vendor.as_deref()))
            .collect();
        let value = self.value(&view);
        let plan = PlanJob {
            id: view.job.id.0,
            setup_family: current.setup_family.clone(),
            finish_size: view
                .job
                .finish_size
                .filter(|_| current.machine.is_set_to_size())
                .unwrap_or(Length::ZERO),
            minutes,
            minutes_after: after.minutes,
            value_minor: value.map_or(0, |value| value.minor),
            chance_ppm: chance_of_route_ppm(&yields),
            queued_at_min: minute_of(view.job.created_at),
            due_at_min: view.job.due_at.map(minute_of),
        };
        self.queue.jobs.push(Waiting { operation, value, plan, job: view });
        Ok(())
    }

    /// The minutes of an operation: its own, or what the policy says by now.
    fn minutes(&self, operation: &JobOperation) -> Option<u32> {
        let own = operation.minutes.and_then(|minutes| u32::try_from(minutes).ok());
        own.or_else(|| self.policy.operation(operation.kind)?.minutes)
    }

    fn minutes_here(&mut self, operation: &JobOperation) -> u32 {
        self.minutes(operation).or_else(|| self.assume(operation.kind)).unwrap_or_else(|| {
            self.unset.insert(operation.kind);
            0
        })
    }

    fn later(&mut self, operation: &JobOperation) -> LaterOperation {
        let minutes = match (self.minutes(operation), operation.site) {
            (None, Site::InHouse) => self.assume(operation.kind),
            (known, _) => known,
        };
        let vendor = operation.vendor.clone();
        LaterOperation { kind: operation.kind, site: operation.site, vendor, minutes }
    }

    fn assume(&mut self, kind: OperationKind) -> Option<u32> {
        let minutes = self.order.assumed_minutes?;
        self.queue.assumed.insert(kind);
        Some(minutes)
    }

    /// What was said of the job itself, else its share of the rebuild that waits for it.
    fn value(&mut self, view: &JobView) -> Option<Money> {
        let currency = self.policy.currency;
        if let Some(minor) = view.job.value_minor {
            return Some(Money { minor, currency });
        }
        let waiting = self.rebuilds.get(&view.job.rebuild?)?;
        let value = waiting.value?;
        if value.currency != currency {
            self.queue.foreign.insert(view.rebuild_tag.clone());
            return None;
        }
        Some(Money { minor: share_of_rebuild(value.minor, waiting.missing), currency })
    }

    /// The queue, or everything that stands in the way of planning it.
    fn finish(self) -> Result<Queue, Error> {
        if self.unset.is_empty() {
            return Ok(self.queue);
        }
        let version = self.policy.version;
        let obstacle = |kind: &OperationKind| {
            let description = format!(
                "{kind} has no minutes in policy version {version}: set them there, or say what to \
                 take for them (assumed_minutes)"
            );
            Obstacle::new("MINUTES_NOT_SET", kind.as_str(), description)
        };
        Err(Error::Forbidden(self.unset.iter().map(obstacle).collect()))
    }
}

/// The operations whose yields are the chance of a route from a position on: an inspection finds what
/// the work before it made, so it is the work that counts; where none is left, the last that was done.
fn at_stake(route: &[JobOperation], at: i64) -> impl Iterator<Item = &JobOperation> {
    let work = |one: &&JobOperation| !one.kind.judges();
    let last = route.iter().filter(|one| one.position < at).rfind(work);
    let ahead = route.iter().filter(move |one| one.position >= at).filter(work);
    let last = last.filter(|_| ahead.clone().next().is_none());
    last.into_iter().chain(ahead)
}
