//! What an item says of substitution: how many make a matched set, and whether nothing else may be
//! fitted in its place.

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
        let text = "ALTER TABLE items ADD COLUMN set_of BIGINT NOT NULL DEFAULT 1;
                    ALTER TABLE items ADD COLUMN no_substitute BIGINT NOT NULL DEFAULT 0";
        sql::run(manager, text).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let text = "ALTER TABLE items DROP COLUMN no_substitute;
                    ALTER TABLE items DROP COLUMN set_of";
        sql::run(manager, text).await
    }
}
