//! `tenths`: the thin command line of Tenths. Arguments become a request, the answer a table.
//!
//! No rule of the shop lives here: what a reading, a fit or a state means, the server says.

mod args;
mod commands;
mod connect;
mod context;
mod document;
mod entry;
mod exit;
mod failure;
mod lines;
mod memory;
mod output;
mod paging;
mod profile;
mod repairs_report;
mod report;
#[cfg(test)]
mod shop_double;
mod traveler;
mod words;

use std::process::ExitCode;

#[tokio::main(flavor = "current_thread")]
async fn main() -> ExitCode {
    let arguments = args::Arguments::read(std::env::args_os()).unwrap_or_else(|error| error.exit());
    exit::code_of(commands::run(arguments).await)
}
