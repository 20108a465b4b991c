//! A connection beside the store, for SQL that the store has no method for.

use crate::support::{Kind, TestDb};
use sea_orm::{ConnectOptions, ConnectionTrait, Database, DatabaseConnection, DbErr, Statement};
use std::time::Duration;

/// One connection.
pub(crate) struct Raw {
    connection: DatabaseConnection,
    kind: Kind,
}

impl Raw {
    /// Connects to a database that exists.
    pub(crate) async fn connect(db: &TestDb) -> Self {
        let mut options = ConnectOptions::new(db.url());
        options.max_connections(1).sqlx_logging(false);
        // As the storage does, and for its reason.
        options.idle_timeout(None::<Duration>).max_lifetime(None::<Duration>);
        let connection = Database::connect(options).await.unwrap();
        Raw { connection, kind: db.kind() }
    }

    /// Runs statements; both databases must understand them.
    pub(crate) async fn run(&self, sql: &str) -> Result<(), DbErr> {
        for statement in sql.split(';').map(str::trim).filter(|part| !part.is_empty()) {
            self.connection.execute_unprepared(statement).await?;
        }
        Ok(())
    }

    /// Runs one statement as it is.
    pub(crate) async fn run_whole(&self, sql: &str) -> Result<(), DbErr> {
        self.connection.execute_unprepared(sql).await.map(|_| ())
    }

    /// The first column of every row, as text.
    pub(crate) async fn column(&self, sql: &str) -> Vec<String> {
        let backend = self.connection.get_database_backend();
        let rows = self.connection.query_all_raw(Statement::from_string(backend, sql)).await;
        rows.unwrap().iter().map(|row| row.try_get_by_index::<String>(0).unwrap()).collect()
    }

    /// The one number that a query answers with.
    pub(crate) async fn number(&self, sql: &str) -> i64 {
        let backend = self.connection.get_database_backend();
        let row = self.connection.query_one_raw(Statement::from_string(backend, sql)).await;
        row.unwrap().unwrap().try_get_by_index(0).unwrap()
    }

    /// Takes every guard off a table, so that a break can be put into it.
    pub(crate) async fn unguard(&self, table: &str) {
        match self.kind {
            Kind::Sqlite => {
                self.run("PRAGMA ignore_check_constraints = ON; PRAGMA foreign_keys = OFF")
                    .await
                    .unwrap();
                for (kind, filter) in [("trigger", ""), ("index", "AND sql LIKE '%UNIQUE%'")] {
                    let names = self
                        .column(&format!(
                            "SELECT name FROM sqlite_master WHERE type = '{kind}' \
                             AND tbl_name = '{table}' AND sql IS NOT NULL {filter}"
                        ))
                        .await;
                    for name in names {
                        self.run(&format!("DROP {kind} {name}")).await.unwrap();
                    }
                }
            }
            Kind::Postgres => self.unguard_postgres(table).await,
        }
    }

    async fn unguard_postgres(&self, table: &str) {
        self.run("SET session_replication_role = replica").await.unwrap();
        let checks = self
            .column(&format!(
                "SELECT conname::text FROM pg_constraint \
                 WHERE contype = 'c' AND conrelid = '{table}'::regclass"
            ))
            .await;
        for name in checks {
            self.run(&format!("ALTER TABLE {table} DROP CONSTRAINT {name}")).await.unwrap();
        }
        let indexes = self
            .column(&format!(
                "SELECT indexname::text FROM pg_indexes WHERE tablename = '{table}' \
                 AND indexdef LIKE 'CREATE UNIQUE INDEX % WHERE %'"
            ))
            .await;
        for name in indexes {
            self.run(&format!("DROP INDEX {name}")).await.unwrap();
        }
    }

    /// Closes the connection.
    pub(crate) async fn close(self) {
        self.connection.close().await.unwrap();
    }
}
