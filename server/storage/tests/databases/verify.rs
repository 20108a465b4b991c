//! Goal: `verify` finds an empty and a used shop sound, and every one of its rules finds the break
//! that it is there for, and no other rule does.

use crate::raw::Raw;
use crate::support::{Kind, TestDb};
use crate::used_shop::{self, NOW};
use std::collections::BTreeSet;
use tenths_storage::verify::{self, Report};

/// A break of one rule.
struct Break {
    /// The first words of the rule that must find it.
    rule: &'static str,
    /// Words that its report must hold.
    named: &'static str,
    /// The tables that lose their guards first.
    unguarded: &'static [&'static str],
    /// The break itself.
    sql: &'static str,
}

const BREAKS: &[Break] = &[
    Break {
        rule: "lot on hand = sum of the ledger",
        named: "lot 1 at location 2: on hand 10, ledger 9",
        unguarded: &[],
        sql: "UPDATE lot_stock SET on_hand = on_hand + 1 WHERE id = 1",
    },
    Break {
        rule: "lot on hand = sum of the ledger",
        named: "lot 1 at location 3: on hand 0, ledger 5",
        unguarded: &[],
        sql: "DELETE FROM lot_stock WHERE id = 2",
    },
    Break {
        rule: "a piece is in exactly one place",
        named: "piece P-2 is inspection, ledger has 1 in 1 places",
        unguarded: &[],
        sql: "UPDATE pieces SET location_id = 3 WHERE id = 2",
    },
    Break {
        rule: "a piece is in exactly one place",
        named: "piece P-5 is scrapped, ledger has 1 in 1 places",
        unguarded: &["ledger"],
        sql: "DELETE FROM ledger WHERE piece_id = 5 AND reason = 'scrap'",
    },
    Break {
        rule: "a core is in exactly one place",
        named: "core C-1 is received, ledger has 1 in 1 places",
        unguarded: &[],
        sql: "UPDATE cores SET location_id = 2 WHERE id = 1",
    },
    Break {
        rule: "the running sum of the ledger is never negative",
        named: "leaves -1",
        unguarded: &[],
        sql: "INSERT INTO ledger (created_at, person, reason, core_id, location_id, quantity_delta,
                  note, request_id)
              VALUES (1, 'X', 'move', 1, 3, -1, '', 'q1'), (1, 'X', 'move', 1, 3, 1, '', 'q1')",
    },
    Break {
        rule: "held = sum of active holds",
        named: "lot 1 at location 2: held 4 of 9, active holds 3",
        unguarded: &[],
        sql: "UPDATE lot_stock SET held = held + 1 WHERE id = 1",
    },
    Break {
        rule: "held = sum of active holds",
        named: "lot 1 at location 1: held 0 of 0, active holds 3",
        unguarded: &[],
        sql: "UPDATE reservations SET location_id = 1 WHERE id = 2;
              UPDATE lot_stock SET held = 0 WHERE id = 1",
    },
    Break {
        rule: "at most one active hold on a piece",
        named: "piece P-1 is inspection with 1 active holds",
        unguarded: &[],
        sql: "UPDATE pieces SET state = 'inspection' WHERE id = 1",
    },
    Break {
        rule: "at most one active hold on a piece",
        named: "piece P-1 is in_stock with 2 active holds",
        unguarded: &["reservations"],
        sql: "UPDATE reservations SET state = 'active', ended_at = NULL WHERE id = 5",
    },
    Break {
        rule: "a hold ends exactly once",
        named: "hold H-5 is released",
        unguarded: &["reservations"],
        sql: "UPDATE reservations SET ended_at = NULL WHERE id = 5",
    },
    Break {
        rule: "a hold ends exactly once",
        named: "hold H-5 is consumed",
        unguarded: &[],
        sql: "UPDATE reservations SET state = 'consumed' WHERE id = 5",
    },
    Break {
        rule: "consumed quantities of lots",
        named: "lot 1 for rebuild 1: holds 2, ledger 1",
        unguarded: &[],
        sql: "UPDATE reservations SET quantity = 2 WHERE id = 4",
    },
    Break {
        rule: "no hold is active past its end",
        named: "hold H-1 should have expired",
        unguarded: &[],
        sql: "UPDATE reservations SET until_at = until_at - 120000000 WHERE id = 1",
    },
    Break {
        rule: "a piece has at most one open job",
        named: "piece P-3 is inspection with 1 open jobs",
        unguarded: &[],
        sql: "UPDATE pieces SET state = 'inspection' WHERE id = 3",
    },
    Break {
        rule: "a piece has at most one open job",
        named: "piece P-3 is reconditioning with 2 open jobs",
        unguarded: &["jobs"],
        sql: "UPDATE jobs SET state = 'queued', outcome = NULL, piece_id = 3, operation_position = 1,
                  machine = 'lathe', setup_family = 'lathe', site = 'in_house' WHERE id = 2;
              UPDATE operations SET state = 'ready', finished_at = NULL WHERE id = 2",
    },
    Break {
        rule: "a job has been claimed as often as its fencing token says",
        named: "job J-1: token 3, attempts 2",
        unguarded: &[],
        sql: "UPDATE jobs SET fencing_token = 3 WHERE id = 1",
    },
    Break {
        rule: "an open job is at one operation",
        named: "job J-1 is claimed, its operation 1 is waiting",
        unguarded: &[],
        sql: "UPDATE operations SET state = 'waiting', resumed_at = NULL WHERE id = 1",
    },
    Break {
        rule: "an open job is at one operation",
        named: "job J-2 is done, its operation 0 is not there",
        unguarded: &[],
        sql: "UPDATE operations SET state = 'ready', finished_at = NULL WHERE id = 2;
              UPDATE jobs SET outcome = 'rework' WHERE id = 2",
    },
    Break {
        rule: "operations end in the order",
        named: "operation 1 of job J-1 is started and a later one has ended",
        unguarded: &[],
        sql: "INSERT INTO operations (id, job_id, position, kind, machine, setup_family, site,
                  cautions, text, state, worker, worked_micros, finished_at, note)
              SELECT 9, job_id, 2, kind, machine, setup_family, site, cautions, text, 'done', worker,
                  0, 1, '' FROM operations WHERE id = 1",
    },
    Break {
        rule: "a job that ended in stock",
        named: "operation 1 of job J-2 is skipped",
        unguarded: &[],
        sql: "UPDATE operations SET state = 'skipped' WHERE id = 2",
    },
    Break {
        rule: "what is out on a send-out",
        named: "send-out S-1 line 1: piece P-1 is elsewhere, or its job is not away: done",
        unguarded: &[],
        sql: "UPDATE send_out_lines SET state = 'out', ended_at = NULL WHERE id = 1",
    },
    Break {
        rule: "the size kept for a feature",
        named: "piece P-1 feature journal: kept 23799799..23812500 nm of 3, readings say 23799800",
        unguarded: &[],
        sql: "UPDATE piece_sizes SET min_nm = min_nm - 1 WHERE piece_id = 1",
    },
    Break {
        rule: "the size kept for a feature",
        named: "23812500 nm of 4, readings say",
        unguarded: &[],
        sql: "UPDATE piece_sizes SET reading_count = 4 WHERE piece_id = 1",
    },
    Break {
        rule: "the size kept for a feature",
        named: "kept 23799800..23812500 nm of 3, readings say 23812500..23812500 nm of 3",
        unguarded: &["requests", "readings"],
        // The place of the smallest reading is read again, and the newer reading speaks.
        sql: "INSERT INTO requests SELECT 'q2', method, person, fingerprint, answer, created_at
                  FROM requests;
              INSERT INTO readings (id, piece_id, feature_id, gauge_id, round, station, orientation_deg,
                  value_nm, value_text, value_unit, at_20c_nm, uncertainty_nm, gauge_overdue, trap,
                  override_reason, person, created_at, request_id)
              SELECT 9, piece_id, feature_id, gauge_id, round, station, orientation_deg, 23812500,
                  '0.9375', value_unit, 23812500, uncertainty_nm, gauge_overdue, trap,
                  override_reason, person, created_at, 'q2' FROM readings WHERE id = 2",
    },
    Break {
        rule: "every recorded assessment rests on readings",
        named: "assessment 1 rests on 4 readings, 3 of its own",
        unguarded: &[],
        sql: "INSERT INTO assessment_readings (assessment_id, reading_id) VALUES (1, 5)",
    },
    Break {
        rule: "every recorded assessment rests on readings",
        named: "assessment 1 rests on 0 readings",
        unguarded: &["assessment_readings"],
        sql: "DELETE FROM assessment_readings",
    },
    Break {
        rule: "every ledger entry and reading belongs to a request",
        named: "names request q9",
        unguarded: &["readings"],
        sql: "UPDATE readings SET request_id = 'q9' WHERE id = 5",
    },
    Break {
        rule: "every ledger entry and reading belongs to a request",
        named: "ledger entry",
        unguarded: &["ledger"],
        sql: "UPDATE ledger SET request_id = 'q9' WHERE core_id = 1",
    },
];

