//! How fast a fit is found: the real `tenthsd` over shops of many sizes, beside an empty call and
//! beside SQL, in one run.
//!
//! ```text
//! cargo build --release --locked
//! TENTHS_TEST_POSTGRES=postgres://… cargo bench -p tenths-tests --bench finding -- --rows 1000000
//! ```
//!
//! For each size and database: the shop is filled in bulk (`stock.rs` says with what), `tenthsd` is
//! started on it, the mix of `questions.rs` is asked, and the same questions go to
//!
//! - the empty call: a server of the same stack that answers with the recorded bytes (`echo.rs`);
//! - a health check of `tenthsd` itself: its layers, with next to no payload;
//! - SQL on the same database: the whole question, and the least that SQL can do (`sql/mod.rs`).
//!
//! All share the machine with the client. Nothing here is asserted by time.

// A benchmark talks to whoever runs it.
#![expect(clippy::print_stdout, reason = "the tables are what this program is for")]

mod arguments;
mod catalogue;
mod drive;
mod echo;
mod load;
mod machine;
mod measure;
mod ours;
mod place;
mod questions;
mod report;
mod rows;
mod sql;
mod stock;
mod wire;

use std::error::Error;

use arguments::Arguments;
use clap::Parser;

/// That of `tenthsd`, so that the empty call has what the shop has.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    if let Some(file) = &arguments.echo {
        return Ok(echo::serve(file).await?);
    }
    println!("Built from {}. {}.", machine::commit(), machine::facts());
    for rows in &arguments.rows {
        for kind in &arguments.databases {
            if kind.database().is_at_hand() {
                measure::shop(&arguments, *kind, *rows).await?.print(&arguments.in_flight);
            }
        }
    }
    Ok(())
}
