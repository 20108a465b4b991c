//! The feed of changes: which pieces, lots, items, locations and gauges a writer touched, written by
//! triggers, so that no writer can forget.
//!
//! On PostgreSQL a row also names the transaction that wrote it: numbers are given in the order of
//! writing, but commits come in another, and a reader that went by the number alone would skip who
//! commits late. SQLite has one writer: there the number is the order of commits, and `xid` is 0.

use crate::sql;
use sea_orm_migration::prelude::*;
use sea_orm_migration::sea_orm::{ConnectionTrait, DatabaseBackend};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

/// A table whose rows say something about a subject. The key of the subject never changes in a row.
struct Source {
    table: &'static str,
    /// SQL of the subject's kind; `{row}` stands for the row that was touched.
    subject: &'static str,
    /// SQL of the subject's number.
    subject_id: &'static str,
    /// Which acts there are on its rows: history is only ever added to.
    acts: &'static [&'static str],
}

const ANY_ACT: &[&str] = &["insert", "update", "delete"];

const SOURCES: &[Source] = &[
    Source { table: "pieces", subject: "'piece'", subject_id: "{row}.id", acts: ANY_ACT },
    Source {
        table: "piece_sizes",
        subject: "'piece'",
        subject_id: "{row}.piece_id",
        acts: ANY_ACT,
    },
    Source { table: "lots", subject: "'lot'", subject_id: "{row}.id", acts: ANY_ACT },
    Source { table: "lot_stock", subject: "'lot'", subject_id: "{row}.lot_id", acts: ANY_ACT },
    Source {
        table: "reservations",
        subject: "CASE WHEN {row}.piece_id IS NULL THEN 'lot' ELSE 'piece' END",
        subject_id: "COALESCE({row}.piece_id, {row}.lot_id)",
        acts: ANY_ACT,
    },
    Source { table: "items", subject: "'item'", subject_id: "{row}.id", acts: ANY_ACT },
    Source { table: "features", subject: "'item'", subject_id: "{row}.item_id", acts: ANY_ACT },
    Source { table: "locations", subject: "'location'", subject_id: "{row}.id", acts: ANY_ACT },
    Source { table: "gauges", subject: "'gauge'", subject_id: "{row}.id", acts: ANY_ACT },
    Source {
        table: "readings",
        subject: "'piece'",
        subject_id: "{row}.piece_id",
        acts: &["insert"],
    },
    Source {
        table: "reading_voids",
        subject: "'piece'",
        subject_id: "(SELECT r.piece_id FROM readings r WHERE r.id = {row}.reading_id)",
        acts: &["insert"],
    },
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    // SQLite runs a migration outside a transaction unless told otherwise.
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let sqlite = manager.get_database_backend() == DatabaseBackend::Sqlite;
        sql::run(manager, if sqlite { TABLE_SQLITE } else { TABLE_POSTGRES }).await?;
        let connection = manager.get_connection();
        for source in SOURCES {
            if !sqlite {
                connection.execute_unprepared(&source.function_postgres()).await?;
            }
            for act in source.acts {
                let trigger =
                    if sqlite { source.trigger_sqlite(act) } else { source.trigger_postgres(act) };
                connection.execute_unprepared(&trigger).await?;
            }
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let sqlite = manager.get_database_backend() == DatabaseBackend::Sqlite;
        for source in SOURCES.iter().rev() {
            for act in source.acts.iter().rev() {
                let on = if sqlite { String::new() } else { format!(" ON {}", source.table) };
                sql::run(manager, &format!("DROP TRIGGER {}{on}", source.name(act))).await?;
            }
            if !sqlite {
                let function = format!("DROP FUNCTION note_{}()", source.table);
                sql::run(manager, &function).await?;
            }
        }
        sql::run(manager, "DROP TABLE changes").await?;
        sql::run(manager, "DELETE FROM counters WHERE name = 'changes_trimmed'").await
    }
}

impl Source {
    fn name(&self, act: &str) -> String {
        format!("{}_changed_by_{act}", self.table)
    }

    fn trigger_sqlite(&self, act: &str) -> String {
        let row = if act == "delete" { "OLD" } else { "NEW" };
        format!(
            "CREATE TRIGGER {} AFTER {act} ON {} FOR EACH ROW BEGIN \
             INSERT INTO changes (xid, subject, subject_id) VALUES (0, {}, {}); END",
            self.name(act),
            self.table,
            self.subject.replace("{row}", row),
            self.subject_id.replace("{row}", row),
        )
    }

    /// One call a statement, not one a row: an import writes hundreds of rows to a statement.
    fn trigger_postgres(&self, act: &str) -> String {
        let rows = if act == "delete" { "OLD" } else { "NEW" };
        format!(
            "CREATE TRIGGER {} AFTER {act} ON {} REFERENCING {rows} TABLE AS touched \
             FOR EACH STATEMENT EXECUTE FUNCTION note_{}()",
            self.name(act),
            self.table,
            self.table,
        )
    }

    fn function_postgres(&self) -> String {
        format!(
            "CREATE FUNCTION note_{}() RETURNS trigger LANGUAGE plpgsql AS $$ \
             DECLARE writer BIGINT := pg_current_xact_id()::text::bigint; \
             BEGIN INSERT INTO changes (xid, subject, subject_id) \
             SELECT DISTINCT writer, {}, {} FROM touched; RETURN NULL; END $$",
            self.table,
            self.subject.replace("{row}", "touched"),
            self.subject_id.replace("{row}", "touched"),
        )
    }
}

const TABLE_SQLITE: &str = "
CREATE TABLE changes (
    id {id},
    xid BIGINT NOT NULL,
    subject {code} NOT NULL,
    subject_id BIGINT NOT NULL
)";

const TABLE_POSTGRES: &str = "
CREATE TABLE changes (
    id BIGINT GENERATED BY DEFAULT AS IDENTITY,
    xid BIGINT NOT NULL,
    subject {code} NOT NULL,
    subject_id BIGINT NOT NULL,
    PRIMARY KEY (xid, id)
)";
