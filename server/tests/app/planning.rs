//! Plans of machines and yields of operations, over jobs as the queue has them.

use crate::shop::{HOUR, Shop, act, forbidden, obstacles, used};
use crate::support::{TestDb, on_both};
use prost::Message;
use tenths_domain::item::{FeatureKind, Limits};
use tenths_domain::money::Money;
use tenths_domain::plan::Floor;
use tenths_domain::policy::{Noted, Policy, Site};
use tenths_domain::route::{Machine, Operation, OperationKind, single};
use tenths_domain::state::{Method, PieceState, RejectReason};
use tenths_domain::units::{Length, Unit};
use tenths_server::app::planning::{
    DayPlanView, ListYields, PlanDay, list_yields, plan_day, release_plan,
};
use tenths_server::app::policies::{SetPolicy, set_policy};
use tenths_server::app::rebuilds::{OpenRebuild, open_rebuild};
use tenths_server::app::reconditioning::{
    self, ClaimJob, FinishOperation, NewJob, OnClaim, RejectOperation, start_job,
};
use tenths_server::app::stock;
use tenths_server::policy_document;

on_both!(
    minutes_that_nobody_set_are_asked_for,
    a_plan_goes_by_value_and_batches_and_says_what_it_assumes,
    a_due_date_and_its_floor_go_before_value,
    claims_follow_a_released_plan,
    a_share_of_a_rebuild_counts_and_a_closed_one_does_not,
    yields_are_counted_by_operation_and_place,
    no_machine_has_more_in_work_than_the_policy_allows,
);

const GRINDER: Machine = Machine::CylindricalGrinder;

fn operation(kind: OperationKind, machine: Machine, minutes: Option<u32>) -> Operation {
    let any = single(Method::Polish, FeatureKind::Journal, None);
    let setup_family = machine.setup_family();
    let text = kind.as_str().replace('_', " ");
    Operation { kind, machine, setup_family, site: Site::InHouse, minutes, text, ..any }
}

/// A job to be opened: a piece to be ground to a size, then inspected.
#[derive(Clone)]
struct Wanted {
    piece: &'static str,
    minutes: Option<u32>,
    size_nm: i64,
    due_at: Option<i64>,
    rebuild: Option<&'static str>,
}

fn wanted(piece: &'static str) -> Wanted {
    let (minutes, size_nm) = (Some(30), 18_796_000);
    Wanted { piece, minutes, size_nm, due_at: None, rebuild: None }
}

impl Wanted {
    fn route(&self) -> Vec<Operation> {
        let size = Length::from_nm(self.size_nm);
        let grind = operation(OperationKind::FinishGrind, GRINDER, self.minutes);
        let inspect = operation(OperationKind::Inspect, Machine::InspectionBench, Some(5));
        vec![Operation { to: Some(Limits { lower: size, upper: size }), ..grind }, inspect]
    }
}

/// Opens the job; answers with its tag.
async fn open(shop: &Shop, wanted: Wanted) -> String {
    let opened = shop.act(move |act| {
        let wanted = wanted.clone();
        Box::pin(async move {
            let mut piece = act.tx.piece_by_tag(wanted.piece).await?.unwrap();
            piece.state = PieceState::Reconditioning;
            act.tx.save_piece(&mut piece).await?;
            let item = act.tx.items_by_ids([piece.item]).await?.remove(&piece.item).unwrap();
            let rebuild = match wanted.rebuild {
                Some(tag) => act.tx.rebuild_by_tag(tag).await?.map(|rebuild| rebuild.id),
                None => None,
            };
            let new = NewJob {
                piece: piece.id,
                feature: item.feature("journal").unwrap().id,
                method: Method::Regrind,
                target: None,
                target_unit: Unit::Inch,
                reason: "worn".to_owned(),
                due_at: wanted.due_at,
                rework_of: None,
                rebuild,
                value_minor: None,
                policy_version: None,
                route: wanted.route(),
            };
            start_job(act, new).await
        })
    });
    opened.await.unwrap().tag
}

/// Opens a rebuild that is worth so many dollars.
async fn worth(shop: &Shop, tag: &str, money: &str) {
    let order = OpenRebuild {
        tag: Some(tag.to_owned()),
        description: "drive".to_owned(),
        customer: String::new(),
        core_tag: None,
        due_at: None,
        value: Some(Money::parse(money).unwrap()),
    };
    act!(shop, open_rebuild, order).unwrap();
}

fn day(assumed_minutes: Option<u32>) -> PlanDay {
    PlanDay { machine: GRINDER, day_minutes: 480, assumed_minutes }
}

async fn plan(shop: &Shop) -> DayPlanView {
    let order = day(None);
    shop.look(move |view| Box::pin(async move { plan_day(view, &order).await })).await.unwrap()
}

fn tags(plan: &DayPlanView) -> Vec<&str> {
    plan.lines.iter().map(|line| line.job.job.tag.as_str()).collect()
}

