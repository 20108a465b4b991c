//! Assembly advice.

use super::common::{aligned, length};
use super::knowledge::knowledge;
use super::standards::{size_range, trace};
use crate::app::Error;
use crate::app::assembly::{
    CloseInQuestion, FittedBearing, FittedClearance, JointQuestion, STRENGTH_CAUTIONS, Strength,
    StrengthQuestion,
};
use crate::app::standards::spoken;
use crate::app::trace::Trace;
use crate::grpc::check::Check;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::assembly::{AssemblyAdvice, Friction, RadialClearance};
use tenths_domain::bushings::{Pressed, RunningRule};
use tenths_domain::item::Limits;
use tenths_domain::strength::psi;
use tenths_domain::temperature::{Material, Temperature};
use tenths_domain::units::{Entry, Length, Unit};
use tenths_proto::v1 as pb;

/// Clearance to move in while hot when nothing is said: 0.01 mm. Common practice, no published
/// source.
const MOVING_CLEARANCE: Length = Length::from_nm(10_000);

/// A question with the unit that its answer is spoken of in.
pub type Asked<Q> = Result<(Q, Unit), Error>;

/// A bushing to be pressed.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn close_in(wire: &pb::GetCloseInRequest) -> Asked<CloseInQuestion> {
    let mut check = Check::new();
    let bore = knowledge(&mut check, "bore", wire.bore.as_ref());
    let outside_diameter =
        knowledge(&mut check, "outside_diameter", wire.outside_diameter.as_ref());
    let housing_bore = knowledge(&mut check, "housing_bore", wire.housing_bore.as_ref());
    let outer = check.length("housing_outside_diameter", wire.housing_outside_diameter.as_ref());
    let bushing_material =
        check.required_enum::<Material>("bushing_material", wire.bushing_material);
    let housing_material =
        check.required_enum::<Material>("housing_material", wire.housing_material);
    let (Some(bore), Some(outside_diameter), Some(housing_bore)) =
        (bore, outside_diameter, housing_bore)
    else {
        return Err(check.into_error());
    };
    let (Some(outer), Some(bushing_material), Some(housing_material)) =
        (outer, bushing_material, housing_material)
    else {
        return Err(check.into_error());
    };
    check.finish()?;
    let unit = spoken(outer.unit);
    let question = CloseInQuestion {
        bore,
        outside_diameter,
        bushing_material,
        housing_bore,
        housing_outside_diameter: outer,
        housing_material,
    };
    Ok((question, unit))
}

/// A pressed bushing, outward.
pub fn pressed((pressed, traces): (Pressed, Vec<Trace>), unit: Unit) -> pb::GetCloseInResponse {
    let shown = |value: Length| Some(length(value, unit));
    let both = |least: Length, most: Length| aligned([least, most], unit).map(Some);
    let [interference_min, interference_max] = both(pressed.interference.0, pressed.interference.1);
    let [close_in_min, close_in_max] = both(pressed.close_in.least(), pressed.close_in.most());
    let installed = pressed.installed_bore;
    let [installed_min, installed_max] = both(installed.smallest(), installed.largest());
    pb::GetCloseInResponse {
        interference_min,
        interference_max,
        share: (pressed.share * 10_000.0).round() / 10_000.0,
        close_in_min,
        close_in_max,
        installed_min,
        installed_max,
        expanded_uncertainty: shown(pressed.installed_bore.expanded_uncertainty()),
        cautions: vec![pressed.caution.text().to_owned()],
        traces: traces.into_iter().map(trace).collect(),
    }
}

/// A running clearance that is sought.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn running_clearance(
    wire: &pb::GetRunningClearanceRequest,
) -> Result<(Entry, RunningRule), Error> {
    let mut check = Check::new();
    let journal = check.length("journal", wire.journal.as_ref());
    let rule = check.required_enum("rule", wire.rule);
    let (Some(journal), Some(rule)) = (journal, rule) else { return Err(check.into_error()) };
    check.finish()?;
    Ok((journal, rule))
}

/// A running clearance, outward.
pub fn running(
    (clearance, traces): (Length, Vec<Trace>),
    unit: Unit,
) -> pb::GetRunningClearanceResponse {
    pb::GetRunningClearanceResponse {
        clearance: Some(length(clearance, spoken(unit))),
        traces: traces.into_iter().map(trace).collect(),
    }
}

