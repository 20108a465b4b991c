//! What the benchmark is told on its command line.

use std::path::PathBuf;
use std::time::Duration;

use clap::Parser;
use tenths_tests::DatabaseKind;

use crate::drive::Span;

/// Measures finding a fit, beside an empty call and beside SQL, in one run.
#[derive(Clone, Debug, Parser)]
#[command(name = "finding")]
pub(crate) struct Arguments {
    /// Stocked rows (lots and pieces), one shop a size: --rows 1000,100000,1000000,10000000
    #[arg(long, value_delimiter = ',', default_value = "1000,100000",
        value_parser = clap::value_parser!(u64).range(1..))]
    pub(crate) rows: Vec<u64>,
    /// Most questions of the mix to ask
    #[arg(long, default_value_t = 10_000, value_parser = clap::value_parser!(u64).range(1..))]
    pub(crate) questions: u64,
    /// Most seconds to ask for in one measurement; then the mix is cut short and the table says so
    #[arg(long, default_value_t = 20, value_parser = clap::value_parser!(u64).range(1..))]
    pub(crate) seconds: u64,
    /// Least seconds to ask for in one measurement: a fast mix is asked again
    #[arg(long, default_value_t = 2)]
    pub(crate) least_seconds: u64,
    /// Questions in flight at once
    #[arg(long, value_delimiter = ',', default_value = "1,16,64",
        value_parser = clap::value_parser!(u16).range(1..=256))]
    pub(crate) in_flight: Vec<u16>,
    /// Databases of the shop; PostgreSQL needs TENTHS_TEST_POSTGRES
    #[arg(long, value_delimiter = ',', default_value = "sqlite,postgres")]
    pub(crate) databases: Vec<Kind>,
    /// Seed of the stock and of the questions
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Checks every invariant of the loaded shop with `tenthsd verify` before it is asked
    #[arg(long)]
    pub(crate) verify: bool,
    /// Serves recorded answers from this file instead: what the benchmark starts as the empty call
    #[arg(long, hide = true)]
    pub(crate) echo: Option<PathBuf>,
    /// cargo bench says this to every benchmark
    #[arg(long, hide = true)]
    bench: bool,
}

/// A database of the shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Kind {
    /// A file.
    Sqlite,
    /// A database of the server that TENTHS_TEST_POSTGRES names.
    Postgres,
}

impl Kind {
    /// As the support of the tests calls it.
    pub(crate) fn database(self) -> DatabaseKind {
        match self {
            Kind::Sqlite => DatabaseKind::Sqlite,
            Kind::Postgres => DatabaseKind::Postgres,
        }
    }

    /// For the table.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Kind::Sqlite => "SQLite",
            Kind::Postgres => "PostgreSQL",
        }
    }
}

impl Arguments {
    /// How long one measurement asks.
    pub(crate) fn span(&self) -> Span {
        let [least, most] = [self.least_seconds, self.seconds].map(Duration::from_secs);
        Span { least, most }
    }
}
