//! Whether a shaft is thick enough: torque from power and speed, diameter for a shear stress, and
//! what a keyway costs.
//!
//! Torsion and bending by maximum shear, as the ASME code for transmission shafting has it; not for
//! fatigue, shoulders or case depth. Stresses and torques are floats; a diameter is rounded up.

use crate::assembly::Source;
use crate::iso286::millimetres;
use crate::units::Length;

/// A strength question that has no meaning.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StrengthError {
    /// A number that must be above zero is not, or is no number.
    #[error("{what} of {value} is not possible; it must be above {above}")]
    NotPossible {
        /// What it is.
        what: &'static str,
        /// As it was given.
        value: String,
        /// What it must exceed.
        above: &'static str,
    },
    /// A keyway that leaves no shaft.
    #[error("a keyway {} wide and {} deep leaves nothing of a shaft of {}", millimetres(*width), millimetres(*depth), millimetres(*diameter))]
    Keyway {
        /// Its width.
        width: Length,
        /// Its depth.
        depth: Length,
        /// The shaft.
        diameter: Length,
    },
}

fn above_zero(what: &'static str, value: f64) -> Result<f64, StrengthError> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    Err(StrengthError::NotPossible { what, value: value.to_string(), above: "0" })
}

/// A power in watts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Power(f64);

impl Power {
    /// From mechanical horsepower: 550 ft lbf/s, 745.69987158 W (NIST SP 811, Appendix B.8).
    pub fn from_horsepower(horsepower: f64) -> Result<Self, StrengthError> {
        Ok(Power(above_zero("a power in hp", horsepower)? * 745.699_871_582_270_2))
    }

    /// From kilowatts.
    pub fn from_kilowatts(kilowatts: f64) -> Result<Self, StrengthError> {
        Ok(Power(above_zero("a power in kW", kilowatts)? * 1e3))
    }
}

/// A torque in newton metres.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Torque(f64);

impl Torque {
    /// A torque of nothing: for bending where there is none.
    pub const ZERO: Torque = Torque(0.0);

    /// From newton metres.
    pub fn from_newton_metres(newton_metres: f64) -> Result<Self, StrengthError> {
        Ok(Torque(above_zero("a torque in N m", newton_metres)?))
    }

    /// The torque that a power has at a speed: P / (2 pi n), in the trade's units
    /// 63 025 hp / rpm in lbf in (the constant is 33 000 x 12 / 2 pi).
    ///
    /// ```
    /// use tenths_domain::strength::{Power, Torque};
    /// let torque = Torque::of(Power::from_horsepower(1.0).unwrap(), 1725.0).unwrap();
    /// assert!((torque.pound_inches() - 63_025.0 / 1725.0).abs() < 0.001);
    /// assert!(Torque::of(Power::from_kilowatts(1.0).unwrap(), 0.0).is_err());
    /// ```
    pub fn of(power: Power, speed_rpm: f64) -> Result<Self, StrengthError> {
        let speed = above_zero("a speed in rpm", speed_rpm)? * std::f64::consts::TAU / 60.0;
        Ok(Torque(power.0 / speed))
    }

    /// In newton metres.
    pub const fn newton_metres(self) -> f64 {
        self.0
    }

    /// In pound-force inches (0.112984829 N m: NIST SP 811, Appendix B.8).
    pub fn pound_inches(self) -> f64 {
        self.0 / 0.112_984_829_027_616_7
    }
}

/// How much more than steady load a shaft must bear: the shock and fatigue factors of the shaft
/// code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShockFactors {
    /// Kt, on torque: 1.0 steady, 1.0 to 1.5 minor shock, 1.5 to 3.0 heavy shock.
    pub torsion: f64,
    /// Kb, on bending: 1.5 steady, 1.5 to 2.0 minor shock, 2.0 to 3.0 heavy shock.
    pub bending: f64,
}

impl ShockFactors {
    /// A steady load on a turning shaft. Factors from memory of the code (ASA B17c-1927).
    pub const STEADY: ShockFactors = ShockFactors { torsion: 1.0, bending: 1.5 };
}

