//! The versions of the shop's policy for worn parts, and the repairs decided on by it.
//!
//! A policy is kept whole, as the document that was sent; what it says is not this schema's to know.

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
        sql::run(manager, TABLES).await?;
        sql::refuse_change_of(manager, HISTORY).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        sql::run(manager, "DROP TABLE repair_decisions; DROP TABLE policies").await
    }
}

/// Tables whose rows are never changed or removed.
const HISTORY: &[&str] = &["policies", "repair_decisions"];

const TABLES: &str = "
CREATE TABLE policies (
    id {id},
    version BIGINT NOT NULL UNIQUE CHECK (version > 0),
    document {bytes} NOT NULL,
    note TEXT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL
);

CREATE TABLE repair_decisions (
    id {id},
    piece_id BIGINT NOT NULL REFERENCES pieces (id),
    feature_id BIGINT NOT NULL REFERENCES features (id),
    round BIGINT NOT NULL,
    policy_version BIGINT NOT NULL CHECK (policy_version >= 0),
    details {bytes} NOT NULL,
    proposed {code} NOT NULL,
    chosen {code} NOT NULL,
    text TEXT NOT NULL,
    reason TEXT NOT NULL,
    person TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    job_id BIGINT REFERENCES jobs (id)
);
CREATE INDEX repair_decisions_by_piece ON repair_decisions (piece_id);
";
