//! What the catalogue says of an item: its kind, and its features with nominal size and limits.

use crate::bearings::iso492;
use crate::iso286;
use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// The kinds of item that the shop keeps.
    ItemKind, "kind of item" {
        /// A shaft.
        Shaft = "shaft",
        /// A rolling bearing.
        RollingBearing = "rolling_bearing",
        /// A plain bushing.
        Bushing = "bushing",
        /// A housing or end bell.
        Housing = "housing",
        /// A key.
        Key = "key",
        /// A retaining ring.
        RetainingRing = "retaining_ring",
        /// A shaft seal.
        Seal = "seal",
        /// A washer.
        Washer = "washer",
        /// Anything else.
        Other = "other",
    }
}

named_enum! {
    /// The kinds of measurable place on a part.
    FeatureKind, "kind of feature" {
        /// A journal that a bushing, sleeve or disc slides on: its mate adjusts.
        Journal = "journal",
        /// A seat for the inner ring of a rolling bearing: never ground undersize.
        RollingSeat = "rolling_seat",
        /// A bore that takes a bearing's or bushing's outside diameter.
        HousingBore = "housing_bore",
        /// The bore of a bearing or bushing.
        Bore = "bore",
        /// The outside diameter of a bearing, bushing or seal.
        OutsideDiameter = "outside_diameter",
        /// A width or length along the axis.
        Width = "width",
        /// The width of a keyseat.
        Keyseat = "keyseat",
        /// The land that a seal lip runs on.
        SealLand = "seal_land",
        /// A shaft extension that takes a coupling, pulley or impeller.
        ShaftExtension = "shaft_extension",
    }
}

/// Which way a feature wears, and which side of a fit it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// A shaft-like feature: wear makes it smaller.
    External,
    /// A bore-like feature: wear makes it larger.
    Internal,
}

impl FeatureKind {
    /// The side of this feature in a fit. A width is taken as external, a keyseat as internal.
    pub const fn side(self) -> Side {
        match self {
            FeatureKind::Journal
            | FeatureKind::RollingSeat
            | FeatureKind::OutsideDiameter
            | FeatureKind::Width
            | FeatureKind::SealLand
            | FeatureKind::ShaftExtension => Side::External,
            FeatureKind::HousingBore | FeatureKind::Bore | FeatureKind::Keyseat => Side::Internal,
        }
    }
}

/// The smallest and the largest size allowed, both inclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Limits {
    /// Smallest size allowed.
    pub lower: Length,
    /// Largest size allowed.
    pub upper: Length,
}

/// How the limits of a feature's size are given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tolerance {
    /// No limits are known.
    None,
    /// An ISO 286 tolerance class such as `k5` or `H7`.
    Class(iso286::Class),
    /// The mean bore or outside diameter of an ISO 492 radial bearing ring.
    Iso492(iso492::ToleranceClass),
    /// Explicit limits of size.
    Explicit(Limits),
}

/// A measurable place on an item, with what the shop accepts there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feature {
    /// The name of the place, unique on the item, for example `seat-a`.
    pub name: String,
    /// What kind of place it is.
    pub kind: FeatureKind,
    /// The nominal (basic) size.
    pub nominal: Length,
    /// The limits of size.
    pub tolerance: Tolerance,
    /// The most wear that the shop accepts, on diameter.
    pub wear_limit: Option<Length>,
    /// The size past which reconditioning is not worth starting: smallest for an external feature,
    /// largest for an internal one.
    pub recondition_limit: Option<Length>,
    /// The most out-of-round accepted, as the difference of two diameters at one station.
    pub out_of_round_limit: Option<Length>,
    /// The most taper accepted, as the difference of two diameters along the axis.
    pub taper_limit: Option<Length>,
    /// The station that does not wear, if the item has one by design.
    pub reference_station: Option<String>,
    /// Where the limits come from, in the shop's words.
    pub limit_source: String,
}
