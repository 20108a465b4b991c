//! `tenths close-in`, `running-clearance`, `assembly`, `strength`

use super::fit::{BoreKnown, HousingKnown, OdKnown, ShaftKnown};
use crate::words;
use clap::Args;
use tenths_proto::v1;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  tenths close-in --bore 0.7508in --od 1.0022in --od-uncertainty \
    0.0002in --bushing-material porous_bronze --housing-limits 1.0000..1.0005in --housing-od 2in \
    --housing-material cast_iron --explain"
)]
pub(crate) struct CloseIn {
    #[command(flatten)]
    pub(crate) bore: BoreKnown,
    #[command(flatten)]
    pub(crate) od: OdKnown,
    #[command(flatten)]
    pub(crate) housing: HousingKnown,
    /// What the bushing is made of.
    #[arg(long, value_parser = words::material(), help_heading = "Options")]
    pub(crate) bushing_material: v1::Material,
    /// The housing's outside diameter, or twice the distance to the nearest outside.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) housing_od: String,
    /// What the housing is made of.
    #[arg(long, value_parser = words::material(), help_heading = "Options")]
    pub(crate) housing_material: v1::Material,
    /// Show every value behind the answer and where it comes from.
    #[arg(long, help_heading = "Options")]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "The rules disagree; choose the one that the machine's maker or the shop goes \
    by.\n\nExample:\n  tenths running-clearance --journal 0.75in --rule \
    one_thou_and_one_per_inch --explain"
)]
pub(crate) struct RunningClearance {
    /// The journal's diameter.
    #[arg(long, value_name = "SIZE")]
    pub(crate) journal: String,
    /// The rule.
    #[arg(long, value_parser = words::running_rule())]
    pub(crate) rule: v1::RunningRule,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Advice, with its cautions; the maker's data, local rules and qualified people \
    govern.\n\nExample:\n  tenths assembly --bore 24.995mm --bore-uncertainty 3um --shaft 25.008mm \
    --shaft-gauge M-07 --outer-diameter 31mm --length 15mm --inner-material steel \
    --outer-material steel --heated open_bearing --bearing 6205-C3 --explain"
)]
pub(crate) struct Joint {
    #[command(flatten)]
    pub(crate) bore: BoreKnown,
    #[command(flatten)]
    pub(crate) shaft: ShaftKnown,
    /// The bore through the inner part; without it the inner part is solid.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) inner_bore: Option<String>,
    /// The outside diameter of the outer part; of a bearing's inner ring, about its raceway.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) outer_diameter: String,
    /// The length of the joint.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) length: String,
    /// What the inner part is made of.
    #[arg(long, value_parser = words::material(), help_heading = "Options")]
    pub(crate) inner_material: v1::Material,
    /// What the outer part is made of.
    #[arg(long, value_parser = words::material(), help_heading = "Options")]
    pub(crate) outer_material: v1::Material,
    /// What is between them when pressed; without it they are lubricated.
    #[arg(long, value_parser = words::friction(), help_heading = "Options")]
    pub(crate) friction: Option<v1::Friction>,
    /// What is heated, which says how hot it may be.
    #[arg(long, value_parser = words::heated_part(), help_heading = "Options")]
    pub(crate) heated: v1::HeatedPart,
    /// Clearance to move in while hot; without it 0.01 mm.
    #[arg(long, value_name = "SIZE", help_heading = "Options")]
    pub(crate) moving_clearance: Option<String>,
    /// The number of the bearing whose inner ring the outer part is: then the internal clearance
    /// left is worked out too.
    #[arg(long, value_name = "NUMBER", help_heading = "Options")]
    pub(crate) bearing: Option<String>,
    /// What the inner ring's running hotter takes off that clearance besides; without it nothing.
    #[arg(long, value_name = "SIZE", requires = "bearing", help_heading = "Options")]
    pub(crate) hotter_inner: Option<String>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long, help_heading = "Options")]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths strength --power 2hp --rpm 1725 --keyway --shock 2 \
    --diameter 0.75in --explain")]
pub(crate) struct Strength {
    /// The power with its unit, such as 2hp or 1.5kW.
    #[arg(long)]
    pub(crate) power: String,
    /// Turns per minute.
    #[arg(long)]
    pub(crate) rpm: String,
    /// There is a keyway at the place.
    #[arg(long)]
    pub(crate) keyway: bool,
    /// Shock factor on torque; without it 1.
    #[arg(long, value_name = "FACTOR")]
    pub(crate) shock: Option<String>,
    /// The shaft's diameter, to be told its stress.
    #[arg(long, value_name = "SIZE")]
    pub(crate) diameter: Option<String>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long)]
    pub(crate) explain: bool,
}
