//! Nine worn shafts of one kind: how each is worn, and what must hold of what is proposed.

use super::{asked, codes, known, option, propose};
use tenths_proto::v1::*;
use tenths_tests::{Bench, Expected, Outcomes, done, inch, nm, readings_in_inches, request_id};
use tonic::Code;

/// One shaft: its journal and its seat as read, run-out, deepest score per side, why it is condemned,
/// and what is proposed first for the journal and for the seat.
struct Shaft {
    tag: &'static str,
    journal: &'static str,
    seat: &'static str,
    run_out: &'static str,
    score: &'static str,
    condemned: ScrapReason,
    first: [&'static str; 2],
}

const GOOD_SEAT: &str = "A0 0.9845 A90 0.9845 B0 0.9845 B90 0.9845";
/// 0.0008 in under the smallest that k5 allows at 25 mm.
const WORN_SEAT: &str = "A0 0.9837 A90 0.9837 B0 0.9836 B90 0.9836";
const GOOD_JOURNAL: &str = "A0 0.7498 A90 0.7498 B0 0.7498 B90 0.7497";

const WORN: Shaft = Shaft {
    tag: "",
    journal: GOOD_JOURNAL,
    seat: GOOD_SEAT,
    run_out: "0.001",
    score: "0",
    condemned: ScrapReason::Unspecified,
    first: ["reuse", "reuse"],
};

/// The nine, and what each comes to. The step is the first whose size is at most the smallest reading
/// less run-out, less twice the score, less 0.002 in: common practice, no published source.
static SHAFTS: [Shaft; 9] = [
    // 0.0006 in of wear, and 0.003 in are accepted.
    Shaft { tag: "W-1", journal: "A0 0.7496 A90 0.7496 B0 0.7494 B90 0.7495", ..WORN },
    // Cleans up at 0.7425 in.
    Shaft {
        tag: "W-2",
        journal: "A0 0.7458 A90 0.7457 B0 0.7455 B90 0.7456",
        first: ["regrind_1", "reuse"],
        ..WORN
    },
    // Cleans up at 0.7390 in.
    Shaft {
        tag: "W-3",
        journal: "A0 0.7424 A90 0.7423 B0 0.7420 B90 0.7421",
        first: ["regrind_2", "reuse"],
        ..WORN
    },
    // Cleans up at 0.7275 in: 0.720 in would be below what the shop allows. Too deep for plating, too
    // near the limit to cut away for spray or sleeve; welding holds.
    Shaft {
        tag: "W-4",
        journal: "A0 0.7312 A90 0.7308 B0 0.7305 B90 0.7306",
        first: ["build_up_weld", "reuse"],
        ..WORN
    },
    // Hardly worn, but scored 0.004 in per side: 0.008 in on diameter.
    Shaft {
        tag: "W-5",
        journal: "A0 0.7472 A90 0.7471 B0 0.7470 B90 0.7470",
        score: "0.004",
        first: ["regrind_2", "reuse"],
        ..WORN
    },
    // The seat is worn: built back, never ground under.
    Shaft { tag: "W-6", seat: WORN_SEAT, first: ["reuse", "build_up"], ..WORN },
    // A crack was found: no size says that, a person did.
    Shaft { tag: "W-7", condemned: ScrapReason::Crack, first: ["replace", "replace"], ..WORN },
    // Bent 0.012 in: straightened to 0.005 in before it is ground, so it cleans up at 0.7390 in.
    Shaft {
        tag: "W-8",
        journal: "A0 0.7462 A90 0.7461 B0 0.7460 B90 0.7460",
        run_out: "0.012",
        first: ["regrind_2", "reuse"],
        ..WORN
    },
    // Worn below the smallest diameter.
    Shaft {
        tag: "W-9",
        journal: "A0 0.7190 A90 0.7185 B0 0.7180 B90 0.7182",
        first: ["replace", "reuse"],
        ..WORN
    },
];

/// Puts the nine on the bench and measures them.
pub(crate) async fn come_in(bench: &Bench) {
    for shaft in &SHAFTS {
        bench.piece(shaft.tag, "SH-75").await;
        for (feature, line) in [("journal", shaft.journal), ("seat", shaft.seat)] {
            bench.read(shaft.tag, readings_in_inches(feature, "M-07", line)).await;
        }
        bench.assess(shaft.tag).await;
    }
}

fn details(shaft: &Shaft) -> WornDetails {
    WornDetails {
        run_out: inch(shaft.run_out),
        score_depth_per_side: inch(shaft.score),
        condemned: shaft.condemned.into(),
        ..known()
    }
}

/// What is proposed, and what must hold of every proposal.
pub(crate) async fn are_told_what_can_be_done(bench: &Bench) {
    for shaft in &SHAFTS {
        // Run-out and scores are those of the journal.
        let of_seat = WornDetails { condemned: shaft.condemned.into(), ..known() };
        let places = [("journal", details(shaft)), ("seat", of_seat)];
        for ((feature, details), first) in places.into_iter().zip(shaft.first) {
            let answer = propose(bench.clients(), asked(shaft.tag, feature, details)).await;
            let best = &answer.options[0];
            let why = answer.options.iter().map(|one| (&one.repair, one.rank, &one.blocks));
            let why: Vec<_> = why.collect();
            assert!(best.repair.starts_with(first), "{} {feature}: {why:#?}", shaft.tag);
            holds(&answer, feature == "seat");
        }
    }
}

/// No seat ever gets an undersize step, nothing goes below the smallest diameter, nothing that does
/// not clean up is offered, and no repair costs more than its share of a new part.
fn holds(answer: &ProposeRepairsResponse, is_seat: bool) {
    let least = answer.minimum_diameters.iter().find(|part| part.governs);
    for one in &answer.options {
        let name = format!("{} {}: {}", answer.piece_tag, answer.feature, one.repair);
        assert_eq!(one.rank == 0, !one.blocks.is_empty(), "{name}");
        if one.rank == 0 {
            assert!(one.operations.is_empty() && one.blocks.iter().all(|b| !b.text.is_empty()));
            continue;
        }
        if one.repair.starts_with("regrind") {
            assert!(!is_seat, "{name}");
            assert!(nm(&one.target_upper) <= nm(&answer.clean_up_size), "{name}");
        }
        if let (Some(cut), Some(least)) = (&one.cut_to, least)
            && one.repair != "polish"
            && one.repair != "finish_to_limits"
        {
            assert!(cut.nm >= nm(&least.value), "{name}");
        }
        if !["replace", "scrap"].contains(&one.repair.as_str()) {
            assert!(one.cost_share_percent.is_none_or(|share| share <= 60), "{name}");
        }
    }
    if is_seat {
        for step in ["regrind_1", "regrind_2", "regrind_3"] {
            assert!(option(answer, step).rank == 0, "a seat is never ground undersize");
            let found = codes(option(answer, step));
            let expected = [BlockCode::NeverUndersize, BlockCode::Condemned];
            assert!(found.iter().all(|code| expected.contains(code)), "{found:?}");
        }
    }
}

fn decision(shaft: &Shaft, feature: &str, repair: &str, reason: &str) -> DecideRepairRequest {
    let of_seat = WornDetails { condemned: shaft.condemned.into(), ..known() };
    DecideRepairRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        piece_tag: shaft.tag.to_owned(),
        feature: feature.to_owned(),
        details: Some(if feature == "seat" { of_seat } else { details(shaft) }),
        repair: repair.to_owned(),
        reason: reason.to_owned(),
        ..DecideRepairRequest::default()
    }
}

