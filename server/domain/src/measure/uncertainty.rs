//! Expanded uncertainty of a reading: its sources combined by root sum of squares.
//!
//! JCGM 100:2008 (the GUM): 4.3.7 a rectangular distribution of half-width a has the standard
//! uncertainty a/sqrt(3), so a resolution step r has r/sqrt(12); 5.1.2 root sum of squares of
//! independent sources; 6.2.1 expanded by k = 2 here, about 95 % for a normal distribution.

use super::MeasureError;
use crate::named::named_enum;
use crate::temperature::Material;
use crate::units::Length;

named_enum! {
    /// What a gauge was set against before it was read.
    SettingMethod, "setting method" {
        /// A micrometer checked on its own setting standard.
        MicrometerStandard = "micrometer_standard",
        /// A comparator or micrometer set on a gauge block at size.
        GaugeBlock = "gauge_block",
        /// A bore gauge set in a setting ring.
        SettingRing = "setting_ring",
        /// A bore gauge set in a micrometer: it carries the micrometer's error too.
        Micrometer = "micrometer",
        /// A plug or ring gauge: it gives a bound rather than a value.
        PlugOrRingGauge = "plug_or_ring_gauge",
        /// Not set against anything.
        None = "none",
    }
}

/// An expanded uncertainty (k = 2), always above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ExpandedUncertainty(Length);

/// What makes a reading uncertain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UncertaintySources {
    /// The gauge as registered: its error, its setting and the hand that reads it, at 20 C.
    pub gauge: ExpandedUncertainty,
    /// The coarser of the gauge's resolution and the last place written; zero if already in
    /// the gauge's own.
    pub resolution: Length,
    /// The size that was measured.
    pub size: Length,
    /// What the part is made of, or the gauge if that expands more; unknown is taken as the
    /// material that expands most.
    pub material: Option<Material>,
    /// Half-width of the doubt about part against gauge temperature, in thousandths of a kelvin:
    /// see [`super::Bodies::doubt_mk`].
    pub temperature_doubt_mk: i64,
}

impl ExpandedUncertainty {
    /// An expanded uncertainty; zero and below have no meaning.
    pub fn new(length: Length) -> Result<Self, MeasureError> {
        if length > Length::ZERO {
            Ok(ExpandedUncertainty(length))
        } else {
            Err(MeasureError::Uncertainty { nm: length.nm() })
        }
    }

    /// The expanded uncertainty as a length.
    pub const fn length(self) -> Length {
        self.0
    }

    /// The standard uncertainty (half of the expanded) in nanometres.
    pub fn standard_nm(self) -> f64 {
        self.0.nm() as f64 / 2.0
    }

    /// Combines the sources of one reading, rounded once to the nanometre.
    ///
    /// ```
    /// use tenths_domain::measure::{ExpandedUncertainty, UncertaintySources};
    /// use tenths_domain::temperature::Material;
    /// use tenths_domain::units::{Length, Unit};
    /// // A tenth-reading micrometer on 1.5 in of steel, temperatures not recorded.
    /// let combined = ExpandedUncertainty::combined(&UncertaintySources {
    ///     gauge: ExpandedUncertainty::new(Length::from_nm(4_161))?,
    ///     resolution: Length::from_nm(2_540),
    ///     size: Length::from_nm(38_100_000),
    ///     material: Some(Material::Steel),
    ///     temperature_doubt_mk: 3_000,
    /// });
    /// assert_eq!(combined.length().display(Unit::Inch, 5), "0.00018 in");
    /// # Ok::<(), tenths_domain::measure::MeasureError>(())
    /// ```
    pub fn combined(sources: &UncertaintySources) -> ExpandedUncertainty {
        rounded(2.0 * root_sum_square(&standard_terms_nm(sources)))
    }

    /// What a gauge's registered uncertainty comes to on a part, if it is to cover so much doubt about
    /// temperature: no less than that doubt alone makes there. Who worked it out for a smaller part,
    /// or for steel, did not have that in it.
    ///
    /// ```
    /// use tenths_domain::measure::ExpandedUncertainty;
    /// use tenths_domain::temperature::Material;
    /// use tenths_domain::units::Length;
    /// let half_a_micrometre = ExpandedUncertainty::new(Length::from_nm(500))?;
    /// let on = |mm: i64, material| {
    ///     half_a_micrometre.covering(Length::from_nm(mm * 1_000_000), Some(material), 3_000)
    /// };
    /// assert_eq!(on(12, Material::Steel), half_a_micrometre);
    /// // 200 mm * 23.1 ppm/K * 3 K is 13.9 um to either side, uniform: 16.0 um at k = 2.
    /// assert_eq!(on(200, Material::Aluminium).length(), Length::from_nm(16_004));
    /// # Ok::<(), tenths_domain::measure::MeasureError>(())
    /// ```
    pub fn covering(
        self,
        size: Length,
        material: Option<Material>,
        temperature_doubt_mk: i64,
    ) -> ExpandedUncertainty {
        let resolution = Length::ZERO;
        let alone =
            UncertaintySources { gauge: self, resolution, size, material, temperature_doubt_mk };
        let half_width = temperature_half_width_nm(&alone);
        self.max(rounded(2.0 * half_width / 3_f64.sqrt()))
    }

