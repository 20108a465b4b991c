//! All the advice for one joint in one answer.

use super::{
    AssemblyError, Caution, Cylinders, ForceRange, Friction, HeatAdvice, HeatedPart, Interference,
    Source, elastic, heat, press_force,
};
use crate::fit::SizeBelief;
use crate::temperature::{Material, Temperature};
use crate::units::Length;

/// Where plain medium-carbon steel begins to yield, about: common practice, no published source.
const YIELD_MPA: f64 = 350.0;

/// A joint to be put together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assembly {
    /// The bore of the outer part.
    pub internal: SizeBelief,
    /// The diameter of the inner part.
    pub external: SizeBelief,
    /// The bore through the inner part; zero if it is solid.
    pub inner_bore: Length,
    /// The outside diameter of the outer part; of a ring, about its raceway.
    pub outer_diameter: Length,
    /// The length of the joint.
    pub length: Length,
    /// What the inner part is made of.
    pub inner_material: Material,
    /// What the outer part is made of.
    pub outer_material: Material,
    /// What is between them when pressed.
    pub friction: Friction,
    /// What is heated when heated.
    pub heated: HeatedPart,
    /// Clearance to move in while hot.
    pub moving_clearance: Length,
    /// The temperature of the inner part while the outer one is hot.
    pub mate_temperature: Temperature,
}

/// What to know before putting a joint together.
#[derive(Clone, Debug, PartialEq)]
pub struct AssemblyAdvice {
    /// The diameter of the joint.
    pub diameter: Length,
    /// The interference at both extremes, as read or as allowed, without uncertainty.
    pub interference: Interference,
    /// The expanded uncertainty (k = 2) of that, from both gauges.
    pub expanded_uncertainty: Length,
    /// The interference widened by the uncertainty: everything below is worked out for it.
    pub planned: Interference,
    /// The pressure between the parts, least and most, in MPa.
    pub pressure_mpa: (f64, f64),
    /// The most hoop stress at the bore of the outer part, in MPa, tension.
    pub outer_hoop_mpa: f64,
    /// The most hoop stress in the inner part, in MPa, negative for compression.
    pub inner_hoop_mpa: f64,
    /// The force to press it together.
    pub press_force: ForceRange,
    /// How to heat the outer part instead.
    pub heat: HeatAdvice,
    /// Where the numbers are from: both materials, friction, heating.
    pub sources: [Source; 4],
    /// What to mind.
    pub cautions: Vec<Caution>,
}

impl AssemblyAdvice {
    /// Whether every number rests on a published source that was read; say "unconfirmed value"
    /// where not.
    pub fn is_confirmed(&self) -> bool {
        self.sources.iter().all(|source| source.is_confirmed)
    }
}

/// Works out pressure, stresses, press force and heating for one joint. Pressures take the least
/// interference with the softest and the most with the stiffest material of the published ranges.
///
/// ```
/// use tenths_domain::assembly::{Assembly, Friction, HeatOutcome, HeatedPart, assemble};
/// use tenths_domain::fit::SizeBelief;
/// use tenths_domain::temperature::{Material, Temperature};
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// // A 30 x 62 x 16 bearing on a seat 10 um larger than its bore.
/// let advice = assemble(&Assembly {
///     internal: SizeBelief::measured(nm(29_995_000), nm(29_995_000), nm(1_000)).unwrap(),
///     external: SizeBelief::measured(nm(30_005_000), nm(30_005_000), nm(1_000)).unwrap(),
///     inner_bore: nm(0),
///     outer_diameter: nm(38_000_000),
///     length: nm(16_000_000),
///     inner_material: Material::Steel,
///     outer_material: Material::Steel,
///     friction: Friction::Lubricated,
///     heated: HeatedPart::OpenBearing,
///     moving_clearance: nm(10_000),
///     mate_temperature: Temperature::REFERENCE,
/// })
/// .unwrap();
/// assert_eq!(advice.heat.outcome, HeatOutcome::Enough);
/// assert!(advice.press_force.most_n < 3_500 && advice.press_force.least_n > 500);
/// assert!(!advice.cautions.contains(&tenths_domain::assembly::Caution::Yield));
/// ```
pub fn assemble(assembly: &Assembly) -> Result<AssemblyAdvice, AssemblyError> {
    let interference = Interference::between(&assembly.internal, &assembly.external);
    let planned = Interference::of(&assembly.internal, &assembly.external);
    let (inner, outer) = (elastic(assembly.inner_material), elastic(assembly.outer_material));
    let diameter = assembly.external.largest();
    let cylinders = |inner, outer| {
        Cylinders::new(diameter, assembly.inner_bore, assembly.outer_diameter, inner, outer)
    };
    let soft = cylinders(inner.softest(), outer.softest())?;
    let stiff = cylinders(inner.stiffest(), outer.stiffest())?;
    let (least, most) = (soft.pressure_mpa(planned.least), stiff.pressure_mpa(planned.most));
    let force = |cylinders| press_force(cylinders, planned, assembly.length, assembly.friction);
    let opening = planned.most + assembly.moving_clearance;
    let expansion = assembly.outer_material.expansion_ppb_per_k();
    let heat = heat(assembly.heated, diameter, opening, expansion, assembly.mate_temperature)?;
    let heat_caution = match assembly.heated {
        HeatedPart::SealedBearing => Caution::SealedHeat,
        HeatedPart::OpenBearing => Caution::InternalClearance,
        HeatedPart::PlainHub => Caution::ShaftStrength,
    };
    let outer_hoop_mpa = stiff.outer_hoop_mpa(most);
    let inner_hoop_mpa =
        stiff.inner_bore_hoop_mpa(most).unwrap_or_else(|| stiff.inner_hoop_mpa(most));
    let yields = outer_hoop_mpa.abs().max(inner_hoop_mpa.abs()) > YIELD_MPA;
    let mut cautions = vec![Caution::Press, Caution::Heat, heat_caution, Caution::Basis];
    if yields {
        cautions.insert(0, Caution::Yield);
    }
    Ok(AssemblyAdvice {
        diameter,
        interference,
        expanded_uncertainty: crate::fit::combined_uncertainty(
            &assembly.internal,
            &assembly.external,
        ),
        planned,
        pressure_mpa: (least, most),
        outer_hoop_mpa,
        inner_hoop_mpa,
        press_force: ForceRange { least_n: force(&soft)?.least_n, most_n: force(&stiff)?.most_n },
        heat,
        sources: [inner.source, outer.source, assembly.friction.source(), heat.source],
        cautions,
    })
}
