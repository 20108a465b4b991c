//! Temperatures at entry, and lengths brought to the reference temperature of 20 C.
//!
//! All arithmetic is in whole millidegrees and parts per billion, so a correction is exact until
//! its one rounding to the nanometre.

use crate::named::named_enum;
use crate::units::Length;
use crate::units::number::{NUMBER_CHARACTERS_MAX, read_decimal, split_sign};
use crate::units::rounding::divide_half_even;
use std::fmt;

named_enum! {
    /// The scale that a temperature is written in.
    TemperatureScale, "temperature scale" {
        /// Degrees Celsius.
        Celsius = "c",
        /// Degrees Fahrenheit.
        Fahrenheit = "f",
    }
}

named_enum! {
    /// What a part is made of, as far as expansion goes.
    Material, "material" {
        /// Steel.
        Steel = "steel",
        /// Aluminium alloy.
        Aluminium = "aluminium",
        /// Grey or ductile cast iron.
        CastIron = "cast_iron",
        /// Solid bronze.
        Bronze = "bronze",
        /// Porous, oil-filled bronze: never reamed.
        PorousBronze = "porous_bronze",
    }
}

impl TemperatureScale {
    /// Its letter, as people write it behind a number.
    pub const fn letter(self) -> &'static str {
        match self {
            TemperatureScale::Celsius => "C",
            TemperatureScale::Fahrenheit => "F",
        }
    }
}

impl Material {
    /// Where the expansion is published, and whether it was read there.
    pub const fn expansion_source(self) -> (&'static str, bool) {
        match self {
            Material::Steel | Material::Aluminium => ("D. Swyt, NIST (PMC8345254)", true),
            Material::CastIron | Material::Bronze | Material::PorousBronze => {
                ("handbook value from memory", false)
            }
        }
    }

    /// Linear expansion in parts per billion per kelvin.
    ///
    /// Steel 11.5 and aluminium 23.1 ppm/K: D. Swyt, NIST (PMC8345254). Cast iron 10.5 and bronze
    /// 18 ppm/K: handbook values from memory, no published source checked.
    pub const fn expansion_ppb_per_k(self) -> i64 {
        match self {
            Material::Steel => 11_500,
            Material::Aluminium => 23_100,
            Material::CastIron => 10_500,
            Material::Bronze | Material::PorousBronze => 18_000,
        }
    }
}

/// A temperature in thousandths of a degree Celsius.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Temperature(i64);

/// Why a text is not a temperature that a part is measured at.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TemperatureError {
    /// Not a number.
    #[error(
        "{text:?} is not a temperature; write degrees with a decimal point, such as 21.5, to at most three places"
    )]
    NotANumber {
        /// What was written.
        text: String,
    },
    /// Too cold to be a part on a bench.
    #[error("{text:?} {} is below -40 C; nothing is measured that cold", .scale.letter())]
    TooCold {
        /// What was written.
        text: String,
        /// The scale it was written in.
        scale: TemperatureScale,
    },
    /// Above 60 C but written as Celsius.
    #[error("{text:?} C is above 60 C: was it Fahrenheit?")]
    LooksFahrenheit {
        /// What was written.
        text: String,
    },
    /// Too hot to be measured at all.
    #[error("{text:?} {} is above {max}; let the part cool", .scale.letter())]
    TooHot {
        /// What was written.
        text: String,
        /// The scale it was written in.
        scale: TemperatureScale,
        /// The most that is taken.
        max: Temperature,
    },
}

impl Temperature {
    /// The reference temperature of dimensional measurement, 20 C (ISO 1:2022).
    pub const REFERENCE: Temperature = Temperature(20_000);
    /// A Celsius entry above this is asked about: common practice, no published source.
    pub const CELSIUS_UNASKED_MAX: Temperature = Temperature(60_000);
    /// No part is measured colder (our own choice; also where both scales meet).
    pub const MIN: Temperature = Temperature(-40_000);
    /// No part is measured hotter, even when confirmed (our own choice).
    pub const MAX: Temperature = Temperature(200_000);

    /// A temperature of `millidegrees` thousandths of a degree Celsius.
    pub const fn from_millidegrees_c(millidegrees: i64) -> Self {
        Temperature(millidegrees)
    }

    /// The temperature in thousandths of a degree Celsius.
    pub const fn millidegrees_c(self) -> i64 {
        self.0
    }

    /// Reads a temperature of at most three decimal places. A Celsius entry above 60 C is refused
    /// with the question whether it was Fahrenheit; below -40 C or above 200 C all are refused.
    ///
    /// ```
    /// use tenths_domain::temperature::{Temperature, TemperatureScale};
    /// let bench = Temperature::parse("68", TemperatureScale::Fahrenheit)?;
    /// assert_eq!(bench, Temperature::REFERENCE);
    /// let asked = Temperature::parse("68", TemperatureScale::Celsius).unwrap_err();
    /// assert_eq!(asked.to_string(), "\"68\" C is above 60 C: was it Fahrenheit?");
    /// # Ok::<(), tenths_domain::temperature::TemperatureError>(())
    /// ```
    pub fn parse(text: &str, scale: TemperatureScale) -> Result<Temperature, TemperatureError> {
        let temperature = Temperature::parse_confirmed(text, scale)?;
        if temperature.looks_fahrenheit(scale) {
            return Err(TemperatureError::LooksFahrenheit { text: text.trim().to_owned() });
        }
        Ok(temperature)
    }

