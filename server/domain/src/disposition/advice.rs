//! What the trade does about a feature that is beyond its limits.
//!
//! All of it is common practice with no published source, unless a line names one.

use super::{Criterion, Finding};
use crate::item::{Feature, FeatureKind, Side, Tolerance};

/// Whether a part that is beyond there is replaced rather than reconditioned: the ring of a rolling
/// bearing, and an outside diameter that is worn.
pub(super) fn is_replaced(feature: &Feature, side: Side, beyond: &[Finding]) -> bool {
    let is_ring = matches!(feature.tolerance, Tolerance::Iso492(_));
    let is_worn_outside =
        feature.kind == FeatureKind::OutsideDiameter && !has_metal_to_spare(side, beyond);
    is_ring || is_worn_outside
}

/// The trade's answer to what was found beyond.
pub(super) fn beyond(feature: &Feature, side: Side, beyond: &[Finding]) -> &'static str {
    if matches!(feature.tolerance, Tolerance::Iso492(_)) {
        return "the ring of a rolling bearing is replaced with its bearing, never reworked";
    }
    if has_metal_to_spare(side, beyond) {
        return metal_to_spare(feature.kind);
    }
    match feature.kind {
        FeatureKind::Journal => {
            "may be ground to an undersize step with a bushing made to suit; new bushings alone do \
             not cure a worn spot"
        }
        FeatureKind::RollingSeat => {
            "built back to nominal, sleeved or replaced; never ground undersize"
        }
        FeatureKind::HousingBore => {
            "sleeved or built back to nominal; bored larger only for a bushing made to suit"
        }
        FeatureKind::Bore => {
            "a bushing is replaced, or opened to suit its shaft unless it is porous oil-filled \
             bronze, which is never reamed"
        }
        FeatureKind::OutsideDiameter => "a worn outside diameter is replaced with its part",
        FeatureKind::Width => "faced and shimmed, or replaced",
        FeatureKind::Keyseat => "fitted with a stepped key, recut to the next width, or replaced",
        FeatureKind::SealLand => {
            "may be ground to an undersize step, sleeved, or the seal moved to an unworn band"
        }
        FeatureKind::ShaftExtension => {
            "built back to nominal or sleeved, or its hub sleeved to suit"
        }
    }
}

/// Whether everything beyond is size on the side that metal can be taken from: a shaft too large,
/// a bore too small.
fn has_metal_to_spare(side: Side, beyond: &[Finding]) -> bool {
    let spare = match side {
        Side::External => Criterion::LargestSize,
        Side::Internal => Criterion::SmallestSize,
    };
    !beyond.is_empty() && beyond.iter().all(|found| found.criterion == spare)
}

const fn metal_to_spare(kind: FeatureKind) -> &'static str {
    match kind {
        FeatureKind::RollingSeat => "has metal to spare: may be ground to its limits, never below",
        FeatureKind::Bore => {
            "has metal to spare: may be opened to its limits unless it is porous oil-filled bronze, \
             which is never reamed"
        }
        _ => "has metal to spare: may be finished to its limits",
    }
}
