//! `tenths find ...`

use crate::entry::{lists, times};
use crate::words;
use clap::{Args, Subcommand};
use prost_types::Timestamp;
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum FindCommand {
    /// Rolling bearings for a shaft seat, a housing bore, or both.
    #[command(
        override_usage = "tenths find bearing MEASURED [REQUIREMENT] [OPTIONS]",
        after_help = "Without a requirement the class is taken that published practice recommends \
        for the duty: a motor, unless --machine, --rotation or --load says otherwise.\n\nExample:\n  \
        tenths find bearing --seat 0.9845in --housing 52.008mm --gauge M-07"
    )]
    Bearing(Box<FindMate>),
    /// Bushings for a journal, a housing bore, or both.
    #[command(
        override_usage = "tenths find bushing MEASURED [REQUIREMENT] [OPTIONS]",
        after_help = "With --housing the bushing is judged as pressed: its bore closes in.\n\n\
        Example:\n  tenths find bushing --journal 0.7485in --housing 0.8745in --clearance \
        0.0011..0.0023in --housing-material steel"
    )]
    Bushing(Box<FindMate>),
    /// Shafts for a bearing's or bushing's bore.
    #[command(
        override_usage = "tenths find shaft MEASURED [REQUIREMENT] [OPTIONS]",
        after_help = "Example:\n  tenths find shaft --bore 25.002mm --clearance=-0.02..0.0mm"
    )]
    Shaft(Box<FindMate>),
    /// Housings for a measured part.
    #[command(
        override_usage = "tenths find housing MEASURED [REQUIREMENT] [OPTIONS]",
        after_help = "Example:\n  tenths find housing --piece P-104 --feature od-a --hole-class H7 --all"
    )]
    Housing(Box<FindMate>),
    /// Anything by its sizes.
    #[command(
        after_help = "A window is LEAST..MOST and a unit; either end may be left out. At least one \
        window needs both ends.\n\nExample:\n  tenths find size --bore 24.9..25.1mm --width ..20mm"
    )]
    Size(Box<FindSize>),
    /// What may stand in for an item of the catalogue or a bearing's number.
    #[command(after_help = "Example:\n  tenths find replacement 6205-2RS --machine motor")]
    Replacement(Box<FindReplacement>),
    /// How far what is searched lags behind the shop.
    #[command(after_help = "Example:\n  tenths find status")]
    Status,
}

#[derive(Debug, Args)]
pub(crate) struct FindMate {
    #[command(flatten)]
    pub(crate) part: Mate,
    #[command(flatten)]
    pub(crate) requirement: Requirement,
    #[command(flatten)]
    pub(crate) duty: Duty,
    /// The gauge that the size was read with.
    #[arg(long, value_name = "TAG", conflicts_with = "uncertainty", help_heading = "Options")]
    pub(crate) gauge: Option<String>,
    /// Expanded uncertainty (k=2) of the size, instead of a gauge.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) uncertainty: Option<String>,
    /// The gauge that --housing was read with; without one, as --gauge or --uncertainty say.
    #[arg(long, value_name = "TAG", requires = "housing", help_heading = "Options")]
    pub(crate) housing_gauge: Option<String>,
    /// The temperature of the part when it was measured, such as 24C or 75F.
    #[arg(long, value_name = "TEMPERATURE", help_heading = "Options")]
    pub(crate) temperature: Option<String>,
    /// The temperature of the housing when it was measured.
    #[arg(long, value_name = "TEMPERATURE", requires = "housing", help_heading = "Options")]
    pub(crate) housing_temperature: Option<String>,
    /// What the housing is made of.
    #[arg(long, value_parser = words::material(), requires = "housing", help_heading = "Options")]
    pub(crate) housing_material: Option<v1::Material>,
    /// The outside diameter of the housing, for a bushing; else twice its bore is taken.
    #[arg(long, value_name = "SIZE", requires = "housing", help_heading = "Options")]
    pub(crate) housing_od: Option<String>,
    /// The least that a bushing's bore closes in when pressed.
    #[arg(long, value_name = "SIZE", requires = "close_in_max", help_heading = "Options")]
    pub(crate) close_in_min: Option<String>,
    /// The most that a bushing's bore closes in when pressed.
    #[arg(long, value_name = "SIZE", requires = "close_in_min", help_heading = "Options")]
    pub(crate) close_in_max: Option<String>,
    /// Most near misses shown; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0, help_heading = "Options")]
    pub(crate) misses: i32,
    /// Everything that fits, not only the first page.
    #[arg(long, conflicts_with_all = ["fits", "page_token"], help_heading = "Options")]
    pub(crate) all: bool,
    /// Show the values behind this row, by its number.
    #[arg(long, value_name = "ROW", help_heading = "Options")]
    pub(crate) explain: Option<i32>,
    /// Most fits shown; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0, help_heading = "Options")]
    pub(crate) fits: i32,
    /// Go on from here: the token that the page before ended with.
    #[arg(long, value_name = "TOKEN", default_value = "", help_heading = "Options")]
    pub(crate) page_token: String,
    #[command(flatten)]
    pub(crate) filter: Filter,
}