/// The bearing whose inner ring the outer part is, if one is named.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn fitted(wire: &pb::GetAssemblyAdviceRequest) -> Result<Option<FittedBearing>, Error> {
    let mut check = Check::new();
    let designation = check.optional_text("designation", &wire.designation, 40);
    let hotter = check.optional_length("hotter_inner", wire.hotter_inner.as_ref());
    check.finish()?;
    let hotter_inner = hotter.map_or(Length::ZERO, |entry| entry.length);
    Ok((!designation.is_empty()).then_some(FittedBearing { designation, hotter_inner }))
}

/// A joint to be put together.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn joint(wire: &pb::GetAssemblyAdviceRequest) -> Asked<JointQuestion> {
    let mut check = Check::new();
    let internal = knowledge(&mut check, "internal", wire.internal.as_ref());
    let external = knowledge(&mut check, "external", wire.external.as_ref());
    let inner_bore = check.optional_length("inner_bore", wire.inner_bore.as_ref());
    let outer_diameter = check.length("outer_diameter", wire.outer_diameter.as_ref());
    let joint_length = check.length("length", wire.length.as_ref());
    let inner_material = check.required_enum("inner_material", wire.inner_material);
    let outer_material = check.required_enum("outer_material", wire.outer_material);
    let friction = check.optional_enum("friction", wire.friction).unwrap_or(Friction::Lubricated);
    let heated = check.required_enum("heated", wire.heated);
    let moving = check.optional_length("moving_clearance", wire.moving_clearance.as_ref());
    let text_unit: Option<Unit> = check.optional_enum("text_unit", wire.text_unit);
    let (Some(internal), Some(external), Some(outer_diameter), Some(joint_length)) =
        (internal, external, outer_diameter, joint_length)
    else {
        return Err(check.into_error());
    };
    let (Some(inner_material), Some(outer_material), Some(heated)) =
        (inner_material, outer_material, heated)
    else {
        return Err(check.into_error());
    };
    check.finish()?;
    let unit = spoken(text_unit.unwrap_or(outer_diameter.unit));
    let question = JointQuestion {
        internal,
        external,
        inner_bore: inner_bore.map_or(Length::ZERO, |entry| entry.length),
        outer_diameter,
        length: joint_length.length,
        inner_material,
        outer_material,
        friction,
        heated,
        moving_clearance: moving.map_or(MOVING_CLEARANCE, |entry| entry.length),
        unit,
    };
    Ok((question, unit))
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn celsius(temperature: Temperature) -> pb::Temperature {
    let text = temperature.to_string();
    let value = text.trim_end_matches(" C").to_owned();
    pb::Temperature { value, unit: pb::TemperatureUnit::C as i32 }
}

fn fahrenheit(temperature: Temperature) -> pb::Temperature {
    pb::Temperature { value: temperature.fahrenheit(), unit: pb::TemperatureUnit::F as i32 }
}

/// Advice on a joint, outward.
pub fn advice(
    (advice, mut traces): (AssemblyAdvice, Vec<Trace>),
    fitted: Option<FittedClearance>,
    unit: Unit,
) -> pb::GetAssemblyAdviceResponse {
    let clearance_unit = if unit == Unit::Inch { Unit::Inch } else { Unit::Micrometre };
    let clearance =
        |of: RadialClearance| size_range(Limits { lower: of.min, upper: of.max }, clearance_unit);
    let before = fitted.as_ref().map(|found| clearance(found.before));
    let left = fitted.as_ref().map(|found| clearance(found.left.left));
    let may_preload = fitted.as_ref().is_some_and(|found| found.left.may_preload);
    traces.extend(fitted.into_iter().flat_map(|found| found.traces));
    let [interference_min, interference_max] =
        aligned([advice.interference.least, advice.interference.most], unit).map(Some);
    pb::GetAssemblyAdviceResponse {
        interference_min,
        interference_max,
        expanded_uncertainty: Some(length(advice.expanded_uncertainty, unit)),
        unit: unit.to_wire(),
        cautions: advice.cautions.iter().map(|caution| caution.text().to_owned()).collect(),
        traces: traces.into_iter().map(trace).collect(),
        internal_clearance: before,
        internal_clearance_left: left,
        may_preload,
        ..heating(&advice, stresses(&advice))
    }
}

