//! ISO 286-1:2010, limits of size of plain cylindrical parts: from a tolerance class such as `k5`
//! and a nominal size to the two limits, over 0 to 500 mm.
//!
//! The standard's surprises, all held here and tested:
//! - a size step includes its upper end (30 mm is in "18 to 30", 30.001 mm in "30 to 50");
//! - `js`/`JS` is exactly half the grade to each side, also where that is half a micrometre (older
//!   editions rounded odd IT7 to IT11 down first);
//! - holes K, M, N to IT8 and P to ZC to IT7 add delta, only over 3 mm; M6 over 250 to 315 mm is
//!   an exception to its own rule;
//! - A and B, grades IT14 to IT18 and N over IT8 are not used for 1 mm or less.
//!
//! Fits of two classes live in [`crate::fit`]; inch classes (ANSI B4.1) are not here.

mod class;
mod deviation;
mod tables;

use std::fmt;

pub use class::{Class, ClassFault, ClassParseError, FundamentalDeviation, Grade};
use deviation::{Edge, Step};

use crate::item::{Limits, Side};
use crate::units::Length;

/// The largest nominal size kept here: 500 mm, inclusive.
pub const SIZE_MAX: Length = Length::from_nm(500_000_000);

/// The two limit deviations: how far the limits of size lie from the nominal size, signed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Deviations {
    /// Lower limit deviation (`EI` of a hole, `ei` of a shaft).
    pub lower: Length,
    /// Upper limit deviation (`ES` of a hole, `es` of a shaft).
    pub upper: Length,
}

impl Deviations {
    /// The limits of size about a nominal size.
    pub const fn about(self, nominal: Length) -> Limits {
        Limits {
            lower: Length::from_nm(nominal.nm() + self.lower.nm()),
            upper: Length::from_nm(nominal.nm() + self.upper.nm()),
        }
    }
}

/// A question that ISO 286 has no answer to.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Iso286Error {
    /// The nominal size is not covered.
    #[error("nominal size {} is not covered; allowed: over 0 to 500 mm", millimetres(*nominal))]
    SizeNotCovered {
        /// The nominal size asked for.
        nominal: Length,
    },
    /// The class does not exist for this size.
    #[error("class {class} does not exist for {}: {refusal}", millimetres(*nominal))]
    NoSuchClass {
        /// The class asked for.
        class: Class,
        /// The nominal size asked for.
        nominal: Length,
        /// Why, and what is allowed.
        refusal: Refusal,
    },
}

/// Why a class does not exist for a size, and what is allowed instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// IT14 to IT18 at 1 mm or less.
    GradeTo1Mm,
    /// a, b, A or B at 1 mm or less.
    LettersAAndBTo1Mm,
    /// N over IT8 at 1 mm or less.
    HoleNTo1Mm,
    /// Shaft j outside its grades.
    GradesOfShaftJ,
    /// Hole J outside its grades.
    GradesOfHoleJ,
    /// Hole K over IT8 above 3 mm.
    GradesOfHoleK,
    /// A grade finer than the delta columns go.
    NoDelta,
    /// The letter has no value at this size.
    Sizes {
        /// The letter exists over this size, in millimetres.
        over_mm: i64,
        /// The letter exists up to and including this size, in millimetres.
        to_mm: i64,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Refusal::GradeTo1Mm => "at 1 mm or less allowed: grades 01 to 13",
            Refusal::LettersAAndBTo1Mm => "a, b, A and B are allowed over 1 mm only",
            Refusal::HoleNTo1Mm => "N in grades 9 to 18 is allowed over 1 mm only",
            Refusal::GradesOfShaftJ => "allowed: j5, j6, j7, and j8 up to 3 mm",
            Refusal::GradesOfHoleJ => "allowed: J6, J7, J8",
            Refusal::GradesOfHoleK => "K in grades 9 to 18 is allowed up to 3 mm only",
            Refusal::NoDelta => {
                "for K to ZC over 3 mm allowed: grades 3 to 18, the standard has no delta for finer"
            }
            Refusal::Sizes { over_mm, to_mm } => {
                return write!(f, "this letter is allowed over {over_mm} to {to_mm} mm");
            }
        })
    }
}

/// The limit deviations of a class at a nominal size over 0 to 500 mm.
///
/// ```
/// use tenths_domain::iso286::deviations;
/// use tenths_domain::units::Length;
/// let nominal = Length::from_nm(30_000_000);
/// let k5 = deviations(nominal, &"k5".parse().unwrap()).unwrap();
/// assert_eq!((k5.lower.nm(), k5.upper.nm()), (2_000, 11_000));
/// ```
pub fn deviations(nominal: Length, class: &Class) -> Result<Deviations, Iso286Error> {
    let step = Step::of(nominal).ok_or(Iso286Error::SizeNotCovered { nominal })?;
    zone(*class, step).map_err(|refusal| Iso286Error::NoSuchClass {
        class: *class,
        nominal,
        refusal,
    })
}

fn zone(class: Class, step: Step) -> Result<Deviations, Refusal> {
    let tolerance = deviation::standard_tolerance_nm(class.grade(), step)?;
    let (lower, upper) = match deviation::edge(class, step)? {
        Edge::Upper(upper) => (upper - tolerance, upper),
        Edge::Lower(lower) => (lower, lower + tolerance),
        Edge::Symmetric => (-tolerance / 2, tolerance / 2),
    };
    Ok(Deviations { lower: Length::from_nm(lower), upper: Length::from_nm(upper) })
}

