//! Why a question has no answer in ISO 286, and what is allowed instead.

use std::fmt;

use super::class::Class;
use super::millimetres;
use crate::units::Length;

/// A question that ISO 286 has no answer to.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Iso286Error {
    /// The nominal size is not covered.
    #[error("nominal size {} is not covered; allowed: over 0 to 3150 mm", millimetres(*nominal))]
    SizeNotCovered {
        /// The nominal size asked for.
        nominal: Length,
    },
    /// The class does not exist for this size.
    #[error("class {class} does not exist for {}: {refusal}; the nearest that does is {nearest}",
        millimetres(*nominal))]
    NoSuchClass {
        /// The class asked for.
        class: Class,
        /// The nominal size asked for.
        nominal: Length,
        /// Why, and what is allowed.
        refusal: Refusal,
        /// The nearest class of the same side that exists for this size.
        nearest: Class,
    },
}

/// Why a class does not exist for a size, and what is allowed instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// IT14 to IT18 at 1 mm or less.
    GradeTo1Mm,
    /// IT01 and IT0 over 500 mm.
    GradeOver500Mm,
    /// a, b, A or B at 1 mm or less.
    LettersAAndBTo1Mm,
    /// N over IT8 at 1 mm or less.
    HoleNTo1Mm,
    /// Shaft j outside its grades.
    GradesOfShaftJ,
    /// Hole J outside its grades.
    GradesOfHoleJ,
    /// Hole J over 500 mm.
    HoleJOver500Mm,
    /// Hole K over IT8 above 3 mm.
    GradesOfHoleK,
    /// Hole K outside IT6 to IT8 over 500 mm.
    GradesOfHoleKOver500Mm,
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
            Refusal::GradeOver500Mm => "over 500 mm allowed: grades 1 to 18",
            Refusal::LettersAAndBTo1Mm => "a, b, A and B are allowed over 1 mm only",
            Refusal::HoleNTo1Mm => "N in grades 9 to 18 is allowed over 1 mm only",
            Refusal::GradesOfShaftJ => "allowed: j5, j6, j7, and j8 up to 3 mm",
            Refusal::GradesOfHoleJ => "allowed: J6, J7, J8",
            Refusal::HoleJOver500Mm => "J is allowed up to 500 mm only",
            Refusal::GradesOfHoleK => "K in grades 9 to 18 is allowed up to 3 mm only",
            Refusal::GradesOfHoleKOver500Mm => "over 500 mm allowed: K6, K7, K8",
            Refusal::NoDelta => {
                "for K to ZC over 3 to 500 mm allowed: grades 3 to 18, the standard has no delta \
                 for finer"
            }
            Refusal::Sizes { over_mm, to_mm } => {
                return write!(f, "this letter is allowed over {over_mm} to {to_mm} mm");
            }
        })
    }
}
