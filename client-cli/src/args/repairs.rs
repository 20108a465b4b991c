//! `tenths recon propose ...` and `tenths recon decide ...`: what is known of a worn feature beside its readings.

use crate::entry::{lists, times};
use crate::words;
use clap::Args;
use prost_types::Timestamp;
use tenths_proto::v1;

#[derive(Debug, Args)]
pub(crate) struct ReconPropose {
    #[command(flatten)]
    pub(crate) place: WornPlace,
    /// Show only this option, with its operations; its name as the list shows it.
    #[arg(long, value_name = "REPAIR")]
    pub(crate) option: Option<String>,
}

/// `recon decide`
#[derive(Debug, Args)]
pub(crate) struct ReconDecide {
    #[command(flatten)]
    pub(crate) place: WornPlace,
    /// The option, by its name as `recon propose` shows it.
    #[arg(long)]
    pub(crate) repair: String,
    /// Why; needed unless it is the first of the ranking.
    #[arg(long, default_value = "")]
    pub(crate) reason: String,
    /// The reason code, to scrap or to replace [default: the proposal's, if it has one].
    #[arg(long, value_name = "REASON", value_parser = words::scrap_reason())]
    pub(crate) scrap_reason: Option<v1::ScrapReason>,
    /// When the job is due.
    #[arg(long, value_parser = times::time, help = format!("When the job is due: {}", times::HELP))]
    pub(crate) due: Option<Timestamp>,
    /// The rack that the piece waits on, or its place in stock.
    #[arg(long, default_value = "")]
    pub(crate) at: String,
    /// The rebuild that waits for the piece: its value puts the job forward in the plan.
    #[arg(long, default_value = "")]
    pub(crate) rebuild: String,
    /// The piece's etag as proposed on; refused if it was changed since.
    #[arg(long, default_value = "")]
    pub(crate) etag: String,
    /// The version of the policy as proposed on; refused if another is in force.
    #[arg(long, value_name = "VERSION")]
    pub(crate) policy_version: Option<u32>,
}

/// A worn feature and what is known of it.
#[derive(Debug, Args)]
pub(crate) struct WornPlace {
    /// The piece.
    pub(crate) piece: String,
    /// The feature; it must be measured.
    #[arg(long)]
    pub(crate) feature: String,
    /// The station that does not wear, where the item names none.
    #[arg(long, value_name = "STATION")]
    pub(crate) reference: Option<String>,
    /// What it is used for, where the kind alone does not say.
    #[arg(long = "use", value_name = "USE", value_parser = words::feature_use())]
    pub(crate) used_as: Option<v1::FeatureUse>,
    /// Run-out on the part's centres, as total indicator reading.
    #[arg(long, value_name = "SIZE", help_heading = "Condition")]
    pub(crate) run_out: Option<String>,
    /// The deepest score or pit, PER SIDE.
    #[arg(long, value_name = "SIZE", help_heading = "Condition")]
    pub(crate) score_depth: Option<String>,
    /// Rockwell C hardness [default: the piece's own].
    #[arg(long, value_name = "HRC", help_heading = "Condition")]
    pub(crate) hardness: Option<String>,
    /// Which end of the shaft it is at.
    #[arg(long, value_parser = words::shaft_end(), help_heading = "Condition")]
    pub(crate) end: Option<v1::ShaftEnd>,
    /// A keyway or thread runs through the place.
    #[arg(long, help_heading = "Condition")]
    pub(crate) keyway_through: bool,
    /// A person has condemned the part, for this reason.
    #[arg(long, value_name = "REASON", value_parser = words::scrap_reason(), help_heading = "Condition")]
    pub(crate) condemned: Option<v1::ScrapReason>,
    #[command(flatten)]
    pub(crate) load: ShaftLoad,
    #[command(flatten)]
    pub(crate) limits: WornLimits,
    #[command(flatten)]
    pub(crate) other: OtherPart,
}

