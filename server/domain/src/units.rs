//! Lengths in whole nanometres, and how the shop writes them.

/// A length, or a difference of two lengths, in whole nanometres.
///
/// Exact for millimetre entries to 0.000001 and inch entries to 0.00001 (one inch is 25.4 mm by
/// definition).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

impl Length {
    /// No length.
    pub const ZERO: Length = Length(0);

    /// A length of `nm` nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Length(nm)
    }

    /// The length in nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }
}
