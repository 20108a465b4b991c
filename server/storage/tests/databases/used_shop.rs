//! A small shop in use, written as rows: one core received and one torn down, pieces in every
//! state, a lot in two places, readings with one void, an assessment, jobs and holds.

use crate::raw::Raw;
use crate::support::{Kind, TestDb};

/// The time at which the rows were written, in Unix microseconds.
pub(crate) const NOW: i64 = 1_790_000_000_000_000;

/// Migrates the database and puts the shop into it; nobody is connected afterwards.
pub(crate) async fn fill(db: &TestDb) {
    db.store().await.close().await;
    let raw = Raw::connect(db).await;
    let bytes = if db.kind() == Kind::Sqlite { "X'00'" } else { "'\\x00'" };
    for part in [CATALOGUE, STOCK, LEDGER, MEASURING, WORK] {
        let sql = part.replace("{now}", &NOW.to_string()).replace("{bytes}", bytes);
        raw.run(&sql).await.unwrap();
    }
    raw.close().await;
}

const CATALOGUE: &str = "
INSERT INTO requests VALUES ('q1', 'Receive', 'Mara', {bytes}, {bytes}, {now});
INSERT INTO items (id, code, kind, description, designation, material, created_at, revision) VALUES
    (1, 'SH-30', 'shaft', 'pump shaft', '', NULL, {now}, 1),
    (2, 'BU-15', 'bushing', 'bushing', '', NULL, {now}, 1);
INSERT INTO features (id, item_id, name, kind, nominal_nm, nominal_text, nominal_unit,
    tolerance_kind, tolerance_class, reference_station, limit_source) VALUES
    (1, 1, 'journal', 'journal', 23825200, '0.9380', 'in', 'none', '', 'REF', 'shop'),
    (2, 1, 'seat', 'rolling_seat', 30000000, '30', 'mm', 'class', 'k5', '', 'shop');
INSERT INTO locations (id, code, kind, description, created_at) VALUES
    (1, 'YARD', 'core_yard', 'yard', {now}), (2, 'A-01', 'shelf', 'shelf', {now}),
    (3, 'A-02', 'shelf', 'shelf', {now})
";

const STOCK: &str = "
INSERT INTO cores (id, tag, item_id, description, owner, customer, door_grade, door_reasons,
    teardown_reasons, location_id, state, received_by, created_at, revision) VALUES
    (1, 'C-1', 1, 'pump', 'shop', '', 'b', '', '', 1, 'received', 'Mara', {now}, 1),
    (2, 'C-2', 1, 'pump', 'shop', '', 'b', '', '', NULL, 'torn_down', 'Mara', {now}, 2);
INSERT INTO core_nameplates (core_id, name, value) VALUES (1, 'maker', 'plain');
INSERT INTO rebuilds (id, tag, description, customer, state, created_at, revision) VALUES
    (1, 'R-1', 'pump', '', 'open', {now}, 1), (2, 'R-2', 'drive', '', 'open', {now}, 1);
INSERT INTO pieces (id, tag, item_id, core_id, state, condition, location_id, rebuild_id, hardness,
    built_up, note, created_at, revision) VALUES
    (1, 'P-1', 1, 2, 'in_stock', 'used', 2, NULL, '', 'no', '', {now}, 1),
    (2, 'P-2', 1, NULL, 'inspection', 'used', 2, NULL, '', 'no', '', {now}, 1),
    (3, 'P-3', 1, NULL, 'reconditioning', 'used', 3, NULL, '', 'no', '', {now}, 1),
    (4, 'P-4', 1, NULL, 'consumed', 'used', NULL, 1, '', 'no', '', {now}, 1),
    (5, 'P-5', 1, NULL, 'scrapped', 'used', NULL, NULL, '', 'no', '', {now}, 1);
INSERT INTO lots (id, tag, item_id, date_code, created_at, revision) VALUES
    (1, 'L-1', 2, '', {now}, 1);
