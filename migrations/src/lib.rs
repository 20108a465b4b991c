//! The steps of the database schema, one file per step, run by sea-orm-migration.
//!
//! A step is never edited once merged, imports no entity and no domain code, and is written as SQL
//! for both databases: see README.md on how to write one.

mod m20261125_000001_shop;
mod m20261125_000002_gauge_reach;
mod m20261125_000003_gauge_temperature;
mod m20261125_000004_changes;
mod m20261125_000005_item_sets;
mod m20261128_000006_policies;
mod m20261128_000007_operations;
mod m20261128_000008_planning;
mod sql;

pub use sea_orm_migration::MigratorTrait;
use sea_orm_migration::prelude::*;

/// Knows every step, oldest first.
pub struct Migrator;

#[async_trait::async_trait]
impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(m20261125_000001_shop::Migration),
            Box::new(m20261125_000002_gauge_reach::Migration),
            Box::new(m20261125_000003_gauge_temperature::Migration),
            Box::new(m20261125_000004_changes::Migration),
            Box::new(m20261125_000005_item_sets::Migration),
            Box::new(m20261128_000006_policies::Migration),
            Box::new(m20261128_000007_operations::Migration),
            Box::new(m20261128_000008_planning::Migration),
        ]
    }
}
