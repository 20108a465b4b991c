//! The part of the tour that plans a machine and looks at its yields.

use tenths_proto::v1::*;
use tenths_tests::{Bench, done, request_id};

/// Queues a seat for a rebuild that is worth something, plans the grinder, releases the plan, claims
/// by it, and gives the claim back.
pub(crate) async fn tour(bench: &Bench) {
    let request = OpenRebuildRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: "R-90".to_owned(),
        description: "headstock drive".to_owned(),
        value: Some(Money { amount: "900.00".to_owned(), currency: "USD".to_owned() }),
        ..Default::default()
    };
    done("open_rebuild", bench.clients().rebuilds().open_rebuild(request).await);
    bench.piece("P-90", "SH-25").await;
    let request = EnqueueJobRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        piece_tag: "P-90".to_owned(),
        feature: "seat-a".to_owned(),
        method: Method::BuildUp.into(),
        reason: "seat worn".to_owned(),
        rebuild_tag: "R-90".to_owned(),
        ..Default::default()
    };
    let mut queue = bench.clients().reconditioning();
    let job = done("enqueue_job", queue.enqueue_job(request).await).job.expect("the job");
    assert_eq!(job.rebuild_tag, "R-90");
    let mut planning = bench.clients().planning();
    let machine = WorkMachine::CylindricalGrinder.into();
    let request =
        PlanDayRequest { machine, assumed_minutes: Some(45), ..PlanDayRequest::default() };
    let plan = done("plan_day", planning.plan_day(request).await).plan.expect("the plan");
    let line = plan.lines.first().expect("a line");
    assert_eq!((line.job_tag.as_str(), line.minutes), (job.tag.as_str(), 45));
    assert_eq!(line.value.as_ref().map(|value| value.amount.as_str()), Some("900.00"));
    let request = ReleasePlanRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        machine,
        assumed_minutes: Some(45),
        ..ReleasePlanRequest::default()
    };
    let released = done("release_plan", planning.release_plan(request).await).plan;
    assert_eq!(released.expect("the plan").lines.len(), plan.lines.len());
    let yields = done("list_yields", planning.list_yields(ListYieldsRequest::default()).await);
    assert!(yields.yields.iter().all(|one| one.passed + one.failed > 0), "{yields:?}");
    assert!(!yields.yields.is_empty(), "the tour has judged operations");
}
