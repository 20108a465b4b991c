//! The first schema: catalogue, cores, pieces, lots, ledger, readings, queue, rebuilds, holds.
//!
//! Lengths are whole nanometres (`_nm`), times Unix microseconds UTC (`_at`), money minor units
//! (`_minor`): all BIGINT, exact on both databases. Names of states and kinds are text.

use crate::sql;
use sea_orm_migration::prelude::*;
use sea_orm_migration::sea_orm::DatabaseBackend;

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    // SQLite runs a migration outside a transaction unless told otherwise.
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for part in [CATALOGUE, STOCK, MEASURING, WORK] {
            sql::run(manager, part).await?;
        }
        sql::forbid_change(manager, HISTORY).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in TABLES_NEWEST_FIRST {
            sql::run(manager, &format!("DROP TABLE {table}")).await?;
        }
        if manager.get_database_backend() == DatabaseBackend::Postgres {
            sql::run(manager, "DROP FUNCTION refuse_change()").await?;
        }
        Ok(())
    }
}

/// Tables whose rows are never changed or removed.
const HISTORY: &[&str] = &[
    "ledger",
    "readings",
    "reading_voids",
    "assessments",
    "assessment_findings",
    "assessment_readings",
    "decisions",
    "requests",
];

const TABLES_NEWEST_FIRST: &[&str] = &[
    "reservations",
    "jobs",
    "decisions",
    "assessment_readings",
    "assessment_findings",
    "assessments",
    "reading_voids",
    "readings",
    "gauges",
    "ledger",
    "lot_stock",
    "lots",
    "piece_sizes",
    "pieces",
    "rebuilds",
    "core_nameplates",
    "cores",
    "locations",
    "features",
    "items",
    "requests",
    "counters",
];

const CATALOGUE: &str = "
CREATE TABLE counters (name {code} PRIMARY KEY, next BIGINT NOT NULL);

CREATE TABLE requests (
    request_id {code} PRIMARY KEY,
    method TEXT NOT NULL,
    person TEXT NOT NULL,
    fingerprint {bytes} NOT NULL,
    answer {bytes} NOT NULL,
    created_at BIGINT NOT NULL
);

CREATE TABLE items (
    id {id},
    code {code} NOT NULL UNIQUE,
    kind {code} NOT NULL,
    description TEXT NOT NULL,
    designation {code} NOT NULL,
    material {code},
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL
);

CREATE TABLE features (
    id {id},
    item_id BIGINT NOT NULL REFERENCES items (id),
    name {code} NOT NULL,
    kind {code} NOT NULL,
    nominal_nm BIGINT NOT NULL CHECK (nominal_nm > 0),
    nominal_text TEXT NOT NULL,
    nominal_unit {code} NOT NULL,
    tolerance_kind {code} NOT NULL,
    tolerance_class {code} NOT NULL,
    lower_nm BIGINT,
    upper_nm BIGINT,
    wear_limit_nm BIGINT,
    recondition_limit_nm BIGINT,
    out_of_round_limit_nm BIGINT,
    taper_limit_nm BIGINT,
    reference_station {code} NOT NULL,
    limit_source TEXT NOT NULL,
    UNIQUE (item_id, name)
);
CREATE INDEX features_by_size ON features (kind, nominal_nm);
";

const STOCK: &str = "
CREATE TABLE locations (
    id {id},
    code {code} NOT NULL UNIQUE,
    kind {code} NOT NULL,
    description TEXT NOT NULL,
    created_at BIGINT NOT NULL
);

CREATE TABLE cores (
    id {id},
    tag {code} NOT NULL UNIQUE,
    item_id BIGINT REFERENCES items (id),
    description TEXT NOT NULL,
    owner {code} NOT NULL,
    customer TEXT NOT NULL,
    door_grade {code} NOT NULL,
    door_reasons TEXT NOT NULL,
    teardown_grade {code},
    teardown_reasons TEXT NOT NULL,
    deposit_minor BIGINT,
    deposit_currency {code},
    location_id BIGINT REFERENCES locations (id),
    state {code} NOT NULL,
    received_by TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL,
    CHECK ((state = 'received') = (location_id IS NOT NULL))
);

CREATE TABLE core_nameplates (
    id {id},
    core_id BIGINT NOT NULL REFERENCES cores (id),
    name {code} NOT NULL,
    value TEXT NOT NULL,
    UNIQUE (core_id, name)
);

CREATE TABLE rebuilds (
    id {id},
    tag {code} NOT NULL UNIQUE,
    description TEXT NOT NULL,
    customer TEXT NOT NULL,
    core_id BIGINT REFERENCES cores (id),
    due_at BIGINT,
    state {code} NOT NULL,
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL
);

