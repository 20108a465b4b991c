//! How far a clearance is from its window, and the cheapest act of the trade that closes the gap.
//!
//! What the trade allows (common practice, no published source, except where named):
//! - a seat for a rolling bearing is never ground undersize, and neither is a journal that takes
//!   one: bearings come in fixed bores. It is built up or sleeved;
//! - a journal for a bushing and a seal land may be ground to an undersize step;
//! - a bushing of solid metal may be honed or reamed; a porous one never (its pores close:
//!   US Army TM 9-6115-604-34), and one of unknown material is taken as porous;
//! - a housing bore may be honed, bored or sleeved;
//! - the rings of a rolling bearing are never worked on.
//!
//! Cheapest first, by bench time: choose by measuring, hone, ream, grind, build up, sleeve.

use super::{MissSide, Place};
use crate::fit::{ClearanceWindow, SizeBelief};
use crate::item::{FeatureKind, ItemKind};
use crate::temperature::Material;
use crate::units::{Length, Unit};
use crate::verdict::PROBABLE_OUT_AT;

/// One thou on diameter.
const THOU_NM: i64 = 25_400;
/// Most that honing takes out, on diameter: 0.002 in. Common practice, no published source.
const HONE_MAX: Length = Length::from_nm(2 * THOU_NM);
/// Most that reaming or boring takes out, on diameter: 0.030 in, so that the wall stays. Common
/// practice, no published source.
pub(crate) const REAM_MAX: Length = Length::from_nm(30 * THOU_NM);
/// The largest usual undersize step, on diameter: 0.030 in. Common practice, no published source.
const GRIND_MAX: Length = Length::from_nm(30 * THOU_NM);
/// Most that is built up, on diameter: 0.020 in, the 0.010 in per side to which hard chrome is
/// usually laid. Common practice, no published source.
const BUILD_UP_MAX: Length = Length::from_nm(20 * THOU_NM);
/// Most that a sleeve makes up, on diameter: 0.250 in, twice the usual wall of 0.125 in. Common
/// practice, no published source.
const SLEEVE_MAX: Length = Length::from_nm(250 * THOU_NM);

/// An act that makes a miss fit. Amounts are the least that do, on diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Act {
    /// The sizes fit; only the gauges are too coarse to tell.
    Remeasure,
    /// An unmeasured part may fit as it is: measure it, or choose one of the lot.
    MeasureAndChoose,
    /// Hone the bore.
    HoneBore {
        /// What to take out.
        amount: Length,
    },
    /// Ream or bore the bore.
    ReamBore {
        /// What to take out.
        amount: Length,
    },
    /// Grind the journal or land.
    GrindShaft {
        /// What to take off.
        amount: Length,
    },
    /// Build the shaft up and grind it to size.
    BuildUp {
        /// What to add.
        amount: Length,
    },
    /// Undercut the shaft and sleeve it.
    SleeveShaft,
    /// Bore the housing out and sleeve it.
    SleeveBore,
}

impl Act {
    /// What it costs in bench time, roughly: the kind of act, then how much of it.
    pub(super) fn cost(&self) -> (u8, Length) {
        match *self {
            Act::Remeasure => (0, Length::ZERO),
            Act::MeasureAndChoose => (1, Length::ZERO),
            Act::HoneBore { amount } => (2, amount),
            Act::ReamBore { amount } => (3, amount),
            Act::GrindShaft { amount } => (4, amount),
            Act::BuildUp { amount } => (5, amount),
            Act::SleeveShaft => (6, Length::ZERO),
            Act::SleeveBore => (7, Length::ZERO),
        }
    }

    /// The act in words, amounts in `unit`.
    ///
    /// ```
    /// use tenths_domain::matching::Act;
    /// use tenths_domain::units::{Length, Unit};
    /// let act = Act::GrindShaft { amount: Length::from_nm(15_240) };
    /// assert_eq!(act.words(Unit::Inch), "grind 0.0006 in off the shaft, on diameter");
    /// ```
    pub fn words(&self, unit: Unit) -> String {
        match self {
            Act::Remeasure => "re-measure both parts with better gauges".to_owned(),
            Act::MeasureAndChoose => {
                "measure what was not measured: one part of the lot may fit as it is".to_owned()
            }
            Act::HoneBore { amount } => {
                format!("hone {} out of the bore, on diameter", amount.display_in(unit))
            }
            Act::ReamBore { amount } => {
                format!("ream or bore {} out of the bore, on diameter", amount.display_in(unit))
            }
            Act::GrindShaft { amount } => {
                format!("grind {} off the shaft, on diameter", amount.display_in(unit))
            }
            Act::BuildUp { amount } => {
                let amount = amount.display_in(unit);
                format!("build the shaft up by {amount} or more, on diameter, and grind to size")
            }
            Act::SleeveShaft => "undercut and sleeve the shaft, and grind to size".to_owned(),
            Act::SleeveBore => "bore out and sleeve the housing, and bore to size".to_owned(),
        }
    }
}