/// The pressures, stresses and forces of advice, metric and in inch units.
fn stresses(advice: &AssemblyAdvice) -> pb::GetAssemblyAdviceResponse {
    let (least, most) = advice.pressure_mpa;
    let (press_force_min_lbf, press_force_max_lbf) = advice.press_force.pounds();
    let whole_psi = |mpa: f64| psi(mpa).round();
    pb::GetAssemblyAdviceResponse {
        pressure_min_mpa: tenth(least),
        pressure_max_mpa: tenth(most),
        outer_hoop_mpa: tenth(advice.outer_hoop_mpa),
        inner_hoop_mpa: tenth(advice.inner_hoop_mpa),
        press_force_min_n: advice.press_force.least_n,
        press_force_max_n: advice.press_force.most_n,
        pressure_min_psi: whole_psi(least),
        pressure_max_psi: whole_psi(most),
        outer_hoop_psi: whole_psi(advice.outer_hoop_mpa),
        inner_hoop_psi: whole_psi(advice.inner_hoop_mpa),
        press_force_min_lbf,
        press_force_max_lbf,
        ..Default::default()
    }
}

/// The same with how to heat the part, in both scales.
fn heating(
    advice: &AssemblyAdvice,
    rest: pb::GetAssemblyAdviceResponse,
) -> pb::GetAssemblyAdviceResponse {
    let heat = &advice.heat;
    pb::GetAssemblyAdviceResponse {
        heat_at_least: Some(celsius(heat.at_least)),
        heat_to: Some(celsius(heat.heat_to)),
        never_over: Some(celsius(heat.never_over)),
        heat_at_least_f: Some(fahrenheit(heat.at_least)),
        heat_to_f: Some(fahrenheit(heat.heat_to)),
        never_over_f: Some(fahrenheit(heat.never_over)),
        heat_outcome: heat.outcome.as_str().to_owned(),
        heat_text: heat.outcome.text().to_owned(),
        ..rest
    }
}

/// A shaft and its load.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn strength(wire: &pb::GetShaftStrengthRequest) -> Asked<StrengthQuestion> {
    let mut check = Check::new();
    let power = check.number("power", &wire.power);
    let speed_rpm = check.number("speed_rpm", &wire.speed_rpm);
    let shock = match wire.shock_torsion.as_str() {
        "" => Some(1.0),
        text => check.number("shock_torsion", text),
    };
    if shock.is_some_and(|factor| factor < 1.0) {
        check.refuse("shock_torsion", "it is below 1; 1 (steady) or more is allowed");
    }
    let horsepower = match wire.power_unit.to_ascii_lowercase().as_str() {
        "hp" => Some(true),
        "kw" => Some(false),
        other => {
            let shown: String = other.chars().take(20).collect();
            check.refuse("power_unit", format!("{shown:?} is not known; allowed: hp, kw"));
            None
        }
    };
    let diameter = check.optional_length("diameter", wire.diameter.as_ref());
    let text_unit: Option<Unit> = check.optional_enum("text_unit", wire.text_unit);
    let (Some(power), Some(speed_rpm), Some(shock_torsion), Some(horsepower)) =
        (power, speed_rpm, shock, horsepower)
    else {
        return Err(check.into_error());
    };
    check.finish()?;
    let of_power = if horsepower { Unit::Inch } else { Unit::Millimetre };
    let of_question = diameter.as_ref().map_or(of_power, |entry| entry.unit);
    let unit = spoken(text_unit.unwrap_or(of_question));
    let question = StrengthQuestion {
        power,
        horsepower,
        speed_rpm,
        keyway: wire.keyway,
        shock_torsion,
        diameter: diameter.map(|entry| entry.length),
        unit,
    };
    Ok((question, unit))
}

/// The strength of a shaft, outward.
pub fn strength_out(
    found: Strength,
    diameter: Option<Length>,
    unit: Unit,
) -> pb::GetShaftStrengthResponse {
    let mut cautions: Vec<String> =
        STRENGTH_CAUTIONS.iter().map(|caution| caution.text().to_owned()).collect();
    if let Some(diameter) = diameter.filter(|diameter| *diameter < found.required) {
        let (has, needs) = (diameter.display_in(unit), found.required.display_in(unit));
        cautions.insert(0, format!("too small: the shaft is {has}, at least {needs} are required"));
    }
    pb::GetShaftStrengthResponse {
        torque_nm: (found.torque.newton_metres() * 100.0).round() / 100.0,
        torque_lb_in: tenth(found.torque.pound_inches()),
        required_diameter: Some(length(found.required, unit)),
        shear_stress_mpa: found.stress_mpa.map_or(0.0, tenth),
        shear_stress_psi: found.stress_mpa.map_or(0.0, |mpa| psi(mpa).round()),
        unit: unit.to_wire(),
        cautions,
        traces: found.traces.into_iter().map(trace).collect(),
    }
}
