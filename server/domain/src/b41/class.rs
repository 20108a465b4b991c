//! How an inch fit is written: two letters for the kind of fit and a number, `RC4`.

use std::fmt;
use std::str::FromStr;

use crate::named::named_enum;

named_enum! {
    /// The kinds of standard fit (ANSI B4.1-1967 (R), designation of standard fits).
    FitFamily, "family of inch fits" {
        /// Running or sliding clearance fit.
        RunningClearance = "RC",
        /// Locational clearance fit.
        LocationalClearance = "LC",
        /// Locational transition fit: clearance or interference.
        LocationalTransition = "LT",
        /// Locational interference fit.
        LocationalInterference = "LN",
        /// Force or shrink fit.
        Force = "FN",
    }
}

impl FitFamily {
    /// The highest class number; classes begin at 1.
    pub const fn classes(self) -> u8 {
        match self {
            FitFamily::RunningClearance => 9,
            FitFamily::LocationalClearance => 11,
            FitFamily::LocationalTransition => 6,
            FitFamily::LocationalInterference => 3,
            FitFamily::Force => 5,
        }
    }

    /// The place of the family's first class among all classes.
    const fn first(self) -> usize {
        match self {
            FitFamily::RunningClearance => 0,
            FitFamily::LocationalClearance => 9,
            FitFamily::LocationalTransition => 20,
            FitFamily::LocationalInterference => 26,
            FitFamily::Force => 29,
        }
    }
}

/// A fit class of ANSI B4.1: RC1 to RC9, LC1 to LC11, LT1 to LT6, LN1 to LN3, FN1 to FN5.
///
/// ```
/// use tenths_domain::b41::{FitClass, FitFamily};
/// let class: FitClass = "RC4".parse().unwrap();
/// assert_eq!((class.family(), class.number()), (FitFamily::RunningClearance, 4));
/// assert_eq!("fn 2".parse::<FitClass>().unwrap().to_string(), "FN2");
/// assert!("RC10".parse::<FitClass>().is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FitClass {
    family: FitFamily,
    number: u8,
}

impl FitClass {
    /// Every class, in the order of the standard.
    pub const ALL: [FitClass; 34] = {
        let mut all = [FitClass { family: FitFamily::RunningClearance, number: 1 }; 34];
        let (mut family, mut index) = (0, 0);
        while family < FitFamily::ALL.len() {
            let mut number = 1;
            while number <= FitFamily::ALL[family].classes() {
                all[index] = FitClass { family: FitFamily::ALL[family], number };
                (number, index) = (number + 1, index + 1);
            }
            family += 1;
        }
        all
    };

    /// The class of a family by its number; none if the standard has no such class.
    pub const fn new(family: FitFamily, number: u8) -> Option<FitClass> {
        if number >= 1 && number <= family.classes() {
            Some(FitClass { family, number })
        } else {
            None
        }
    }

    /// The kind of fit.
    pub const fn family(self) -> FitFamily {
        self.family
    }

    /// The number within the family.
    pub const fn number(self) -> u8 {
        self.number
    }

    /// Standard, edition and table, and the handbook that prints it.
    pub fn source(self) -> &'static str {
        super::TABLES[self.index()].source
    }

    /// The place of this class in [`FitClass::ALL`].
    pub(super) const fn index(self) -> usize {
        self.family.first() + self.number as usize - 1
    }
}

impl fmt::Display for FitClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.family, self.number)
    }
}

/// A text that is no fit class of ANSI B4.1.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{text:?} is not an ANSI B4.1 fit class; allowed: RC1 to RC9, LC1 to LC11, LT1 to LT6, LN1 to \
     LN3, FN1 to FN5"
)]
pub struct FitClassParseError {
    /// What was given.
    pub text: String,
}

impl FromStr for FitClass {
    type Err = FitClassParseError;

    /// Reads `RC4` or, as the standard spaces it, `RC 4`, in capitals or not: no two classes differ
    /// by case.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refused = || FitClassParseError { text: text.to_owned() };
        let (letters, number) = text.split_at_checked(2).ok_or_else(refused)?;
        let mut families = FitFamily::ALL.iter();
        let family = families.find(|family| family.as_str().eq_ignore_ascii_case(letters));
        let number = number.strip_prefix(' ').unwrap_or(number);
        // A leading zero or sign would be read as a number, but it is no class as anyone writes it.
        let is_plain = number.bytes().all(|byte| byte.is_ascii_digit()) && !number.starts_with('0');
        let number = number.parse().ok().filter(|_| is_plain).ok_or_else(refused)?;
        family.and_then(|&family| FitClass::new(family, number)).ok_or_else(refused)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_reads_back_as_it_is_written_and_knows_its_place() {
        for (index, class) in FitClass::ALL.into_iter().enumerate() {
            assert_eq!(class.to_string().parse(), Ok(class));
            assert_eq!(class.index(), index);
            assert_eq!(FitClass::new(class.family(), class.number()), Some(class));
        }
        assert!(FitClass::ALL.is_sorted());
    }

    #[test]
    fn a_text_that_is_no_class_is_told_what_is_allowed() {
        for text in [
            "", "R", "RC", "RC0", "RC10", "RC04", "RC+4", "RC  4", "LT7", "LN4", "FN6", "XX1",
            "RC4 ", "4RC", "H7", "µ4", "RC999999",
        ] {
            let message = text.parse::<FitClass>().unwrap_err().to_string();
            assert!(message.contains("allowed: RC1 to RC9, LC1 to LC11"), "{message}");
            assert!(message.starts_with(&format!("{text:?} is not")), "{message}");
        }
    }
}