/// What became of each: the feature, the option, and where the piece then stands.
const DECIDED: [(&str, &str, PieceState); 9] = [
    ("journal", "reuse", PieceState::InStock),
    ("journal", "regrind_1", PieceState::Reconditioning),
    ("journal", "regrind_2", PieceState::Reconditioning),
    ("journal", "build_up_weld", PieceState::Reconditioning),
    ("journal", "regrind_2", PieceState::Reconditioning),
    ("seat", "build_up_hard_chrome", PieceState::Reconditioning),
    ("journal", "scrap", PieceState::Scrapped),
    ("journal", "regrind_2", PieceState::Reconditioning),
    ("journal", "replace", PieceState::Scrapped),
];

/// Decides for each, and looks at what became of it.
pub(crate) async fn are_decided(bench: &Bench) {
    let mut repairs = bench.clients().repairs();
    for (shaft, (feature, repair, state)) in SHAFTS.iter().zip(DECIDED) {
        let request = decision(shaft, feature, repair, "this test's own choice");
        let answer = done(shaft.tag, repairs.decide_repair(request).await);
        let piece = answer.piece.expect("the piece");
        assert_eq!(piece.state(), state, "{} {:?}", shaft.tag, answer.notes);
        let decided = answer.decision.expect("the decision");
        assert_eq!((decided.chosen.as_str(), decided.policy_version), (repair, 1));
        let is_work = state == PieceState::Reconditioning;
        assert_eq!(answer.job.is_some(), is_work, "{}", shaft.tag);
        assert_eq!(!answer.cautions.is_empty(), is_work, "{}", shaft.tag);
        let Some(job) = answer.job else { continue };
        assert_eq!((job.tag.as_str(), job.feature.as_str()), (decided.job_tag.as_str(), feature));
        let target = job.target_lower.clone().zip(job.target_upper.clone());
        let target = target.map(|(lower, upper)| [lower.nm, upper.nm].map(|one| one / 2_540));
        let expected = match repair {
            "regrind_1" => Some([7_395, 7_400]),
            "regrind_2" => Some([7_295, 7_300]),
            // Back to the item's own limits.
            _ => None,
        };
        assert_eq!(target, expected, "{}", shaft.tag);
        assert_eq!(job.method() == Method::Regrind, repair.starts_with("regrind"));
    }
    are_on_record(bench).await;
}

