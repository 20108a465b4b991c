//! What an item says of itself, as far as it matters for replacing it.

use tenths_domain::bearings::designation::{self, Designation};
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::item::{FeatureKind, ItemKind, Tolerance};
use tenths_domain::substitution::{BearingTraits, BushingSize, SetSize};
use tenths_storage::{Item, ItemFeature};

fn place(item: &Item, kind: FeatureKind) -> Option<&ItemFeature> {
    item.features.iter().find(|feature| feature.feature.kind == kind)
}

/// What matters for replacing a rolling bearing; nothing if it is none, or its number cannot be
/// read.
pub(super) fn bearing_of(item: &Item) -> Option<BearingTraits> {
    if item.kind != ItemKind::RollingBearing {
        return None;
    }
    let designation = designation::parse(&item.designation).ok()?;
    let precision = match place(item, FeatureKind::Bore).map(|bore| &bore.feature.tolerance) {
        Some(Tolerance::Iso492(class)) => Some(*class),
        _ => None,
    };
    Some(BearingTraits {
        precision,
        set: item.set,
        no_substitute: item.no_substitute,
        ..traits_of(&designation)
    })
}

/// The nominal sizes of a bushing; nothing if it is none, or without bore or outside diameter.
pub(super) fn bushing_of(item: &Item) -> Option<BushingSize> {
    if item.kind != ItemKind::Bushing {
        return None;
    }
    let nominal = |kind| place(item, kind).map(|place| place.feature.nominal);
    Some(BushingSize {
        bore: nominal(FeatureKind::Bore)?,
        outside_diameter: nominal(FeatureKind::OutsideDiameter)?,
        length: nominal(FeatureKind::Width),
    })
}

/// What a number alone says of a rolling bearing: Normal class, no matched set.
pub(super) fn traits_of(designation: &Designation) -> BearingTraits {
    BearingTraits {
        dimensions: designation.dimensions,
        clearance: designation.clearance,
        closure: designation.closure,
        precision: Some(ToleranceClass::Normal),
        set: SetSize::ONE,
        no_substitute: false,
        other: designation.uninterpreted.clone(),
    }
}