/// What the shaft must bear there.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Load of the shaft")]
pub(crate) struct ShaftLoad {
    /// The torque with its unit, such as 12n_m or 110lb_in.
    #[arg(long, conflicts_with = "power")]
    pub(crate) torque: Option<String>,
    /// The power with its unit, such as 2hp or 1.5kW.
    #[arg(long, requires = "rpm")]
    pub(crate) power: Option<String>,
    /// Turns per minute.
    #[arg(long, requires = "power")]
    pub(crate) rpm: Option<String>,
    /// The bending moment, in the unit of --torque (n_m with --power).
    #[arg(long, value_name = "NUMBER")]
    pub(crate) bending: Option<String>,
    /// Shock factor on torque; without it 1.
    #[arg(long, value_name = "FACTOR")]
    pub(crate) shock: Option<String>,
    /// Shock factor on bending; without it 1.5.
    #[arg(long, value_name = "FACTOR")]
    pub(crate) shock_bending: Option<String>,
    /// Yield strength of the steel in MPa; without it commercial shafting is taken.
    #[arg(long, value_name = "MPA", requires = "tensile")]
    pub(crate) yield_strength: Option<String>,
    /// Tensile strength of the steel in MPa.
    #[arg(long, value_name = "MPA", requires = "yield_strength")]
    pub(crate) tensile: Option<String>,
    /// The shaft code's lower stress for a keyway governs there.
    #[arg(long)]
    pub(crate) keyed: bool,
    /// The width of a keyway there.
    #[arg(long, value_name = "SIZE", requires = "keyway_depth")]
    pub(crate) keyway_width: Option<String>,
    /// The depth of that keyway in the shaft.
    #[arg(long, value_name = "SIZE", requires = "keyway_width")]
    pub(crate) keyway_depth: Option<String>,
}

/// What limits how far it may be cut.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Limits")]
pub(crate) struct WornLimits {
    /// The depth of a hardened case, PER SIDE.
    #[arg(long, value_name = "SIZE")]
    pub(crate) case_depth: Option<String>,
    /// How much of the case must be left, PER SIDE.
    #[arg(long, value_name = "SIZE", requires = "case_depth")]
    pub(crate) case_left: Option<String>,
    /// The smallest diameter that still supports shoulder and fillet.
    #[arg(long, value_name = "SIZE")]
    pub(crate) shoulder_min: Option<String>,
    /// The size below which an earlier layer is ground through.
    #[arg(long, value_name = "SIZE")]
    pub(crate) plating_min: Option<String>,
    /// The smallest diameter that the maker states.
    #[arg(long, value_name = "SIZE")]
    pub(crate) stated_min: Option<String>,
    /// The largest that a bore may be opened to.
    #[arg(long, value_name = "SIZE")]
    pub(crate) bore_max: Option<String>,
    /// The next wider key, for a keyseat.
    #[arg(long, value_name = "SIZE")]
    pub(crate) next_key: Option<String>,
    /// Which undersize steps it is ground to [default: by the unit of the item].
    #[arg(long, value_parser = words::step_system())]
    pub(crate) steps: Option<v1::StepSystem>,
}

/// Another part in its place, and the part that it mates with.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "Replacement and mate")]
pub(crate) struct OtherPart {
    /// Another part can be had, at a cost that is not known.
    #[arg(long, conflicts_with = "replacement_cost")]
    pub(crate) replaceable: bool,
    /// What another part costs, such as "410.00 USD".
    #[arg(long, value_name = "AMOUNT", value_parser = lists::money)]
    pub(crate) replacement_cost: Option<v1::Money>,
    /// Days until another part is in the shop.
    #[arg(long, value_name = "DAYS")]
    pub(crate) replacement_days: Option<i32>,
    /// The clearance of its mate as LEAST..MOST and a unit, to count the mates in stock.
    #[arg(long, value_name = "LEAST..MOST", allow_hyphen_values = true)]
    pub(crate) mate_clearance: Option<String>,
    /// The running-clearance rule of its mate, with --mate-tolerance.
    #[arg(long, value_parser = words::running_rule(), requires = "mate_tolerance",
          conflicts_with = "mate_clearance")]
    pub(crate) mate_running: Option<v1::RunningRule>,
    /// How much more clearance than the rule's is still right.
    #[arg(long, value_name = "SIZE", requires = "mate_running")]
    pub(crate) mate_tolerance: Option<String>,
    /// The least that a bushing's bore closes in when pressed.
    #[arg(long, value_name = "SIZE", requires = "close_in_max")]
    pub(crate) close_in_min: Option<String>,
    /// The most that a bushing's bore closes in when pressed.
    #[arg(long, value_name = "SIZE", requires = "close_in_min")]
    pub(crate) close_in_max: Option<String>,
}
