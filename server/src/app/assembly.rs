//! Assembly: what happens to sizes when parts are put together, and what that takes.

use super::act::View;
use super::error::Error;
use super::pair::{SizeKnowledge, believe};
use super::speech;
use super::trace::{Trace, range};
use tenths_domain::assembly::{
    Assembly, AssemblyAdvice, Caution, Friction, HeatedPart, assemble, elastic,
};
use tenths_domain::assembly::{
    AssemblyError, ClearanceLeft, FittingFactors, Interference, RadialClearance, clearance_left,
};
use tenths_domain::bearings::designation::{self, ClearanceGroup, Closure};
use tenths_domain::bearings::iso5753;
use tenths_domain::bushings::{self, Bushing, Housing, Pressed, RunningRule};
use tenths_domain::item::Side;
use tenths_domain::strength::{
    AllowableShear, Power, ShockFactors, StrengthError, Torque, required_diameter, shear_stress_mpa,
};
use tenths_domain::temperature::{Material, Temperature};
use tenths_domain::units::{Entry, Length, Unit};

/// A bushing and the housing that it goes into.
#[derive(Clone, Debug)]
pub struct CloseInQuestion {
    /// The bushing's free bore.
    pub bore: SizeKnowledge,
    /// The bushing's free outside diameter.
    pub outside_diameter: SizeKnowledge,
    /// What the bushing is made of.
    pub bushing_material: Material,
    /// The housing's bore.
    pub housing_bore: SizeKnowledge,
    /// The housing's outside diameter.
    pub housing_outside_diameter: Entry,
    /// What the housing is made of.
    pub housing_material: Material,
}

/// A joint to be put together.
#[derive(Clone, Debug)]
pub struct JointQuestion {
    /// The bore of the outer part.
    pub internal: SizeKnowledge,
    /// The diameter of the inner part.
    pub external: SizeKnowledge,
    /// The bore through the inner part; zero if it is solid.
    pub inner_bore: Length,
    /// The outside diameter of the outer part.
    pub outer_diameter: Entry,
    /// The length of the joint.
    pub length: Length,
    /// What the inner part is made of.
    pub inner_material: Material,
    /// What the outer part is made of.
    pub outer_material: Material,
    /// What is between them when pressed.
    pub friction: Friction,
    /// What is heated.
    pub heated: HeatedPart,
    /// Clearance to move in while hot.
    pub moving_clearance: Length,
    /// The unit that the answer is spoken of in.
    pub unit: Unit,
}

/// A shaft and its load.
#[derive(Clone, Copy, Debug)]
pub struct StrengthQuestion {
    /// The power.
    pub power: f64,
    /// Whether the power is in horsepower; else in kilowatts.
    pub horsepower: bool,
    /// Turns per minute.
    pub speed_rpm: f64,
    /// Whether there is a keyway.
    pub keyway: bool,
    /// The shock factor on torque.
    pub shock_torsion: f64,
    /// The shaft's diameter, to say its stress.
    pub diameter: Option<Length>,
    /// The unit that the answer is spoken of in.
    pub unit: Unit,
}

/// How strong a shaft must be.
#[derive(Clone, Debug)]
pub struct Strength {
    /// The torque.
    pub torque: Torque,
    /// The least diameter.
    pub required: Length,
    /// The stress at the diameter given.
    pub stress_mpa: Option<f64>,
    /// The values behind the answer.
    pub traces: Vec<Trace>,
}

/// How far a bushing closes in, with the values behind it.
///
/// # Errors
/// [`Error::NotFound`] for a gauge or piece; [`Error::Invalid`] for a bushing that may be loose.
pub async fn close_in(
    view: View<'_>,
    question: &CloseInQuestion,
) -> Result<(Pressed, Vec<Trace>), Error> {
    let unit = super::standards::spoken(question.housing_outside_diameter.unit);
    let (bore, a) = believe(view, "bore", &question.bore, None, Side::Internal, unit).await?;
    let (outside_diameter, b) =
        believe(view, "outside_diameter", &question.outside_diameter, None, Side::External, unit)
            .await?;
    let (housing_bore, c) =
        believe(view, "housing_bore", &question.housing_bore, None, Side::Internal, unit).await?;
    let bushing = Bushing { bore, outside_diameter, material: question.bushing_material };
    let housing = Housing {
        bore: housing_bore,
        outside_diameter: question.housing_outside_diameter.length,
        material: question.housing_material,
    };
    let pressed = bushings::close_in(&bushing, &housing)
        .map_err(|error| Error::invalid("outside_diameter", error.to_string()))?;
    let [of_bushing, of_housing] = pressed.sources;
    let (least, most) = pressed.share_range;
    let traces = vec![
        a,
        b,
        c,
        Trace::of("bushing's modulus", modulus(question.bushing_material), of_bushing),
        Trace::of("housing's modulus", modulus(question.housing_material), of_housing),
        Trace::table(
            "share of the interference",
            format!("{least:.2}..{most:.2}"),
            "thick-walled cylinders (Lamé), least to most over both moduli; the ranges of interference, close-in and installed bore are without U, which stands beside them",
            false,
        ),
    ];
    Ok((pressed, traces))
}