async fn minutes_that_nobody_set_are_asked_for(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    open(&shop, Wanted { minutes: None, ..wanted("P-1") }).await;
    let order = day(None);
    let refused =
        shop.look(move |view| Box::pin(async move { plan_day(view, &order).await })).await;
    let words = ["finish_grind has no minutes in policy version 0", "assumed_minutes"];
    forbidden(refused, "MINUTES_NOT_SET", &words);
    let refused = obstacles(act!(shop, release_plan, day(None)));
    assert_eq!(refused.len(), 1, "{refused:?}");
    let assumed = act!(shop, release_plan, day(Some(45))).unwrap();
    assert_eq!(assumed.lines[0].plan.minutes, 45);
    let said = "nobody has set the minutes of finish_grind: taken as 45 min each, as asked";
    assert!(assumed.assumptions.iter().any(|one| one == said), "{:?}", assumed.assumptions);
    shop.close().await;
}

/// Method: three jobs of equal minutes, two of one size; the one of most value goes first, and the
/// other of its size goes with it, since the band has no set-up of its own.
async fn a_plan_goes_by_value_and_batches_and_says_what_it_assumes(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    worth(&shop, "R-90", "900.00 USD").await;
    worth(&shop, "R-10", "10.00 USD").await;
    let cheap = open(&shop, Wanted { rebuild: Some("R-10"), ..wanted("P-1") }).await;
    let other = open(&shop, Wanted { size_nm: 12_700_000, ..wanted("P-2") }).await;
    let dear = open(&shop, Wanted { rebuild: Some("R-90"), ..wanted("P-3") }).await;
    let plan = plan(&shop).await;
    assert_eq!(tags(&plan), [&dear, &cheap, &other]);
    assert_eq!(plan.waiting, 3);
    let texts: Vec<&str> = plan.batches.iter().map(|batch| batch.text.as_str()).collect();
    assert_eq!(texts, ["2 at 0.7400 in, one set-up", "1 at 0.5000 in, one set-up"]);
    assert_eq!(plan.lines[0].value.unwrap().minor, 90_000);
    // Nothing was ever judged, so the work passes with the prior's chance; whether it did the
    // inspection after it only finds.
    assert_eq!(plan.lines[0].plan.chance_ppm, 500_000);
    assert_eq!(plan.lines[0].plan.minutes_after, 5);
    for said in ["1 of 3 jobs have no value", "sets no minutes for setting up", "no longest wait"] {
        let is_said = plan.assumptions.iter().any(|one| one.contains(said));
        assert!(is_said, "{said:?} is not in {:?}", plan.assumptions);
    }
    shop.close().await;
}

async fn a_due_date_and_its_floor_go_before_value(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    worth(&shop, "R-90", "900.00 USD").await;
    let dear = open(&shop, Wanted { rebuild: Some("R-90"), ..wanted("P-1") }).await;
    let due_at = Some(shop.now() + HOUR / 2);
    let due = open(&shop, Wanted { due_at, ..wanted("P-2") }).await;
    let plan = plan(&shop).await;
    assert_eq!(tags(&plan), [&due, &dear]);
    assert!(plan.lines[0].line.is_forced && !plan.lines[1].line.is_forced);
    assert_eq!(plan.lines[0].latest_start.unwrap().floor, Floor::DueDate);
    shop.close().await;
}

/// Method: without a plan the first queued is claimed; a released plan changes that, a plan that is
/// only looked at does not, and the next release takes the places of jobs away that have left.
async fn claims_follow_a_released_plan(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    worth(&shop, "R-90", "900.00 USD").await;
    let first = open(&shop, wanted("P-1")).await;
    let dear = open(&shop, Wanted { rebuild: Some("R-90"), ..wanted("P-2") }).await;
    let next = ClaimJob { tag: None, machine: Some(GRINDER), lease: HOUR };
    plan(&shop).await;
    let (job, token) = act!(shop, reconditioning::claim_job, next.clone()).unwrap();
    assert_eq!(job.job.tag, first);
    let claim = OnClaim { tag: first.clone(), fencing_token: token };
    act!(shop, reconditioning::release_claim, claim).unwrap();
    act!(shop, release_plan, day(None)).unwrap();
    let ranks = async |shop: &Shop| {
        let jobs = [first.clone(), dear.clone()];
        let mut ranks = Vec::new();
        for tag in jobs {
            let name = tag.clone();
            let found = shop.look(move |view| {
                Box::pin(async move { reconditioning::get_job(view, &name).await })
            });
            ranks.push(found.await.unwrap().job.plan_rank);
        }
        ranks
    };
    assert_eq!(ranks(&shop).await, [Some(1), Some(0)]);
    let (job, _) = act!(shop, reconditioning::claim_job, next).unwrap();
    assert_eq!(job.job.tag, dear);
    let second = act!(shop, release_plan, day(None)).unwrap();
    assert_eq!(tags(&second), [&first]);
    assert_eq!((second.in_progress, second.waiting), (1, 1));
    assert_eq!(ranks(&shop).await, [Some(0), Some(0)], "a claimed job keeps the place it had");
    shop.close().await;
}