INSERT INTO lot_stock (id, lot_id, location_id, on_hand, held) VALUES
    (1, 1, 2, 9, 3), (2, 1, 3, 5, 0)
";

const LEDGER: &str = "
INSERT INTO ledger (created_at, person, reason, core_id, piece_id, lot_id, location_id,
    quantity_delta, rebuild_id, note, request_id) VALUES
    ({now}, 'Mara', 'receive', 1, NULL, NULL, 1, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'receive', 2, NULL, NULL, 1, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'teardown', 2, NULL, NULL, 1, -1, NULL, '', 'q1'),
    ({now}, 'Mara', 'teardown', NULL, 1, NULL, 2, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'receive', NULL, 2, NULL, 2, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'receive', NULL, 3, NULL, 3, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'receive', NULL, 4, NULL, 2, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'consume', NULL, 4, NULL, 2, -1, 1, '', 'q1'),
    ({now}, 'Mara', 'receive', NULL, 5, NULL, 3, 1, NULL, '', 'q1'),
    ({now}, 'Mara', 'scrap', NULL, 5, NULL, 3, -1, NULL, '', 'q1'),
    ({now}, 'Mara', 'receive', NULL, NULL, 1, 2, 15, NULL, '', 'q1'),
    ({now}, 'Mara', 'consume', NULL, NULL, 1, 2, -1, 1, '', 'q1'),
    ({now}, 'Mara', 'move', NULL, NULL, 1, 2, -5, NULL, '', 'q1'),
    ({now}, 'Mara', 'move', NULL, NULL, 1, 3, 5, NULL, '', 'q1')
";

const MEASURING: &str = "
INSERT INTO gauges (id, tag, description, resolution_nm, resolution_text, uncertainty_nm,
    uncertainty_text, resolution_unit, uncertainty_unit, setting_method, calibration_due_at, state,
    created_at, revision) VALUES (1, 'M-07', 'micrometer', 2540, '0.0001', 5080, '0.0002', 'in',
    'in', 'gauge_block', {now}, 'in_use', {now}, 1);
INSERT INTO readings (id, piece_id, feature_id, gauge_id, round, station, orientation_deg, value_nm,
    value_text, value_unit, at_20c_nm, uncertainty_nm, gauge_overdue, trap, override_reason, person,
    created_at, request_id) VALUES
    (1, 1, 1, 1, 0, 'REF', 0, 23825200, '0.9380', 'in', 23825200, 5080, FALSE, '', '', 'Ilse', {now}, 'q1'),
    (2, 1, 1, 1, 0, 'A', 0, 23799800, '0.9370', 'in', 23799800, 5080, FALSE, '', '', 'Ilse', {now}, 'q1'),
    (3, 1, 1, 1, 0, 'B', 0, 23812500, '0.9375', 'in', 23812500, 5080, FALSE, '', '', 'Ilse', {now}, 'q1'),
    (4, 1, 1, 1, 0, 'B', 0, 22812500, '0.8981', 'in', 22811740, 5080, FALSE, '', '', 'Ilse', {now}, 'q1'),
    (5, 2, 2, 1, 0, 'A', 0, 30005000, '30.005', 'mm', 30005000, 5080, FALSE, '', '', 'Ilse', {now}, 'q1');
INSERT INTO reading_voids (reading_id, reason, person, created_at) VALUES (4, 'misread', 'Ilse', {now});
INSERT INTO piece_sizes (piece_id, feature_id, round, min_nm, max_nm, uncertainty_nm, reading_count)
    VALUES (1, 1, 0, 23799800, 23812500, 5080, 3), (2, 2, 0, 30005000, 30005000, 5080, 1);
