//! An amount of metal, both ways that the trade counts it.

use crate::item::Limits;
use crate::units::{Length, Unit};

/// Metal taken off or put on, per side and on diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Amount {
    /// On diameter.
    pub on_diameter: Length,
    /// Per side: half of it, the odd nanometre up.
    pub per_side: Length,
}

impl Amount {
    /// No metal.
    pub const ZERO: Amount = Amount { on_diameter: Length::ZERO, per_side: Length::ZERO };

    /// An amount that is so much on diameter.
    pub const fn on_diameter(on_diameter: Length) -> Amount {
        let nm = on_diameter.nm();
        Amount { on_diameter, per_side: Length::from_nm(nm.div_euclid(2) + nm.rem_euclid(2)) }
    }

    /// Both in words.
    ///
    /// ```
    /// use tenths_domain::route::Amount;
    /// use tenths_domain::units::{Length, Unit};
    /// let amount = Amount::on_diameter(Length::from_nm(101_600));
    /// assert_eq!(amount.words(Unit::Inch), "0.0020 in per side = 0.0040 in on diameter");
    /// ```
    pub fn words(self, unit: Unit) -> String {
        let [side, both] = [self.per_side, self.on_diameter].map(|one| one.display_in(unit));
        format!("{side} per side = {both} on diameter")
    }
}

/// The reading that is furthest from the finished size, and how far on diameter that is at most: the
/// fullest to the leanest where metal comes off, the leanest to the fullest where it is put on.
///
/// ```
/// use tenths_domain::item::Limits;
/// use tenths_domain::route::furthest;
/// use tenths_domain::units::Length;
/// let um = |um: i64| Length::from_nm(um * 1_000);
/// let read = Limits { lower: um(24_980), upper: um(24_990) };
/// let to = Limits { lower: um(25_002), upper: um(25_011) };
/// let (from, change) = furthest(read, to);
/// assert_eq!((from, change.on_diameter), (um(24_980), um(31)));
/// ```
pub fn furthest(read: Limits, to: Limits) -> (Length, Amount) {
    let (off, on) = (read.upper - to.lower, to.upper - read.lower);
    let from = if off >= on { read.upper } else { read.lower };
    (from, Amount::on_diameter(off.max(on)))
}
