//! Nine worn shafts of one kind: how each is worn, and what must hold of what is proposed.

use super::{asked, codes, known, option, propose};
use tenths_proto::v1::*;
use tenths_tests::{Bench, inch, nm, readings_in_inches};

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
const SHAFTS: [Shaft; 9] = [
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
    // Bent 0.012 in: straightened before it is ground.
    Shaft {
        tag: "W-8",
        journal: "A0 0.7472 A90 0.7471 B0 0.7470 B90 0.7470",
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