/// What shear stress a shaft may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AllowableShear {
    /// Commercial steel shafting of unknown strength: 8000 psi, or 6000 psi with a keyway.
    Commercial {
        /// Whether there is a keyway at the place.
        has_keyway: bool,
    },
    /// From the steel's own strength: the lower of 30 % of yield and 18 % of ultimate, less 25 %
    /// with a keyway.
    OfStrength {
        /// Yield strength in MPa.
        yield_mpa: f64,
        /// Ultimate tensile strength in MPa.
        ultimate_mpa: f64,
        /// Whether there is a keyway at the place.
        has_keyway: bool,
    },
    /// A stated stress in MPa, keyway already allowed for.
    Stated(f64),
}

impl AllowableShear {
    /// The stress in MPa (1 psi = 0.006894757 MPa: NIST SP 811, Appendix B.8).
    ///
    /// ```
    /// use tenths_domain::strength::AllowableShear;
    /// let steel = AllowableShear::OfStrength {
    ///     yield_mpa: 150.0,
    ///     ultimate_mpa: 300.0,
    ///     has_keyway: false,
    /// };
    /// assert_eq!(steel.mpa().unwrap(), 45.0);
    /// ```
    pub fn mpa(self) -> Result<f64, StrengthError> {
        match self {
            AllowableShear::Commercial { has_keyway: false } => Ok(8_000.0 * PSI_MPA),
            AllowableShear::Commercial { has_keyway: true } => Ok(6_000.0 * PSI_MPA),
            AllowableShear::OfStrength { yield_mpa, ultimate_mpa, has_keyway } => {
                let yield_mpa = above_zero("a yield strength in MPa", yield_mpa)?;
                let ultimate_mpa = above_zero("a tensile strength in MPa", ultimate_mpa)?;
                let plain = (0.30 * yield_mpa).min(0.18 * ultimate_mpa);
                Ok(if has_keyway { 0.75 * plain } else { plain })
            }
            AllowableShear::Stated(mpa) => above_zero("a shear stress in MPa", mpa),
        }
    }

    /// Where it is from.
    pub const fn source(self) -> Source {
        match self {
            AllowableShear::Commercial { .. } => Source::unconfirmed(
                "ASME code for transmission shafting (ASA B17c-1927), commercial steel: from \
                 memory; 6000 psi with keyways also stands in published class problems",
            ),
            AllowableShear::OfStrength { .. } => Source::read(
                "ASME code for transmission shafting: 30 % of yield, at most 18 % of ultimate, \
                 less 25 % with keyways (web copy of its text)",
            ),
            AllowableShear::Stated(_) => Source::read("stated by the person who asks"),
        }
    }
}

/// The least diameter of a solid shaft, rounded up to the nanometre:
/// d^3 = 16 / (pi s) sqrt((Kb M)^2 + (Kt T)^2) (ASME code for transmission shafting, maximum shear;
/// web copy of its text).
///
/// ```
/// use tenths_domain::strength::{
///     AllowableShear, Power, ShockFactors, Torque, required_diameter,
/// };
/// use tenths_domain::units::Unit;
/// let torque = Torque::of(Power::from_horsepower(2.0).unwrap(), 1725.0).unwrap();
/// let keyed = AllowableShear::Commercial { has_keyway: true };
/// let shock = ShockFactors { torsion: 2.0, bending: 2.0 };
/// let diameter = required_diameter(torque, Torque::ZERO, shock, keyed).unwrap();
/// assert_eq!(diameter.display(Unit::Inch, 2), "0.50 in");
/// ```
pub fn required_diameter(
    torque: Torque,
    bending: Torque,
    factors: ShockFactors,
    allowable: AllowableShear,
) -> Result<Length, StrengthError> {
    let torsion = above_zero("a shock factor on torque", factors.torsion)? * torque.0;
    let bending = above_zero("a shock factor on bending", factors.bending)? * bending.0;
    let stress_pa = allowable.mpa()? * 1e6;
    let cubed = 16.0 * torsion.hypot(bending) / (std::f64::consts::PI * stress_pa);
    Ok(Length::from_nm((libm::cbrt(cubed) * 1e9).ceil() as i64))
}