INSERT INTO assessments (id, piece_id, feature_id, round, person, created_at, text_unit,
    reference_station, nominal_nm, nominal_source, limit_source, min_nm, max_nm, mean_nm, wear_basis,
    uncertainty_nm, disposition, reasons) VALUES (1, 1, 1, 0, 'Ilse', {now}, 'in', 'REF', 23825200,
    'the item', 'shop', 23799800, 23812500, 23806150, 'reference_station', 5080, 'reuse', 'worn little');
INSERT INTO assessment_findings (assessment_id, criterion, measured_nm, limit_nm, within, verdict,
    probability_in_ppb, text) VALUES (1, 'wear', 25400, 50800, TRUE, 'proven_in', 1000000000, 'worn little');
INSERT INTO assessment_readings (assessment_id, reading_id) VALUES (1, 1), (1, 2), (1, 3)
";

const WORK: &str = "
INSERT INTO decisions (piece_id, proposed, decided, reason, person, created_at) VALUES
    (1, 'reuse', 'reuse', '', 'Mara', {now});
INSERT INTO jobs (id, tag, piece_id, feature_id, method, target_unit, reason, state, worker,
    lease_until_at, fencing_token, attempt, outcome, created_at, revision) VALUES
    (1, 'J-1', 3, 1, 'polish', 'in', 'worn', 'claimed', 'Tomas', {now}, 2, 2, NULL, {now}, 3),
    (2, 'J-2', 1, 1, 'polish', 'in', 'worn', 'done', 'Tomas', NULL, 1, 1, 'to_stock', {now}, 3);
UPDATE jobs SET operation_position = 1, machine = 'lathe', setup_family = 'lathe, between centres',
    site = 'in_house' WHERE id = 1;
INSERT INTO operations (id, job_id, position, kind, machine, setup_family, site, cautions, text,
    state, worker, started_at, resumed_at, worked_micros, finished_at, passed, note) VALUES
    (1, 1, 1, 'polish', 'lathe', 'lathe, between centres', 'in_house', 'grinding', 'polish',
        'started', 'Tomas', {now}, {now}, 0, NULL, NULL, ''),
    (2, 2, 1, 'polish', 'lathe', 'lathe, between centres', 'in_house', 'grinding', 'polish',
        'done', 'Tomas', {now}, NULL, 60000000, {now}, 1, '');
INSERT INTO send_outs (id, tag, location_id, order_number, note, person, created_at, closed_at,
    revision) VALUES (1, 'S-1', 3, '', '', 'Mara', {now}, {now}, 2);
INSERT INTO send_out_lines (id, send_out_id, line, job_id, piece_id, first_position, last_position,
    from_location_id, state, ended_at, ended_by, note) VALUES
    (1, 1, 1, 2, 1, 1, 1, 2, 'returned', {now}, 'Mara', '');
INSERT INTO policies (version, document, note, person, created_at) VALUES
    (1, {bytes}, 'costs of this year', 'Mara', {now});
INSERT INTO repair_decisions (piece_id, feature_id, round, policy_version, details, proposed, chosen,
    text, reason, person, created_at, job_id) VALUES
    (1, 1, 0, 1, {bytes}, 'polish', 'polish', 'polish', '', 'Mara', {now}, 2);
INSERT INTO reservations (id, tag, rebuild_id, piece_id, lot_id, location_id, quantity, person,
    until_at, state, reason, created_at, ended_at, revision) VALUES
    (1, 'H-1', 1, 1, NULL, 2, 1, 'Mara', {now}, 'active', '', {now}, NULL, 1),
    (2, 'H-2', 1, NULL, 1, 2, 3, 'Mara', {now}, 'active', '', {now}, NULL, 1),
    (3, 'H-3', 1, 4, NULL, 2, 1, 'Mara', {now}, 'consumed', '', {now}, {now}, 2),
    (4, 'H-4', 1, NULL, 1, 2, 1, 'Mara', {now}, 'consumed', '', {now}, {now}, 2),
    (5, 'H-5', 2, 1, NULL, 2, 1, 'Mara', {now}, 'released', '', {now}, {now}, 2)
";
