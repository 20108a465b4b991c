//! `tenths limits`, `inch-fit`, `bearing`, `seat`, `extension`, `key`, `retaining-ring`

use crate::words;
use clap::{ArgGroup, Args};
use std::path::PathBuf;
use tenths_proto::v1;

#[derive(Debug, Args)]
#[command(
    after_help = "A file names its columns in the first line, in any order: size, unit, class. \
    Every row is answered, in CSV on standard output, or with --output json in one array: lower \
    and upper are deviations in micrometres, lower_limit and upper_limit are sizes in millimetres, \
    all exact. A row that cannot be answered says why under problem, and the exit code is 3.\n\n\
    Example:\n  tenths limits --size 25mm --class k5 --explain\n  tenths limits --from sizes.csv",
    group = ArgGroup::new("asked").args(["size", "from"]).required(true)
)]
pub(crate) struct Limits {
    /// The nominal size.
    #[arg(long, requires = "class")]
    pub(crate) size: Option<String>,
    /// The ISO 286 tolerance class, such as k5 or H7.
    #[arg(long, requires = "size")]
    pub(crate) class: Option<String>,
    /// A CSV file of sizes and classes; - reads standard input.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["class", "explain"])]
    pub(crate) from: Option<PathBuf>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths inch-fit --size 1in --class RC4 --explain")]
pub(crate) struct InchFit {
    /// The nominal size.
    #[arg(long)]
    pub(crate) size: String,
    /// The class of fit, such as RC4, LC5, LT2, LN2 or FN2.
    #[arg(long)]
    pub(crate) class: String,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "A file names its columns in the first line, in any order: designation, and \
    ring_class if it is not normal. Every row is answered in CSV: sizes in millimetres, exact. A \
    row that cannot be answered says why under problem, and the exit code is 3.\n\n\
    Example:\n  tenths bearing 6205 --explain\n  tenths bearing --bore 25mm --od 52mm\n  \
    tenths bearing --from bearings.csv",
    group = ArgGroup::new("asked").args(["designation", "bore", "from"]).required(true)
)]
pub(crate) struct Bearing {
    /// The number, such as 6205 or 6205-2RS C3.
    pub(crate) designation: Vec<String>,
    /// The ISO 492 class of its rings: normal, 6, 5, 4 or 2.
    #[arg(long, requires = "designation", conflicts_with_all = ["bore", "from"])]
    pub(crate) ring_class: Option<String>,
    /// The bore of the bearings sought.
    #[arg(long, value_name = "SIZE")]
    pub(crate) bore: Option<String>,
    /// Their outside diameter.
    #[arg(long, value_name = "SIZE", conflicts_with_all = ["designation", "from"])]
    pub(crate) od: Option<String>,
    /// Their width.
    #[arg(long, value_name = "SIZE", conflicts_with_all = ["designation", "from"])]
    pub(crate) width: Option<String>,
    /// How far each size may be off; without it not at all, in inches by half of the last place, half
    /// a thou at most.
    #[arg(long, value_name = "SIZE", conflicts_with_all = ["designation", "from"])]
    pub(crate) within: Option<String>,
    /// A CSV file of numbers; - reads standard input.
    #[arg(long, value_name = "FILE", conflicts_with = "explain")]
    pub(crate) from: Option<PathBuf>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  tenths seat --size 30mm --shaft --rotation inner_rotates --load \
    normal --machine motor --explain",
    group = ArgGroup::new("place").args(["shaft", "housing"]).required(true)
)]
pub(crate) struct Seat {
    /// The bearing's bore for a shaft, its outside diameter for a housing.
    #[arg(long)]
    pub(crate) size: String,
    /// The seat is on a shaft.
    #[arg(long)]
    pub(crate) shaft: bool,
    /// The seat is in a housing.
    #[arg(long)]
    pub(crate) housing: bool,
    /// Which ring turns relative to the direction of the load.
    #[arg(long, value_parser = words::ring_rotation())]
    pub(crate) rotation: v1::RingRotation,
    /// How heavy the load is.
    #[arg(long, value_parser = words::load_class())]
    pub(crate) load: v1::LoadClass,
    /// The kind of machine, where a practice of its own exists for it.
    #[arg(long, value_parser = words::machine())]
    pub(crate) machine: Option<v1::Machine>,
    /// The ISO 492 class of the bearing: normal, 6, 5, 4 or 2.
    #[arg(long)]
    pub(crate) ring_class: Option<String>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths extension --size 1.125in --standard nema --explain")]
pub(crate) struct Extension {
    /// The nominal diameter.
    #[arg(long)]
    pub(crate) size: String,
    /// Whose standard.
    #[arg(long, value_parser = words::extension_standard())]
    pub(crate) standard: v1::ExtensionStandard,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "A file names its columns in the first line, in any order: shaft, unit, and \
    standard and fit if they do not follow from the unit. Every row is answered in CSV: sizes in \
    millimetres, exact. A row that cannot be answered says why under problem, and the exit code is \
    3.\n\nExample:\n  tenths key --shaft 25mm --standard iso_773 --fit normal --explain\n  \
    tenths key --shaft 1in --keyseat 0.2515in\n  tenths key --from keys.csv",
    group = ArgGroup::new("asked").args(["shaft", "from"]).required(true)
)]
pub(crate) struct KeyFor {
    /// The shaft's diameter.
    #[arg(long, value_name = "SIZE")]
    pub(crate) shaft: Option<String>,
    /// The widest reading of a keyseat, to be told what it calls for.
    #[arg(long, value_name = "SIZE", conflicts_with = "from")]
    pub(crate) keyseat: Option<String>,
    /// The standard of the key; without it by the unit of the shaft.
    #[arg(long, value_parser = words::key_standard(), conflicts_with = "from")]
    pub(crate) standard: Option<v1::KeyStandard>,
    /// The fit in the shaft's keyseat; without it class 1 for inch keys, normal for metric ones.
    #[arg(long, value_parser = words::keyseat_fit(), conflicts_with = "from")]
    pub(crate) fit: Option<v1::KeyseatFit>,
    /// A CSV file of shafts; - reads standard input.
    #[arg(long, value_name = "FILE", conflicts_with = "explain")]
    pub(crate) from: Option<PathBuf>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths retaining-ring --size 25mm --on shaft --explain")]
pub(crate) struct RetainingRing {
    /// The nominal size of the shaft or bore.
    #[arg(long)]
    pub(crate) size: String,
    /// Whether the ring sits on a shaft or in a bore.
    #[arg(long, value_parser = words::ring_kind())]
    pub(crate) on: v1::RingKind,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}