    /// Reads a temperature as [`Temperature::parse`] does, without the question: for a person who
    /// has answered it, and for the entry traps, which ask it together with theirs.
    pub fn parse_confirmed(
        text: &str,
        scale: TemperatureScale,
    ) -> Result<Temperature, TemperatureError> {
        let text = text.trim();
        let shown = || text.chars().take(40).collect::<String>();
        let (negative, digits) = split_sign(text);
        let number = read_decimal(digits)
            .ok()
            .filter(|number| number.places <= 3 && digits.len() <= NUMBER_CHARACTERS_MAX)
            .ok_or_else(|| TemperatureError::NotANumber { text: shown() })?;
        let millidegrees = number.mantissa * 10_i128.pow(3 - number.places);
        let millidegrees = if negative == Some(true) { -millidegrees } else { millidegrees };
        let celsius = match scale {
            TemperatureScale::Celsius => millidegrees,
            TemperatureScale::Fahrenheit => divide_half_even((millidegrees - 32_000) * 5, 9),
        };
        if celsius < i128::from(Temperature::MIN.0) {
            return Err(TemperatureError::TooCold { text: shown(), scale });
        }
        let too_hot = || TemperatureError::TooHot { text: shown(), scale, max: Temperature::MAX };
        let celsius = i64::try_from(celsius).map_err(|_| too_hot())?;
        if celsius > Temperature::MAX.0 { Err(too_hot()) } else { Ok(Temperature(celsius)) }
    }

    /// Whether a temperature written in `scale` is so hot that Fahrenheit was likely meant.
    pub fn looks_fahrenheit(self, scale: TemperatureScale) -> bool {
        scale == TemperatureScale::Celsius && self > Temperature::CELSIUS_UNASKED_MAX
    }

    /// Degrees Fahrenheit to one place, half to even, without the scale.
    ///
    /// ```
    /// use tenths_domain::temperature::Temperature;
    /// assert_eq!(Temperature::REFERENCE.fahrenheit(), "68.0");
    /// assert_eq!(Temperature::from_millidegrees_c(120_000).fahrenheit(), "248.0");
    /// assert_eq!(Temperature::from_millidegrees_c(-40_000).fahrenheit(), "-40.0");
    /// ```
    pub fn fahrenheit(self) -> String {
        let tenths = divide_half_even(i128::from(self.0) * 9 + 160_000, 500);
        let sign = if tenths < 0 { "-" } else { "" };
        format!("{sign}{}.{}", tenths.abs() / 10, tenths.abs() % 10)
    }

    /// How far from 20 C, in thousandths of a kelvin; below zero when colder.
    pub const fn above_reference_mk(self) -> i64 {
        self.0 - Temperature::REFERENCE.0
    }
}

impl fmt::Display for Temperature {
    /// Degrees Celsius to one place, half to even.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = divide_half_even(i128::from(self.0), 100);
        let sign = if tenths < 0 { "-" } else { "" };
        write!(f, "{sign}{}.{} C", tenths.abs() / 10, tenths.abs() % 10)
    }
}

/// The size at 20 C of a part that was measured warm or cold with a gauge that was itself at 20 C:
/// D20 = D (1 - a (T - 20)), rounded once to the nanometre.
///
/// ```
/// use tenths_domain::temperature::{Material, Temperature, at_20c};
/// use tenths_domain::units::Length;
/// // 2 in of steel 10 C warm reads 0.00023 in large.
/// let measured = Length::from_nm(50_800_000);
/// let at_20c = at_20c(measured, Temperature::from_millidegrees_c(30_000), Material::Steel);
/// assert_eq!(measured - at_20c, Length::from_nm(5_842));
/// ```
pub fn at_20c(measured: Length, part: Temperature, material: Material) -> Length {
    at_20c_with_gauge(measured, (part, material), (Temperature::REFERENCE, Material::Steel))
}

/// The size at 20 C when the gauge was warm or cold too: a warm gauge reads small, so
/// D20 = D (1 + ag (Tg - 20) - ap (Tp - 20)), each body with its own material, rounded once.
/// Lengths are at most 100 m and temperatures within -40 to 200 C, so the result always fits.
pub fn at_20c_with_gauge(
    measured: Length,
    part: (Temperature, Material),
    gauge: (Temperature, Material),
) -> Length {
    // Parts per billion per kelvin times millikelvin: parts in 10^12.
    let growth = |(temperature, material): (Temperature, Material)| {
        material.expansion_ppb_per_k() * temperature.above_reference_mk()
    };
    let change = i128::from(measured.nm()) * i128::from(growth(gauge) - growth(part));
    let change_nm = divide_half_even(change, 1_000_000_000_000);
    measured + Length::from_nm(change_nm as i64)
}
