//! The operations of a recon job, what is away at a vendor, and what a job's place in the queue
//! rests on.
//!
//! The columns of `jobs` that repeat the current operation (`operation_position`, `machine`,
//! `setup_family`, `site`) are there for claiming: the next job of a machine is the first entry of
//! an index, however long the queue is. The indexes are over expressions because the two databases
//! sort NULL to different ends.

use crate::sql;
use sea_orm_migration::prelude::*;

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    // SQLite runs a migration outside a transaction unless told otherwise.
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for part in [COLUMNS, TABLES, OPEN_JOBS, INDEXES] {
            sql::run(manager, part).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        sql::run(manager, DOWN).await
    }
}

const COLUMNS: &str = "
ALTER TABLE jobs ADD COLUMN operation_position BIGINT;
ALTER TABLE jobs ADD COLUMN machine {code};
ALTER TABLE jobs ADD COLUMN setup_family {code};
ALTER TABLE jobs ADD COLUMN site {code};
ALTER TABLE jobs ADD COLUMN finish_size_nm BIGINT;
ALTER TABLE jobs ADD COLUMN rebuild_id BIGINT REFERENCES rebuilds (id);
ALTER TABLE jobs ADD COLUMN value_minor BIGINT;
ALTER TABLE jobs ADD COLUMN policy_version BIGINT;
ALTER TABLE jobs ADD COLUMN plan_rank BIGINT;
ALTER TABLE jobs ADD COLUMN force_at BIGINT
";

const TABLES: &str = "
CREATE TABLE operations (
    id {id},
    job_id BIGINT NOT NULL REFERENCES jobs (id),
    position BIGINT NOT NULL CHECK (position > 0),
    kind {code} NOT NULL,
    machine {code} NOT NULL,
    setup_family {code} NOT NULL,
    site {code} NOT NULL,
    vendor {code},
    from_nm BIGINT,
    to_lower_nm BIGINT,
    to_upper_nm BIGINT,
    change_on_diameter_nm BIGINT,
    minutes BIGINT CHECK (minutes >= 0),
    cautions TEXT NOT NULL,
    text TEXT NOT NULL,
    state {code} NOT NULL,
    worker TEXT NOT NULL,
    started_at BIGINT,
    resumed_at BIGINT,
    worked_micros BIGINT NOT NULL CHECK (worked_micros >= 0),
    finished_at BIGINT,
    passed BIGINT CHECK (passed IN (0, 1)),
    reject_reason {code},
    note TEXT NOT NULL,
    UNIQUE (job_id, position),
    CHECK ((to_lower_nm IS NULL) = (to_upper_nm IS NULL)),
    CHECK ((state IN ('done', 'rejected', 'skipped')) = (finished_at IS NOT NULL)),
    CHECK ((state = 'started') = (resumed_at IS NOT NULL)),
    CHECK ((state = 'rejected') = (reject_reason IS NOT NULL))
);
CREATE UNIQUE INDEX operations_one_current_per_job ON operations (job_id)
    WHERE state IN ('ready', 'started', 'paused');

CREATE TABLE send_outs (
    id {id},
    tag {code} NOT NULL UNIQUE,
    location_id BIGINT NOT NULL REFERENCES locations (id),
    order_number TEXT NOT NULL,
    due_back_at BIGINT,
    note TEXT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    closed_at BIGINT,
    revision BIGINT NOT NULL
);
CREATE INDEX send_outs_open ON send_outs (id) WHERE closed_at IS NULL;

CREATE TABLE send_out_lines (
    id {id},
    send_out_id BIGINT NOT NULL REFERENCES send_outs (id),
    line BIGINT NOT NULL CHECK (line > 0),
    job_id BIGINT NOT NULL REFERENCES jobs (id),
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    first_position BIGINT NOT NULL,
    last_position BIGINT NOT NULL,
    from_location_id BIGINT NOT NULL REFERENCES locations (id),
    state {code} NOT NULL,
    ended_at BIGINT,
    ended_by TEXT NOT NULL,
    note TEXT NOT NULL,
    UNIQUE (send_out_id, line),
    CHECK (last_position >= first_position),
    CHECK ((state = 'out') = (ended_at IS NULL))
);
CREATE UNIQUE INDEX send_out_lines_one_out_per_piece ON send_out_lines (piece_id)
    WHERE state = 'out';
