//! `tenths policy ...`

use super::Paging;
use clap::{Args, Subcommand};
use std::path::PathBuf;

#[derive(Debug, Subcommand)]
pub(crate) enum PolicyCommand {
    /// Show the policy in force, or a version of it, as the file that `policy set` reads.
    #[command(after_help = "Example:\n  tenths policy show")]
    Show {
        /// The version; 0 is the built-in one [default: the one in force].
        #[arg(value_parser = clap::value_parser!(i64).range(0..))]
        version: Option<i64>,
    },
    /// Put a whole policy in force as the next version.
    #[command(
        after_help = "Example:\n  tenths policy set --from policy.toml --note \"plating costs of \
        this year\""
    )]
    Set(PolicySet),
    /// List the versions: who put them in force, when and why.
    #[command(after_help = "Example:\n  tenths policy history")]
    History {
        #[command(flatten)]
        paging: Paging,
    },
}

#[derive(Debug, Args)]
pub(crate) struct PolicySet {
    /// The file, as `policy show` writes it; - reads standard input.
    #[arg(long, value_name = "FILE")]
    pub(crate) from: PathBuf,
    /// Why it is changed.
    #[arg(long)]
    pub(crate) note: String,
    /// The etag of the version that it was edited from [default: the version in the file].
    #[arg(long)]
    pub(crate) etag: Option<String>,
}
