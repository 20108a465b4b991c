//! How stress, force, torque and temperature are said: in the unit system of the question, an inch
//! answer with the metric value beside it.

use tenths_domain::assembly::ForceRange;
use tenths_domain::strength::{Torque, psi};
use tenths_domain::temperature::Temperature;
use tenths_domain::units::Unit;

/// Whether a unit belongs to the inch system.
pub(super) const fn is_inch(unit: Unit) -> bool {
    matches!(unit, Unit::Inch | Unit::Thou)
}

/// A range of stress or pressure in MPa.
pub(super) fn stresses((least, most): (f64, f64), unit: Unit) -> String {
    let metric = format!("{least:.1}..{most:.1} MPa");
    match is_inch(unit) {
        true => format!("{:.0}..{:.0} psi ({metric})", psi(least), psi(most)),
        false => metric,
    }
}

/// A stress in MPa.
pub(super) fn stress(mpa: f64, unit: Unit) -> String {
    match is_inch(unit) {
        true => format!("{:.0} psi ({mpa:.1} MPa)", psi(mpa)),
        false => format!("{mpa:.1} MPa"),
    }
}

/// A range of force.
pub(super) fn forces(force: ForceRange, unit: Unit) -> String {
    let metric = format!("{}..{} N", force.least_n, force.most_n);
    let (least, most) = force.pounds();
    match is_inch(unit) {
        true => format!("{least}..{most} lbf ({metric})"),
        false => metric,
    }
}

/// A torque.
pub(super) fn torque(torque: Torque, unit: Unit) -> String {
    let metric = format!("{:.2} N m", torque.newton_metres());
    match is_inch(unit) {
        true => format!("{:.1} lb in ({metric})", torque.pound_inches()),
        false => metric,
    }
}

/// A temperature.
pub(super) fn temperature(temperature: Temperature, unit: Unit) -> String {
    match is_inch(unit) {
        true => format!("{} F ({temperature})", temperature.fahrenheit()),
        false => temperature.to_string(),
    }
}
