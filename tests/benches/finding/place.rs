//! The places that the SQL contestant tells apart: a kind of feature on a kind of item.

/// A kind of feature on a kind of item, as a number in the contestant's table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// The bore of a rolling bearing.
    BearingBore = 1,
    /// The outside diameter of a rolling bearing.
    BearingOutside = 2,
    /// The bore of a bushing.
    BushingBore = 3,
    /// The outside diameter of a bushing.
    BushingOutside = 4,
    /// A shaft's seat for a rolling bearing.
    Seat = 5,
    /// A shaft's journal.
    Journal = 6,
    /// The bore of a housing.
    HousingBore = 7,
}

impl Place {
    /// The number that stands for it.
    pub(crate) const fn number(self) -> i64 {
        self as i64
    }
}