/// The running clearance of a journal by a rule.
pub fn running_clearance(journal: &Entry, rule: RunningRule) -> (Length, Vec<Trace>) {
    let clearance = rule.clearance(journal.length);
    let value = clearance.display_in(super::standards::spoken(journal.unit));
    (clearance, vec![Trace::table(rule.as_str(), value, rule.source(), false)])
}

/// Advice on a joint, with the values behind it.
///
/// # Errors
/// [`Error::NotFound`] for a gauge or piece; [`Error::Invalid`] for sizes that are no joint.
pub async fn advice(
    view: View<'_>,
    question: &JointQuestion,
) -> Result<(AssemblyAdvice, Vec<Trace>), Error> {
    let (internal, a) =
        believe(view, "internal", &question.internal, None, Side::Internal, question.unit).await?;
    let (external, b) =
        believe(view, "external", &question.external, None, Side::External, question.unit).await?;
    let advice = assemble(&Assembly {
        internal,
        external,
        inner_bore: question.inner_bore,
        outer_diameter: question.outer_diameter.length,
        length: question.length,
        inner_material: question.inner_material,
        outer_material: question.outer_material,
        friction: question.friction,
        heated: question.heated,
        moving_clearance: question.moving_clearance,
        mate_temperature: Temperature::REFERENCE,
    })
    .map_err(|error| Error::invalid(field_of(&error), error.to_string()))?;
    if advice.planned.most <= Length::ZERO {
        return Err(Error::invalid(
            "external",
            "there is no interference: the shaft is not larger than the bore, so there is nothing to press or heat",
        ));
    }
    let mut traces = vec![a, b];
    traces.extend(advice_traces(&advice, question));
    Ok((advice, traces))
}

/// The values behind advice, besides the two sizes.
fn advice_traces(advice: &AssemblyAdvice, question: &JointQuestion) -> Vec<Trace> {
    let unit = question.unit;
    let [inner, outer, friction, heat] = advice.sources;
    let between = |interference: Interference| range(interference.least, interference.most, unit);
    let worked = |what: &str, value: String, how: &str| Trace::table(what, value, how, false);
    vec![
        worked(
            "interference",
            between(advice.interference),
            "both extremes, as read or as allowed, without uncertainty",
        ),
        worked(
            "interference planned for",
            between(advice.planned),
            "the same widened by U (k=2) of both gauges: everything below is for it",
        ),
        Trace::of("inner part", modulus(question.inner_material), inner),
        Trace::of("outer part", modulus(question.outer_material), outer),
        Trace::of("friction", friction_range(question.friction), friction),
        Trace::of("heating", question.heated.as_str().replace('_', " "), heat),
        worked(
            "pressure between the parts",
            speech::stresses(advice.pressure_mpa, unit),
            "thick-walled cylinders (Lamé), least interference with the softest, most with the stiffest material",
        ),
        worked(
            "press force",
            speech::forces(advice.press_force, unit),
            "F = f p pi d L over the full length",
        ),
        worked(
            "least heating temperature",
            speech::temperature(advice.heat.at_least, unit),
            "a D (T - T0) = most interference and the clearance to move in",
        ),
    ]
}

fn modulus(material: Material) -> String {
    let found = elastic(material);
    format!(
        "{material}, {:.0} ({:.0}..{:.0}) GPa",
        found.young_gpa, found.young_gpa_low, found.young_gpa_high
    )
}

fn friction_range(friction: Friction) -> String {
    let (least, most) = friction.range_hundredths();
    format!("{friction}, 0.{least:02}..0.{most:02}")
}

/// The field of a question that an error is about.
fn field_of(error: &AssemblyError) -> &'static str {
    match error {
        AssemblyError::NotInside { outer, .. } if outer.contains("outside") => "outer_diameter",
        AssemblyError::NotInside { .. } => "inner_bore",
        AssemblyError::Size { what, .. } if what.contains("length") => "length",
        AssemblyError::MateTooHot { .. } => "heated",
        _ => "internal",
    }
}

/// A bearing is another one than that of the joint if its bore is further off than this: no seat of
/// a class in use is (our own choice).
const OTHER_BORE: Length = Length::from_nm(500_000);

/// A bearing that is fitted: what clearance is left inside it.
#[derive(Clone, Debug)]
pub struct FittedBearing {
    /// Its number, with the clearance group if it has one.
    pub designation: String,
    /// What the inner ring's running hotter takes away besides.
    pub hotter_inner: Length,
}

/// The radial internal clearance before and after fitting, the outer ring sliding.
#[derive(Clone, Debug)]
pub struct FittedClearance {
    /// Before.
    pub before: RadialClearance,
    /// After, and whether preload is possible.
    pub left: ClearanceLeft,
    /// The values behind the answer.
    pub traces: Vec<Trace>,
}

