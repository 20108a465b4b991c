//! How hard a joint is to press together: friction times pressure times area, as a range.

use super::{AssemblyError, Cylinders, Source, check_size};
use crate::fit::SizeBelief;
use crate::named::named_enum;
use crate::units::Length;

/// The interference of a pair on diameter: least and most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Interference {
    /// The least; below zero is clearance.
    pub least: Length,
    /// The most.
    pub most: Length,
}

impl Interference {
    /// A range with its ends in order.
    pub fn new(least: Length, most: Length) -> Result<Self, AssemblyError> {
        if least > most {
            return Err(AssemblyError::Reversed { what: "interference", least, most });
        }
        Ok(Interference { least, most })
    }

    /// The interference of two sizes at both extremes, as read or as allowed, without uncertainty:
    /// the range that [`crate::fit`] and [`crate::bushings`] give too, with the sign turned.
    ///
    /// ```
    /// use tenths_domain::assembly::Interference;
    /// use tenths_domain::fit::SizeBelief;
    /// use tenths_domain::units::Length;
    /// let nm = Length::from_nm;
    /// let bore = SizeBelief::measured(nm(29_995_000), nm(29_996_000), nm(3_000)).unwrap();
    /// let seat = SizeBelief::measured(nm(30_006_000), nm(30_007_000), nm(4_000)).unwrap();
    /// let found = Interference::between(&bore, &seat);
    /// assert_eq!((found.least, found.most), (nm(10_000), nm(12_000)));
    /// ```
    pub fn between(internal: &SizeBelief, external: &SizeBelief) -> Self {
        let (clearance_min, clearance_max) = crate::fit::clearance_range(internal, external);
        Interference { least: -clearance_max, most: -clearance_min }
    }

    /// The interference of two sizes at both extremes, widened by the uncertainty of both gauges,
    /// since a press must be able to do the worst.
    ///
    /// ```
    /// use tenths_domain::assembly::Interference;
    /// use tenths_domain::fit::SizeBelief;
    /// use tenths_domain::units::Length;
    /// let nm = Length::from_nm;
    /// let bore = SizeBelief::measured(nm(29_995_000), nm(29_996_000), nm(3_000)).unwrap();
    /// let seat = SizeBelief::measured(nm(30_006_000), nm(30_007_000), nm(4_000)).unwrap();
    /// let found = Interference::of(&bore, &seat);
    /// assert_eq!((found.least, found.most), (nm(5_000), nm(17_000)));
    /// ```
    pub fn of(internal: &SizeBelief, external: &SizeBelief) -> Self {
        let (clearance_min, clearance_max) = crate::fit::clearance_range(internal, external);
        let uncertainty = crate::fit::combined_uncertainty(internal, external);
        Interference { least: -clearance_max - uncertainty, most: uncertainty - clearance_min }
    }
}

named_enum! {
    /// What is between the two parts when they are pressed.
    Friction, "friction" {
        /// Oil or paste on both.
        Lubricated = "lubricated",
        /// Clean and dry.
        Dry = "dry",
    }
}

impl Friction {
    /// The least and the most coefficient of friction to plan on, in hundredths.
    ///
    /// ```
    /// use tenths_domain::assembly::Friction;
    /// assert_eq!(Friction::Lubricated.range_hundredths(), (5, 12));
    /// ```
    pub const fn range_hundredths(self) -> (i64, i64) {
        match self {
            Friction::Lubricated => (5, 12),
            Friction::Dry => (10, 25),
        }
    }

    /// Where the range is from.
    pub const fn source(self) -> Source {
        match self {
            Friction::Lubricated => Source::read(
                "0.05 with special lubricants to 0.085 and more: machine design data handbook, \
                 press fits (web copy); steel on steel pressed with mineral oil 0.12: DIN 7190-1, \
                 5.3 (web copy of its table)",
            ),
            Friction::Dry => Source::read(
                "steel on steel dry 0.10 to 0.15: a university's tribology tables (web copy); \
                 steel on copper alloys dry 0.17 to 0.25: DIN 7190-1, 5.3 (web copy of its table)",
            ),
        }
    }
}

/// A force: least and most to plan on, in whole newtons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ForceRange {
    /// The least.
    pub least_n: i64,
    /// The most.
    pub most_n: i64,
}

impl ForceRange {
    /// The same in pounds-force, the least rounded down and the most up (1 lbf = 4.4482216152605 N,
    /// exact: NIST SP 811, Appendix B.8).
    ///
    /// ```
    /// use tenths_domain::assembly::ForceRange;
    /// assert_eq!(ForceRange { least_n: 4_449, most_n: 8_896 }.pounds(), (1_000, 2_000));
    /// ```
    pub const fn pounds(self) -> (i64, i64) {
        const NEWTONS: i128 = 10_000_000_000_000;
        const PER_POUND: i128 = 44_482_216_152_605;
        let least = (self.least_n as i128 * NEWTONS).div_euclid(PER_POUND);
        let most = -(-(self.most_n as i128) * NEWTONS).div_euclid(PER_POUND);
        (least as i64, most as i64)
    }
}

/// The force to press two cylinders together over a length: F = f p pi D L at the full length
/// (machine design data handbook, press fits, read at a web copy: Fa = pi dc l mu pc). Least friction with the least interference, most with the most; the least is rounded
/// down to the newton and the most up.
///
/// ```
/// use tenths_domain::assembly::{Cylinders, Friction, Interference, elastic, press_force};
/// use tenths_domain::temperature::Material;
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// let steel = elastic(Material::Steel).usual();
/// let ring = Cylinders::new(nm(30_000_000), nm(0), nm(38_000_000), steel, steel).unwrap();
/// let interference = Interference::new(nm(2_000), nm(21_000)).unwrap();
/// let force = press_force(&ring, interference, nm(16_000_000), Friction::Lubricated).unwrap();
/// assert_eq!((force.least_n, force.most_n), (195, 4_940));
/// ```
pub fn press_force(
    cylinders: &Cylinders,
    interference: Interference,
    length: Length,
    friction: Friction,
) -> Result<ForceRange, AssemblyError> {
    check_size("a length of the joint", length)?;
    let (low, high) = friction.range_hundredths();
    let force = |hundredths: i64, interference: Length| {
        let pressure = cylinders.pressure_mpa(interference);
        friction_force_n(pressure, cylinders.diameter(), length, hundredths as f64 / 100.0)
    };
    Ok(ForceRange {
        least_n: force(low, interference.least).floor() as i64,
        most_n: force(high, interference.most).ceil() as i64,
    })
}

/// MPa on square millimetres are newtons.
pub(super) fn friction_force_n(
    pressure_mpa: f64,
    diameter: Length,
    length: Length,
    friction: f64,
) -> f64 {
    let area_mm2 = std::f64::consts::PI * diameter.nm() as f64 * length.nm() as f64 * 1e-12;
    friction * pressure_mpa * area_mm2
}
