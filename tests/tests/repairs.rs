//! Goal: for every worn part the owner is shown what can be done, what each way costs, and why the
//! others are not possible; by the rules of the trade, from the readings and the policy in force.
//! Method: over gRPC on both databases; nine worn shafts of one kind, and single cases with what is
//! wrong about them.

use tenths_proto::v1::feature::Tolerance;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, DatabaseKind, Expected, Outcomes, Shop, done, inch, mm, nm, on_both_databases,
    readings_in_inches, request_id,
};
use tonic::Code;

#[path = "repairs/shafts.rs"]
mod shafts;

on_both_databases!(
    a_worn_journal_is_told_every_way,
    mates_in_stock_are_counted_by_the_fit_that_is_known,
    a_proposal_that_has_no_meaning_is_refused,
    nine_worn_shafts_of_one_kind,
    a_keyseat_is_judged_by_the_key_that_it_gets,
    a_reground_journal_has_the_steps_that_are_left,
    what_means_nothing_is_not_dropped,
    what_may_not_be_decided_is_refused,
);

fn usd(amount: &str) -> Option<Money> {
    Some(Money { amount: amount.to_owned(), currency: "USD".to_owned() })
}

/// A shaft with a journal of 0.750 in and a bearing's seat of 25 mm, not ground below 0.725 in.
fn shaft() -> Item {
    let journal = Feature {
        name: "journal".to_owned(),
        kind: FeatureKind::Journal.into(),
        nominal: inch("0.750"),
        tolerance: Some(Tolerance::Limits(SizeLimits {
            lower: inch("0.7495"),
            upper: inch("0.7500"),
        })),
        recondition_limit: inch("0.725"),
        limit_source: "common practice".to_owned(),
        ..Feature::default()
    };
    let seat = Feature {
        name: "seat".to_owned(),
        kind: FeatureKind::RollingSeat.into(),
        nominal: mm("25"),
        tolerance: Some(Tolerance::ToleranceClass("k5".to_owned())),
        limit_source: "common practice".to_owned(),
        ..Feature::default()
    };
    Item {
        code: "SH-75".to_owned(),
        kind: ItemKind::Shaft.into(),
        description: "drive shaft".to_owned(),
        material: Material::Steel.into(),
        features: vec![journal, seat],
        ..Item::default()
    }
}

/// A bench with the shaft's item, and a policy with the costs of a shop of our own invention.
async fn bench_with_costs(c: &Clients) -> Bench {
    let bench = Bench::furnished(c).await;
    bench.item(shaft()).await;
    let answer = done("get_policy", c.policies().get_policy(GetPolicyRequest::default()).await);
    let mut policy = answer.policy.expect("the built-in policy");
    let note = || "this test's own".to_owned();
    policy.hourly_rate = Some(NotedMoney { value: usd("60.00"), note: note() });
    policy.in_house_lead_time_days = Some(NotedCount { value: 3, note: note() });
    for (method, cost, days) in [
        (BuildMethod::HardChrome, "95.00", 9),
        (BuildMethod::SelectivePlating, "110.00", 4),
        (BuildMethod::ThermalSpray, "140.00", 8),
        (BuildMethod::Weld, "70.00", 6),
        (BuildMethod::Sleeve, "60.00", 0),
    ] {
        let entry = policy.methods.iter_mut().find(|entry| entry.method() == method);
        let entry = entry.expect("every method is in the built-in policy");
        (entry.cost, entry.lead_time_days) = (usd(cost), Some(days));
    }
    policy.operations = (1..)
        .map_while(|number| OperationKind::try_from(number).ok())
        .map(|kind| OperationPolicy {
            operation: kind.into(),
            minutes: Some(if kind == OperationKind::FinishGrind { 25 } else { 5 }),
            cost: None,
            note: note(),
        })
        .collect();
    let request = SetPolicyRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        etag: "r0".to_owned(),
        policy: Some(policy),
        note: note(),
    };
    done("set_policy", c.policies().set_policy(request).await);
    bench
}

/// What everybody knows of these shafts: what drives them, and what a new one costs.
fn known() -> WornDetails {
    let load = ShaftLoad {
        power: "2".to_owned(),
        power_unit: "hp".to_owned(),
        speed_rpm: "1725".to_owned(),
        ..ShaftLoad::default()
    };
    WornDetails {
        run_out: inch("0.001"),
        hardness_hrc: "24".to_owned(),
        end: ShaftEnd::Drive.into(),
        load: Some(load),
        replacement: Some(ReplacementPart { cost: usd("260.00"), lead_time_days: Some(21) }),
        ..WornDetails::default()
    }
}

