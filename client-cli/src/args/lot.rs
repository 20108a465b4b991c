//! `tenths lot ...`

use super::Paging;
use crate::entry::lists;
use clap::{Args, Subcommand};
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum LotCommand {
    /// Receive a quantity of new stock.
    #[command(
        after_help = "Example:\n  tenths lot receive --item BRG-05 --quantity 12 --at A-1-3 \
        --date-code 2026-03 --cost \"4.10 USD\""
    )]
    Receive(LotReceive),
    /// Show a lot with what is where.
    #[command(after_help = "Example:\n  tenths lot show L-22")]
    Show {
        /// The lot's tag.
        tag: String,
    },
    /// List lots.
    #[command(after_help = "Example:\n  tenths lot list --item BRG-05")]
    List {
        /// Only lots of this item.
        #[arg(long)]
        item: Option<String>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Move part of a lot; held stock stays.
    #[command(after_help = "Example:\n  tenths lot move L-22 --from A-1-3 --to KIT-2 --quantity 2")]
    Move {
        /// The lot's tag.
        tag: String,
        /// From where.
        #[arg(long)]
        from: String,
        /// To where.
        #[arg(long)]
        to: String,
        /// How many.
        #[arg(long)]
        quantity: i64,
        /// Refuse unless the lot is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
    /// Correct a lot's count at a place.
    #[command(after_help = "Example:\n  tenths lot adjust L-22 --at A-1-3 --counted 9 --reason \
        \"recount\"")]
    Adjust {
        /// The lot's tag.
        tag: String,
        /// Where it was counted.
        #[arg(long)]
        at: String,
        /// How many were counted.
        #[arg(long)]
        counted: i64,
        /// Why it differs.
        #[arg(long)]
        reason: String,
        /// Refuse unless the lot is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
}

#[derive(Debug, Args)]
pub(crate) struct LotReceive {
    /// The tag; without one the server gives the next L- number.
    #[arg(long)]
    pub(crate) tag: Option<String>,
    /// What it is a quantity of.
    #[arg(long)]
    pub(crate) item: String,
    /// How many.
    #[arg(long)]
    pub(crate) quantity: i64,
    /// Where they are put.
    #[arg(long)]
    pub(crate) at: String,
    /// The date code as YYYY-MM, if they have one.
    #[arg(long)]
    pub(crate) date_code: Option<String>,
    /// The cost of one, such as "4.10 USD".
    #[arg(long, value_parser = lists::money)]
    pub(crate) cost: Option<v1::Money>,
}
