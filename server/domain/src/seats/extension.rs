//! Shaft extensions of electric machines: diameter tolerance and permissible run-out.

use super::Confidence;
use crate::iso286::{
    Class, FundamentalDeviation as Letter, Grade, Iso286Error, limits, millimetres,
};
use crate::item::{Limits, Side};
use crate::units::{Length, Unit};

/// What a standard allows a shaft extension.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Extension {
    /// The limits of the diameter.
    pub limits: Limits,
    /// The tolerance class of the diameter, where the standard gives one.
    pub class: Option<Class>,
    /// The tables behind the diameter.
    pub diameter_source: &'static str,
    /// How well the diameter's limits are known.
    pub diameter_confidence: Confidence,
    /// Most run-out, as the change of an indicator's reading over one turn.
    pub run_out: Length,
    /// Most run-out of a machine ordered with reduced run-out, where the standard has one.
    pub run_out_reduced: Option<Length>,
    /// Where along the extension run-out is measured.
    pub measured_at: &'static str,
    /// The tables behind the run-out.
    pub run_out_source: &'static str,
    /// How well the run-out is known.
    pub run_out_confidence: Confidence,
}

/// A shaft extension that the standard does not cover.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ExtensionError {
    /// The diameter is outside the standard's table.
    #[error(
        "{standard} has no shaft extension of {} ({}); allowed: {} to {}",
        millimetres(*diameter), diameter.display_in(Unit::Inch),
        millimetres(*from), millimetres(*to)
    )]
    NotCovered {
        /// The standard asked.
        standard: &'static str,
        /// The diameter asked for.
        diameter: Length,
        /// Smallest diameter allowed.
        from: Length,
        /// Largest diameter allowed.
        to: Length,
    },
    /// ISO 286 does not cover the class at the diameter.
    #[error(transparent)]
    Iso286(#[from] Iso286Error),
}

/// One ten-thousandth of an inch.
const TENTH_NM: i64 = 2_540;
const NM_PER_MM: i64 = 1_000_000;

/// A NEMA machine's shaft extension: over nothing, under by 0.0005 in to 1.5 in and by 0.001 in to
/// 6.5 in; run-out 0.002 in to 1.625 in and 0.003 in to 6.5 in.
///
/// ```
/// use tenths_domain::seats::nema_shaft_extension;
/// use tenths_domain::units::{Entry, Unit};
/// let inch = |text| Entry::parse(text, Unit::Inch).unwrap().length;
/// let extension = nema_shaft_extension(inch("1.625"))?;
/// assert_eq!(extension.limits.lower, inch("1.6240"));
/// assert_eq!(extension.run_out, inch("0.002"));
/// # Ok::<(), tenths_domain::seats::ExtensionError>(())
/// ```
pub fn nema_shaft_extension(diameter: Length) -> Result<Extension, ExtensionError> {
    let (from, to) = (Length::from_nm(1_875 * TENTH_NM), Length::from_nm(65_000 * TENTH_NM));
    if diameter < from || diameter > to {
        let standard = "NEMA MG 1";
        return Err(ExtensionError::NotCovered { standard, diameter, from, to });
    }
    let under = if diameter.nm() <= 15_000 * TENTH_NM { 5 } else { 10 };
    let run_out = if diameter.nm() <= 16_250 * TENTH_NM { 20 } else { 30 };
    Ok(Extension {
        limits: Limits { lower: diameter - Length::from_nm(under * TENTH_NM), upper: diameter },
        class: None,
        diameter_source: "NEMA MG 1, 4.9; ANSI/EASA AR100, Table 2-1",
        diameter_confidence: Confidence::Unconfirmed,
        run_out: Length::from_nm(run_out * TENTH_NM),
        run_out_reduced: None,
        measured_at: "at the end of the extension",
        run_out_source: "NEMA MG 1-2011, 4.9.7; ANSI/EASA AR100, Table 2-3",
        run_out_confidence: Confidence::Confirmed,
    })
}

/// An IEC machine's shaft extension: j6 to 30 mm, k6 to 50 mm, m6 above; run-out by steps.
///
/// ```
/// use tenths_domain::seats::iec_shaft_extension;
/// use tenths_domain::units::Length;
/// let extension = iec_shaft_extension(Length::from_nm(28_000_000))?;
/// assert_eq!(extension.class.unwrap().to_string(), "j6");
/// assert_eq!(extension.run_out.nm(), 40_000);
/// assert_eq!(extension.run_out_reduced.unwrap().nm(), 21_000);
/// # Ok::<(), tenths_domain::seats::ExtensionError>(())
/// ```
pub fn iec_shaft_extension(diameter: Length) -> Result<Extension, ExtensionError> {
    let (from, to) = (Length::from_nm(6 * NM_PER_MM + 1), Length::from_nm(500 * NM_PER_MM));
    let step = IEC_RUN_OUT.iter().find(|step| diameter.nm() <= step.to_mm * NM_PER_MM);
    let step = step.filter(|_| diameter >= from).ok_or(ExtensionError::NotCovered {
        standard: "IEC 60072-1",
        diameter,
        from,
        to,
    })?;
    let letter = match diameter.nm() {
        nm if nm <= 30 * NM_PER_MM => Letter::J,
        nm if nm <= 50 * NM_PER_MM => Letter::K,
        _ => Letter::M,
    };
    let class = Class::new(Side::External, letter, Grade::new(6).expect("6 is a grade"));
    Ok(Extension {
        limits: limits(diameter, &class)?,
        class: Some(class),
        diameter_source: "IEC 60072-1:1991, C.1.4; ANSI/EASA AR100, Table 2-2; ISO 286-1:2010",
        diameter_confidence: Confidence::Unconfirmed,
        run_out: Length::from_nm(step.run_out_um * 1_000),
        run_out_reduced: step.reduced_um.map(|um| Length::from_nm(um * 1_000)),
        measured_at: "midway along the extension",
        run_out_source: "IEC 60072-1; ANSI/EASA AR100-2015, Table 2-4; reduced: DIN 42955, class R",
        run_out_confidence: Confidence::Confirmed,
    })
}

/// One step of run-out.
struct RunOut {
    to_mm: i64,
    run_out_um: i64,
    reduced_um: Option<i64>,
}

/// Over 6 mm. ANSI/EASA AR100-2015, Table 2-4 (read), equal to DIN 42955 class N to 250 mm (read),
/// whose class R is the reduced run-out.
#[rustfmt::skip]
const IEC_RUN_OUT: [RunOut; 11] = [
    RunOut { to_mm: 10, run_out_um: 30, reduced_um: Some(15) },
    RunOut { to_mm: 18, run_out_um: 35, reduced_um: Some(18) },
    RunOut { to_mm: 30, run_out_um: 40, reduced_um: Some(21) },
    RunOut { to_mm: 50, run_out_um: 50, reduced_um: Some(25) },
    RunOut { to_mm: 80, run_out_um: 60, reduced_um: Some(30) },
    RunOut { to_mm: 120, run_out_um: 70, reduced_um: Some(35) },
    RunOut { to_mm: 180, run_out_um: 80, reduced_um: Some(40) },
    RunOut { to_mm: 250, run_out_um: 90, reduced_um: Some(45) },
    RunOut { to_mm: 315, run_out_um: 100, reduced_um: None },
    RunOut { to_mm: 400, run_out_um: 110, reduced_um: None },
    RunOut { to_mm: 500, run_out_um: 125, reduced_um: None },
];