fn asked(tag: &str, feature: &str, details: WornDetails) -> ProposeRepairsRequest {
    ProposeRepairsRequest {
        piece_tag: tag.to_owned(),
        feature: feature.to_owned(),
        details: Some(details),
        ..ProposeRepairsRequest::default()
    }
}

async fn propose(c: &Clients, request: ProposeRepairsRequest) -> ProposeRepairsResponse {
    let what = format!("propose {} {}", request.piece_tag, request.feature);
    done(&what, c.repairs().propose_repairs(request).await)
}

fn option<'a>(answer: &'a ProposeRepairsResponse, name: &str) -> &'a RepairOption {
    let found = answer.options.iter().find(|option| option.repair == name);
    found.unwrap_or_else(|| panic!("no {name} in {:?}", answer.options))
}

fn codes(option: &RepairOption) -> Vec<BlockCode> {
    option.blocks.iter().map(RepairBlock::code).collect()
}

async fn worn_journal(bench: &Bench, tag: &str, line: &str) {
    bench.piece(tag, "SH-75").await;
    bench.read(tag, readings_in_inches("journal", "M-07", line)).await;
}

/// 0.7455 in at its smallest, 0.001 in of run-out, 0.002 in to clean up: 0.7425 in, so the first step,
/// 0.740 in, cleans up. Clean-up by common practice, no published source.
async fn a_worn_journal_is_told_every_way(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = bench_with_costs(c).await;
    worn_journal(&bench, "P-1", "A0 0.7458 A90 0.7457 B0 0.7455 B90 0.7456").await;
    let answer = propose(c, asked("P-1", "journal", known())).await;
    assert_eq!(answer.policy_version, 1);
    assert_eq!(nm(&answer.clean_up_size), 7_425 * 2_540);
    let governs: Vec<&MinimumPart> =
        answer.minimum_diameters.iter().filter(|part| part.governs).collect();
    assert_eq!(governs.len(), 1);
    assert_eq!((governs[0].by(), nm(&governs[0].value)), (MinimumBy::Stated, 7_250 * 2_540));

    let regrind = option(&answer, "regrind_1");
    assert_eq!((regrind.rank, regrind.blocks.len()), (1, 0));
    assert_eq!(nm(&regrind.target_lower), 7_395 * 2_540);
    assert_eq!(nm(&regrind.target_upper), 7_400 * 2_540);
    // Per side is half of what is on diameter: 0.7458 to 0.7395 in.
    assert_eq!(nm(&regrind.removed_on_diameter), 63 * 2_540);
    assert_eq!(nm(&regrind.removed_per_side) * 2, nm(&regrind.removed_on_diameter));
    // 5 minutes each of cleaning, two crack tests and inspection, 25 of grinding, at 60.00 an hour.
    assert_eq!((regrind.cost.clone(), regrind.lead_time_days), (usd("45.00"), Some(3)));
    assert_eq!(regrind.cost_share_percent, Some(18));
    let kinds: Vec<OperationKind> = regrind.operations.iter().map(PlannedOperation::kind).collect();
    assert_eq!(
        kinds,
        [
            OperationKind::Clean,
            OperationKind::CrackTest,
            OperationKind::FinishGrind,
            OperationKind::CrackTest,
            OperationKind::Inspect
        ]
    );
    let words = &regrind.operations[2].text;
    assert!(words.contains("per side") && words.contains("on diameter"), "{words}");
    assert_eq!(codes(option(&answer, "reuse")), [BlockCode::Worn]);
    assert_eq!(codes(option(&answer, "regrind_3")), [BlockCode::BelowMinimum]);
    assert!(option(&answer, "regrind_2").rank > 0, "deeper than needed, but possible");
    let scrap = option(&answer, "scrap");
    assert_eq!(scrap.scrap_reason(), ScrapReason::Unspecified, "it could be kept");
    let ranks: Vec<i32> =
        answer.options.iter().map(|option| option.rank).filter(|rank| *rank > 0).collect();
    assert_eq!(ranks, (1..=ranks.len() as i32).collect::<Vec<_>>());
    assert!(!answer.ranking.is_empty() && !answer.cautions.is_empty());
    // Nothing was changed by asking.
    assert_eq!(bench.get_piece("P-1").await.etag, answer.piece_etag);
    shop.verify();
}

