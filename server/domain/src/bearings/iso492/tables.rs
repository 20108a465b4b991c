//! The tables of ISO 492:2014 for radial bearings other than tapered roller bearings, in nanometres
//! without sign, columns Normal, 6, 5, 4, 2.
//!
//! Every value was read in GOST 520-2011 (harmonised with ISO 492:2002; the 2014 edition words the
//! tolerances anew and keeps these values): Tables 1, 3, 5, 7, 11 for inner rings and 2, 4, 6, 8, 12
//! for outer rings. They equal memory and, where those reach, suppliers' tables of the classes.
//! One supplier's page prints 120 um for the width of class 4 over 10 to 18 mm: two others and GOST
//! print 80. A step includes its upper end; the first step includes its lower end.

use super::{Iso492Error, ToleranceClass};
use crate::units::Length;

/// Whether a value below is known from memory alone.
pub(super) const ANY_FROM_MEMORY_ALONE: bool = false;

/// One step of size, with the values of classes Normal, 6, 5, 4, 2.
struct Row {
    to_nm: i64,
    values_nm: [i32; 5],
}

/// A table of values by size and class.
pub(super) struct Table {
    what: &'static str,
    from_nm: i64,
    rows: &'static [Row],
}

/// Marks a step that the table of a class does not reach.
const NONE: i32 = -1;

