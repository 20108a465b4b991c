//! ISO 286-1:2010, limits of size of plain cylindrical parts: from a tolerance class such as `k5`
//! and a nominal size to the two limits, over 0 to 3150 mm.
//!
//! The standard's surprises, all held here and tested:
//! - a size step includes its upper end (30 mm is in "18 to 30", 30.001 mm in "30 to 50");
//! - `js`/`JS` is exactly half the grade to each side, also where that is half a micrometre (older
//!   editions rounded odd IT7 to IT11 down first);
//! - holes K, M, N to IT8 and P to ZC to IT7 add delta, only over 3 to 500 mm; M6 over 250 to
//!   315 mm is an exception to its own rule; N over IT8 is zero, but only over 3 to 500 mm;
//! - A and B, grades IT14 to IT18 and N over IT8 are not used for 1 mm or less;
//! - over 500 mm the letters end: d to h, js, k, m to u (holes D to H, JS, K, M to U) are left, k
//!   is zero in every grade, the grades begin with IT1.
//!
//! Fits of two classes live in [`crate::fit`], inch fits (ANSI B4.1) in [`crate::b41`].

mod class;
mod deviation;
mod explain;
mod memory;
mod nearest;
mod refusal;
mod step;
mod tables;

pub use class::{Class, ClassFault, ClassParseError, FundamentalDeviation, Grade};
use deviation::Edge;
pub use explain::{ExplainStep, ExplainWhat, Explanation, explain};
pub use refusal::{Iso286Error, Refusal};
use step::Step;

use crate::item::{Limits, Side};
use crate::units::Length;

/// The largest nominal size of the standard: 3150 mm, inclusive (ISO 286-1:2010, Table 1).
pub const SIZE_MAX: Length = Length::from_nm(3_150_000_000);

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

/// The limit deviations of a class at a nominal size over 0 to 3150 mm.
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
    zone(*class, step).map_err(|refusal| no_such_class(nominal, *class, step, refusal))
}

#[cold]
fn no_such_class(nominal: Length, class: Class, step: Step, refusal: Refusal) -> Iso286Error {
    let nearest = nearest::nearest_class(class, step);
    Iso286Error::NoSuchClass { class, nominal, refusal, nearest }
}

fn zone(class: Class, step: Step) -> Result<Deviations, Refusal> {
    let tolerance = deviation::standard_tolerance_nm(class.grade(), step)?;
    let (lower, upper) = match deviation::origin(class, step)?.edge {
        Edge::Upper(upper) => (upper - tolerance, upper),
        Edge::Lower(lower) => (lower, lower + tolerance),
        Edge::Symmetric => (-tolerance / 2, tolerance / 2),
    };
    Ok(Deviations { lower: Length::from_nm(lower), upper: Length::from_nm(upper) })
}

/// The limits of size of a class at a nominal size over 0 to 3150 mm.
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

/// The width of the tolerance zone of a grade at a nominal size over 0 to 3150 mm
/// (ISO 286-1:2010, Table 1).
///
/// ```
/// use tenths_domain::iso286::{Grade, width};
/// use tenths_domain::units::Length;
/// let it7 = width(Length::from_nm(25_000_000), Grade::new(7).unwrap()).unwrap();
/// assert_eq!(it7.nm(), 21_000);
/// ```
pub fn width(nominal: Length, grade: Grade) -> Result<Length, Iso286Error> {
    // js lies about the nominal size in every grade that a size has.
    let class = Class::new(Side::External, FundamentalDeviation::Js, grade);
    let zone = deviations(nominal, &class)?;
    Ok(zone.upper - zone.lower)
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
    let origin = deviation::origin(*class, step)
        .map_err(|refusal| no_such_class(nominal, *class, step, refusal))?;
    let unread = explain::unread(*class, step, origin.rule);
    Ok(memory::grade_is(class.grade(), step) || unread.deviation || unread.delta)
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
        assert_eq!(ask(500_000_001, "h6").unwrap().lower.nm(), -44_000);
        assert_eq!(ask(3_150_000_000, "h6").unwrap().lower.nm(), -135_000);
    }

    #[test]
    fn a_refusal_names_class_size_and_what_is_allowed() {
        let cases = [
            (0, "h6", "nominal size 0 mm is not covered; allowed: over 0 to 3150 mm"),
            (-1, "h6", "nominal size -0.000001 mm is not covered; allowed: over 0 to 3150 mm"),
            (3_150_000_001, "H7", "3150.000001 mm is not covered; allowed: over 0 to 3150 mm"),
            (1_000_000, "h14", "class h14 does not exist for 1 mm: at 1 mm or less allowed"),
            (1_000_000, "a11", "a, b, A and B are allowed over 1 mm only"),
            (1_000_000, "B11", "a, b, A and B are allowed over 1 mm only"),
            (1_000_000, "N9", "N in grades 9 to 18 is allowed over 1 mm only"),
            (25_000_000, "j9", "class j9 does not exist for 25 mm: allowed: j5, j6, j7"),
            (25_000_000, "J9", "allowed: J6, J7, J8"),
            (25_000_000, "J5", "allowed: J6, J7, J8"),
            (25_000_000, "K9", "K in grades 9 to 18 is allowed up to 3 mm only"),
            (25_000_000, "P2", "grades 3 to 18"),
            (24_000_000, "t6", "this letter is allowed over 24 to 3150 mm"),
            (50_000_001, "fg6", "this letter is allowed over 0 to 50 mm"),
            (3_000_001, "j8", "this letter is allowed over 0 to 3 mm"),
            (600_000_000, "h0", "over 500 mm allowed: grades 1 to 18; the nearest that does is h1"),
            (600_000_000, "c11", "over 0 to 500 mm; the nearest that does is d11"),
            (600_000_000, "x7", "over 0 to 500 mm; the nearest that does is u7"),
            (600_000_000, "J7", "J is allowed up to 500 mm only; the nearest that does is JS7"),
            (600_000_000, "K5", "over 500 mm allowed: K6, K7, K8; the nearest that does is K6"),
            (600_000_000, "K9", "over 500 mm allowed: K6, K7, K8; the nearest that does is K8"),
            (60_000_000, "fg6", "over 0 to 50 mm; the nearest that does is g6"),
            (24_000_000, "t6", "over 24 to 3150 mm; the nearest that does is s6"),
            (25_000_000, "P2", "has no delta for finer; the nearest that does is P3"),
            (25_000_000, "j9", "and j8 up to 3 mm; the nearest that does is j7"),
            (1_000_000, "A11", "allowed over 1 mm only; the nearest that does is C11"),
            (1_000_000, "h18", "grades 01 to 13; the nearest that does is h13"),
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
