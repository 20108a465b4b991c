//! ISO 492:2014: how far the mean bore and the mean outside diameter of a radial bearing ring may
//! lie from nominal.
//!
//! The upper deviation is zero in every class: a bore is never over, an outside diameter is never
//! over its nominal size. "Mean" is the mean of the largest and the smallest single diameter in one
//! plane: a ring's out-of-round is not a deviation here. Tapered roller bearings have their own
//! tables, which are not here.

use crate::iso286::{Deviations, millimetres};
use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// Tolerance class of a radial bearing (ISO 492:2014), widest first.
    ToleranceClass, "ISO 492 tolerance class" {
        /// Normal class, the one meant when a bearing's number says nothing.
        Normal = "normal",
        /// Class 6.
        Class6 = "6",
        /// Class 5.
        Class5 = "5",
        /// Class 4.
        Class4 = "4",
    }
}

/// A size that a tolerance class does not cover.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "ISO 492 class {class} has no {what} of {}; allowed: {} to {}",
    millimetres(*size), millimetres(*from), millimetres(*to)
)]
pub struct Iso492Error {
    /// The diameter asked for: `mean bore` or `mean outside diameter`.
    pub what: &'static str,
    /// The size asked for.
    pub size: Length,
    /// The class asked for.
    pub class: ToleranceClass,
    /// Smallest size allowed.
    pub from: Length,
    /// Largest size allowed.
    pub to: Length,
}

/// Deviations of the mean bore from the nominal bore.
///
/// ```
/// use tenths_domain::bearings::iso492::{ToleranceClass, mean_bore_deviations};
/// use tenths_domain::units::Length;
/// let bore = mean_bore_deviations(Length::from_nm(30_000_000), ToleranceClass::Normal).unwrap();
/// assert_eq!((bore.lower.nm(), bore.upper.nm()), (-10_000, 0));
/// ```
pub fn mean_bore_deviations(
    bore: Length,
    class: ToleranceClass,
) -> Result<Deviations, Iso492Error> {
    MEAN_BORE.deviations(bore, class)
}

/// Deviations of the mean outside diameter from the nominal outside diameter.
///
/// ```
/// use tenths_domain::bearings::iso492::{ToleranceClass, mean_outside_diameter_deviations};
/// use tenths_domain::units::Length;
/// let outside = Length::from_nm(62_000_000);
/// let outside = mean_outside_diameter_deviations(outside, ToleranceClass::Class5).unwrap();
/// assert_eq!((outside.lower.nm(), outside.upper.nm()), (-9_000, 0));
/// ```
pub fn mean_outside_diameter_deviations(
    outside_diameter: Length,
    class: ToleranceClass,
) -> Result<Deviations, Iso492Error> {
    MEAN_OUTSIDE_DIAMETER.deviations(outside_diameter, class)
}

/// One step of size, with the lower deviation of classes Normal, 6, 5, 4.
struct Row {
    to_nm: i64,
    lower_um: [i16; 4],
}

/// A table of lower deviations.
struct Table {
    what: &'static str,
    from_nm: i64,
    rows: &'static [Row],
}

/// Marks a step that the table of a class does not reach.
const NONE: i16 = i16::MIN;

impl Table {
    fn deviations(&self, size: Length, class: ToleranceClass) -> Result<Deviations, Iso492Error> {
        let column = class as usize;
        let covered = |row: &&Row| row.lower_um[column] != NONE;
        let row = self.rows.iter().filter(covered).find(|row| size.nm() <= row.to_nm);
        match row.filter(|_| size.nm() >= self.from_nm) {
            Some(row) => {
                let lower = Length::from_nm(i64::from(row.lower_um[column]) * 1_000);
                Ok(Deviations { lower, upper: Length::ZERO })
            }
            None => Err(Iso492Error {
                what: self.what,
                size,
                class,
                from: Length::from_nm(self.from_nm),
                to: Length::from_nm(
                    self.rows.iter().rfind(covered).expect("no column is empty").to_nm,
                ),
            }),
        }
    }
}

/// Mean bore, from 0.6 mm (that size included, from memory). Class 6 over 250 mm is from memory.
#[rustfmt::skip]
const MEAN_BORE: Table = Table { what: "mean bore", from_nm: 600_000, rows: &[
    Row { to_nm: 2_500_000, lower_um: [-8, -7, -5, -4] },
    Row { to_nm: 10_000_000, lower_um: [-8, -7, -5, -4] },
    Row { to_nm: 18_000_000, lower_um: [-8, -7, -5, -4] },
    Row { to_nm: 30_000_000, lower_um: [-10, -8, -6, -5] },
    Row { to_nm: 50_000_000, lower_um: [-12, -10, -8, -6] },
    Row { to_nm: 80_000_000, lower_um: [-15, -12, -9, -7] },
    Row { to_nm: 120_000_000, lower_um: [-20, -15, -10, -8] },
    Row { to_nm: 180_000_000, lower_um: [-25, -18, -13, -10] },
    Row { to_nm: 250_000_000, lower_um: [-30, -22, -15, -12] },
    Row { to_nm: 315_000_000, lower_um: [-35, -25, -18, NONE] },
    Row { to_nm: 400_000_000, lower_um: [-40, -30, -23, NONE] },
    Row { to_nm: 500_000_000, lower_um: [-45, -35, NONE, NONE] },
] };

/// Mean outside diameter, from 2.5 mm (that size included, from memory).
#[rustfmt::skip]
const MEAN_OUTSIDE_DIAMETER: Table = Table { what: "mean outside diameter", from_nm: 2_500_000, rows: &[
    Row { to_nm: 6_000_000, lower_um: [-8, -7, -5, -4] },
    Row { to_nm: 18_000_000, lower_um: [-8, -7, -5, -4] },
    Row { to_nm: 30_000_000, lower_um: [-9, -8, -6, -5] },
    Row { to_nm: 50_000_000, lower_um: [-11, -9, -7, -6] },
    Row { to_nm: 80_000_000, lower_um: [-13, -11, -9, -7] },
    Row { to_nm: 120_000_000, lower_um: [-15, -13, -10, -8] },
    Row { to_nm: 150_000_000, lower_um: [-18, -15, -11, -9] },
    Row { to_nm: 180_000_000, lower_um: [-25, -18, -13, -10] },
    Row { to_nm: 250_000_000, lower_um: [-30, -20, -15, -11] },
    Row { to_nm: 315_000_000, lower_um: [-35, -25, -18, -13] },
    Row { to_nm: 400_000_000, lower_um: [-40, -28, -20, -15] },
    Row { to_nm: 500_000_000, lower_um: [-45, -33, -23, NONE] },
    Row { to_nm: 630_000_000, lower_um: [-50, -38, -28, NONE] },
    Row { to_nm: 800_000_000, lower_um: [-75, -45, -35, NONE] },
] };