impl Table {
    /// The value for a size and class.
    pub(super) fn value(&self, size: Length, class: ToleranceClass) -> Result<Length, Iso492Error> {
        let column = class as usize;
        let covered = |row: &&Row| row.values_nm[column] != NONE;
        let row = self.rows.iter().filter(covered).find(|row| size.nm() <= row.to_nm);
        match row.filter(|_| size.nm() >= self.from_nm) {
            Some(row) => Ok(Length::from_nm(i64::from(row.values_nm[column]))),
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

/// How far the mean bore may lie below nominal.
#[rustfmt::skip]
pub(super) const MEAN_BORE: Table = Table { what: "mean bore", from_nm: 600_000, rows: &[
    Row { to_nm: 2_500_000, values_nm: [8_000, 7_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 10_000_000, values_nm: [8_000, 7_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 18_000_000, values_nm: [8_000, 7_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 30_000_000, values_nm: [10_000, 8_000, 6_000, 5_000, 2_500] },
    Row { to_nm: 50_000_000, values_nm: [12_000, 10_000, 8_000, 6_000, 2_500] },
    Row { to_nm: 80_000_000, values_nm: [15_000, 12_000, 9_000, 7_000, 4_000] },
    Row { to_nm: 120_000_000, values_nm: [20_000, 15_000, 10_000, 8_000, 5_000] },
    Row { to_nm: 150_000_000, values_nm: [25_000, 18_000, 13_000, 10_000, 7_000] },
    Row { to_nm: 180_000_000, values_nm: [25_000, 18_000, 13_000, 10_000, 7_000] },
    Row { to_nm: 250_000_000, values_nm: [30_000, 22_000, 15_000, 12_000, 8_000] },
    Row { to_nm: 315_000_000, values_nm: [35_000, 25_000, 18_000, NONE, NONE] },
    Row { to_nm: 400_000_000, values_nm: [40_000, 30_000, 23_000, NONE, NONE] },
    Row { to_nm: 500_000_000, values_nm: [45_000, 35_000, NONE, NONE, NONE] },
] };

/// How far the width of a ring of a single bearing may lie below nominal, by the bore.
#[rustfmt::skip]
pub(super) const RING_WIDTH: Table = Table { what: "ring width at a bore", from_nm: 600_000, rows: &[
    Row { to_nm: 2_500_000, values_nm: [40_000, 40_000, 40_000, 40_000, 40_000] },
    Row { to_nm: 10_000_000, values_nm: [120_000, 120_000, 40_000, 40_000, 40_000] },
    Row { to_nm: 18_000_000, values_nm: [120_000, 120_000, 80_000, 80_000, 80_000] },
    Row { to_nm: 30_000_000, values_nm: [120_000, 120_000, 120_000, 120_000, 120_000] },
    Row { to_nm: 50_000_000, values_nm: [120_000, 120_000, 120_000, 120_000, 120_000] },
    Row { to_nm: 80_000_000, values_nm: [150_000, 150_000, 150_000, 150_000, 150_000] },
    Row { to_nm: 120_000_000, values_nm: [200_000, 200_000, 200_000, 200_000, 200_000] },
    Row { to_nm: 150_000_000, values_nm: [250_000, 250_000, 250_000, 250_000, 250_000] },
    Row { to_nm: 180_000_000, values_nm: [250_000, 250_000, 250_000, 250_000, 250_000] },
    Row { to_nm: 250_000_000, values_nm: [300_000, 300_000, 300_000, 300_000, 300_000] },
    Row { to_nm: 315_000_000, values_nm: [350_000, 350_000, 350_000, NONE, NONE] },
    Row { to_nm: 400_000_000, values_nm: [400_000, 400_000, 400_000, NONE, NONE] },
    Row { to_nm: 500_000_000, values_nm: [450_000, 450_000, NONE, NONE, NONE] },
] };

/// Radial run-out of the inner ring, `Kia`, by the bore.
#[rustfmt::skip]
pub(super) const INNER_RING_RUN_OUT: Table = Table { what: "inner ring run-out at a bore", from_nm: 600_000, rows: &[
    Row { to_nm: 2_500_000, values_nm: [10_000, 5_000, 4_000, 2_500, 1_500] },
    Row { to_nm: 10_000_000, values_nm: [10_000, 6_000, 4_000, 2_500, 1_500] },
    Row { to_nm: 18_000_000, values_nm: [10_000, 7_000, 4_000, 2_500, 1_500] },
    Row { to_nm: 30_000_000, values_nm: [13_000, 8_000, 4_000, 3_000, 2_500] },
    Row { to_nm: 50_000_000, values_nm: [15_000, 10_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 80_000_000, values_nm: [20_000, 10_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 120_000_000, values_nm: [25_000, 13_000, 6_000, 5_000, 2_500] },
    Row { to_nm: 150_000_000, values_nm: [30_000, 18_000, 8_000, 6_000, 2_500] },
    Row { to_nm: 180_000_000, values_nm: [30_000, 18_000, 8_000, 6_000, 5_000] },
    Row { to_nm: 250_000_000, values_nm: [40_000, 20_000, 10_000, 8_000, 5_000] },
    Row { to_nm: 315_000_000, values_nm: [50_000, 25_000, 13_000, NONE, NONE] },
    Row { to_nm: 400_000_000, values_nm: [60_000, 30_000, 15_000, NONE, NONE] },
    Row { to_nm: 500_000_000, values_nm: [65_000, 35_000, NONE, NONE, NONE] },
] };

/// How far the mean outside diameter may lie below nominal.
#[rustfmt::skip]
pub(super) const MEAN_OUTSIDE_DIAMETER: Table = Table { what: "mean outside diameter", from_nm: 2_500_000, rows: &[
    Row { to_nm: 6_000_000, values_nm: [8_000, 7_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 18_000_000, values_nm: [8_000, 7_000, 5_000, 4_000, 2_500] },
    Row { to_nm: 30_000_000, values_nm: [9_000, 8_000, 6_000, 5_000, 4_000] },
    Row { to_nm: 50_000_000, values_nm: [11_000, 9_000, 7_000, 6_000, 4_000] },
    Row { to_nm: 80_000_000, values_nm: [13_000, 11_000, 9_000, 7_000, 4_000] },
    Row { to_nm: 120_000_000, values_nm: [15_000, 13_000, 10_000, 8_000, 5_000] },
    Row { to_nm: 150_000_000, values_nm: [18_000, 15_000, 11_000, 9_000, 5_000] },
    Row { to_nm: 180_000_000, values_nm: [25_000, 18_000, 13_000, 10_000, 7_000] },
    Row { to_nm: 250_000_000, values_nm: [30_000, 20_000, 15_000, 11_000, 8_000] },
    Row { to_nm: 315_000_000, values_nm: [35_000, 25_000, 18_000, 13_000, 8_000] },
    Row { to_nm: 400_000_000, values_nm: [40_000, 28_000, 20_000, 15_000, 10_000] },
    Row { to_nm: 500_000_000, values_nm: [45_000, 33_000, 23_000, NONE, NONE] },
    Row { to_nm: 630_000_000, values_nm: [50_000, 38_000, 28_000, NONE, NONE] },
    Row { to_nm: 800_000_000, values_nm: [75_000, 45_000, 35_000, NONE, NONE] },
] };

/// Radial run-out of the outer ring, `Kea`, by the outside diameter.
#[rustfmt::skip]
pub(super) const OUTER_RING_RUN_OUT: Table = Table { what: "outer ring run-out at an outside diameter", from_nm: 2_500_000, rows: &[
    Row { to_nm: 6_000_000, values_nm: [15_000, 8_000, 5_000, 3_000, 1_500] },
    Row { to_nm: 18_000_000, values_nm: [15_000, 8_000, 5_000, 3_000, 1_500] },
    Row { to_nm: 30_000_000, values_nm: [15_000, 9_000, 6_000, 4_000, 2_500] },
    Row { to_nm: 50_000_000, values_nm: [20_000, 10_000, 7_000, 5_000, 2_500] },
    Row { to_nm: 80_000_000, values_nm: [25_000, 13_000, 8_000, 5_000, 4_000] },
    Row { to_nm: 120_000_000, values_nm: [35_000, 18_000, 10_000, 6_000, 5_000] },
    Row { to_nm: 150_000_000, values_nm: [40_000, 20_000, 11_000, 7_000, 5_000] },
    Row { to_nm: 180_000_000, values_nm: [45_000, 23_000, 13_000, 8_000, 5_000] },
    Row { to_nm: 250_000_000, values_nm: [50_000, 25_000, 15_000, 10_000, 7_000] },
    Row { to_nm: 315_000_000, values_nm: [60_000, 30_000, 18_000, 11_000, 7_000] },
    Row { to_nm: 400_000_000, values_nm: [70_000, 35_000, 20_000, 13_000, 8_000] },
    Row { to_nm: 500_000_000, values_nm: [80_000, 40_000, 23_000, NONE, NONE] },
    Row { to_nm: 630_000_000, values_nm: [100_000, 50_000, 25_000, NONE, NONE] },
    Row { to_nm: 800_000_000, values_nm: [120_000, 60_000, 30_000, NONE, NONE] },
] };
