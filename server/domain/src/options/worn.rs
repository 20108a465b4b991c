//! What is known of a worn feature and of the part that it is on.

use super::Target;
use crate::item::{Feature, FeatureKind, Limits, LimitsError, Side};
use crate::measure::Assessment;
use crate::money::Money;
use crate::policy::{FeatureUse, Hrc, ShaftEnd, StepSystem};
use crate::state::{BuiltUp, ScrapReason};
use crate::strength::{AllowableShear, ShockFactors, Torque};
use crate::temperature::Material;
use crate::units::Length;

/// A worn feature: what was measured, what its part has to bear, and what another would cost.
/// Nothing is taken as nothing: what is not known is a doubt in the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct WornFeature {
    /// The kind of feature.
    pub kind: FeatureKind,
    /// What it is used for, where the kind alone does not say (a journal that slides).
    pub used_as: Option<FeatureUse>,
    /// The nominal size, of a part that was reground the one that it has now.
    pub nominal: Length,
    /// The limits of size.
    pub limits: Option<Limits>,
    /// How far below its steps' full size it was ground before, on diameter.
    pub undersize: Length,
    /// The nominal size that it had new.
    pub new_nominal: Length,
    /// What building up goes back to, where that is not its limits of size: a part that was reground
    /// is built up to the size that it had new.
    pub new_limits: Option<Limits>,
    /// The item's own wear limit; outranks the policy's.
    pub wear_limit: Option<Length>,
    /// The item's own limit of out-of-round; outranks the policy's.
    pub out_of_round_limit: Option<Length>,
    /// The item's own limit of taper; outranks the policy's.
    pub taper_limit: Option<Length>,
    /// The smallest reading at 20 C.
    pub smallest: Length,
    /// The largest reading at 20 C.
    pub largest: Length,
    /// Expanded uncertainty of the worst reading, k = 2.
    pub expanded_uncertainty: Length,
    /// Wear on diameter, as [`Assessment::service_wear`] counts it.
    pub wear: Option<Length>,
    /// Out-of-round.
    pub out_of_round: Option<Length>,
    /// Taper.
    pub taper: Option<Length>,
    /// Run-out on the part's centres, as total indicator reading.
    pub run_out_tir: Option<Length>,
    /// The deepest score or pit, PER SIDE.
    pub score_depth_per_side: Option<Length>,
    /// Whether it was built up before.
    pub built_up: BuiltUp,
    /// Hardness.
    pub hardness: Option<Hrc>,
    /// What it is made of.
    pub material: Option<Material>,
    /// Which end of the shaft it is at.
    pub end: Option<ShaftEnd>,
    /// Whether a keyway or thread runs through the place.
    pub has_keyway: bool,
    /// What the shaft must bear.
    pub demand: StrengthDemand,
    /// The largest that a bore may be opened to, for what metal is around it.
    pub bore_max: Option<Length>,
    /// The next wider key, for a keyseat.
    pub next_key_width: Option<Length>,
    /// Why a person has condemned the part, such as a crack; no size reading says that.
    pub condemned: Option<ScrapReason>,
    /// What another part would cost.
    pub replacement: Replacement,
    /// Which steps it is ground to.
    pub steps: StepSystem,
}

/// What limits the diameter that a shaft may be cut to.
#[derive(Clone, Debug, PartialEq)]
pub struct StrengthDemand {
    /// The torque that it carries there.
    pub torque: Option<Torque>,
    /// The bending moment there.
    pub bending: Torque,
    /// Shock factors.
    pub shock: ShockFactors,
    /// The stress that its steel may have, given without a keyway.
    pub allowable: AllowableShear,
    /// Whether the keyed stress of the shaft code governs there.
    pub is_keyed: bool,
    /// The keyway's width and depth in the shaft, if known.
    pub keyway: Option<Keyway>,
    /// The depth of a hardened case, PER SIDE.
    pub case_depth_per_side: Option<Length>,
    /// How much of it must be left, PER SIDE.
    pub case_left_min_per_side: Length,
    /// The smallest diameter that still gives shoulder and fillet their support.
    pub shoulder_min: Option<Length>,
    /// The size below which an earlier layer is too thin or ground through.
    pub plating_min: Option<Length>,
    /// The smallest that the maker or the shop states.
    pub stated_min: Option<Length>,
}

/// A keyway in a shaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Keyway {
    /// Its width.
    pub width: Length,
    /// Its depth in the shaft.
    pub depth: Length,
}

/// What another part would cost and take.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Replacement {
    /// Whether there is one to be had.
    pub is_available: bool,
    /// Its cost.
    pub cost: Option<Money>,
    /// Days until it is in the shop.
    pub lead_time_days: Option<u32>,
}