/// How far the clearance at its extremes lies beyond each end of the window; negative is inside.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gap {
    pub(super) too_tight: Length,
    pub(super) too_loose: Length,
}

impl Gap {
    pub(super) fn new(bore: &SizeBelief, shaft: &SizeBelief, window: ClearanceWindow) -> Self {
        let tightest = bore.smallest() - shaft.largest();
        let loosest = bore.largest() - shaft.smallest();
        Gap { too_tight: window.min - tightest, too_loose: loosest - window.max }
    }

    pub(super) fn is_inside(self) -> bool {
        self.by() == Length::ZERO
    }

    /// The larger of the two misses; zero if inside.
    pub(super) fn by(self) -> Length {
        self.too_tight.max(self.too_loose).max(Length::ZERO)
    }

    pub(super) fn side(self) -> MissSide {
        match (self.too_tight > Length::ZERO, self.too_loose > Length::ZERO) {
            (true, false) => MissSide::TooTight,
            (false, true) => MissSide::TooLoose,
            (true, true) | (false, false) => MissSide::Both,
        }
    }

    /// Whether moving the clearance by the miss brings both extremes inside.
    fn closes_by_a_shift(self) -> bool {
        self.too_tight + self.too_loose <= Length::ZERO
    }
}

/// A pair that misses.
pub(super) struct Pair {
    pub(super) internal: Place,
    pub(super) external: Place,
    pub(super) gap: Gap,
    /// How much of the clearance is unknown only because a part was not measured.
    pub(super) unmeasured: Length,
    /// The probability that the pair, its parts taken as they come, fits after all.
    pub(super) probability_in: f64,
}

/// The cheapest act that makes the pair fit, if the trade allows one.
pub(super) fn cheapest(pair: &Pair) -> Option<Act> {
    let by = pair.gap.by();
    if by == Length::ZERO {
        return Some(Act::Remeasure);
    }
    // Measuring narrows the range from either end by as much as was unmeasured. Worth it only if
    // more than one part in twenty fits.
    let excess = pair.gap.too_tight.max(Length::ZERO) + pair.gap.too_loose.max(Length::ZERO);
    if excess <= pair.unmeasured && pair.probability_in > PROBABLE_OUT_AT {
        return Some(Act::MeasureAndChoose);
    }
    if !pair.gap.closes_by_a_shift() {
        return None;
    }
    match pair.gap.side() {
        MissSide::TooTight => open(pair, by),
        MissSide::TooLoose => close(pair, by),
        MissSide::Both => None,
    }
}

/// More clearance: out of the bore, or off the shaft.
fn open(pair: &Pair, amount: Length) -> Option<Act> {
    let reaming_max = match pair.internal.item {
        ItemKind::RollingBearing => Length::ZERO,
        ItemKind::Bushing if pair.internal.feature == FeatureKind::Bore => {
            reaming_max(pair.internal.material)
        }
        _ if pair.internal.feature == FeatureKind::HousingBore => REAM_MAX,
        _ => Length::ZERO,
    };
    if amount <= reaming_max.min(HONE_MAX) {
        Some(Act::HoneBore { amount })
    } else if amount <= reaming_max {
        Some(Act::ReamBore { amount })
    } else if may_be_ground(pair) && amount <= GRIND_MAX {
        Some(Act::GrindShaft { amount })
    } else {
        None
    }
}

/// Most that may come out of a bushing's bore: nothing of a porous one, honing only of steel.
fn reaming_max(material: Option<Material>) -> Length {
    match material {
        None | Some(Material::PorousBronze) => Length::ZERO,
        Some(Material::Steel) => HONE_MAX,
        Some(Material::Aluminium | Material::CastIron | Material::Bronze) => REAM_MAX,
    }
}

/// A journal or seal land whose mate is no rolling bearing. Never a rolling seat.
fn may_be_ground(pair: &Pair) -> bool {
    matches!(pair.external.feature, FeatureKind::Journal | FeatureKind::SealLand)
        && pair.internal.item != ItemKind::RollingBearing
}

/// Less clearance: onto the shaft, or a sleeve in the housing.
fn close(pair: &Pair, amount: Length) -> Option<Act> {
    let is_shaft = matches!(
        pair.external.feature,
        FeatureKind::Journal
            | FeatureKind::RollingSeat
            | FeatureKind::SealLand
            | FeatureKind::ShaftExtension
    );
    if is_shaft && amount <= BUILD_UP_MAX {
        Some(Act::BuildUp { amount })
    } else if is_shaft && amount <= SLEEVE_MAX {
        Some(Act::SleeveShaft)
    } else if pair.internal.feature == FeatureKind::HousingBore && amount <= SLEEVE_MAX {
        Some(Act::SleeveBore)
    } else {
        None
    }
}
