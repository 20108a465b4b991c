//! `tenths piece ...`

use super::Paging;
use crate::words;
use clap::{Args, Subcommand};
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum PieceCommand {
    /// Add a piece that came from no core here.
    #[command(
        after_help = "Example:\n  tenths piece add --item SHAFT-40 --condition new --at A-1-3"
    )]
    Add(PieceAdd),
    /// Show a piece with its sizes and its hold.
    #[command(after_help = "Example:\n  tenths piece show P-104")]
    Show {
        /// The piece's tag.
        tag: String,
    },
    /// List pieces.
    #[command(after_help = "Example:\n  tenths piece list --state in_stock --item SHAFT-40")]
    List {
        /// Only pieces in this state.
        #[arg(long, value_parser = words::piece_state())]
        state: Option<v1::PieceState>,
        /// Only pieces of this item.
        #[arg(long)]
        item: Option<String>,
        /// Only pieces from this core.
        #[arg(long)]
        core: Option<String>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Change what is known of a piece; what is not given stays.
    #[command(after_help = "Example:\n  tenths piece update P-104 --hardness \"58 HRC\"")]
    Update(PieceUpdate),
    /// Move a piece.
    #[command(after_help = "Example:\n  tenths piece move P-104 --to A-1-3")]
    Move {
        /// The piece's tag.
        tag: String,
        /// Where it goes.
        #[arg(long, alias = "at")]
        to: String,
        /// Refuse unless the piece is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
    /// Put an inspected piece into stock.
    #[command(after_help = "Example:\n  tenths piece accept P-104 --at A-1-3")]
    Accept {
        /// The piece's tag.
        tag: String,
        /// Where it goes; without it the piece stays where it is.
        #[arg(long, alias = "to")]
        at: Option<String>,
        /// Why it is accepted although no assessment says reuse; recorded.
        #[arg(long, value_name = "REASON")]
        sure: Option<String>,
        /// Refuse unless the piece is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
    /// Scrap a piece.
    #[command(after_help = "Example:\n  tenths piece scrap P-104 --reason crack --note \"at the \
        keyway\"")]
    Scrap {
        /// The piece's tag.
        tag: String,
        /// The reason code.
        #[arg(long, value_parser = words::scrap_reason())]
        reason: v1::ScrapReason,
        /// A note.
        #[arg(long, default_value = "")]
        note: String,
        /// Refuse unless the piece is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
}

#[derive(Debug, Args)]
pub(crate) struct PieceAdd {
    /// The tag; without one the server gives the next P- number.
    #[arg(long)]
    pub(crate) tag: Option<String>,
    /// What it is one of.
    #[arg(long)]
    pub(crate) item: String,
    /// Its condition.
    #[arg(long, value_parser = words::piece_condition())]
    pub(crate) condition: v1::PieceCondition,
    /// Where it is put.
    #[arg(long)]
    pub(crate) at: String,
    /// Its material, if it differs from the item's.
    #[arg(long, value_parser = words::material())]
    pub(crate) material: Option<v1::Material>,
    /// Hardness, if known.
    #[arg(long)]
    pub(crate) hardness: Option<String>,
    /// Whether it was built up before, if known.
    #[arg(long, value_parser = words::built_up())]
    pub(crate) built_up: Option<v1::BuiltUp>,
    /// A note.
    #[arg(long)]
    pub(crate) note: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct PieceUpdate {
    /// The piece's tag.
    pub(crate) tag: String,
    /// The new material.
    #[arg(long, value_parser = words::material())]
    pub(crate) material: Option<v1::Material>,
    /// The new hardness.
    #[arg(long)]
    pub(crate) hardness: Option<String>,
    /// Whether it was built up before.
    #[arg(long, value_parser = words::built_up())]
    pub(crate) built_up: Option<v1::BuiltUp>,
    /// The new note.
    #[arg(long)]
    pub(crate) note: Option<String>,
    /// Refuse unless the piece is still as read under this etag.
    #[arg(long)]
    pub(crate) etag: Option<String>,
}