/// Six bushings of 0.7415 in, and two of 0.751 in; the fit of the first with the journal ground to
/// 0.7395 to 0.7400 in is 0.0015 to 0.0020 in of clearance. Twenty bearings of 25 mm for the seat.
async fn mates_in_stock_are_counted_by_the_fit_that_is_known(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = bench_with_costs(c).await;
    for (tag, code, bore, count) in [
        ("L-6", "BU-740", "0.7415", 6),
        ("L-7", "BU-750", "0.7510", 2),
        // 0.031 in of reaming is more than the trade takes out, up to the size of step 1.
        ("L-8", "BU-710", "0.7100", 3),
    ] {
        let bore = Feature {
            name: "bore".to_owned(),
            kind: FeatureKind::Bore.into(),
            nominal: inch(bore),
            tolerance: Some(Tolerance::Limits(SizeLimits { lower: inch(bore), upper: inch(bore) })),
            limit_source: "this test's own".to_owned(),
            ..Feature::default()
        };
        bench
            .item(Item {
                code: code.to_owned(),
                kind: ItemKind::Bushing.into(),
                description: "plain bushing".to_owned(),
                material: Material::Bronze.into(),
                features: vec![bore],
                ..Item::default()
            })
            .await;
        bench.lot(tag, code, count).await;
    }
    worn_journal(&bench, "P-1", "A0 0.7458 A90 0.7457 B0 0.7455 B90 0.7456").await;
    bench.read("P-1", readings_in_inches("seat", "M-07", "A0 0.9838 A90 0.9838")).await;
    c.settle().await;
    let without = propose(c, asked("P-1", "journal", known())).await;
    assert!(without.options.iter().all(|option| option.mates.is_none()), "no fit is known");

    let limits = ClearanceLimits { min: inch("0.0010"), max: inch("0.0025") };
    let fit = Some(FitRequirement { kind: Some(Kind::Clearance(limits)) });
    let details = WornDetails { mate_fit: fit, ..known() };
    let counted = propose(c, asked("P-1", "journal", details)).await;
    let mates = |name: &str| {
        let found = option(&counted, name);
        (found.mates, found.mates_after_reaming)
    };
    assert_eq!(mates("regrind_1"), (Some(6), Some(0)), "three are too small to be reamed");
    assert_eq!(mates("regrind_2"), (Some(0), Some(3)), "0.022 in is reamed out of the small ones");
    assert_eq!(mates("build_up_hard_chrome"), (Some(2), Some(6)));

    // The seat's own class against a bearing's ring is known without being told.
    let seat = propose(c, asked("P-1", "seat", known())).await;
    assert_eq!(option(&seat, "build_up_hard_chrome").mates, Some(20));
    for step in ["regrind_1", "regrind_2", "regrind_3"] {
        assert_eq!(codes(option(&seat, step)), [BlockCode::NeverUndersize]);
    }
    shop.verify();
}