/// What clearance a seat's interference leaves inside a bearing.
///
/// # Errors
/// [`Error::Invalid`] for a number that is not known or of another bore than the joint, or a group
/// that its bore does not have.
pub fn fitted_clearance(
    bearing: &FittedBearing,
    heated: HeatedPart,
    joint: &AssemblyAdvice,
    unit: Unit,
) -> Result<FittedClearance, Error> {
    let invalid = |error: &dyn std::fmt::Display| Error::invalid("designation", error.to_string());
    let found = designation::parse(&bearing.designation).map_err(|error| invalid(&error))?;
    let (seat, bore) = (joint.planned, found.dimensions.bore);
    if (bore - joint.diameter).abs() > OTHER_BORE {
        let [bore, joint] = [bore, joint.diameter].map(|length| length.display_in(unit));
        let problem = format!(
            "{} has a bore of {bore}, the joint is {joint}: name the bearing that is fitted",
            bearing.designation
        );
        return Err(Error::invalid("designation", problem));
    }
    let sealed = matches!(found.closure, Some(Closure::SealOneSide | Closure::SealBothSides));
    if sealed && heated != HeatedPart::SealedBearing {
        return Err(Error::invalid(
            "heated",
            format!(
                "{} is sealed: it takes less heat; allowed: sealed_bearing",
                bearing.designation
            ),
        ));
    }
    if let Some(unknown) = &found.unknown_group {
        return Err(Error::invalid(
            "designation",
            format!("clearance group {unknown} is not in ISO 5753-1; allowed: C2, CN, C3, C4, C5"),
        ));
    }
    let group = found.clearance.unwrap_or(ClearanceGroup::Cn);
    let new = iso5753::radial_internal_clearance(found.dimensions.bore, group)
        .map_err(|error| invalid(&error))?;
    let before = RadialClearance { min: new.min, max: new.max };
    // An outer ring that slides takes nothing away.
    let sliding = Interference::new(Length::ZERO, Length::ZERO)
        .map_err(|error| Error::invalid("designation", error.to_string()))?;
    let left = clearance_left(before, seat, sliding, bearing.hotter_inner, &FittingFactors::USUAL)
        .map_err(|error| Error::invalid("hotter_inner", error.to_string()))?;
    let clearance = |of: RadialClearance| match speech::is_inch(unit) {
        true => range(of.min, of.max, Unit::Inch),
        false => range(of.min, of.max, Unit::Micrometre),
    };
    let traces = vec![
        Trace::table("internal clearance, new", clearance(before), new.source, new.is_unconfirmed),
        Trace::of("internal clearance left", clearance(left.left), left.source),
    ];
    Ok(FittedClearance { before, left, traces })
}

/// How strong a shaft must be, with the values behind it.
///
/// # Errors
/// [`Error::Invalid`] for a load without meaning.
pub fn strength(question: &StrengthQuestion) -> Result<Strength, Error> {
    let invalid =
        |field: &'static str| move |error: StrengthError| Error::invalid(field, error.to_string());
    let power = match question.horsepower {
        true => Power::from_horsepower(question.power),
        false => Power::from_kilowatts(question.power),
    };
    let torque = Torque::of(power.map_err(invalid("power"))?, question.speed_rpm)
        .map_err(invalid("speed_rpm"))?;
    let shear = AllowableShear::Commercial { has_keyway: question.keyway };
    let factors = ShockFactors { torsion: question.shock_torsion, ..ShockFactors::STEADY };
    let required = required_diameter(torque, Torque::ZERO, factors, shear)
        .map_err(invalid("shock_torsion"))?;
    let stress_mpa = match question.diameter {
        Some(diameter) => {
            let plain =
                shear_stress_mpa(torque, diameter, Length::ZERO).map_err(invalid("diameter"))?;
            Some(question.shock_torsion * plain)
        }
        None => None,
    };
    let unit = question.unit;
    let allowed = shear.mpa().map_err(invalid("keyway"))?;
    let stress = stress_mpa.map(|stress| {
        Trace::table(
            "shear stress at the surface",
            speech::stress(stress, unit),
            "16 Kt T D / (pi D^4), solid shaft, torsion alone",
            false,
        )
    });
    let mut traces = vec![
        Trace::table(
            "torque",
            speech::torque(torque, unit),
            "T = P / (2 pi n); 1 hp = 745.69987 W (NIST SP 811, Appendix B.8)",
            false,
        ),
        Trace::of("allowable shear stress", speech::stress(allowed, unit), shear.source()),
        Trace::table(
            "least diameter",
            required.display(unit, if speech::is_inch(unit) { 4 } else { 2 }),
            "d^3 = 16 Kt T / (pi s), ASME code for transmission shafting, torsion alone",
            false,
        ),
    ];
    traces.extend(stress);
    Ok(Strength { torque, required, stress_mpa, traces })
}

/// The cautions of strength.
pub const STRENGTH_CAUTIONS: [Caution; 2] = [Caution::ShaftStrength, Caution::Basis];
