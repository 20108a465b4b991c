//! `tenths hold`, `holds`, `extend`, `release`, `consume`

use super::Paging;
use crate::entry::{lists, times};
use crate::words;
use clap::Args;
use prost_types::Timestamp;
use std::time::Duration;
use tenths_proto::v1;

#[derive(Debug, Args)]
#[command(
    after_help = "Part of a lot is written LOT:QUANTITY or LOT:QUANTITY@LOCATION. Rows of the last \
    `tenths find` go by their numbers, ROW or ROW:QUANTITY; --for names their rebuild, and may \
    stand a second time to say for how long: tenths hold 2 --for R-318 --for 3d\n\nExample:\n  \
    tenths hold R-318 --piece P-104 --lot L-22:2 --lot L-9:1@A-1-3 --until 2026-12-01T17:00Z"
)]
pub(crate) struct Hold {
    /// The rebuild, which must be open; or rows of the last answer.
    #[arg(required = true, value_name = "REBUILD|ROW")]
    pub(crate) what: Vec<String>,
    /// A piece; once per piece.
    #[arg(long = "piece", value_name = "TAG")]
    pub(crate) pieces: Vec<String>,
    /// Part of a lot; once per lot.
    #[arg(long = "lot", id = "lots", value_name = "LOT:QUANTITY[@LOCATION]",
          value_parser = lists::lot_line)]
    pub(crate) lots: Vec<v1::ReserveLine>,
    /// Until when.
    #[arg(long, value_parser = times::time, help = format!("Until when: {}", times::HELP))]
    pub(crate) until: Option<Timestamp>,
    /// For how long from now, such as 7d, 12h or 30m; of rows, also for which rebuild.
    #[arg(long = "for", id = "hold_for", value_name = "SPAN|REBUILD")]
    pub(crate) hold_for: Vec<String>,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths holds --rebuild R-318 --state active")]
pub(crate) struct Holds {
    /// Show this hold only.
    #[arg(conflicts_with_all = ["rebuild", "state"])]
    pub(crate) tag: Option<String>,
    /// Only holds for this rebuild.
    #[arg(long)]
    pub(crate) rebuild: Option<String>,
    /// Only holds in this state.
    #[arg(long, value_parser = words::reservation_state())]
    pub(crate) state: Option<v1::ReservationState>,
    #[command(flatten)]
    pub(crate) paging: Paging,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  tenths extend H-12 --for 3d --reason \"plating is late\"\n\n--for and \
    --by are worked out from the clock and the hold as they are; to repeat one request id, use \
    --until."
)]
pub(crate) struct Extend {
    /// The hold's tag.
    pub(crate) tag: String,
    /// Until when.
    #[arg(long, value_parser = times::time, required_unless_present_any = ["hold_for", "by"],
          conflicts_with_all = ["hold_for", "by"],
          help = format!("Until when: {}", times::HELP))]
    pub(crate) until: Option<Timestamp>,
    /// For how long from now, such as 3d.
    #[arg(long = "for", id = "hold_for", value_name = "SPAN", value_parser = times::span,
          conflicts_with = "by")]
    pub(crate) hold_for: Option<Duration>,
    /// By how much past its end as it is now, such as 3d.
    #[arg(long, value_name = "SPAN", value_parser = times::span)]
    pub(crate) by: Option<Duration>,
    /// Why.
    #[arg(long, default_value = "")]
    pub(crate) reason: String,
    /// Refuse unless the hold is still as read under this etag.
    #[arg(long, default_value = "")]
    pub(crate) etag: String,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths release H-12 H-13 --reason \"customer declined\"")]
pub(crate) struct Release {
    /// The holds' tags.
    #[arg(required = true)]
    pub(crate) tags: Vec<String>,
    /// Why.
    #[arg(long, default_value = "")]
    pub(crate) reason: String,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths consume R-318 H-12 H-13")]
pub(crate) struct Consume {
    /// The rebuild.
    pub(crate) rebuild: String,
    /// The holds' tags; without any, everything held for the rebuild.
    pub(crate) tags: Vec<String>,
}