/// What has no meaning: its name, the fields that must be told, and what is sent.
fn meaningless() -> Vec<(&'static str, Vec<&'static str>, WornDetails)> {
    let load = |load: ShaftLoad| WornDetails { load: Some(load), ..known() };
    let torque = ShaftLoad { torque: "12".to_owned(), ..ShaftLoad::default() };
    let in_newton_metres = ShaftLoad { torque_unit: "n_m".to_owned(), ..torque.clone() };
    let half_a_keyway = ShaftLoad { keyway_width: mm("5"), ..in_newton_metres.clone() };
    let half_a_steel = ShaftLoad { yield_mpa: "350".to_owned(), ..in_newton_metres };
    let all_wrong = WornDetails {
        run_out: inch("-0.001"),
        hardness_hrc: "90".to_owned(),
        condemned: 99,
        shoulder_min: inch("0"),
        replacement: Some(ReplacementPart { cost: usd("-1.00"), lead_time_days: Some(-1) }),
        ..WornDetails::default()
    };
    let fields = vec![
        "details.condemned",
        "details.run_out",
        "details.hardness_hrc",
        "details.shoulder_min",
        "details.replacement.lead_time_days",
        "details.replacement.cost",
    ];
    let of_bore = WornDetails { r#use: FeatureUse::HousingBore.into(), ..known() };
    vec![
        ("every violation at once", fields, all_wrong),
        ("another use", vec!["details.use"], of_bore),
        ("no torque and no power", vec!["details.load"], load(ShaftLoad::default())),
        ("no unit of torque", vec!["details.load.torque_unit"], load(torque)),
        ("half a keyway", vec!["details.load.keyway_depth"], load(half_a_keyway)),
        ("half a steel", vec!["details.load"], load(half_a_steel)),
    ]
}

async fn a_proposal_that_has_no_meaning_is_refused(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = bench_with_costs(c).await;
    worn_journal(&bench, "P-1", "A0 0.7458 A90 0.7457").await;
    let mut outcomes = Outcomes::default();
    for (name, fields, details) in meaningless() {
        let bad = Expected { code: Code::InvalidArgument, fields: &fields, ..Expected::default() };
        let result = c.repairs().propose_repairs(asked("P-1", "journal", details)).await;
        outcomes.refused(name, bad, result);
    }
    let missing = |resource| Expected { code: Code::NotFound, resource, ..Expected::default() };
    let result = c.repairs().propose_repairs(asked("P-9", "journal", known())).await;
    outcomes.refused("no such piece", missing("P-9"), result);
    let result = c.repairs().propose_repairs(asked("P-1", "nose", known())).await;
    outcomes.refused("no such feature", missing("nose of item SH-75"), result);
    let unmeasured = Expected {
        code: Code::FailedPrecondition,
        precondition: &["NOT_MEASURED"],
        ..Expected::default()
    };
    let result = c.repairs().propose_repairs(asked("P-1", "seat", known())).await;
    outcomes.refused("not measured", unmeasured, result);
    outcomes.finish();
    shop.verify();
}

async fn nine_worn_shafts_of_one_kind(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = bench_with_costs(shop.clients()).await;
    shafts::come_in(&bench).await;
    shafts::are_told_what_can_be_done(&bench).await;
    shafts::are_decided(&bench).await;
    shop.verify();
}

async fn what_may_not_be_decided_is_refused(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = bench_with_costs(shop.clients()).await;
    shafts::come_in(&bench).await;
    shafts::are_not_decided_wrongly(&bench).await;
    shop.verify();
}

/// Decides for an option, does all of its operations, and finishes with these readings.
async fn decided_and_done(
    c: &Clients,
    request: DecideRepairRequest,
    line: &str,
) -> FinishJobResponse {
    let (piece_tag, feature) = (request.piece_tag.clone(), request.feature.clone());
    let what = format!("decide {piece_tag} {feature} {}", request.repair);
    let job = done(&what, c.repairs().decide_repair(request).await).job.expect("a job");
    let mut queue = c.reconditioning();
    let person = || "iven".to_owned();
    for last in (1..=job.operations.len()).map(|position| position == job.operations.len()) {
        let request = ClaimJobRequest {
            request_id: request_id(),
            person: person(),
            tag: job.tag.clone(),
            ..ClaimJobRequest::default()
        };
        let fencing_token = done("claim", queue.claim_job(request).await).fencing_token;
        if last {
            let request = FinishJobRequest {
                request_id: request_id(),
                person: person(),
                tag: job.tag.clone(),
                fencing_token,
                readings: Some(readings_in_inches(&feature, "M-07", line)),
                ..FinishJobRequest::default()
            };
            return done("finish", queue.finish_job(request).await);
        }
        let request = FinishOperationRequest {
            request_id: request_id(),
            person: person(),
            tag: job.tag.clone(),
            fencing_token,
            note: String::new(),
        };
        done("done", queue.finish_operation(request).await);
    }
    unreachable!("a route has a last operation")
}

fn decide(tag: &str, feature: &str, repair: &str, details: WornDetails) -> DecideRepairRequest {
    DecideRepairRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        piece_tag: tag.to_owned(),
        feature: feature.to_owned(),
        details: Some(details),
        repair: repair.to_owned(),
        reason: "there is no other in the house".to_owned(),
        ..DecideRepairRequest::default()
    }
}

/// A quarter-inch keyseat, worn to 0.252 and to 0.260 in: the first takes a stepped key and stays as
/// it is, the second is cut for the next key, 0.3125 in.
async fn a_keyseat_is_judged_by_the_key_that_it_gets(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = bench_with_costs(c).await;
    let limits = SizeLimits { lower: inch("0.2500"), upper: inch("0.2510") };
    let keyseat = Feature {
        name: "key".to_owned(),
        kind: FeatureKind::Keyseat.into(),
        nominal: inch("0.2500"),
        tolerance: Some(Tolerance::Limits(limits)),
        limit_source: "this test's own".to_owned(),
        ..Feature::default()
    };
    bench
        .item(Item {
            code: "SK-1".to_owned(),
            kind: ItemKind::Shaft.into(),
            description: "keyed shaft".to_owned(),
            features: vec![keyseat],
            ..Item::default()
        })
        .await;
    let next = WornDetails { next_key_width: inch("0.3125"), ..WornDetails::default() };
    for (tag, before, repair, details, after) in [
        (
            "K-1",
            "A0 0.2520 B0 0.2519",
            "stepped_key",
            WornDetails::default(),
            "A0 0.2520 B0 0.2519",
        ),
        ("K-2", "A0 0.2600 B0 0.2598", "next_key_width", next, "A0 0.3128 B0 0.3127"),
    ] {
        bench.piece(tag, "SK-1").await;
        bench.read(tag, readings_in_inches("key", "M-07", before)).await;
        bench.assess(tag).await;
        let answer = decided_and_done(c, decide(tag, "key", repair, details), after).await;
        let job = answer.job.expect("the job");
        assert_eq!(job.outcome(), JobOutcome::ToStock, "{repair}: {:?}", answer.notes);
        assert!(answer.rework.is_none(), "{repair}");
    }
    shop.verify();
}

