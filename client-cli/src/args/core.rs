//! `tenths core ...`

use super::Paging;
use crate::entry::lists;
use crate::words;
use clap::{Args, Subcommand};
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum CoreCommand {
    /// Log a core that came in.
    #[command(
        after_help = "Example:\n  tenths core log --tag C-101 --description \"2 hp coolant pump\" \
        --nameplate hp=2 --nameplate rpm=1750 --owner shop --grade B --reason \"one seat worn\" \
        --deposit \"180.00 USD\" --at YARD-1"
    )]
    Log(CoreLog),
    /// Show a core.
    #[command(after_help = "Example:\n  tenths core show C-101")]
    Show {
        /// The core's tag.
        tag: String,
    },
    /// List cores.
    #[command(after_help = "Example:\n  tenths core list --state received")]
    List {
        /// Only cores in this state.
        #[arg(long, value_parser = words::core_state())]
        state: Option<v1::CoreState>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Record the grade found at teardown, beside the door grade.
    #[command(
        after_help = "Example:\n  tenths core regrade C-101 --grade C --reason \"shaft scored\""
    )]
    Regrade {
        /// The core's tag.
        tag: String,
        /// The grade found, A to D, or R for reject.
        #[arg(long, value_parser = words::core_grade(), ignore_case = true)]
        grade: v1::CoreGrade,
        /// Why; may be given several times.
        #[arg(long = "reason", required = true)]
        reasons: Vec<String>,
        /// Refuse unless the core is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
    /// Move a core.
    #[command(after_help = "Example:\n  tenths core move C-101 --to BENCH-1")]
    Move {
        /// The core's tag.
        tag: String,
        /// Where it goes.
        #[arg(long, alias = "at")]
        to: String,
        /// Refuse unless the core is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
    /// Turn a core into tagged pieces, once.
    #[command(after_help = "A piece is written item=ITEM,at=LOCATION, and may add tag=TAG, \
        built-up=yes|no|unknown and, last, note=ANYTHING.\n\nExample:\n  tenths core teardown C-101 \
        --piece item=SHAFT-40,at=BENCH-1,tag=P-104,built-up=no --piece item=BELL-A,at=BENCH-1")]
    Teardown {
        /// The core's tag.
        tag: String,
        /// What it yields; once per piece.
        #[arg(long = "piece", required = true, value_parser = lists::teardown_piece)]
        pieces: Vec<v1::TeardownPiece>,
        /// Refuse unless the core is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
}

#[derive(Debug, Args)]
pub(crate) struct CoreLog {
    /// The label on it; without one the server gives the next C- number.
    #[arg(long)]
    pub(crate) tag: Option<String>,
    /// The catalogue item, if it is one.
    #[arg(long, required_unless_present = "description")]
    pub(crate) item: Option<String>,
    /// What it is, in words.
    #[arg(long)]
    pub(crate) description: Option<String>,
    /// What the nameplate says, as NAME=VALUE; may be given several times.
    #[arg(long, value_parser = lists::key_value)]
    pub(crate) nameplate: Vec<v1::KeyValue>,
    /// Who owns it.
    #[arg(long, value_parser = words::owner())]
    pub(crate) owner: v1::OwnerKind,
    /// The customer who owns it.
    #[arg(long)]
    pub(crate) customer: Option<String>,
    /// The grade at the door, A to D, or R for reject.
    #[arg(long, value_parser = words::core_grade(), ignore_case = true)]
    pub(crate) grade: Option<v1::CoreGrade>,
    /// Why that grade; may be given several times.
    #[arg(long = "reason")]
    pub(crate) reasons: Vec<String>,
    /// The deposit, such as "180.00 USD".
    #[arg(long, value_parser = lists::money)]
    pub(crate) deposit: Option<v1::Money>,
    /// Where it is put.
    #[arg(long)]
    pub(crate) at: String,
}
