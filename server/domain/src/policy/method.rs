//! The methods of building a worn place up, and where each may be used.

use super::{FeatureUse, Hrc};
use crate::money::Money;
use crate::named::named_enum;
use crate::route::OperationKind;
use crate::units::Length;

named_enum! {
    /// How a worn place is brought back to a larger diameter (a bore to a smaller one).
    BuildMethod, "method of building up" {
        /// Hard chrome plating in a tank.
        HardChrome = "hard_chrome",
        /// Selective plating with a brush.
        SelectivePlating = "selective_plating",
        /// Thermal spraying.
        ThermalSpray = "thermal_spray",
        /// Welding.
        Weld = "weld",
        /// A sleeve, shrunk or pressed.
        Sleeve = "sleeve",
    }
}

impl BuildMethod {
    /// The operation that puts the layer on, or the sleeve.
    pub const fn operation(self) -> OperationKind {
        match self {
            BuildMethod::HardChrome | BuildMethod::SelectivePlating => OperationKind::Plate,
            BuildMethod::ThermalSpray => OperationKind::Spray,
            BuildMethod::Weld => OperationKind::Weld,
            BuildMethod::Sleeve => OperationKind::FitSleeve,
        }
    }
}

named_enum! {
    /// Where work is done.
    Site, "site" {
        /// In the shop.
        InHouse = "in_house",
        /// At an outside vendor.
        Vendor = "vendor",
    }
}

named_enum! {
    /// An end of a shaft.
    ShaftEnd, "end of a shaft" {
        /// The end that drives: the torque passes there.
        Drive = "drive",
        /// The other end.
        OppositeDrive = "opposite_drive",
    }
}

/// When and how a plated part is baked, against hydrogen cracking.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BakeRule {
    /// At this hardness and above it is baked.
    pub from: Hrc,
    /// The shortest bake, in hours.
    pub hours_min: u32,
    /// The longest, in hours.
    pub hours_max: u32,
    /// The lowest temperature, in degrees Celsius.
    pub celsius_min: i32,
    /// The highest, in degrees Celsius.
    pub celsius_max: i32,
    /// How soon after plating it starts, in hours.
    pub start_within_hours: u32,
    /// Where the rule is from.
    pub note: String,
}

/// What the shop allows of a method. Thicknesses are finished and PER SIDE (radial); of a sleeve
/// they are its wall.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MethodPolicy {
    /// The method.
    pub method: BuildMethod,
    /// The least finished thickness per side; a part worn less is undercut until it takes that.
    pub per_side_min: Length,
    /// The greatest finished thickness per side; nothing is no limit.
    pub per_side_max: Option<Length>,
    /// What is built up beyond the finished size, to be ground off again, per side.
    pub over_build_per_side: Length,
    /// The uses that it is allowed on.
    pub features: Vec<FeatureUse>,
    /// The ends of a shaft that it is allowed on; empty is either.
    pub ends: Vec<ShaftEnd>,
    /// Whether it is allowed where a keyway runs through the place.
    pub allows_keyway: bool,
    /// The hardest part that it is allowed on; nothing is no limit.
    pub hardness_max: Option<Hrc>,
    /// When the part is baked after it; nothing is never.
    pub bake: Option<BakeRule>,
    /// Where it is done.
    pub site: Site,
    /// The vendor's location, if one is settled.
    pub vendor: Option<String>,
    /// The cost of one place, baking included; nothing is not set.
    pub cost: Option<Money>,
    /// The days from sending to having it back (or in the shop, to being done); nothing is not set.
    pub lead_time_days: Option<u32>,
    /// Where the figures are from.
    pub note: String,
}
