//! Why a text is not a length: every message names the text and what is allowed.

use super::Unit;

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LengthError {
    /// Nothing was written.
    #[error("a length is missing; write a number and its unit, such as 0.9345 in or 25.4 mm")]
    Empty,
    /// Too many characters.
    #[error("a length of {characters} characters is too long; at most {max} are allowed")]
    TooLong {
        /// How many characters were given.
        characters: usize,
        /// How many are allowed.
        max: usize,
    },
    /// Not a number at all.
    #[error(
        "{text:?} is not a length; write digits with a decimal point, such as 0.9345, or an inch \
         fraction, such as 15/16 or 1-1/4"
    )]
    NotANumber {
        /// What was written.
        text: String,
    },
    /// A comma.
    #[error("{text:?} has a comma; write a decimal point and no thousands separator")]
    Comma {
        /// What was written.
        text: String,
    },
    /// An exponent.
    #[error("{text:?} has an exponent; write the number out in full")]
    Exponent {
        /// What was written.
        text: String,
    },
    /// A sign before a size.
    #[error("{text:?} has a sign; a size is written without + or -")]
    Signed {
        /// What was written.
        text: String,
    },
    /// Finer than can be kept exactly.
    #[error("{text:?} {unit} is too fine; at most {places} decimal places are allowed in {unit}")]
    TooFine {
        /// What was written.
        text: String,
        /// The unit it was written in.
        unit: Unit,
        /// The decimal places allowed.
        places: u32,
    },
    /// A fraction that is not one of a rule's.
    #[error(
        "{text:?} is not an inch fraction; allowed are halves, 4ths, 8ths, 16ths, 32nds and 64ths \
         below one, alone or after a whole number, such as 15/16 or 1-1/4"
    )]
    Fraction {
        /// What was written.
        text: String,
    },
    /// A fraction of another unit than the inch.
    #[error("{text:?} {unit} is a fraction; fractions are allowed in inches only")]
    FractionUnit {
        /// What was written.
        text: String,
        /// The unit it was written in.
        unit: Unit,
    },
    /// A unit that is not known.
    #[error("{suffix:?} in {text:?} is not one unit; allowed: mm, in, \", um, thou")]
    UnknownUnit {
        /// What was written.
        text: String,
        /// The part that is not a unit.
        suffix: String,
    },
    /// More than one unit.
    #[error("{text:?} has two units; write one of mm, in, \", um, thou")]
    TwoUnits {
        /// What was written.
        text: String,
    },
    /// No unit, and none to assume.
    #[error("{text:?} has no unit; add one of mm, in, \", um, thou")]
    NoUnit {
        /// What was written.
        text: String,
    },
    /// A size of nothing.
    #[error("{text:?} is zero; a size is above zero")]
    Zero {
        /// What was written.
        text: String,
    },
    /// Absurdly large.
    #[error("{text:?} {unit} is more than 100 m; was the unit meant?")]
    TooLarge {
        /// What was written.
        text: String,
        /// The unit it was written in.
        unit: Unit,
    },
}
