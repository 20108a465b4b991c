//! Support for the black-box tests: real binaries, real databases, typed clients.
//!
//! Nothing here knows a rule of the shop. A test starts a [`Shop`], acts on it over gRPC or through
//! the `tenths` binary, and looks at what comes back. Every process is stopped by its own handle
//! and every file and database is removed when its owner is dropped.

mod bench;
mod chance;
mod database;
mod outcome;
mod process;
mod raw;
mod shop;
mod words;

pub use bench::Bench;
pub use chance::Chance;
pub use database::{Database, DatabaseKind};
pub use outcome::{Expected, Outcomes, done, patiently, refused};
pub use process::{
    Finished, Server, kill_tenths_midway, run_tenths, run_tenths_with_input, run_tenthsd,
};
pub use raw::call_with_empty_message;
pub use shop::{Clients, Recorder, Shop, Wire};
pub use words::*;

/// Makes one test per database out of an async function that takes a [`DatabaseKind`].
///
/// The PostgreSQL one does nothing but say so where `TENTHS_TEST_POSTGRES` names no server;
/// `tests/run.sh` always starts one and sets it.
#[macro_export]
macro_rules! on_both_databases {
    ($($name:ident),+ $(,)?) => {
        mod sqlite {
            $(#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                super::$name($crate::DatabaseKind::Sqlite).await;
            })+
        }
        mod postgres {
            $(#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn $name() {
                if $crate::DatabaseKind::Postgres.is_at_hand() {
                    super::$name($crate::DatabaseKind::Postgres).await;
                }
            })+
        }
    };
}
