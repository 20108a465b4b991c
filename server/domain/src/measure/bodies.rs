//! Part and gauge as two bodies, each with its own temperature and material, and what that does to
//! a reading: the correction to 20 C (ISO 1) and the doubt that is left.

use crate::temperature::{Material, Temperature, at_20c_with_gauge};
use crate::units::Length;

/// Half-width of the doubt about a body whose temperature was not recorded, in thousandths of a
/// kelvin: the part-to-gauge difference of the shop budgets this project rests on (common practice,
/// no published source).
const UNRECORDED_MK: i64 = 3_000;

/// The share of a correction by which it may be wrong because handbook coefficients of expansion
/// are: one tenth (common practice, no published source).
const COEFFICIENT_DOUBT_PARTS: i64 = 10;

/// A part and the gauge that it was measured with.
///
/// With only one temperature recorded, the other body is taken to have soaked with it, as it does
/// in the shop: for like materials the two cancel, for an aluminium part under a steel gauge the
/// difference remains. That may be wrong for a part fresh from the washer, so [`Bodies::doubt_mk`]
/// then widens with the distance from 20 C. With neither, or without the part's material, nothing
/// is corrected and the doubt stands for it.
///
/// ```
/// use tenths_domain::measure::Bodies;
/// use tenths_domain::temperature::{Material, Temperature};
/// use tenths_domain::units::Length;
/// let bore = Length::from_nm(62_008_500);
/// let soaked = Bodies {
///     part: Some(Temperature::from_millidegrees_c(24_000)),
///     gauge: None,
///     part_material: Some(Material::Steel),
///     gauge_material: Material::Steel,
/// };
/// assert_eq!(soaked.to_20c(bore), bore);
/// let aluminium = Bodies { part_material: Some(Material::Aluminium), ..soaked };
/// assert_eq!(bore - aluminium.to_20c(bore), Length::from_nm(2_877));
/// let cool_gauge = Bodies { gauge: Some(Temperature::REFERENCE), ..aluminium };
/// assert_eq!(bore - cool_gauge.to_20c(bore), Length::from_nm(5_730));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bodies {
    /// The part's temperature, if it was taken.
    pub part: Option<Temperature>,
    /// The gauge's temperature, if it was taken.
    pub gauge: Option<Temperature>,
    /// What the part is made of, if known.
    pub part_material: Option<Material>,
    /// What the gauge is made of.
    pub gauge_material: Material,
}

impl Bodies {
    /// The temperatures that the correction uses, part then gauge; nothing where none was taken.
    pub fn temperatures(self) -> Option<(Temperature, Temperature)> {
        Some((self.part.or(self.gauge)?, self.gauge.or(self.part)?))
    }

    /// The size at 20 C, rounded once to the nanometre.
    pub fn to_20c(self, measured: Length) -> Length {
        match (self.part_material, self.temperatures()) {
            (Some(material), Some((part, gauge))) => {
                at_20c_with_gauge(measured, (part, material), (gauge, self.gauge_material))
            }
            _ => measured,
        }
    }

    /// Half-width of the doubt about the correction, in thousandths of a kelvin of the material
    /// that [`Bodies::doubted_material`] names.
    ///
    /// Both temperatures recorded: a tenth of each body's distance from 20 C, for the coefficients
    /// (the thermometer's own error is left to the gauge's uncertainty); without the part's
    /// material, where nothing is corrected, the whole distance of part, gauge or between them.
    /// Otherwise 3 K, or the distance of the one recorded temperature from 20 C if that is more,
    /// since the other body may still have been at room temperature.
    pub fn doubt_mk(self) -> i64 {
        let off = |body: Temperature| body.above_reference_mk();
        match (self.part, self.gauge) {
            (Some(part), Some(gauge)) if self.part_material.is_none() => {
                let apart = off(part) - off(gauge);
                off(part).abs().max(off(gauge).abs()).max(apart.abs())
            }
            (Some(part), Some(gauge)) => {
                (off(part).abs() + off(gauge).abs()) / COEFFICIENT_DOUBT_PARTS
            }
            (Some(one), None) | (None, Some(one)) => off(one).abs().max(UNRECORDED_MK),
            (None, None) => UNRECORDED_MK,
        }
    }

    /// The material whose expansion the doubt counts in: of part and gauge the one that expands
    /// more; nothing where the part's is not known.
    pub fn doubted_material(self) -> Option<Material> {
        let part = self.part_material?;
        let more = self.gauge_material.expansion_ppb_per_k() > part.expansion_ppb_per_k();
        Some(if more { self.gauge_material } else { part })
    }
}