CREATE INDEX send_out_lines_by_job ON send_out_lines (job_id)
";

/// A job that is open gets the one operation that it was all along; ended ones have none.
const OPEN_JOBS: &str = "
INSERT INTO operations (job_id, position, kind, machine, setup_family, site, to_lower_nm,
    to_upper_nm, cautions, text, state, worker, worked_micros, note)
SELECT j.id, 1,
    CASE j.method WHEN 'polish' THEN 'polish' WHEN 'regrind' THEN 'finish_grind'
        WHEN 'sleeve' THEN 'fit_sleeve' WHEN 'straighten' THEN 'straighten'
        WHEN 'hone' THEN 'finish_bore'
        ELSE CASE f.kind WHEN 'keyseat' THEN 'cut_keyseat' WHEN 'bore' THEN 'finish_bore'
            WHEN 'housing_bore' THEN 'finish_bore' ELSE 'finish_grind' END END,
    '', '', 'in_house', j.target_lower_nm, j.target_upper_nm, 'basis',
    j.method || ', then re-measure', 'ready', '', 0, ''
FROM jobs j JOIN features f ON f.id = j.feature_id WHERE j.state <> 'done';
UPDATE operations SET machine = CASE kind WHEN 'polish' THEN 'lathe'
    WHEN 'finish_grind' THEN 'cylindrical_grinder' WHEN 'finish_bore' THEN 'boring_machine'
    WHEN 'cut_keyseat' THEN 'milling_machine' ELSE 'press' END;
UPDATE operations SET setup_family = machine || CASE machine
    WHEN 'lathe' THEN ', between centres' WHEN 'cylindrical_grinder' THEN ', between centres'
    WHEN 'boring_machine' THEN ', clamped on its face'
    WHEN 'milling_machine' THEN ', in vee blocks' ELSE '' END,
    cautions = CASE machine WHEN 'press' THEN 'pressing' ELSE 'grinding' END || '
basis';
UPDATE jobs SET operation_position = 1, site = 'in_house', finish_size_nm = target_upper_nm,
    machine = (SELECT o.machine FROM operations o WHERE o.job_id = jobs.id),
    setup_family = (SELECT o.setup_family FROM operations o WHERE o.job_id = jobs.id)
WHERE state <> 'done'
";

const INDEXES: &str = "
CREATE INDEX jobs_in_order ON jobs (COALESCE(plan_rank, 9223372036854775807),
    COALESCE(due_at, 9223372036854775807), id) WHERE state = 'queued' AND site = 'in_house';
CREATE INDEX jobs_in_order_by_machine ON jobs (machine,
    COALESCE(plan_rank, 9223372036854775807), COALESCE(due_at, 9223372036854775807), id)
    WHERE state = 'queued' AND site = 'in_house';
CREATE INDEX jobs_forced ON jobs (force_at, id)
    WHERE state = 'queued' AND site = 'in_house' AND force_at IS NOT NULL;
CREATE INDEX jobs_forced_by_machine ON jobs (machine, force_at, id)
    WHERE state = 'queued' AND site = 'in_house' AND force_at IS NOT NULL;
CREATE INDEX jobs_claimed ON jobs (lease_until_at) WHERE state = 'claimed'
";

const DOWN: &str = "
DROP INDEX jobs_claimed;
DROP INDEX jobs_forced_by_machine;
DROP INDEX jobs_forced;
DROP INDEX jobs_in_order_by_machine;
DROP INDEX jobs_in_order;
DROP TABLE send_out_lines;
DROP TABLE send_outs;
DROP TABLE operations;
ALTER TABLE jobs DROP COLUMN force_at;
ALTER TABLE jobs DROP COLUMN plan_rank;
ALTER TABLE jobs DROP COLUMN policy_version;
ALTER TABLE jobs DROP COLUMN value_minor;
ALTER TABLE jobs DROP COLUMN rebuild_id;
ALTER TABLE jobs DROP COLUMN finish_size_nm;
ALTER TABLE jobs DROP COLUMN site;
ALTER TABLE jobs DROP COLUMN setup_family;
ALTER TABLE jobs DROP COLUMN machine;
ALTER TABLE jobs DROP COLUMN operation_position
";