CREATE TABLE pieces (
    id {id},
    tag {code} NOT NULL UNIQUE,
    item_id BIGINT NOT NULL REFERENCES items (id),
    core_id BIGINT REFERENCES cores (id),
    state {code} NOT NULL,
    condition {code} NOT NULL,
    location_id BIGINT REFERENCES locations (id),
    rebuild_id BIGINT REFERENCES rebuilds (id),
    material {code},
    hardness TEXT NOT NULL,
    built_up {code} NOT NULL,
    note TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL,
    CHECK ((state IN ('consumed', 'scrapped')) = (location_id IS NULL)),
    CHECK ((state = 'consumed') = (rebuild_id IS NOT NULL))
);
CREATE INDEX pieces_by_item ON pieces (item_id, state);
CREATE INDEX pieces_by_core ON pieces (core_id);

CREATE TABLE piece_sizes (
    id {id},
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    feature_id BIGINT NOT NULL REFERENCES features (id),
    round BIGINT NOT NULL,
    target_lower_nm BIGINT,
    target_upper_nm BIGINT,
    min_nm BIGINT,
    max_nm BIGINT,
    uncertainty_nm BIGINT,
    reading_count BIGINT NOT NULL,
    UNIQUE (piece_id, feature_id)
);
CREATE INDEX piece_sizes_by_size ON piece_sizes (feature_id, min_nm);

CREATE TABLE lots (
    id {id},
    tag {code} NOT NULL UNIQUE,
    item_id BIGINT NOT NULL REFERENCES items (id),
    date_code {code} NOT NULL,
    cost_minor BIGINT,
    cost_currency {code},
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL
);
CREATE INDEX lots_by_item ON lots (item_id);

CREATE TABLE lot_stock (
    id {id},
    lot_id BIGINT NOT NULL REFERENCES lots (id),
    location_id BIGINT NOT NULL REFERENCES locations (id),
    on_hand BIGINT NOT NULL,
    held BIGINT NOT NULL,
    UNIQUE (lot_id, location_id),
    CHECK (held >= 0 AND held <= on_hand)
);

CREATE TABLE ledger (
    id {id},
    created_at BIGINT NOT NULL,
    person TEXT NOT NULL,
    reason {code} NOT NULL,
    core_id BIGINT REFERENCES cores (id),
    piece_id BIGINT REFERENCES pieces (id),
    lot_id BIGINT REFERENCES lots (id),
    location_id BIGINT NOT NULL REFERENCES locations (id),
    quantity_delta BIGINT NOT NULL CHECK (quantity_delta <> 0),
    rebuild_id BIGINT REFERENCES rebuilds (id),
    note TEXT NOT NULL,
    request_id {code} NOT NULL,
    CHECK ((CASE WHEN core_id IS NULL THEN 0 ELSE 1 END)
        + (CASE WHEN piece_id IS NULL THEN 0 ELSE 1 END)
        + (CASE WHEN lot_id IS NULL THEN 0 ELSE 1 END) = 1)
);
CREATE INDEX ledger_by_piece ON ledger (piece_id);
CREATE INDEX ledger_by_lot ON ledger (lot_id, location_id);
CREATE INDEX ledger_by_core ON ledger (core_id);
CREATE INDEX ledger_by_rebuild ON ledger (rebuild_id);
";

const MEASURING: &str = "
CREATE TABLE gauges (
    id {id},
    tag {code} NOT NULL UNIQUE,
    description TEXT NOT NULL,
    resolution_nm BIGINT NOT NULL CHECK (resolution_nm > 0),
    resolution_text TEXT NOT NULL,
    uncertainty_nm BIGINT NOT NULL CHECK (uncertainty_nm > 0),
    uncertainty_text TEXT NOT NULL,
    resolution_unit {code} NOT NULL,
    uncertainty_unit {code} NOT NULL,
    setting_method {code} NOT NULL,
    calibration_due_at BIGINT NOT NULL,
    state {code} NOT NULL,
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL
);

CREATE TABLE readings (
    id {id},
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    feature_id BIGINT NOT NULL REFERENCES features (id),
    gauge_id BIGINT NOT NULL REFERENCES gauges (id),
    round BIGINT NOT NULL,
    station {code} NOT NULL,
    orientation_deg BIGINT NOT NULL CHECK (orientation_deg BETWEEN 0 AND 359),
    value_nm BIGINT NOT NULL CHECK (value_nm > 0),
    value_text TEXT NOT NULL,
    value_unit {code} NOT NULL,
    at_20c_nm BIGINT NOT NULL,
    uncertainty_nm BIGINT NOT NULL CHECK (uncertainty_nm > 0),
    temperature_text TEXT,
    temperature_unit {code},
    gauge_overdue BOOLEAN NOT NULL,
    trap TEXT NOT NULL,
    override_reason TEXT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    request_id {code} NOT NULL
);
CREATE INDEX readings_by_piece ON readings (piece_id, feature_id, round);
CREATE INDEX readings_by_gauge ON readings (gauge_id);

