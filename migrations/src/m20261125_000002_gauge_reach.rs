//! What a gauge can reach: a side of a fit and a range of sizes, all optional.

use crate::sql;
use sea_orm_migration::prelude::*;

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

const COLUMNS: &[&str] =
    &["side", "size_min_text", "size_min_unit", "size_max_text", "size_max_unit"];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    // SQLite runs a migration outside a transaction unless told otherwise.
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for column in COLUMNS {
            sql::run(manager, &format!("ALTER TABLE gauges ADD COLUMN {column} {{code}}")).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for column in COLUMNS.iter().rev() {
            sql::run(manager, &format!("ALTER TABLE gauges DROP COLUMN {column}")).await?;
        }
        Ok(())
    }
}
