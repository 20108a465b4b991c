//! The smallest diameter that a shaft may be cut to, and what asks for it.

use super::{Keyway, WornFeature};
use crate::assembly::Source;
use crate::item::Side;
use crate::named::named_enum;
use crate::strength::{AllowableShear, StrengthError, keyway_strength_share, required_diameter};
use crate::units::Length;

named_enum! {
    /// What asks for a smallest diameter.
    MinimumBy, "what limits a diameter" {
        /// Torque and bending, by the shaft code.
        Torque = "torque",
        /// A keyway, by the code's lower stress and by the keyway's own size.
        Keyway = "keyway",
        /// The hardened case that must be left.
        CaseDepth = "case_depth",
        /// Shoulder and fillet.
        Shoulder = "shoulder",
        /// An earlier layer that must not be ground through.
        Plating = "plating",
        /// A size that the maker or the shop states.
        Stated = "stated",
    }
}

/// One demand on the diameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MinimumPart {
    /// What asks.
    pub by: MinimumBy,
    /// The smallest diameter that it allows.
    pub value: Length,
    /// Where the rule is from.
    pub source: Source,
}

/// The smallest diameter, the largest of its parts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MinimumDiameter {
    /// Every demand that is known.
    pub parts: Vec<MinimumPart>,
}

impl MinimumDiameter {
    /// The demand that governs; nothing if none is known.
    pub fn governing(&self) -> Option<MinimumPart> {
        self.parts
            .iter()
            .copied()
            .reduce(|most, one| if one.value > most.value { one } else { most })
    }

    /// The smallest diameter.
    pub fn value(&self) -> Option<Length> {
        self.governing().map(|part| part.value)
    }

    /// Without the earlier layer: what limits a cut that takes that layer off.
    pub(super) fn of_bare_metal(&self) -> Option<MinimumPart> {
        let bare = self.parts.iter().copied().filter(|part| part.by != MinimumBy::Plating);
        MinimumDiameter { parts: bare.collect() }.governing()
    }
}

/// The smallest diameter of a shaft place: the largest of torque, keyway, case depth, shoulder, an
/// earlier layer and what is stated. A bore has none.
///
/// Case: what is left of its depth is (diameter - (nominal - 2 x depth)) / 2.
///
/// # Errors
/// [`StrengthError`] for a demand that has no meaning.
pub fn minimum_diameter(worn: &WornFeature) -> Result<MinimumDiameter, StrengthError> {
    if worn.side() == Side::Internal {
        return Ok(MinimumDiameter::default());
    }
    let demand = &worn.demand;
    let mut parts = strength_parts(worn)?;
    let mut add = |by, value: Option<Length>, source| {
        parts.extend(value.map(|value| MinimumPart { by, value, source }));
    };
    let core = demand.case_depth_per_side.map(|depth| {
        let lost = depth - demand.case_left_min_per_side;
        worn.nominal - lost - lost
    });
    add(
        MinimumBy::CaseDepth,
        core,
        Source::unconfirmed("nominal - 2 (case depth - case to be left)"),
    );
    let stated = Source::read("stated by the person who asks");
    add(MinimumBy::Shoulder, demand.shoulder_min, stated);
    add(MinimumBy::Plating, demand.plating_min, stated);
    add(
        MinimumBy::Stated,
        demand.stated_min,
        Source::read("the maker's or the shop's stated limit"),
    );
    Ok(MinimumDiameter { parts })
}

fn strength_parts(worn: &WornFeature) -> Result<Vec<MinimumPart>, StrengthError> {
    let demand = &worn.demand;
    let Some(torque) = demand.torque else { return Ok(Vec::new()) };
    let of = |allowable| required_diameter(torque, demand.bending, demand.shock, allowable);
    let plain = of(keyed(demand.allowable, false))?;
    let source = demand.allowable.source();
    let mut parts = vec![MinimumPart { by: MinimumBy::Torque, value: plain, source }];
    if demand.is_keyed || demand.keyway.is_some() {
        let value = of(keyed(demand.allowable, true))?;
        parts.push(MinimumPart { by: MinimumBy::Keyway, value, source });
    }
    if let Some(keyway) = demand.keyway {
        let (value, source) = diameter_with_keyway(plain, keyway)?;
        parts.push(MinimumPart { by: MinimumBy::Keyway, value, source });
    }
    Ok(parts)
}

/// The same steel with or without the shaft code's allowance for a keyway.
const fn keyed(allowable: AllowableShear, has_keyway: bool) -> AllowableShear {
    match allowable {
        AllowableShear::Commercial { .. } => AllowableShear::Commercial { has_keyway },
        AllowableShear::OfStrength { yield_mpa, ultimate_mpa, .. } => {
            AllowableShear::OfStrength { yield_mpa, ultimate_mpa, has_keyway }
        }
        AllowableShear::Stated(mpa) => AllowableShear::Stated(mpa),
    }
}

/// The smallest diameter that with this keyway is as strong in torsion as the plain one: the least
/// d with d^3 e(d) at least plain^3, e the share that [`keyway_strength_share`] gives. Found by
/// halving: d^3 e(d) = d^3 - (0.2 w + 1.1 h) d^2 rises where e is above zero, and at
/// d = plain + 0.2 w + 1.1 h it is plain x d^2, enough.
///
/// ```
/// use tenths_domain::options::{Keyway, diameter_with_keyway};
/// use tenths_domain::units::Length;
/// let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
/// // 50 mm with a 16 x 5 keyway keeps 0.826 of its strength: that of a plain 46.9 mm.
/// let plain = Length::from_nm(46_910_000);
/// let (keyed, _) = diameter_with_keyway(plain, Keyway { width: mm(16), depth: mm(5) })?;
/// assert!((keyed - mm(50)).abs() < Length::from_nm(10_000));
/// # Ok::<(), tenths_domain::strength::StrengthError>(())
/// ```
///
/// # Errors
/// [`StrengthError`] for a keyway that leaves nothing of the shaft.
pub fn diameter_with_keyway(
    plain: Length,
    keyway: Keyway,
) -> Result<(Length, Source), StrengthError> {
    let Keyway { width, depth } = keyway;
    // Ten times 0.2 w + 1.1 h, in whole nanometres.
    let lost = 2 * i128::from(width.nm()) + 11 * i128::from(depth.nm());
    let room = i64::try_from(lost / 10 + 1).unwrap_or(i64::MAX);
    let enough = Length::from_nm(plain.nm().saturating_add(room)).max(width + Length::from_nm(1));
    let (_, source) = keyway_strength_share(enough, width, depth)?;
    // Saturating beyond any shaft.
    let ten_cubes = |diameter: i64| i128::from(diameter).saturating_pow(3).saturating_mul(10);
    let is_enough = |diameter: i64| {
        let weaker = lost.saturating_mul(i128::from(diameter).pow(2));
        ten_cubes(diameter) - weaker >= ten_cubes(plain.nm())
    };
    let [mut low, mut high] = [plain.nm() - 1, enough.nm()];
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if is_enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok((Length::from_nm(high), source))
}
