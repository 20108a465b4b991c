//! The units of length that the shop writes.

use crate::named::named_enum;

named_enum! {
    /// A unit of length, by the name it has on the wire, in SQL and on the command line.
    Unit, "unit of length" {
        /// Millimetre.
        Millimetre = "mm",
        /// Inch, 25.4 mm exactly (international yard and pound agreement, 1959).
        Inch = "in",
        /// Micrometre, 0.001 mm.
        Micrometre = "um",
        /// Thousandth of an inch, 0.0254 mm.
        Thou = "thou",
    }
}

impl Unit {
    /// The unit in nanometres.
    ///
    /// ```
    /// use tenths_domain::units::Unit;
    /// assert_eq!(Unit::Inch.nm(), 25_400_000);
    /// ```
    pub const fn nm(self) -> i64 {
        match self {
            Unit::Millimetre => 1_000_000,
            Unit::Inch => 25_400_000,
            Unit::Micrometre => 1_000,
            Unit::Thou => 25_400,
        }
    }

    /// The most decimal places an entry in this unit may have: those that are whole nanometres in
    /// every last place (0.000001 mm, 0.00001 in, 0.001 um, 0.01 thou).
    pub const fn places_max(self) -> u32 {
        match self {
            Unit::Millimetre => 6,
            Unit::Inch => 5,
            Unit::Micrometre => 3,
            Unit::Thou => 2,
        }
    }

    /// The unit that a suffix such as `mm`, `in`, `"`, `um`, `µm` or `thou` names, in any case.
    ///
    /// ```
    /// use tenths_domain::units::Unit;
    /// assert_eq!(Unit::from_suffix("\""), Some(Unit::Inch));
    /// assert_eq!(Unit::from_suffix("MM"), Some(Unit::Millimetre));
    /// assert_eq!(Unit::from_suffix("ft"), None);
    /// ```
    pub fn from_suffix(suffix: &str) -> Option<Unit> {
        match suffix {
            "\"" => Some(Unit::Inch),
            // The micro sign and the Greek letter look alike.
            "\u{b5}m" | "\u{3bc}m" => Some(Unit::Micrometre),
            _ => Unit::ALL.iter().copied().find(|unit| unit.as_str().eq_ignore_ascii_case(suffix)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Unit;

    #[test]
    fn one_finest_place_is_whole_nanometres_and_one_more_is_not_always() {
        for &unit in Unit::ALL {
            assert_eq!(unit.nm() % 10_i64.pow(unit.places_max()), 0, "{unit}");
            assert_ne!(unit.nm() % 10_i64.pow(unit.places_max() + 1), 0, "{unit}");
        }
    }

    #[test]
    fn names_parse_back_and_unknown_ones_say_what_is_allowed() {
        for &unit in Unit::ALL {
            assert_eq!(unit.as_str().parse(), Ok(unit));
        }
        let error = "furlong".parse::<Unit>().unwrap_err().to_string();
        assert_eq!(error, "\"furlong\" is not a known unit of length; allowed: mm, in, um, thou");
    }
}