impl StrengthDemand {
    /// Nothing known: commercial steel, a steady load.
    pub const UNKNOWN: StrengthDemand = StrengthDemand {
        torque: None,
        bending: Torque::ZERO,
        shock: ShockFactors::STEADY,
        allowable: AllowableShear::Commercial { has_keyway: false },
        is_keyed: false,
        keyway: None,
        case_depth_per_side: None,
        case_left_min_per_side: Length::ZERO,
        shoulder_min: None,
        plating_min: None,
        stated_min: None,
    };
}

impl WornFeature {
    /// What the catalogue and the readings know; everything else unknown, for the caller to set.
    /// The recondition limit becomes the smallest diameter, or the largest bore.
    ///
    /// # Errors
    /// [`LimitsError`] if the feature's limits have no meaning.
    pub fn of(feature: &Feature, found: &Assessment) -> Result<WornFeature, LimitsError> {
        let is_shaft = found.side == Side::External;
        let stated = feature.recondition_limit;
        let limits = feature.limits()?.map(|(limits, _)| limits);
        Ok(WornFeature {
            kind: feature.kind,
            used_as: None,
            nominal: feature.nominal,
            limits,
            undersize: Length::ZERO,
            new_nominal: feature.nominal,
            new_limits: None,
            wear_limit: feature.wear_limit,
            out_of_round_limit: feature.out_of_round_limit,
            taper_limit: feature.taper_limit,
            smallest: found.min.value,
            largest: found.max.value,
            expanded_uncertainty: found.expanded_uncertainty.length(),
            wear: found.service_wear(limits),
            out_of_round: found.out_of_round.as_ref().map(|form| form.amount),
            taper: found.taper.as_ref().map(|form| form.amount),
            run_out_tir: None,
            score_depth_per_side: None,
            built_up: BuiltUp::Unknown,
            hardness: None,
            material: None,
            end: None,
            has_keyway: false,
            demand: StrengthDemand {
                stated_min: stated.filter(|_| is_shaft),
                ..StrengthDemand::UNKNOWN
            },
            bore_max: stated.filter(|_| !is_shaft),
            next_key_width: None,
            condemned: None,
            replacement: Replacement::default(),
            steps: StepSystem::Inch,
        })
    }

    /// Whether it may be a steel: only steel is made brittle by hydrogen.
    pub(crate) fn may_be_steel(&self) -> bool {
        self.material.is_none_or(|material| material == Material::Steel)
    }

    /// What it is used for; nothing for a place that is never reworked.
    pub fn used_as(&self) -> Option<FeatureUse> {
        self.used_as.or_else(|| FeatureUse::of(self.kind))
    }

    /// Its side of a fit.
    pub const fn side(&self) -> Side {
        self.kind.side()
    }

    /// The reading with the most metal gone: the smallest of a shaft, the largest of a bore.
    pub const fn most_worn(&self) -> Length {
        match self.side() {
            Side::External => self.smallest,
            Side::Internal => self.largest,
        }
    }

    /// The reading with the least metal gone.
    pub const fn least_worn(&self) -> Length {
        match self.side() {
            Side::External => self.largest,
            Side::Internal => self.smallest,
        }
    }

    /// A size with so much less metal, on diameter.
    pub(super) fn cut(&self, size: Length, amount: Length) -> Length {
        match self.side() {
            Side::External => size - amount,
            Side::Internal => size + amount,
        }
    }

    /// How much less metal the second size has, on diameter; below zero it has more.
    pub(super) fn depth(&self, from: Length, to: Length) -> Length {
        match self.side() {
            Side::External => from - to,
            Side::Internal => to - from,
        }
    }

    /// The end of a span with the most metal.
    pub(super) const fn fullest(&self, span: Limits) -> Length {
        match self.side() {
            Side::External => span.upper,
            Side::Internal => span.lower,
        }
    }

    /// The end of a span with the least metal.
    pub(super) const fn leanest(&self, span: Limits) -> Length {
        match self.side() {
            Side::External => span.lower,
            Side::Internal => span.upper,
        }
    }

    /// The finished size so far under nominal (over it, for a bore): the limits moved along, or
    /// nominal with the tolerance of the policy.
    pub(super) fn target(&self, undersize: Length, tolerance: Option<Length>) -> Target {
        let moved = |size: Length| self.cut(size, undersize);
        let limits = match (self.limits, tolerance) {
            (Some(limits), _) => {
                Some(Limits { lower: moved(limits.lower), upper: moved(limits.upper) })
            }
            (None, Some(tolerance)) => {
                let (full, lean) = (moved(self.nominal), self.cut(moved(self.nominal), tolerance));
                Some(Limits { lower: full.min(lean), upper: full.max(lean) })
            }
            (None, None) => None,
        };
        let size = limits.map_or(moved(self.nominal), |limits| self.fullest(limits));
        Target { size, limits }
    }
}