async fn verified(db: &TestDb) -> Report {
    let store = db.store().await;
    let report = verify::run(&store, NOW).await.unwrap();
    store.close().await;
    report
}

/// Method: verify a database that was only migrated, then one with a shop in it; the second must
/// have rows for every rule to look at.
async fn an_empty_and_a_used_shop_are_sound(kind: Kind) {
    let Some(empty) = TestDb::create(kind) else { return };
    let report = verified(&empty).await;
    assert!(report.is_sound(), "{report:#?}");
    assert!(report.checks.iter().all(|check| check.rows_checked == 0), "{report:#?}");

    used_shop::fill(&empty).await;
    let report = verified(&empty).await;
    assert!(report.is_sound(), "{report:#?}");
    assert!(report.checks.iter().all(|check| check.rows_checked > 0), "{report:#?}");
}

/// Method: for every break, copy the used shop, take off the guards that would refuse the break,
/// break it, and see which rules report. Every rule must have a break of its own here.
async fn each_rule_finds_its_break_and_no_other_rule_does(kind: Kind) {
    let Some(original) = TestDb::create(kind) else { return };
    used_shop::fill(&original).await;
    let mut rules: BTreeSet<&str> =
        verified(&original).await.checks.iter().map(|check| check.name).collect();
    for one in BREAKS {
        let db = original.copy();
        let raw = Raw::connect(&db).await;
        for table in one.unguarded {
            raw.unguard(table).await;
        }
        raw.run(one.sql).await.unwrap();
        raw.close().await;
        let report = verified(&db).await;
        let broken: Vec<_> = report.checks.iter().filter(|c| !c.breaks.is_empty()).collect();
        assert_eq!(broken.len(), 1, "{}: {broken:#?}", one.sql);
        assert!(broken[0].name.starts_with(one.rule), "{}: {broken:#?}", one.sql);
        let texts = &broken[0].breaks;
        assert!(texts.iter().any(|text| text.contains(one.named)), "{}: {texts:?}", one.sql);
        rules.remove(broken[0].name);
    }
    assert!(rules.is_empty(), "no break is tried for {rules:?}");
}

#[tokio::test]
async fn an_empty_and_a_used_shop_are_sound_on_sqlite() {
    an_empty_and_a_used_shop_are_sound(Kind::Sqlite).await;
}

#[tokio::test]
async fn an_empty_and_a_used_shop_are_sound_on_postgres() {
    an_empty_and_a_used_shop_are_sound(Kind::Postgres).await;
}

#[tokio::test]
async fn each_rule_finds_its_break_on_sqlite() {
    each_rule_finds_its_break_and_no_other_rule_does(Kind::Sqlite).await;
}

#[tokio::test]
async fn each_rule_finds_its_break_on_postgres() {
    each_rule_finds_its_break_and_no_other_rule_does(Kind::Postgres).await;
}