/// Ground to step 1 and worn again: the next is step 2 and says so, building up goes back to new, and
/// the station that was never ground is a measure of nothing.
async fn a_reground_journal_has_the_steps_that_are_left(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = bench_with_costs(c).await;
    worn_journal(&bench, "P-1", "A0 0.7458 A90 0.7457 B0 0.7455 B90 0.7456").await;
    bench.read("P-1", readings_in_inches("seat", "M-07", "A0 0.9845 A90 0.9845 B0 0.9845")).await;
    bench.assess("P-1").await;
    let hard = WornDetails { hardness_hrc: "40".to_owned(), ..known() };
    let request = decide("P-1", "journal", "regrind_1", hard.clone());
    let line = "A0 0.7398 A90 0.7397 B0 0.7397 B90 0.7398";
    let answer = decided_and_done(c, request, line).await;
    let outcome = answer.job.as_ref().map(Job::outcome);
    assert_eq!(outcome, Some(JobOutcome::ToStock), "{:?}", answer.notes);
    let piece = bench.get_piece("P-1").await;
    assert_eq!(piece.hardness, "HRC 40.0", "what was known at the decision goes with the piece");

    let line = "A0 0.7362 A90 0.7361 B0 0.7360 B90 0.7361";
    bench.read("P-1", readings_in_inches("journal", "M-07", line)).await;
    let answer = propose(c, asked("P-1", "journal", known())).await;
    assert!(answer.options.iter().all(|one| one.repair != "regrind_1"));
    let next = option(&answer, "regrind_2");
    assert_eq!(next.text, "regrind to step 2, 0.0200 in undersize");
    assert_eq!(nm(&next.target_upper), 18_542_000);
    let built_up = option(&answer, "build_up_weld");
    assert_eq!(nm(&built_up.target_upper), 19_050_000);
    shop.verify();
}

async fn what_means_nothing_is_not_dropped(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = bench_with_costs(c).await;
    worn_journal(&bench, "P-1", "A0 0.7458 A90 0.7457 B0 0.7455 B90 0.7456").await;
    let regrind = || decide("P-1", "journal", "regrind_1", known());
    let scrap = || decide("P-1", "journal", "scrap", known());
    let with = |details: WornDetails| decide("P-1", "journal", "regrind_1", details);
    let load = |load: ShaftLoad| with(WornDetails { load: Some(load), ..known() });
    let torque = || known().load.unwrap_or_default();
    let mut outcomes = Outcomes::default();
    for (field, request) in [
        ("scrap_reason", {
            DecideRepairRequest { scrap_reason: ScrapReason::Crack.into(), ..regrind() }
        }),
        ("location_code", DecideRepairRequest { location_code: "A-1".to_owned(), ..scrap() }),
        ("details.bore_max", with(WornDetails { bore_max: inch("0.8"), ..known() })),
        ("details.next_key_width", {
            with(WornDetails { next_key_width: inch("0.8"), ..known() })
        }),
        ("details.case_left_min_per_side", {
            let (depth, left) = (inch("0.01"), inch("0.02"));
            with(WornDetails {
                case_depth_per_side: depth,
                case_left_min_per_side: left,
                ..known()
            })
        }),
        ("details.load.keyway_width", {
            let (keyway_width, keyway_depth) = (mm("300"), mm("2"));
            load(ShaftLoad { keyway_width, keyway_depth, ..torque() })
        }),
        ("details.load.yield_mpa", {
            let (yield_mpa, ultimate_mpa) = ("500".to_owned(), "300".to_owned());
            load(ShaftLoad { yield_mpa, ultimate_mpa, ..torque() })
        }),
        ("reference_station", {
            DecideRepairRequest { reference_station: "Z".to_owned(), ..regrind() }
        }),
    ] {
        let fields = &[field][..];
        let bad = Expected { code: Code::InvalidArgument, fields, ..Expected::default() };
        outcomes.refused(field, bad, c.repairs().decide_repair(request).await);
    }
    outcomes.finish();
    shop.verify();
}
