//! `tenths gauge ...`

use super::Paging;
use crate::entry::times;
use crate::words;
use clap::{Args, Subcommand};
use prost_types::Timestamp;
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum GaugeCommand {
    /// Register a gauge.
    #[command(
        after_help = "Example:\n  tenths gauge add M-07 --description \"1-2 in micrometer\" \
        --resolution 0.0001in --uncertainty 0.00018in --setting gauge_block --due 2027-03-01 \
        --side external --from-size 1in --to-size 2in"
    )]
    Add(GaugeAdd),
    /// Show a gauge.
    #[command(after_help = "Example:\n  tenths gauge show M-07")]
    Show {
        /// The gauge's tag.
        tag: String,
    },
    /// List gauges.
    #[command(after_help = "Example:\n  tenths gauge list")]
    List {
        #[command(flatten)]
        paging: Paging,
    },
    /// Change what is known of a gauge; what is not given stays.
    #[command(after_help = "Example:\n  tenths gauge update M-07 --state found_wrong")]
    Update(GaugeUpdate),
}

#[derive(Debug, Args)]
pub(crate) struct GaugeAdd {
    /// The tag, never reused.
    pub(crate) tag: String,
    /// What it is, in words.
    #[arg(long)]
    pub(crate) description: String,
    /// The value of its smallest division.
    #[arg(long, value_name = "SIZE")]
    pub(crate) resolution: String,
    /// Expanded uncertainty (k=2) of a reading in this shop.
    #[arg(long, value_name = "SIZE")]
    pub(crate) uncertainty: String,
    /// How it is set before use.
    #[arg(long, value_parser = words::setting_method())]
    pub(crate) setting: v1::SettingMethod,
    /// When its calibration ends.
    #[arg(long, value_parser = times::time, help = format!("When its calibration ends: {}", times::HELP))]
    pub(crate) due: Timestamp,
    /// Which side of a fit it can reach: outside diameters, or bores; without it either.
    #[arg(long, value_parser = words::gauge_side())]
    pub(crate) side: Option<v1::GaugeSide>,
    /// The smallest size that it measures.
    #[arg(long, value_name = "SIZE")]
    pub(crate) from_size: Option<String>,
    /// The largest size that it measures.
    #[arg(long, value_name = "SIZE")]
    pub(crate) to_size: Option<String>,
    /// What it is made of, for readings off 20 C; without it steel.
    #[arg(long, value_parser = words::material())]
    pub(crate) material: Option<v1::Material>,
}

#[derive(Debug, Args)]
pub(crate) struct GaugeUpdate {
    /// The gauge's tag.
    pub(crate) tag: String,
    /// The new description.
    #[arg(long)]
    pub(crate) description: Option<String>,
    /// The new smallest division.
    #[arg(long, value_name = "SIZE")]
    pub(crate) resolution: Option<String>,
    /// The new expanded uncertainty (k=2).
    #[arg(long, value_name = "SIZE")]
    pub(crate) uncertainty: Option<String>,
    /// How it is set now.
    #[arg(long, value_parser = words::setting_method())]
    pub(crate) setting: Option<v1::SettingMethod>,
    /// When its calibration ends.
    #[arg(long, value_parser = times::time, help = format!("When its calibration ends: {}", times::HELP))]
    pub(crate) due: Option<Timestamp>,
    /// Whether it may be used; found_wrong puts its readings in doubt.
    #[arg(long, value_parser = words::gauge_state())]
    pub(crate) state: Option<v1::GaugeState>,
    /// Which side of a fit it can reach: outside diameters, or bores; without it either.
    #[arg(long, value_parser = words::gauge_side())]
    pub(crate) side: Option<v1::GaugeSide>,
    /// The smallest size that it measures.
    #[arg(long, value_name = "SIZE")]
    pub(crate) from_size: Option<String>,
    /// The largest size that it measures.
    #[arg(long, value_name = "SIZE")]
    pub(crate) to_size: Option<String>,
    /// What it is made of.
    #[arg(long, value_parser = words::material())]
    pub(crate) material: Option<v1::Material>,
    /// Refuse unless the gauge is still as read under this etag.
    #[arg(long)]
    pub(crate) etag: Option<String>,
}