/// Every decision is on record once, beside what was proposed.
async fn are_on_record(bench: &Bench) {
    let mut repairs = bench.clients().repairs();
    let (mut page_token, mut found) = (String::new(), Vec::new());
    loop {
        let request = ListRepairDecisionsRequest { page_size: 4, page_token, ..Default::default() };
        let page = done("decisions", repairs.list_repair_decisions(request).await);
        found.extend(page.decisions);
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    let told: Vec<(&str, &str)> =
        found.iter().map(|one| (one.piece_tag.as_str(), one.chosen.as_str())).collect();
    let expected: Vec<(&str, &str)> =
        SHAFTS.iter().zip(DECIDED).map(|(shaft, (_, repair, _))| (shaft.tag, repair)).collect();
    assert_eq!(told, expected);
    let last = &found[8];
    assert_eq!(last.proposed, "replace");
    let scrapped = bench.ledger("W-9").await.pop().expect("it left the books");
    assert!(scrapped.note.starts_with("below_minimum_diameter"), "{scrapped:?}");
    let request = ListRepairDecisionsRequest { piece_tag: "W-6".to_owned(), ..Default::default() };
    let of_one = done("decisions", repairs.list_repair_decisions(request).await).decisions;
    assert_eq!(of_one.len(), 1);
}

/// Slips of the pen in a decision that could be carried out.
fn slips(
    worn: &Shaft,
    cracked: &Shaft,
) -> Vec<(&'static str, Expected<'static>, DecideRepairRequest)> {
    let bad = |fields| Expected { code: Code::InvalidArgument, fields, ..Expected::default() };
    let missing = |resource| Expected { code: Code::NotFound, resource, ..Expected::default() };
    vec![
        ("nowhere", missing("Z-9"), {
            let location_code = "Z-9".to_owned();
            DecideRepairRequest { location_code, ..decision(worn, "journal", "regrind_1", "") }
        }),
        ("due long ago", bad(&["due_time"][..]), {
            let due_time = Some(prost_types::Timestamp { seconds: 1_600_000_000, nanos: 0 });
            DecideRepairRequest { due_time, ..decision(worn, "journal", "regrind_1", "") }
        }),
        ("for a rebuild that there is not", missing("R-99"), {
            let rebuild_tag = "R-99".to_owned();
            DecideRepairRequest { rebuild_tag, ..decision(worn, "journal", "regrind_1", "") }
        }),
        ("a rebuild that waits for nothing", bad(&["rebuild_tag"][..]), {
            let rebuild_tag = "R-1".to_owned();
            DecideRepairRequest { rebuild_tag, ..decision(cracked, "journal", "scrap", "no use") }
        }),
        ("a run-out of two inches", bad(&["details.run_out"][..]), {
            let details = WornDetails { run_out: inch("2"), ..details(worn) };
            let details = Some(details);
            DecideRepairRequest { details, ..decision(worn, "journal", "regrind_1", "") }
        }),
        ("a score as deep as the shaft", bad(&["details.score_depth_per_side"][..]), {
            let score_depth_per_side = inch("0.4");
            let details = Some(WornDetails { score_depth_per_side, ..details(worn) });
            DecideRepairRequest { details, ..decision(worn, "journal", "regrind_1", "") }
        }),
    ]
}

/// What may not be decided leaves no trace.
pub(crate) async fn are_not_decided_wrongly(bench: &Bench) {
    let mut repairs = bench.clients().repairs();
    let mut outcomes = Outcomes::default();
    let bad = |fields| Expected { code: Code::InvalidArgument, fields, ..Expected::default() };
    let forbidden = |precondition| Expected {
        code: Code::FailedPrecondition,
        precondition,
        ..Expected::default()
    };
    let stale = Expected { code: Code::Aborted, ..Expected::default() };
    let [worn, seat, cracked] = [1, 5, 6].map(|index| &SHAFTS[index]);
    let etag = bench.get_piece(worn.tag).await.etag;
    for (name, expected, request) in [
        ("a seat undersize", forbidden(&["NOT_POSSIBLE", "never ground undersize"][..]), {
            decision(seat, "seat", "regrind_1", "it would be cheap")
        }),
        ("a cracked one kept", forbidden(&["NOT_POSSIBLE", "condemned: crack"][..]), {
            decision(cracked, "journal", "reuse", "it looks fine")
        }),
        ("below what is safe", forbidden(&["NOT_POSSIBLE", "below the smallest diameter"][..]), {
            decision(worn, "journal", "regrind_3", "to be sure")
        }),
        ("no reason", bad(&["reason"][..]), decision(worn, "journal", "regrind_2", "")),
        ("no such option", bad(&["repair"][..]), decision(worn, "journal", "glue", "why not")),
        ("no option", bad(&["repair"][..]), decision(worn, "journal", "", "why not")),
        ("scrapped without a code", bad(&["scrap_reason"][..]), {
            decision(worn, "journal", "scrap", "in the way")
        }),
        ("another piece's etag", stale, {
            let etag = "r99".to_owned();
            DecideRepairRequest { etag, ..decision(worn, "journal", "regrind_1", "") }
        }),
        ("another policy", stale, {
            let policy_etag = "r0".to_owned();
            DecideRepairRequest { policy_etag, ..decision(worn, "journal", "regrind_1", "") }
        }),
    ] {
        outcomes.refused(name, expected, repairs.decide_repair(request).await);
    }
    for (name, expected, request) in slips(worn, cracked) {
        outcomes.refused(name, expected, repairs.decide_repair(request).await);
    }
    assert_eq!(bench.get_piece(worn.tag).await.etag, etag, "nothing is half saved");
    let request = ListRepairDecisionsRequest::default();
    let none = done("decisions", repairs.list_repair_decisions(request).await).decisions;
    assert_eq!(none, []);

    bench.rebuild("R-7").await;
    let rebuild_tag = "R-7".to_owned();
    let request = DecideRepairRequest { rebuild_tag, ..decision(worn, "journal", "regrind_1", "") };
    let once = done("decide", repairs.decide_repair(request.clone()).await);
    let job = once.job.as_ref().expect("a regrind is a job");
    assert_eq!(job.rebuild_tag, "R-7", "its value puts the job forward");
    let again = done("the same request", repairs.decide_repair(request).await);
    assert_eq!(once, again);
    let request = decision(worn, "journal", "regrind_1", "");
    let result = repairs.decide_repair(request).await;
    outcomes.refused("in the queue already", forbidden(&["OPEN_JOB"][..]), result);
    outcomes.finish();
}
