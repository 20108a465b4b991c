//! How stiff the shop's materials are: Young's modulus and Poisson's ratio, as ranges.

use super::{Source, Stiffness};
use crate::temperature::Material;

/// The stiffness of a material: its usual value and the range that published tables give, since the
/// alloy of a part on the bench is seldom known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elastic {
    /// The usual Young's modulus in GPa.
    pub young_gpa: f64,
    /// The least of the range in GPa.
    pub young_gpa_low: f64,
    /// The most of the range in GPa.
    pub young_gpa_high: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Where they are from.
    pub source: Source,
}

impl Elastic {
    /// The usual stiffness.
    pub const fn usual(&self) -> Stiffness {
        Stiffness { young_mpa: self.young_gpa * 1e3, poisson: self.poisson }
    }

    /// The softest of the range.
    pub const fn softest(&self) -> Stiffness {
        Stiffness { young_mpa: self.young_gpa_low * 1e3, poisson: self.poisson }
    }

    /// The stiffest of the range.
    pub const fn stiffest(&self) -> Stiffness {
        Stiffness { young_mpa: self.young_gpa_high * 1e3, poisson: self.poisson }
    }
}

/// The stiffness of a material.
///
/// ```
/// use tenths_domain::assembly::elastic;
/// use tenths_domain::temperature::Material;
/// assert_eq!(elastic(Material::Steel).young_gpa, 207.0);
/// assert!(!elastic(Material::PorousBronze).source.is_confirmed);
/// ```
pub const fn elastic(material: Material) -> Elastic {
    let (young_gpa, [young_gpa_low, young_gpa_high], poisson, source) = match material {
        Material::Steel => (207.0, [190.0, 210.0], 0.30, STEEL),
        Material::Aluminium => (70.0, [69.0, 79.0], 0.33, GERE),
        Material::CastIron => (100.0, [83.0, 170.0], 0.25, GERE),
        Material::Bronze => (104.0, [96.0, 120.0], 0.34, GERE),
        Material::PorousBronze => (70.0, [40.0, 104.0], 0.34, POROUS),
    };
    Elastic { young_gpa, young_gpa_low, young_gpa_high, poisson, source }
}

const STEEL: Source = Source::read(
    "207 GPa: Callister, Materials Science and Engineering, Appendix B, Table B.2; range and \
     Poisson's ratio (0.27 to 0.30): Mechanics of Materials (Gere), 5th ed., appendix, as restated \
     in a university course's table of elastic constants (web copy)",
);
/// Cast iron has no usual value: the middle of grey iron's grades is taken, and the range used.
const GERE: Source = Source::read(
    "Mechanics of Materials (Gere), 5th ed., appendix, as restated in a university course's table \
     of elastic constants (ranges of modulus and Poisson's ratio, web copy); the usual value \
     within them is our choice",
);
const POROUS: Source = Source::unconfirmed(
    "porous bronze: a share of solid bronze that falls with porosity, from memory, no published \
     source",
);
