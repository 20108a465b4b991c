//! What planning a machine asks: what a rebuild is worth, and what the machine was set up for last.

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
        let text = "ALTER TABLE rebuilds ADD COLUMN value_minor BIGINT CHECK (value_minor >= 0);
                    ALTER TABLE rebuilds ADD COLUMN value_currency {code};
                    CREATE INDEX operations_by_start ON operations (machine, started_at) \
                        WHERE started_at IS NOT NULL;
                    CREATE INDEX jobs_by_rebuild ON jobs (rebuild_id) WHERE rebuild_id IS NOT NULL";
        sql::run(manager, text).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let text = "DROP INDEX jobs_by_rebuild;
                    DROP INDEX operations_by_start;
                    ALTER TABLE rebuilds DROP COLUMN value_currency;
                    ALTER TABLE rebuilds DROP COLUMN value_minor";
        sql::run(manager, text).await
    }
}
