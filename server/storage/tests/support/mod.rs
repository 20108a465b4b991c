//! A database of a test's own: a SQLite file always, and a fresh database of the PostgreSQL server
//! that `TENTHS_TEST_POSTGRES` names, dropped with the value.

use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{SystemTime, UNIX_EPOCH};
use tempfile::TempDir;
use tenths_storage::Store;

/// Names the PostgreSQL server of the tests, by the URL of a role that may create databases.
const POSTGRES_VARIABLE: &str = "TENTHS_TEST_POSTGRES";

/// Which kind of database a test runs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A file.
    Sqlite,
    /// A database on the server of the tests.
    Postgres,
}

/// A database that lives as long as this value.
#[derive(Debug)]
pub(crate) struct TestDb {
    kind: Kind,
    url: String,
    name: String,
    folder: TempDir,
}

impl TestDb {
    /// An empty database; nothing, and a line that says so, if there is no server for it.
    pub(crate) fn create(kind: Kind) -> Option<Self> {
        TestDb::create_as(kind, None)
    }

    /// A copy of this database, to which nobody may be connected.
    pub(crate) fn copy(&self) -> Self {
        TestDb::create_as(self.kind, Some(self)).expect("the server of the original is there")
    }

    fn create_as(kind: Kind, original: Option<&TestDb>) -> Option<Self> {
        let folder = TempDir::new().expect("a temporary folder");
        let name = fresh_name();
        let url = match kind {
            Kind::Sqlite => {
                if let Some(original) = original {
                    std::fs::copy(original.file(), folder.path().join("shop.db"))
                        .expect("a closed database is one file");
                }
                format!("sqlite://{}", folder.path().join("shop.db").display())
            }
            Kind::Postgres => {
                let Ok(server) = env::var(POSTGRES_VARIABLE) else {
                    eprintln!("not run: {POSTGRES_VARIABLE} names no PostgreSQL server");
                    return None;
                };
                let from =
                    original.map_or_else(String::new, |one| format!(" TEMPLATE {}", one.name));
                psql(&server, &format!("CREATE DATABASE {name}{from}"));
                url_of(&server, &name)
            }
        };
        Some(TestDb { kind, url, name, folder })
    }

    /// Which kind it is.
    pub(crate) fn kind(&self) -> Kind {
        self.kind
    }

    /// The URL.
    pub(crate) fn url(&self) -> &str {
        &self.url
    }

    /// The SQLite file.
    fn file(&self) -> PathBuf {
        self.folder.path().join("shop.db")
    }

    /// The store on it, migrated.
    pub(crate) async fn store(&self) -> Store {
        let store = Store::open(&self.url).await.expect("the database opens");
        store.migrate().await.expect("the schema is made");
        store
    }
}

impl Drop for TestDb {
    fn drop(&mut self) {
        if self.kind == Kind::Postgres
            && let Ok(server) = env::var(POSTGRES_VARIABLE)
        {
            let sql = format!("DROP DATABASE IF EXISTS {} WITH (FORCE)", self.name);
            // A drop that fails must not hide the failure of the test behind it.
            if let Err(reason) = try_psql(&server, &sql) {
                eprintln!("could not drop {}: {reason}", self.name);
            }
        }
    }
}

/// Makes two tests of each function `async fn name(db: TestDb)`: `name::sqlite` and
/// `name::postgres`.
macro_rules! on_both {
    ($($name:ident),+ $(,)?) => {$(
        mod $name {
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                if let Some(db) = crate::support::TestDb::create(crate::support::Kind::Sqlite) {
                    super::$name(db).await;
                }
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgres() {
                if let Some(db) = crate::support::TestDb::create(crate::support::Kind::Postgres) {
                    super::$name(db).await;
                }
            }
        }
    )+};
}
pub(crate) use on_both;

fn fresh_name() -> String {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    let count = COUNT.fetch_add(1, Ordering::Relaxed);
    let since = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_nanos());
    format!("tenths_{}_{since}_{count}", std::process::id())
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

/// What psql answers to statements on the PostgreSQL database of this URL.
pub(crate) fn psql(url: &str, sql: &str) -> String {
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

/// `psql` from where Debian keeps the server's programs, or else from the path.
fn psql_path() -> PathBuf {
    let versions = std::fs::read_dir(Path::new("/usr/lib/postgresql")).into_iter().flatten();
    let installed = versions.flatten().map(|version| version.path().join("bin/psql"));
    installed.filter(|path| path.exists()).max().unwrap_or_else(|| PathBuf::from("psql"))
}
