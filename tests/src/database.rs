//! A database of a test's own: a SQLite file, or a fresh database of the PostgreSQL server that
//! `TENTHS_TEST_POSTGRES` names.

use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use tempfile::TempDir;
use uuid::Uuid;

/// Names the PostgreSQL server of the tests, by the URL of a role that may create databases.
const POSTGRES_VARIABLE: &str = "TENTHS_TEST_POSTGRES";

/// Which kind of database a test runs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DatabaseKind {
    /// A file of its own.
    Sqlite,
    /// A fresh database on the server of the tests.
    Postgres,
}

impl DatabaseKind {
    /// Whether this kind can be used; says on stderr if not.
    pub fn is_at_hand(self) -> bool {
        let at_hand = self == DatabaseKind::Sqlite || env::var_os(POSTGRES_VARIABLE).is_some();
        if !at_hand {
            eprintln!("not run: {POSTGRES_VARIABLE} names no PostgreSQL server");
        }
        at_hand
    }
}

/// A database that lives as long as this value.
#[derive(Debug)]
pub struct Database {
    kind: DatabaseKind,
    url: String,
    name: String,
    /// Holds the SQLite file, and whatever else a test wants to write.
    folder: TempDir,
}

impl Database {
    /// Makes an empty database.
    pub fn create(kind: DatabaseKind) -> Self {
        let folder = TempDir::new().expect("a temporary folder");
        let name = format!("tenths_{}", Uuid::new_v4().simple());
        let url = match kind {
            DatabaseKind::Sqlite => format!("sqlite://{}", folder.path().join("shop.db").display()),
            DatabaseKind::Postgres => {
                psql(&server_url(), &format!("CREATE DATABASE {name}"));
                url_of(&server_url(), &name)
            }
        };
        Self { kind, url, name, folder }
    }

    /// Which kind it is.
    pub fn kind(&self) -> DatabaseKind {
        self.kind
    }

    /// The URL for `--database`.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// A folder that goes with the database.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Ends every session of this PostgreSQL database and lets nobody in again, as a database server
    /// that has gone would, until [`Database::let_in`].
    pub fn cut_off(&self) {
        assert_eq!(self.kind, DatabaseKind::Postgres, "SQLite has no sessions");
        let sql = format!("ALTER DATABASE {} ALLOW_CONNECTIONS false", self.name);
        psql(&server_url(), &sql);
        let sql = format!(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{}'",
            self.name
        );
        psql(&server_url(), &sql);
    }

    /// Undoes [`Database::cut_off`].
    pub fn let_in(&self) {
        psql(&server_url(), &format!("ALTER DATABASE {} ALLOW_CONNECTIONS true", self.name));
    }

    /// Fails if a transaction stays open for ten seconds. What was begun may still be finished, and a
    /// server that looks for changes has one open now and then; one that is left open stays.
    ///
    /// # Panics
    /// As said.
    pub async fn no_transaction_stays_open(&self) {
        let start = Instant::now();
        while self.idle_transactions() > 0 {
            let waited = start.elapsed();
            assert!(
                waited < Duration::from_secs(10),
                "a transaction is still open after {waited:?}"
            );
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    }

    /// How many sessions of this PostgreSQL database sit in an open transaction, doing nothing.
    /// SQLite has no such list: a leak shows there as a writer that waits for ever.
    fn idle_transactions(&self) -> u64 {
        match self.kind {
            DatabaseKind::Sqlite => 0,
            DatabaseKind::Postgres => {
                let sql = format!(
                    "SELECT count(*) FROM pg_stat_activity WHERE datname = '{}' \
                     AND state LIKE 'idle in transaction%'",
                    self.name
                );
                let answer = psql(&server_url(), &sql);
                answer.trim().parse().expect("psql answers count(*) with a number")
            }
        }
    }
}

impl Drop for Database {
    fn drop(&mut self) {
        if self.kind == DatabaseKind::Postgres {
            let sql = format!("DROP DATABASE IF EXISTS {} WITH (FORCE)", self.name);
            // A drop that fails must not hide the failure of the test behind it.
            if let Err(reason) = try_psql(&server_url(), &sql) {
                eprintln!("could not drop {}: {reason}", self.name);
            }
        }
    }
}

fn server_url() -> String {
    env::var(POSTGRES_VARIABLE).expect("the URL of the PostgreSQL server of the tests")
}

/// Puts a database name in the place of the one in the URL.
fn url_of(server: &str, name: &str) -> String {
    let (address, query) = match server.split_once('?') {
        Some((address, query)) => (address, format!("?{query}")),
        None => (server, String::new()),
    };
    let scheme_end = address.find("://").expect("a URL has a scheme") + 3;
    let host_end = address[scheme_end..].find('/').map_or(address.len(), |at| scheme_end + at);
    format!("{}/{name}{query}", &address[..host_end])
}

fn psql(url: &str, sql: &str) -> String {
    try_psql(url, sql).unwrap_or_else(|reason| panic!("psql {sql:?}: {reason}"))
}

fn try_psql(url: &str, sql: &str) -> Result<String, String> {
    let output = Command::new(psql_path())
        .args(["--no-psqlrc", "--quiet", "--tuples-only", "--no-align"])
        .args(["--set", "ON_ERROR_STOP=1", "--command", sql, url])
        .output()
        .map_err(|error| error.to_string())?;
    if output.status.success() {
        Ok(String::from_utf8_lossy(&output.stdout).into_owned())
    } else {
        Err(String::from_utf8_lossy(&output.stderr).into_owned())
    }
}

/// `psql` from the path, or from where Debian keeps the server's programs.
fn psql_path() -> PathBuf {
    let versions = std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten();
    let installed = versions.map(|version| version.path().join("bin/psql"));
    installed.filter(|path| path.exists()).max().unwrap_or_else(|| PathBuf::from("psql"))
}

#[cfg(test)]
mod tests {
    use super::url_of;

    #[test]
    fn the_database_name_replaces_the_one_in_the_url() {
        for (server, expected) in [
            ("postgres://u@127.0.0.1:5433/postgres", "postgres://u@127.0.0.1:5433/shop"),
            ("postgres://u@127.0.0.1:5433", "postgres://u@127.0.0.1:5433/shop"),
            ("postgres://u@h/x?sslmode=disable", "postgres://u@h/shop?sslmode=disable"),
        ] {
            assert_eq!(url_of(server, "shop"), expected);
        }
    }
}
