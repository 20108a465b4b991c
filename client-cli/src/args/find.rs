//! `tenths find ...`

use crate::words;
use clap::{Args, Subcommand};
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum FindCommand {
    /// Rolling bearings for a shaft seat or a housing bore.
    #[command(
        override_usage = "tenths find bearing MEASURED REQUIREMENT [OPTIONS]",
        after_help = "Example:\n  tenths find bearing --seat 0.9845in --class k5 --gauge M-07"
    )]
    Bearing(FindMate),
    /// Bushings for a journal or a housing bore.
    #[command(
        override_usage = "tenths find bushing MEASURED REQUIREMENT [OPTIONS]",
        after_help = "Example:\n  tenths find bushing --journal 0.7485in --clearance \
        0.0011..0.0023in --close-in-min 0.0004in --close-in-max 0.0008in"
    )]
    Bushing(FindMate),
    /// Shafts for a bearing's or bushing's bore.
    #[command(
        override_usage = "tenths find shaft MEASURED REQUIREMENT [OPTIONS]",
        after_help = "Example:\n  tenths find shaft --bore 25.002mm --clearance=-0.02..0.0mm"
    )]
    Shaft(FindMate),
    /// Housings for a measured part.
    #[command(
        override_usage = "tenths find housing MEASURED REQUIREMENT [OPTIONS]",
        after_help = "Example:\n  tenths find housing --piece P-104 --feature od-a --hole-class H7"
    )]
    Housing(FindMate),
}

#[derive(Debug, Args)]
pub(crate) struct FindMate {
    #[command(flatten)]
    pub(crate) part: Mate,
    #[command(flatten)]
    pub(crate) requirement: Requirement,
    /// The gauge that the size was read with.
    #[arg(long, value_name = "TAG", conflicts_with = "uncertainty", help_heading = "Options")]
    pub(crate) gauge: Option<String>,
    /// Expanded uncertainty (k=2) of the size, instead of a gauge.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) uncertainty: Option<String>,
    /// The least that a bushing's bore closes in when pressed.
    #[arg(long, value_name = "SIZE", requires = "close_in_max", help_heading = "Options")]
    pub(crate) close_in_min: Option<String>,
    /// The most that a bushing's bore closes in when pressed.
    #[arg(long, value_name = "SIZE", requires = "close_in_min", help_heading = "Options")]
    pub(crate) close_in_max: Option<String>,
    /// Most fits shown; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0, help_heading = "Options")]
    pub(crate) fits: i32,
    /// Most near misses shown; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0, help_heading = "Options")]
    pub(crate) misses: i32,
}

/// The part that needs a mate: a size off a gauge, or a measured piece.
#[derive(Debug, Default, Args)]
#[group(required = true, multiple = true)]
#[command(next_help_heading = "MEASURED, one of")]
pub(crate) struct Mate {
    /// A rolling-bearing seat of this size.
    #[arg(long, group = "source", value_name = "SIZE")]
    pub(crate) seat: Option<String>,
    /// A journal of this size.
    #[arg(long, group = "source", value_name = "SIZE")]
    pub(crate) journal: Option<String>,
    /// A shaft extension of this size.
    #[arg(long, group = "source", value_name = "SIZE")]
    pub(crate) extension: Option<String>,
    /// A seal land of this size.
    #[arg(long, group = "source", value_name = "SIZE")]
    pub(crate) seal_land: Option<String>,
    /// A housing bore of this size.
    #[arg(long, group = "source", value_name = "SIZE")]
    pub(crate) housing: Option<String>,
    /// A bearing's or bushing's bore of this size.
    #[arg(long, group = "source", value_name = "SIZE")]
    pub(crate) bore: Option<String>,
    /// A size of another kind of place, which --kind names.
    #[arg(long, group = "source", requires = "kind", value_name = "SIZE")]
    pub(crate) size: Option<String>,
    /// What kind of place --size is.
    #[arg(long, requires = "size", value_parser = words::feature_kind())]
    pub(crate) kind: Option<v1::FeatureKind>,
    /// A measured piece.
    #[arg(long, group = "source", requires = "feature", value_name = "TAG")]
    pub(crate) piece: Option<String>,
    /// The feature of that piece.
    #[arg(long, requires = "piece")]
    pub(crate) feature: Option<String>,
}

/// What the fit must be.
#[derive(Debug, Default, Args)]
#[group(required = true, multiple = true)]
#[command(next_help_heading = "REQUIREMENT, classes or clearance")]
pub(crate) struct Requirement {
    /// The shaft's tolerance class, such as k5.
    #[arg(long, conflicts_with = "clearance")]
    pub(crate) class: Option<String>,
    /// The hole's tolerance class, such as H7.
    #[arg(long, conflicts_with = "clearance")]
    pub(crate) hole_class: Option<String>,
    /// The clearance on diameter as LEAST..MOST and a unit; negative is interference.
    #[arg(long, value_name = "LEAST..MOST", allow_hyphen_values = true)]
    pub(crate) clearance: Option<String>,
}
