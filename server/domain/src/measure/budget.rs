//! The whole budget of one reading: gauge, what it was set against, resolution, temperature, form.
//!
//! [`ExpandedUncertainty::combined`] takes a gauge whose registered uncertainty already has its
//! setting in it. Where the setting differs from the register (a bore gauge set in a micrometer
//! today, in a ring tomorrow), or form was not sampled, the budget here adds them and shows each
//! term. JCGM 100:2008 (the GUM), 4.3.7, 5.1.2 and 6.2.1, as there.

use super::uncertainty::{root_sum_square, rounded, standard_terms_nm};
use super::{ExpandedUncertainty, MeasureError, SettingMethod, UncertaintySources};
use crate::units::Length;

/// What a gauge was set against before the reading, where that is not yet in the gauge's own
/// uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Setting {
    /// How it was set.
    pub method: SettingMethod,
    /// The expanded uncertainty (k = 2) of what it was set against: of the ring or gauge block from
    /// its certificate, of a micrometer its own in the hand that set it.
    pub expanded_uncertainty: Option<ExpandedUncertainty>,
}

/// Everything that makes one reading uncertain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadingBudget {
    /// Gauge, resolution and temperature.
    pub sources: UncertaintySources,
    /// The setting, unless the gauge's own uncertainty has it.
    pub setting: Option<Setting>,
    /// How far the size may differ over the places that were not read: the out-of-round to be
    /// expected, zero if the readings' own spread stands for it. A rectangular distribution of
    /// this full width.
    pub unread_form: Length,
}

/// One term of a budget, as a standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UncertaintyTerm {
    /// What it is from.
    pub what: &'static str,
    /// The standard uncertainty in nanometres.
    pub standard_nm: f64,
}

/// Works a budget out: the expanded uncertainty (k = 2, rounded once to the nanometre) and its
/// terms, so that one can see which is worth making smaller.
///
/// ```
/// use tenths_domain::measure::{
///     ExpandedUncertainty, ReadingBudget, Setting, SettingMethod, UncertaintySources, budget,
/// };
/// use tenths_domain::units::Length;
/// let uncertainty = |nm| ExpandedUncertainty::new(Length::from_nm(nm)).unwrap();
/// // A bore gauge good to 4 um by itself, set in a micrometer good to 4.6 um.
/// let sources = UncertaintySources {
///     gauge: uncertainty(4_000),
///     resolution: Length::ZERO,
///     size: Length::from_nm(62_000_000),
///     material: None,
///     temperature_doubt_mk: 0,
/// };
/// let setting = Setting {
///     method: SettingMethod::Micrometer,
///     expanded_uncertainty: Some(uncertainty(4_600)),
/// };
/// let reading = ReadingBudget { sources, setting: Some(setting), unread_form: Length::ZERO };
/// let (combined, terms) = budget(&reading).unwrap();
/// assert_eq!(combined, uncertainty(6_096));
/// assert_eq!(terms[1].standard_nm, 2_300.0);
/// ```
pub fn budget(
    reading: &ReadingBudget,
) -> Result<(ExpandedUncertainty, [UncertaintyTerm; 5]), MeasureError> {
    if reading.unread_form < Length::ZERO {
        return Err(MeasureError::Form { nm: reading.unread_form.nm() });
    }
    let [gauge, resolution, temperature] = standard_terms_nm(&reading.sources);
    let setting = reading.setting.map_or(Ok(0.0), setting_nm)?;
    let form = reading.unread_form.nm() as f64 / 12_f64.sqrt();
    let terms = [
        ("gauge", gauge),
        ("setting", setting),
        ("resolution", resolution),
        ("temperature", temperature),
        ("form", form),
    ];
    let combined = rounded(2.0 * root_sum_square(&terms.map(|(_, standard_nm)| standard_nm)));
    Ok((combined, terms.map(|(what, standard_nm)| UncertaintyTerm { what, standard_nm })))
}

fn setting_nm(setting: Setting) -> Result<f64, MeasureError> {
    let Setting { method, expanded_uncertainty } = setting;
    match method {
        SettingMethod::PlugOrRingGauge => Err(MeasureError::BoundNotValue),
        SettingMethod::None => Ok(0.0),
        SettingMethod::MicrometerStandard
        | SettingMethod::GaugeBlock
        | SettingMethod::SettingRing
        | SettingMethod::Micrometer => expanded_uncertainty
            .map(ExpandedUncertainty::standard_nm)
            .ok_or(MeasureError::SettingUnknown { method }),
    }
}