    /// The uncertainty of the difference of two readings. That the same gauge's error partly
    /// cancels is left out, so this is never too small.
    pub fn of_difference(self, other: ExpandedUncertainty) -> ExpandedUncertainty {
        rounded(root_sum_square(&[self.0.nm() as f64, other.0.nm() as f64]))
    }
}

/// The standard uncertainties of gauge, resolution and temperature, in nanometres.
pub(super) fn standard_terms_nm(sources: &UncertaintySources) -> [f64; 3] {
    let resolution_nm = sources.resolution.nm() as f64 / 12_f64.sqrt();
    let temperature_nm = temperature_half_width_nm(sources) / 3_f64.sqrt();
    [sources.gauge.standard_nm(), resolution_nm, temperature_nm]
}

fn temperature_half_width_nm(sources: &UncertaintySources) -> f64 {
    let known = sources.material.map(Material::expansion_ppb_per_k);
    let most = Material::ALL.iter().map(|material| material.expansion_ppb_per_k()).max();
    let expansion_ppb_per_k = known.or(most).unwrap_or_default();
    // Parts per billion per kelvin times millikelvin: parts in 10^12.
    let parts = expansion_ppb_per_k as f64 * sources.temperature_doubt_mk as f64 * 1e-12;
    sources.size.nm() as f64 * parts
}

pub(super) fn root_sum_square(terms: &[f64]) -> f64 {
    terms.iter().map(|term| term * term).sum::<f64>().sqrt()
}

/// To whole nanometres, half to even, and never to nothing.
pub(super) fn rounded(nm: f64) -> ExpandedUncertainty {
    ExpandedUncertainty(Length::from_nm((nm.round_ties_even() as i64).max(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn uncertainty(nm: i64) -> ExpandedUncertainty {
        ExpandedUncertainty::new(Length::from_nm(nm)).unwrap()
    }

    fn sources() -> UncertaintySources {
        UncertaintySources {
            gauge: uncertainty(3_000),
            resolution: Length::ZERO,
            size: Length::from_nm(25_400_000),
            material: Some(Material::Steel),
            temperature_doubt_mk: 0,
        }
    }

    #[test]
    fn a_gauge_alone_keeps_its_own_uncertainty() {
        assert_eq!(ExpandedUncertainty::combined(&sources()), uncertainty(3_000));
    }

    #[test]
    fn sources_add_as_squares() {
        // 2 * 6928.2 / sqrt(12) = 4000 nm beside 3000 nm.
        let with_resolution =
            UncertaintySources { resolution: Length::from_nm(6_928), ..sources() };
        assert_eq!(ExpandedUncertainty::combined(&with_resolution), uncertainty(5_000));
        assert_eq!(uncertainty(3_000).of_difference(uncertainty(4_000)), uncertainty(5_000));
    }

    #[test]
    fn temperature_doubt_grows_with_expansion_and_the_unknown_is_the_worst() {
        let with = |material| {
            let doubted = UncertaintySources { material, temperature_doubt_mk: 3_000, ..sources() };
            ExpandedUncertainty::combined(&doubted)
        };
        assert!(uncertainty(3_000) < with(Some(Material::Steel)));
        assert!(with(Some(Material::Steel)) < with(Some(Material::Bronze)));
        assert_eq!(with(None), with(Some(Material::Aluminium)));
        // 25.4 mm * 11.5 ppm/K * 3 K / sqrt(3) = 506 nm standard, with 1500: 1583, twice 3166.
        assert_eq!(with(Some(Material::Steel)), uncertainty(3_166));
    }

    #[test]
    fn nothing_is_certain() {
        assert_eq!(
            ExpandedUncertainty::new(Length::ZERO),
            Err(MeasureError::Uncertainty { nm: 0 })
        );
        assert!(ExpandedUncertainty::new(Length::from_nm(-1)).is_err());
    }
}
