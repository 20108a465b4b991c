//! The queue under load and faults: many workers at three `tenthsd` on one PostgreSQL.
//!
//! ```text
//! cargo build --release --locked
//! TENTHS_TEST_POSTGRES=postgres://… cargo bench -p tenths-tests --bench queue
//! ```
//!
//! First the fight (`fight.rs`): workers claim and end operations until none is left, some walk away
//! from a claim, now and then a replica is killed. What the rows say afterwards decides: exit code 1
//! if an operation did not end exactly once, a late token counted, or a job is stuck.
//!
//! Then the depth (`depth.rs`): how long a claim takes from a short queue and from a long one.
//! Nothing here is asserted by time.

// A benchmark talks to whoever runs it.
#![expect(clippy::print_stdout, reason = "the figures are what this program is for")]

mod books;
mod depth;
mod fight;
mod fill;
#[path = "../finding/machine.rs"]
mod machine;
mod replicas;
mod worker;

use std::error::Error;
use std::process::ExitCode;

use clap::Parser;
use tenths_tests::DatabaseKind;

/// What a fallible step of the benchmark answers.
type Outcome<T> = Result<T, Box<dyn Error>>;

/// Puts the queue under load and faults, and times claims by its depth.
#[derive(Clone, Debug, Parser)]
#[command(name = "queue")]
struct Arguments {
    /// Workers that fight for the operations
    #[arg(long, default_value_t = 64, value_parser = clap::value_parser!(u16).range(1..=256))]
    workers: u16,
    /// Operations to end, rounded up to whole jobs
    #[arg(long, default_value_t = 10_000, value_parser = clap::value_parser!(u32).range(1..))]
    operations: u32,
    /// Depths of the queue to time claims at; each is compared with the first
    #[arg(long, value_delimiter = ',', default_value = "1000,100000",
        value_parser = clap::value_parser!(u32).range(100..))]
    depths: Vec<u32>,
    /// cargo bench says this to every benchmark
    #[arg(long, hide = true)]
    bench: bool,
}

#[tokio::main]
async fn main() -> Outcome<ExitCode> {
    let arguments = Arguments::parse();
    if !DatabaseKind::Postgres.is_at_hand() {
        return Ok(ExitCode::FAILURE);
    }
    println!("Built from {}. {}.", machine::commit(), machine::facts());
    let holds = fight::run(arguments.workers, arguments.operations).await?;
    // As many claims as there were operations, but no more than make a steady p99.
    depth::run(&arguments.depths, arguments.operations.min(4_000)).await?;
    Ok(if holds { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
