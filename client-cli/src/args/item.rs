//! `tenths item ...`

use super::Paging;
use crate::words;
use clap::{Args, Subcommand, ValueEnum};
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum ItemCommand {
    /// Add an item.
    #[command(
        after_help = "A rolling bearing with a known designation gets its dimensions from the \
        standard.\n\nExample:\n  tenths item add SHAFT-40 --kind shaft --description \"pump shaft, \
        40 mm\" --material steel"
    )]
    Add(ItemAdd),
    /// Show an item with its features.
    #[command(after_help = "Example:\n  tenths item show SHAFT-40")]
    Show {
        /// The item's code.
        code: String,
    },
    /// List items.
    #[command(after_help = "Example:\n  tenths item list --kind bushing --all")]
    List {
        /// Only this kind.
        #[arg(long, value_parser = words::item_kind())]
        kind: Option<v1::ItemKind>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Change an item's words; what is not given stays.
    #[command(after_help = "Example:\n  tenths item update SHAFT-40 --material steel")]
    Update(ItemUpdate),
    /// Add a feature, or change one; what is not given stays.
    #[command(after_help = "Example:\n  tenths item feature SHAFT-40 seat-a --kind rolling_seat \
        --nominal 25mm --class k5 --reference-station R")]
    Feature(Box<FeatureSet>),
    /// Set the most wear accepted on a feature.
    #[command(
        after_help = "Example:\n  tenths item wear-limit SHAFT-40 journal-c 0.002in --source \
        \"shop practice\""
    )]
    WearLimit {
        /// The item's code.
        code: String,
        /// The feature's name.
        feature: String,
        /// The most wear accepted, on diameter.
        limit: String,
        /// Where the limit comes from.
        #[arg(long)]
        source: Option<String>,
        /// Refuse unless the item is still as read under this etag.
        #[arg(long)]
        etag: Option<String>,
    },
}

#[derive(Debug, Args)]
pub(crate) struct ItemAdd {
    /// The shop's code, never reused.
    pub(crate) code: String,
    /// What kind of part it is.
    #[arg(long, value_parser = words::item_kind())]
    pub(crate) kind: v1::ItemKind,
    /// What it is, in words; only a known designation can stand for it.
    #[arg(long, default_value = "", required_unless_present = "designation")]
    pub(crate) description: String,
    /// The basic number of a rolling bearing.
    #[arg(long, default_value = "")]
    pub(crate) designation: String,
    /// What it is made of.
    #[arg(long, value_parser = words::material())]
    pub(crate) material: Option<v1::Material>,
    /// How many make a matched set, which is never split.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) set_of: i32,
    /// Nothing else may be fitted in its place.
    #[arg(long)]
    pub(crate) no_substitute: bool,
}

#[derive(Debug, Args)]
pub(crate) struct ItemUpdate {
    /// The item's code.
    pub(crate) code: String,
    /// The new description.
    #[arg(long)]
    pub(crate) description: Option<String>,
    /// The new designation.
    #[arg(long)]
    pub(crate) designation: Option<String>,
    /// The new material.
    #[arg(long, value_parser = words::material())]
    pub(crate) material: Option<v1::Material>,
    /// How many make a matched set, which is never split.
    #[arg(long, value_name = "N")]
    pub(crate) set_of: Option<i32>,
    /// Whether nothing else may be fitted in its place.
    #[arg(long, value_name = "BOOL")]
    pub(crate) no_substitute: Option<bool>,
    /// Refuse unless the item is still as read under this etag.
    #[arg(long)]
    pub(crate) etag: Option<String>,
}

#[derive(Debug, Default, Args)]
pub(crate) struct FeatureSet {
    /// The item's code.
    pub(crate) code: String,
    /// The feature's name.
    pub(crate) feature: String,
    /// What kind of place it is; needed for a new feature.
    #[arg(long, value_parser = words::feature_kind())]
    pub(crate) kind: Option<v1::FeatureKind>,
    /// The nominal size.
    #[arg(long, value_name = "SIZE")]
    pub(crate) nominal: Option<String>,
    /// An ISO 286 tolerance class, such as k5.
    #[arg(long, conflicts_with_all = ["ring_class", "lower", "upper"])]
    pub(crate) class: Option<String>,
    /// An ISO 492 class of a bearing ring: normal, 6, 5 or 4.
    #[arg(long, conflicts_with_all = ["lower", "upper"])]
    pub(crate) ring_class: Option<String>,
    /// The smallest size allowed.
    #[arg(long, value_name = "SIZE", requires = "upper")]
    pub(crate) lower: Option<String>,
    /// The largest size allowed.
    #[arg(long, value_name = "SIZE", requires = "lower")]
    pub(crate) upper: Option<String>,
    /// The most wear accepted, on diameter.
    #[arg(long, value_name = "SIZE")]
    pub(crate) wear_limit: Option<String>,
    /// The size past which reconditioning is not worth starting.
    #[arg(long, value_name = "SIZE")]
    pub(crate) recondition_limit: Option<String>,
    /// The most out-of-round accepted.
    #[arg(long, value_name = "SIZE")]
    pub(crate) out_of_round_limit: Option<String>,
    /// The most taper accepted.
    #[arg(long, value_name = "SIZE")]
    pub(crate) taper_limit: Option<String>,
    /// The station that does not wear.
    #[arg(long)]
    pub(crate) reference_station: Option<String>,
    /// Where the limits come from.
    #[arg(long)]
    pub(crate) source: Option<String>,
    /// Take a limit away.
    #[arg(long, value_enum, value_name = "LIMIT")]
    pub(crate) clear: Vec<LimitField>,
    /// Refuse unless the item is still as read under this etag.
    #[arg(long)]
    pub(crate) etag: Option<String>,
}

/// A limit that can be taken away again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum LimitField {
    /// The limits of size, however given.
    Tolerance,
    /// The wear limit.
    WearLimit,
    /// The recondition limit.
    ReconditionLimit,
    /// The out-of-round limit.
    OutOfRoundLimit,
    /// The taper limit.
    TaperLimit,
    /// The reference station.
    ReferenceStation,
}
