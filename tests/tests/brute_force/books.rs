//! The shop's database beside the server: SQL over the same rows, on either kind.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::functions::{Context, FunctionFlags};
use rusqlite::types::Value;
use tenths_tests::{Database, DatabaseKind};
use tokio_postgres::{Client, NoTls, SimpleQueryMessage};

use crate::chance_within::{self, POSTGRES_FUNCTIONS};

/// A connection that answers every value as text.
pub(crate) enum Books {
    /// A task that holds it may go on on another thread.
    Sqlite(Mutex<Connection>),
    Postgres(Client),
}

impl Books {
    /// Connects, with the function `graded` that the questions need.
    pub(crate) async fn open(database: &Database) -> Self {
        match database.kind() {
            DatabaseKind::Sqlite => Books::Sqlite(Mutex::new(sqlite(database))),
            DatabaseKind::Postgres => {
                let (client, connection) = tokio_postgres::connect(database.url(), NoTls)
                    .await
                    .expect("PostgreSQL answers");
                tokio::spawn(connection);
                let books = Books::Postgres(client);
                // Sessions that define it at the same time would trip over each other.
                let lock = "SELECT pg_advisory_lock(7421)";
                let unlock = "SELECT pg_advisory_unlock(7421)";
                for sql in [lock, POSTGRES_FUNCTIONS, unlock] {
                    books.run(sql).await;
                }
                books
            }
        }
    }

    /// Runs statements that both databases understand.
    pub(crate) async fn run(&self, sql: &str) {
        match self {
            Books::Sqlite(connection) => own(connection).execute_batch(sql).expect(sql),
            Books::Postgres(client) => client.batch_execute(sql).await.expect(sql),
        }
    }

    /// The rows of a query; no value may be absent.
    pub(crate) async fn rows(&self, sql: &str) -> Vec<Vec<String>> {
        match self {
            Books::Sqlite(connection) => sqlite_rows(&own(connection), sql),
            Books::Postgres(client) => {
                let messages = client.simple_query(sql).await.expect(sql);
                let row = |message| match message {
                    SimpleQueryMessage::Row(row) => Some(
                        (0..row.len()).map(|at| row.get(at).expect("a value").to_owned()).collect(),
                    ),
                    _ => None,
                };
                messages.into_iter().filter_map(row).collect()
            }
        }
    }

    /// The type of a column of tags and codes, which compare byte by byte.
    pub(crate) fn code(&self) -> &'static str {
        match self {
            Books::Sqlite(_) => "TEXT",
            Books::Postgres(_) => "TEXT COLLATE \"C\"",
        }
    }
}

fn own(connection: &Mutex<Connection>) -> MutexGuard<'_, Connection> {
    connection.lock().unwrap_or_else(PoisonError::into_inner)
}

fn sqlite(database: &Database) -> Connection {
    let path = database.url().trim_start_matches("sqlite://");
    let connection = Connection::open(path).expect("the file opens");
    connection.busy_timeout(Duration::from_secs(20)).expect("a patience");
    connection.execute_batch("PRAGMA temp_store = MEMORY").expect("a setting");
    let flags = FunctionFlags::SQLITE_UTF8 | FunctionFlags::SQLITE_DETERMINISTIC;
    let graded = |context: &Context<'_>| {
        let [low, high, variance, doubt] = [0, 1, 2, 3].map(|at| context.get::<i64>(at));
        Ok(chance_within::graded(low?, high?, variance?, doubt?))
    };
    connection.create_scalar_function("graded", 4, flags, graded).expect("a function");
    connection
}

fn sqlite_rows(connection: &Connection, sql: &str) -> Vec<Vec<String>> {
    let mut statement = connection.prepare(sql).expect(sql);
    let columns = statement.column_count();
    let text = |value: Value| match value {
        Value::Integer(number) => number.to_string(),
        Value::Text(text) => text,
        other => panic!("{other:?} in {sql}"),
    };
    let rows = statement
        .query_map([], |row| (0..columns).map(|at| Ok(text(row.get(at)?))).collect())
        .expect(sql);
    rows.collect::<rusqlite::Result<_>>().expect(sql)
}
