//! Rockwell C hardness, in tenths.

use crate::units::number::{read_decimal, split_sign};
use std::fmt;

/// A Rockwell C hardness (ISO 6508-1), 0.0 to 70.0, in tenths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hrc(u16);

/// What is no Rockwell C hardness.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not a Rockwell C hardness; allowed: 0.0 to 70.0, such as 31 or 58.5")]
pub struct HrcError {
    /// What was given.
    pub text: String,
}

impl Hrc {
    /// The hardest on the scale.
    pub const MAX_TENTHS: u16 = 700;

    /// A hardness in tenths.
    pub fn from_tenths(tenths: u16) -> Result<Hrc, HrcError> {
        let is_known = tenths <= Hrc::MAX_TENTHS;
        let text = || format!("{}.{}", tenths / 10, tenths % 10);
        is_known.then_some(Hrc(tenths)).ok_or_else(|| HrcError { text: text() })
    }

    pub(super) const fn of(whole: u16) -> Hrc {
        Hrc(whole * 10)
    }

    /// In tenths.
    pub const fn tenths(self) -> u16 {
        self.0
    }

    /// Reads a hardness with at most one decimal place, with or without the word HRC.
    ///
    /// ```
    /// use tenths_domain::policy::Hrc;
    /// assert_eq!(Hrc::parse("58.5").unwrap().tenths(), 585);
    /// assert_eq!(Hrc::parse("HRC 31").unwrap().to_string(), "HRC 31.0");
    /// assert!(Hrc::parse("soft").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Hrc, HrcError> {
        let wrong = || HrcError { text: text.chars().take(40).collect() };
        let bare = text.trim();
        let bare = bare.strip_prefix("HRC").or_else(|| bare.strip_suffix("HRC")).unwrap_or(bare);
        let (negative, digits) = split_sign(bare.trim());
        let number = read_decimal(digits).map_err(|_| wrong())?;
        if negative.is_some() || number.places > 1 {
            return Err(wrong());
        }
        let tenths = number.mantissa.saturating_mul(10_i128.pow(1 - number.places));
        u16::try_from(tenths).ok().and_then(|t| Hrc::from_tenths(t).ok()).ok_or_else(wrong)
    }
}

impl fmt::Display for Hrc {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "HRC {}.{}", self.0 / 10, self.0 % 10)
    }
}