CREATE TABLE reading_voids (
    id {id},
    reading_id BIGINT NOT NULL UNIQUE REFERENCES readings (id),
    reason TEXT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL
);

CREATE TABLE assessments (
    id {id},
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    feature_id BIGINT NOT NULL REFERENCES features (id),
    round BIGINT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    text_unit {code} NOT NULL,
    reference_station {code} NOT NULL,
    nominal_nm BIGINT NOT NULL,
    nominal_source TEXT NOT NULL,
    limit_lower_nm BIGINT,
    limit_upper_nm BIGINT,
    limit_source TEXT NOT NULL,
    min_nm BIGINT NOT NULL,
    max_nm BIGINT NOT NULL,
    mean_nm BIGINT NOT NULL,
    out_of_round_nm BIGINT,
    taper_nm BIGINT,
    wear_nm BIGINT,
    wear_basis {code} NOT NULL,
    wear_limit_nm BIGINT,
    uncertainty_nm BIGINT NOT NULL,
    disposition {code} NOT NULL,
    reasons TEXT NOT NULL
);
CREATE INDEX assessments_by_piece ON assessments (piece_id, feature_id);

CREATE TABLE assessment_findings (
    id {id},
    assessment_id BIGINT NOT NULL REFERENCES assessments (id),
    criterion {code} NOT NULL,
    measured_nm BIGINT NOT NULL,
    limit_nm BIGINT NOT NULL,
    within BOOLEAN NOT NULL,
    verdict {code} NOT NULL,
    probability_in_ppb BIGINT NOT NULL,
    text TEXT NOT NULL
);
CREATE INDEX assessment_findings_by_assessment ON assessment_findings (assessment_id);

CREATE TABLE assessment_readings (
    id {id},
    assessment_id BIGINT NOT NULL REFERENCES assessments (id),
    reading_id BIGINT NOT NULL REFERENCES readings (id)
);
CREATE INDEX assessment_readings_by_assessment ON assessment_readings (assessment_id);
CREATE INDEX assessment_readings_by_reading ON assessment_readings (reading_id);
";

const WORK: &str = "
CREATE TABLE decisions (
    id {id},
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    proposed {code},
    decided {code} NOT NULL,
    reason TEXT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL
);
CREATE INDEX decisions_by_piece ON decisions (piece_id);

CREATE TABLE jobs (
    id {id},
    tag {code} NOT NULL UNIQUE,
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    feature_id BIGINT NOT NULL REFERENCES features (id),
    method {code} NOT NULL,
    target_lower_nm BIGINT,
    target_upper_nm BIGINT,
    target_unit {code} NOT NULL,
    reason TEXT NOT NULL,
    due_at BIGINT,
    state {code} NOT NULL,
    worker TEXT NOT NULL,
    lease_until_at BIGINT,
    fencing_token BIGINT NOT NULL,
    attempt BIGINT NOT NULL,
    outcome {code},
    scrap_reason {code},
    rework_of BIGINT REFERENCES jobs (id),
    created_at BIGINT NOT NULL,
    revision BIGINT NOT NULL,
    CHECK ((state = 'done') = (outcome IS NOT NULL)),
    CHECK ((state = 'claimed') = (lease_until_at IS NOT NULL))
);
CREATE UNIQUE INDEX jobs_one_open_per_piece ON jobs (piece_id) WHERE state <> 'done';
CREATE INDEX jobs_by_state ON jobs (state, due_at);

CREATE TABLE reservations (
    id {id},
    tag {code} NOT NULL UNIQUE,
    rebuild_id BIGINT NOT NULL REFERENCES rebuilds (id),
    piece_id BIGINT REFERENCES pieces (id),
    lot_id BIGINT REFERENCES lots (id),
    location_id BIGINT NOT NULL REFERENCES locations (id),
    quantity BIGINT NOT NULL CHECK (quantity > 0),
    person TEXT NOT NULL,
    until_at BIGINT NOT NULL,
    state {code} NOT NULL,
    reason TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    ended_at BIGINT,
    revision BIGINT NOT NULL,
    CHECK ((piece_id IS NULL) <> (lot_id IS NULL)),
    CHECK (piece_id IS NULL OR quantity = 1),
    CHECK ((state = 'active') = (ended_at IS NULL))
);
CREATE UNIQUE INDEX reservations_one_active_per_piece ON reservations (piece_id) WHERE state = 'active';
CREATE INDEX reservations_by_until ON reservations (state, until_at);
CREATE INDEX reservations_by_rebuild ON reservations (rebuild_id);
CREATE INDEX reservations_by_lot ON reservations (lot_id, state);
";
