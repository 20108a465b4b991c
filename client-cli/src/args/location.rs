//! `tenths location ...`

use super::Paging;
use crate::words;
use clap::Subcommand;
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum LocationCommand {
    /// Add a place.
    #[command(after_help = "Example:\n  tenths location add A-1-3 --kind shelf")]
    Add {
        /// The code of the place.
        code: String,
        /// What it is for.
        #[arg(long, value_parser = words::location_kind())]
        kind: v1::LocationKind,
        /// What it is, in words.
        #[arg(long, default_value = "")]
        description: String,
    },
    /// List places.
    #[command(after_help = "Example:\n  tenths location list --all")]
    List {
        #[command(flatten)]
        paging: Paging,
    },
}