async fn a_share_of_a_rebuild_counts_and_a_closed_one_does_not(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    worth(&shop, "R-90", "900.00 USD").await;
    for piece in ["P-1", "P-2"] {
        open(&shop, Wanted { rebuild: Some("R-90"), ..wanted(piece) }).await;
    }
    let shares: Vec<_> = plan(&shop).await.lines.iter().map(|line| line.value).collect();
    assert!(shares.iter().all(|value| value.unwrap().minor == 45_000), "{shares:?}");
    let close = tenths_server::app::rebuilds::CloseRebuild {
        tag: "R-90".to_owned(),
        etag: None,
        state: tenths_domain::state::RebuildState::Cancelled,
    };
    act!(shop, tenths_server::app::rebuilds::close_rebuild, close).unwrap();
    assert!(plan(&shop).await.lines.iter().all(|line| line.value.is_none()));
    worth(&shop, "R-EU", "50.00 EUR").await;
    open(&shop, Wanted { rebuild: Some("R-EU"), ..wanted("P-3") }).await;
    let said = "R-EU is valued in another currency than the policy's USD: counted as nothing";
    assert!(plan(&shop).await.assumptions.iter().any(|one| one == said));
    shop.close().await;
}

/// Method: grind two, of which one is good and one is rejected, and look at what is believed then:
/// Beta(1, 1) moved by one of each has its mean at a half, and its lower bound at what a Beta(2, 2)
/// exceeds with 19 chances in 20, x where 3x^2 - 2x^3 = 0.05.
async fn yields_are_counted_by_operation_and_place(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for piece in ["P-1", "P-2"] {
        let tag = open(&shop, wanted(piece)).await;
        let order = ClaimJob { tag: Some(tag.clone()), machine: None, lease: HOUR };
        let (_, fencing_token) = act!(shop, reconditioning::claim_job, order).unwrap();
        let claim = OnClaim { tag, fencing_token };
        if piece == "P-1" {
            let order = FinishOperation { claim, note: String::new() };
            act!(shop, reconditioning::finish_operation, order).unwrap();
        } else {
            let (reason, note) = (RejectReason::GrindingBurn, String::new());
            let order = RejectOperation { claim, reason, note };
            act!(shop, reconditioning::reject_operation, order).unwrap();
        }
    }
    let every = ListYields { operation: None, vendor: None };
    let found = shop.look(move |view| Box::pin(async move { list_yields(view, &every).await }));
    let found = found.await.unwrap();
    let [grinding] = found.yields.as_slice() else { panic!("{:?}", found.yields) };
    let counted = &grinding.counted;
    assert_eq!((counted.kind, counted.passed, counted.failed), (OperationKind::FinishGrind, 1, 1));
    assert_eq!((grinding.mean, counted.vendor.as_deref()), (0.5, None));
    let x = grinding.lower_bound;
    assert!((3.0 * x * x - 2.0 * x * x * x - 0.05).abs() < 1e-5, "{x}");
    let other = ListYields { operation: Some(OperationKind::Plate), vendor: None };
    let none = shop.look(move |view| Box::pin(async move { list_yields(view, &other).await }));
    assert!(none.await.unwrap().yields.is_empty());
    shop.close().await;
}

/// Method: eight workers claim at once where two may be in work; whatever the timing two have one, and
/// the next has one as soon as one of these is finished.
async fn no_machine_has_more_in_work_than_the_policy_allows(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let mut policy = Policy::common_practice();
    policy.queue.wip_max = Some(Noted::new(2, "two carts stand at the grinder"));
    let document = policy_document::document(&policy).encode_to_vec();
    act!(shop, set_policy, SetPolicy { etag: 0, document, note: "carts".to_owned() }).unwrap();
    const PIECES: [&str; 8] = ["P-1", "P-2", "P-3", "P-54", "P-55", "P-56", "P-57", "P-58"];
    for piece in PIECES {
        if piece.len() == 4 {
            act!(shop, stock::create_piece, used(piece, "SH-30")).unwrap();
        }
        open(&shop, wanted(piece)).await;
    }
    let next = ClaimJob { tag: None, machine: Some(GRINDER), lease: HOUR };
    let workers = PIECES.map(|_| {
        let (shop, next) = (shop.clone(), next.clone());
        tokio::spawn(async move { act!(shop, reconditioning::claim_job, next) })
    });
    let mut claimed = Vec::new();
    for worker in workers {
        match worker.await.unwrap() {
            Ok(found) => claimed.push(found),
            refused => forbidden(
                refused,
                "WIP_LIMIT",
                &["has 2 jobs in work, the most that the policy allows is 2"],
            ),
        }
    }
    assert_eq!(claimed.len(), 2);
    let (job, fencing_token) = claimed.pop().unwrap();
    let claim = OnClaim { tag: job.job.tag, fencing_token };
    let done = FinishOperation { claim, note: String::new() };
    act!(shop, reconditioning::finish_operation, done).unwrap();
    act!(shop, reconditioning::claim_job, next.clone()).unwrap();
    forbidden(act!(shop, reconditioning::claim_job, next), "WIP_LIMIT", &[]);
    shop.close().await;
}
