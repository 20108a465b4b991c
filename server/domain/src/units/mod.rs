//! Lengths in whole nanometres, and how the shop writes them.
//!
//! Not for tolerances or doubt: this module knows numbers and units only.

pub(crate) mod display;
mod entry;
mod error;
pub(crate) mod number;
pub(crate) mod rounding;
mod unit;

pub use entry::Entry;
pub use error::LengthError;
pub use unit::Unit;

use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

/// A length, or a difference of two lengths, in whole nanometres.
///
/// Exact for millimetre entries to 0.000001 and inch entries to 0.00001 (one inch is 25.4 mm by
/// definition: international yard and pound agreement of 1959; ISO 80000-3, from memory).
///
/// Sums and differences are plain: an entry is at most [`Length::ENTRY_MAX`] (100 m, 1e11 nm), so
/// some ninety million of them can be added before an `i64` is full.
///
/// ```
/// use tenths_domain::units::Length;
/// let wear = Length::from_nm(23_825_200) - Length::from_nm(23_749_000);
/// assert_eq!(wear, Length::from_nm(76_200));
/// assert_eq!((-wear).abs(), wear);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

impl Length {
    /// No length.
    pub const ZERO: Length = Length(0);

    /// The largest length that can be entered, 100 m. Far above any part that a repair shop
    /// measures, it only keeps arithmetic safe (our own choice, no published source).
    pub const ENTRY_MAX: Length = Length(100_000_000_000);

    /// A length of `nm` nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Length(nm)
    }

    /// The length in nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// The length without its sign.
    ///
    /// ```
    /// use tenths_domain::units::Length;
    /// assert_eq!(Length::from_nm(-254).abs(), Length::from_nm(254));
    /// ```
    pub const fn abs(self) -> Self {
        Length(self.0.abs())
    }

    /// The sum, or nothing where it is too large to hold: for lengths that no entry has capped.
    pub const fn checked_add(self, other: Length) -> Option<Length> {
        match self.0.checked_add(other.0) {
            Some(nm) => Some(Length(nm)),
            None => None,
        }
    }

    /// The difference, or nothing where it is too large to hold.
    pub const fn checked_sub(self, other: Length) -> Option<Length> {
        match self.0.checked_sub(other.0) {
            Some(nm) => Some(Length(nm)),
            None => None,
        }
    }

    /// The mean of some lengths, rounded once to the nanometre, half to even; nothing for none.
    ///
    /// ```
    /// use tenths_domain::units::Length;
    /// let nm = Length::from_nm;
    /// assert_eq!(Length::mean(&[nm(1), nm(2)]), Some(nm(2)));
    /// assert_eq!(Length::mean(&[nm(2), nm(3)]), Some(nm(2)));
    /// assert_eq!(Length::mean(&[]), None);
    /// ```
    pub fn mean(lengths: &[Length]) -> Option<Length> {
        if lengths.is_empty() {
            return None;
        }
        let sum: i128 = lengths.iter().map(|length| i128::from(length.0)).sum();
        let mean = rounding::divide_half_even(sum, lengths.len() as i128);
        // A mean lies between its smallest and largest member, so it always fits.
        i64::try_from(mean).ok().map(Length)
    }
}

impl Add for Length {
    type Output = Length;

    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Length;

    fn sub(self, other: Length) -> Length {
        Length(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Length;

    fn neg(self) -> Length {
        Length(-self.0)
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Length>>(lengths: I) -> Length {
        lengths.fold(Length::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_and_differences_are_exact() {
        let lengths = [Length::from_nm(1), Length::from_nm(-3), Length::from_nm(7)];
        assert_eq!(lengths.into_iter().sum::<Length>(), Length::from_nm(5));
        assert_eq!(Length::from_nm(5).checked_sub(Length::from_nm(7)), Some(Length::from_nm(-2)));
        assert_eq!(Length::from_nm(i64::MAX).checked_add(Length::from_nm(1)), None);
        assert_eq!(Length::from_nm(i64::MIN).checked_sub(Length::from_nm(1)), None);
    }

    #[test]
    fn the_mean_of_negative_halves_rounds_to_even() {
        assert_eq!(Length::mean(&[Length::from_nm(-1), Length::ZERO]), Some(Length::ZERO));
        assert_eq!(
            Length::mean(&[Length::from_nm(-1), Length::from_nm(-2)]),
            Some(Length::from_nm(-2))
        );
    }
}