/// The shear stress at the surface of a solid or hollow shaft in MPa, by torsion alone:
/// 16 T D / (pi (D^4 - d^4)).
///
/// ```
/// use tenths_domain::strength::{Torque, shear_stress_mpa};
/// use tenths_domain::units::Length;
/// let torque = Torque::from_newton_metres(955.0).unwrap();
/// let stress = shear_stress_mpa(torque, Length::from_nm(50_000_000), Length::ZERO).unwrap();
/// assert!((stress - 38.9).abs() < 0.05);
/// ```
pub fn shear_stress_mpa(
    torque: Torque,
    diameter: Length,
    bore: Length,
) -> Result<f64, StrengthError> {
    let [outside, inside] = [diameter, bore].map(|length| length.nm() as f64 * 1e-6);
    above_zero("a diameter in mm", outside)?;
    if !(0.0..outside).contains(&inside) {
        let what = "a wall of a hollow shaft in mm";
        let value = (outside - inside).to_string();
        return Err(StrengthError::NotPossible { what, value, above: "0, its bore 0 or more" });
    }
    let section = std::f64::consts::PI * (outside.powi(4) - inside.powi(4));
    Ok(16.0 * torque.0 * 1e3 * outside / section)
}

/// The share of a plain shaft's torsional strength that one keyway leaves:
/// e = 1 - 0.2 w / d - 1.1 h / d, h the depth in the shaft (University of Illinois Engineering
/// Experiment Station, Bulletin 42, 1910; from memory, unconfirmed).
///
/// ```
/// use tenths_domain::strength::keyway_strength_share;
/// use tenths_domain::units::Length;
/// let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
/// let (share, source) = keyway_strength_share(mm(50), mm(16), mm(5)).unwrap();
/// assert!((share - 0.826).abs() < 1e-9 && !source.is_confirmed);
/// ```
pub fn keyway_strength_share(
    diameter: Length,
    width: Length,
    depth: Length,
) -> Result<(f64, Source), StrengthError> {
    let ratio = |length: Length| length.nm() as f64 / diameter.nm() as f64;
    let is_real = diameter > Length::ZERO && width > Length::ZERO && depth > Length::ZERO;
    let share = 1.0 - 0.2 * ratio(width) - 1.1 * ratio(depth);
    if !is_real || width >= diameter || share <= 0.0 {
        return Err(StrengthError::Keyway { width, depth, diameter });
    }
    Ok((share, KEYWAY_TESTS))
}

const KEYWAY_TESTS: Source = Source::unconfirmed(
    "University of Illinois Engineering Experiment Station, Bulletin 42, 1910: from memory",
);

/// One pound-force per square inch in MPa (NIST SP 811, Appendix B.8, and the exact pound-force).
const PSI_MPA: f64 = 0.006_894_757_293_168_361;

/// A stress or pressure of MPa in psi.
///
/// ```
/// use tenths_domain::strength::psi;
/// assert!((psi(6.894_757) - 1_000.0).abs() < 1e-3);
/// ```
pub fn psi(mpa: f64) -> f64 {
    mpa / PSI_MPA
}

/// The share of torsional strength that a shaft loses when ground from one diameter to another:
/// 1 - (d / D)^3, solid shafts.
///
/// ```
/// use tenths_domain::strength::strength_lost;
/// use tenths_domain::units::Length;
/// let lost = strength_lost(Length::from_nm(25_400_000), Length::from_nm(24_638_000)).unwrap();
/// assert!((lost - 0.087).abs() < 0.0005); // 1.000 in to 0.970 in
/// ```
pub fn strength_lost(from: Length, to: Length) -> Result<f64, StrengthError> {
    for length in [from, to] {
        above_zero("a diameter in mm", length.nm() as f64 * 1e-6)?;
    }
    Ok(1.0 - (to.nm() as f64 / from.nm() as f64).powi(3))
}