/// The part that needs a mate: a size off a gauge, or a measured piece.
#[derive(Debug, Default, Args)]
#[group(required = true, multiple = true)]
#[command(next_help_heading = "MEASURED, one of; a shaft's place also together with --housing")]
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
    #[arg(long, value_name = "SIZE")]
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
#[group(multiple = true)]
#[command(next_help_heading = "REQUIREMENT, classes or clearance; else as the trade takes it")]
pub(crate) struct Requirement {
    /// The shaft's tolerance class, such as k5.
    #[arg(long, conflicts_with = "clearance")]
    pub(crate) class: Option<String>,
    /// The hole's tolerance class, such as H7; with both ends measured, that of the housing.
    #[arg(long)]
    pub(crate) hole_class: Option<String>,
    /// The clearance on diameter as LEAST..MOST and a unit; negative is interference.
    #[arg(long, value_name = "LEAST..MOST", allow_hyphen_values = true)]
    pub(crate) clearance: Option<String>,
    /// With both ends measured: the clearance in the housing; negative is interference.
    #[arg(
        long,
        value_name = "LEAST..MOST",
        allow_hyphen_values = true,
        conflicts_with = "hole_class",
        requires = "housing"
    )]
    pub(crate) housing_clearance: Option<String>,
}

/// What a rolling bearing's seats have to do, where no class says what they must be.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Duty of a rolling bearing, where no class is given")]
pub(crate) struct Duty {
    /// What it works in; else a motor.
    #[arg(long, value_parser = words::machine())]
    pub(crate) machine: Option<v1::Machine>,
    /// Which ring turns relative to the load; else the inner one.
    #[arg(long, value_parser = words::ring_rotation())]
    pub(crate) rotation: Option<v1::RingRotation>,
    /// How heavy the load is; else normal.
    #[arg(long, value_parser = words::load_class())]
    pub(crate) load: Option<v1::LoadClass>,
}

/// What is looked at.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Look only at")]
pub(crate) struct Filter {
    /// These conditions: new, used, reconditioned.
    #[arg(long, value_delimiter = ',', value_parser = words::piece_condition())]
    pub(crate) condition: Vec<v1::PieceCondition>,
    /// These locations.
    #[arg(long = "at", value_delimiter = ',', value_name = "LOCATION")]
    pub(crate) locations: Vec<String>,
    /// These materials.
    #[arg(long, value_delimiter = ',', value_parser = words::material())]
    pub(crate) material: Vec<v1::Material>,
    /// Rolling bearings of these clearance groups, such as C3.
    #[arg(long = "group", value_delimiter = ',', value_name = "GROUP")]
    pub(crate) groups: Vec<String>,
    /// Rolling bearings closed like these: open, shield_both_sides, seal_both_sides, ...
    #[arg(long = "closure", value_delimiter = ',', value_name = "CLOSURE")]
    pub(crate) closures: Vec<String>,
    /// What costs no more, such as "12.50 USD".
    #[arg(long, value_name = "AMOUNT", value_parser = lists::money)]
    pub(crate) price_max: Option<v1::Money>,
    /// What is free.
    #[arg(long)]
    pub(crate) free: bool,
    /// Look at holds at this time, not now.
    #[arg(long, value_name = "TIME", value_parser = times::time)]
    pub(crate) available_at: Option<Timestamp>,
}

#[derive(Debug, Args)]
pub(crate) struct FindSize {
    /// Parts of this kind only.
    #[arg(long = "item", value_parser = words::item_kind())]
    pub(crate) item: Option<v1::ItemKind>,
    #[command(flatten)]
    pub(crate) windows: Windows,
    /// Most rows shown; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0)]
    pub(crate) rows: i32,
    /// Every row, page after page.
    #[arg(long, conflicts_with = "page_token")]
    pub(crate) all: bool,
    /// Go on from here: the token that the page before ended with.
    #[arg(long, value_name = "TOKEN", default_value = "")]
    pub(crate) page_token: String,
    #[command(flatten)]
    pub(crate) filter: Filter,
}

/// Windows of sizes.
#[derive(Debug, Default, Args)]
#[group(required = true, multiple = true)]
#[command(next_help_heading = "Windows, all of which must be met")]
pub(crate) struct Windows {
    /// The bore.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) bore: Option<String>,
    /// The outside diameter.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) od: Option<String>,
    /// The width or length.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) width: Option<String>,
    /// A rolling-bearing seat.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) seat: Option<String>,
    /// A journal.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) journal: Option<String>,
    /// A shaft extension.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) extension: Option<String>,
    /// A seal land.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) seal_land: Option<String>,
    /// A housing bore.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) housing: Option<String>,
    /// A keyseat.
    #[arg(long, value_name = "LEAST..MOST")]
    pub(crate) keyseat: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct FindReplacement {
    /// An item's code, or a bearing's number such as 6205-2RS.
    pub(crate) wanted: String,
    /// What it works in; else any machine.
    #[arg(long, value_parser = words::machine())]
    pub(crate) machine: Option<v1::Machine>,
    /// Most rows shown; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0)]
    pub(crate) rows: i32,
    /// Every row, page after page.
    #[arg(long, conflicts_with = "page_token")]
    pub(crate) all: bool,
    /// Go on from here: the token that the page before ended with.
    #[arg(long, value_name = "TOKEN", default_value = "")]
    pub(crate) page_token: String,
    #[command(flatten)]
    pub(crate) filter: Filter,
}
