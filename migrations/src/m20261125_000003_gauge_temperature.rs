//! The gauge's temperature beside the part's, what a gauge is made of, and the decision rule that an
//! assessment was made by. All optional: rows from before have none.

use crate::sql;
use sea_orm_migration::prelude::*;

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

/// Table, column and type, in the order of adding.
const COLUMNS: &[(&str, &str, &str)] = &[
    ("readings", "gauge_temperature_text", "TEXT"),
    ("readings", "gauge_temperature_unit", "{code}"),
    ("gauges", "material", "{code}"),
    ("assessments", "decision_rule", "{code}"),
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    // SQLite runs a migration outside a transaction unless told otherwise.
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for (table, column, kind) in COLUMNS {
            sql::run(manager, &format!("ALTER TABLE {table} ADD COLUMN {column} {kind}")).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for (table, column, _) in COLUMNS.iter().rev() {
            sql::run(manager, &format!("ALTER TABLE {table} DROP COLUMN {column}")).await?;
        }
        Ok(())
    }
}
