//! `tenths rebuild ...`

use super::Paging;
use crate::entry::{lists, times};
use crate::words;
use clap::{Args, Subcommand, ValueEnum};
use prost_types::Timestamp;
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum RebuildCommand {
    /// Open a rebuild.
    #[command(
        after_help = "Example:\n  tenths rebuild open --tag R-318 --description \"headstock \
        drive\" --core C-101 --due 2026-12-01T17:00Z --value \"1800.00 USD\""
    )]
    Open(RebuildOpen),
    /// Show a rebuild.
    #[command(after_help = "Example:\n  tenths rebuild show R-318")]
    Show {
        /// The rebuild's tag.
        tag: String,
    },
    /// List rebuilds.
    #[command(after_help = "Example:\n  tenths rebuild list --state open")]
    List {
        /// Only rebuilds in this state.
        #[arg(long, value_parser = words::rebuild_state())]
        state: Option<v1::RebuildState>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Change what is said of an open rebuild; what is not given stays.
    #[command(after_help = "Example:\n  tenths rebuild update R-318 --value \"2100.00 USD\"")]
    Update(RebuildUpdate),
    /// Close a rebuild; what is still held for it is given back.
    #[command(after_help = "Example:\n  tenths rebuild close R-318 --as shipped")]
    Close(RebuildClose),
}

#[derive(Debug, Args)]
pub(crate) struct RebuildOpen {
    /// The tag; without one the server gives the next R- number.
    #[arg(long, default_value = "")]
    pub(crate) tag: String,
    /// What is being rebuilt.
    #[arg(long)]
    pub(crate) description: String,
    /// For whom, if for a customer.
    #[arg(long, default_value = "")]
    pub(crate) customer: String,
    /// The core that it starts from.
    #[arg(long, default_value = "")]
    pub(crate) core: String,
    /// When it is due.
    #[arg(long, value_parser = times::time, help = format!("When it is due: {}", times::HELP))]
    pub(crate) due: Option<Timestamp>,
    /// What it is worth to complete it, such as "1800.00 USD"; planning goes by it.
    #[arg(long, value_parser = lists::money)]
    pub(crate) value: Option<v1::Money>,
}

#[derive(Debug, Args)]
pub(crate) struct RebuildUpdate {
    /// The rebuild's tag.
    pub(crate) tag: String,
    /// The new description.
    #[arg(long)]
    pub(crate) description: Option<String>,
    /// For whom; "" for the shelf.
    #[arg(long)]
    pub(crate) customer: Option<String>,
    /// When it is due.
    #[arg(long, value_parser = times::time, help = format!("When it is due: {}", times::HELP))]
    pub(crate) due: Option<Timestamp>,
    /// What it is worth to complete it, as "1800.00 USD": plans go by it.
    #[arg(long, value_parser = lists::money)]
    pub(crate) value: Option<v1::Money>,
    /// Refuse unless the rebuild is still as read under this etag.
    #[arg(long)]
    pub(crate) etag: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct RebuildClose {
    /// The rebuild's tag.
    pub(crate) tag: String,
    /// How it ended.
    #[arg(long = "as", value_enum)]
    pub(crate) ending: Ending,
    /// Refuse unless the rebuild is still as read under this etag.
    #[arg(long, default_value = "")]
    pub(crate) etag: String,
}

/// How a rebuild ends.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Ending {
    /// It left the shop.
    Shipped,
    /// It was given up.
    Cancelled,
}

impl From<Ending> for v1::RebuildState {
    fn from(ending: Ending) -> Self {
        match ending {
            Ending::Shipped => v1::RebuildState::Shipped,
            Ending::Cancelled => v1::RebuildState::Cancelled,
        }
    }
}