/// The limits of size of a class at a nominal size over 0 to 500 mm.
///
/// ```
/// use tenths_domain::iso286::limits;
/// use tenths_domain::units::Length;
/// let h7 = limits(Length::from_nm(62_000_000), &"H7".parse().unwrap()).unwrap();
/// assert_eq!((h7.lower.nm(), h7.upper.nm()), (62_000_000, 62_030_000));
/// ```
pub fn limits(nominal: Length, class: &Class) -> Result<Limits, Iso286Error> {
    deviations(nominal, class).map(|deviations| deviations.about(nominal))
}

/// The published tables that the limits of a class rest on.
///
/// ```
/// use tenths_domain::iso286::source;
/// assert_eq!(source(&"h6".parse().unwrap()), "ISO 286-1:2010, Tables 1 and 4");
/// ```
pub fn source(class: &Class) -> &'static str {
    match class.side() {
        Side::External if class.deviation() <= FundamentalDeviation::Js => {
            "ISO 286-1:2010, Tables 1 and 4"
        }
        Side::External => "ISO 286-1:2010, Tables 1 and 5",
        Side::Internal if class.deviation() <= FundamentalDeviation::M => {
            "ISO 286-1:2010, Tables 1 and 2"
        }
        Side::Internal => "ISO 286-1:2010, Tables 1 and 3",
    }
}

/// Whether the limits of a class at this size rest on a value known from memory alone, that no
/// published page read for this project has confirmed yet: say so beside the limits.
///
/// ```
/// use tenths_domain::iso286::is_unconfirmed;
/// use tenths_domain::units::Length;
/// let size = Length::from_nm(40_000_000);
/// assert!(is_unconfirmed(size, &"ef7".parse().unwrap()).unwrap());
/// assert!(!is_unconfirmed(size, &"k5".parse().unwrap()).unwrap());
/// ```
pub fn is_unconfirmed(nominal: Length, class: &Class) -> Result<bool, Iso286Error> {
    deviations(nominal, class)?;
    let step = Step::of(nominal).ok_or(Iso286Error::SizeNotCovered { nominal })?;
    Ok(deviation::is_from_memory(*class, step))
}

/// A length in millimetres, written in full, for messages.
pub(crate) fn millimetres(length: Length) -> String {
    let nm = length.nm().unsigned_abs();
    let sign = if length.nm() < 0 { "-" } else { "" };
    let text = format!("{sign}{}.{:06}", nm / 1_000_000, nm % 1_000_000);
    format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(nm: i64, class: &str) -> Result<Deviations, Iso286Error> {
        deviations(Length::from_nm(nm), &class.parse().unwrap())
    }

    #[test]
    fn a_step_includes_its_upper_end_and_not_its_lower() {
        assert_eq!(ask(30_000_000, "h6").unwrap().lower.nm(), -13_000);
        assert_eq!(ask(30_000_001, "h6").unwrap().lower.nm(), -16_000);
        assert_eq!(ask(500_000_000, "h6").unwrap().lower.nm(), -40_000);
    }

    #[test]
    fn a_refusal_names_class_size_and_what_is_allowed() {
        let cases = [
            (0, "h6", "nominal size 0 mm is not covered; allowed: over 0 to 500 mm"),
            (-1, "h6", "nominal size -0.000001 mm is not covered; allowed: over 0 to 500 mm"),
            (500_000_001, "H7", "500.000001 mm is not covered; allowed: over 0 to 500 mm"),
            (1_000_000, "h14", "class h14 does not exist for 1 mm: at 1 mm or less allowed"),
            (1_000_000, "a11", "a, b, A and B are allowed over 1 mm only"),
            (1_000_000, "B11", "a, b, A and B are allowed over 1 mm only"),
            (1_000_000, "N9", "N in grades 9 to 18 is allowed over 1 mm only"),
            (25_000_000, "j9", "class j9 does not exist for 25 mm: allowed: j5, j6, j7"),
            (25_000_000, "J9", "allowed: J6, J7, J8"),
            (25_000_000, "J5", "allowed: J6, J7, J8"),
            (25_000_000, "K9", "K in grades 9 to 18 is allowed up to 3 mm only"),
            (25_000_000, "P2", "grades 3 to 18"),
            (24_000_000, "t6", "this letter is allowed over 24 to 500 mm"),
            (50_000_001, "fg6", "this letter is allowed over 0 to 50 mm"),
            (3_000_001, "j8", "this letter is allowed over 0 to 3 mm"),
        ];
        for (nm, class, wanted) in cases {
            let message = ask(nm, class).unwrap_err().to_string();
            assert!(message.contains(wanted), "{class} at {nm}: {message}");
        }
    }

    #[test]
    fn each_class_names_its_tables() {
        let tables = |text: &str| source(&text.parse().unwrap()).rsplit(", ").next().unwrap();
        let named = ["js6", "k6", "JS7", "M7", "N7"].map(tables);
        let wanted = [4, 5, 2, 2, 3].map(|table| format!("Tables 1 and {table}"));
        assert_eq!(named.map(str::to_owned), wanted);
    }
}
