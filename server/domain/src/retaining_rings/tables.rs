//! The tables of DIN 471:2011-04 (rings for shafts) and DIN 472:2011-04 (rings for bores), normal
//! type, 8 to 100 mm.
//!
//! Most rows were read at suppliers' tables, and all of them beside that in a public CAD library's
//! tables of the two standards (groove diameter and ring thickness; the groove's width follows the
//! thickness). Where the sources differ the row says so and is unconfirmed:
//! DIN 471, 36 mm: our own first table had a 1.5 mm ring, the CAD library and memory have 1.75;
//! DIN 471, 52 mm: a supplier and the CAD library print a groove of 49.5, others and the series of
//! sizes give 49; DIN 472, 100 mm: the CAD library prints 103, memory and the series give 103.5.
//! The CAD library's 20.4 for DIN 472, 28 mm, is a misprint of 29.4 (a second library prints that).

/// One ring.
pub(super) struct Row {
    pub(super) nominal_mm: i64,
    pub(super) ring_um: i64,
    pub(super) groove_um: i64,
    /// Grade of the groove diameter's class: h on a shaft, H in a bore.
    pub(super) grade: i8,
    /// Least width of the groove, its class is H13.
    pub(super) width_um: i64,
    pub(super) sources: Sources,
}

/// Whether the sources of a row agree.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sources {
    Agree,
    Differ,
}

const READ: Sources = Sources::Agree;
const DIFFERS: Sources = Sources::Differ;

#[rustfmt::skip]
pub(super) const SHAFT: [Row; 48] = [
    Row { nominal_mm: 8, ring_um: 800, groove_um: 7_600, grade: 10, width_um: 900, sources: READ },
    Row { nominal_mm: 9, ring_um: 1_000, groove_um: 8_600, grade: 10, width_um: 1_100, sources: READ },
    Row { nominal_mm: 10, ring_um: 1_000, groove_um: 9_600, grade: 10, width_um: 1_100, sources: READ },
    Row { nominal_mm: 11, ring_um: 1_000, groove_um: 10_500, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 12, ring_um: 1_000, groove_um: 11_500, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 13, ring_um: 1_000, groove_um: 12_400, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 14, ring_um: 1_000, groove_um: 13_400, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 15, ring_um: 1_000, groove_um: 14_300, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 16, ring_um: 1_000, groove_um: 15_200, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 17, ring_um: 1_000, groove_um: 16_200, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 18, ring_um: 1_200, groove_um: 17_000, grade: 11, width_um: 1_300, sources: READ },
    Row { nominal_mm: 19, ring_um: 1_200, groove_um: 18_000, grade: 11, width_um: 1_300, sources: READ },
    Row { nominal_mm: 20, ring_um: 1_200, groove_um: 19_000, grade: 11, width_um: 1_300, sources: READ },
    Row { nominal_mm: 21, ring_um: 1_200, groove_um: 20_000, grade: 11, width_um: 1_300, sources: READ },
    Row { nominal_mm: 22, ring_um: 1_200, groove_um: 21_000, grade: 11, width_um: 1_300, sources: READ },
    Row { nominal_mm: 24, ring_um: 1_200, groove_um: 22_900, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 25, ring_um: 1_200, groove_um: 23_900, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 26, ring_um: 1_200, groove_um: 24_900, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 28, ring_um: 1_500, groove_um: 26_600, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 29, ring_um: 1_500, groove_um: 27_600, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 30, ring_um: 1_500, groove_um: 28_600, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 32, ring_um: 1_500, groove_um: 30_300, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 34, ring_um: 1_500, groove_um: 32_300, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 35, ring_um: 1_500, groove_um: 33_000, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 36, ring_um: 1_750, groove_um: 34_000, grade: 12, width_um: 1_850, sources: DIFFERS },
    Row { nominal_mm: 38, ring_um: 1_750, groove_um: 36_000, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 40, ring_um: 1_750, groove_um: 37_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 42, ring_um: 1_750, groove_um: 39_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 45, ring_um: 1_750, groove_um: 42_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 47, ring_um: 1_750, groove_um: 44_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 48, ring_um: 1_750, groove_um: 45_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 50, ring_um: 2_000, groove_um: 47_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 52, ring_um: 2_000, groove_um: 49_000, grade: 12, width_um: 2_150, sources: DIFFERS },
    Row { nominal_mm: 55, ring_um: 2_000, groove_um: 52_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 58, ring_um: 2_000, groove_um: 55_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 60, ring_um: 2_000, groove_um: 57_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 62, ring_um: 2_000, groove_um: 59_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 65, ring_um: 2_500, groove_um: 62_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 68, ring_um: 2_500, groove_um: 65_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 70, ring_um: 2_500, groove_um: 67_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 72, ring_um: 2_500, groove_um: 69_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 75, ring_um: 2_500, groove_um: 72_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 78, ring_um: 2_500, groove_um: 75_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 80, ring_um: 2_500, groove_um: 76_500, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 85, ring_um: 3_000, groove_um: 81_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 90, ring_um: 3_000, groove_um: 86_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 95, ring_um: 3_000, groove_um: 91_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 100, ring_um: 3_000, groove_um: 96_500, grade: 12, width_um: 3_150, sources: READ },
];

#[rustfmt::skip]
pub(super) const BORE: [Row; 55] = [
    Row { nominal_mm: 8, ring_um: 800, groove_um: 8_400, grade: 11, width_um: 900, sources: READ },
    Row { nominal_mm: 9, ring_um: 800, groove_um: 9_400, grade: 11, width_um: 900, sources: READ },
    Row { nominal_mm: 10, ring_um: 1_000, groove_um: 10_400, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 11, ring_um: 1_000, groove_um: 11_400, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 12, ring_um: 1_000, groove_um: 12_500, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 13, ring_um: 1_000, groove_um: 13_600, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 14, ring_um: 1_000, groove_um: 14_600, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 15, ring_um: 1_000, groove_um: 15_700, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 16, ring_um: 1_000, groove_um: 16_800, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 17, ring_um: 1_000, groove_um: 17_800, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 18, ring_um: 1_000, groove_um: 19_000, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 19, ring_um: 1_000, groove_um: 20_000, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 20, ring_um: 1_000, groove_um: 21_000, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 21, ring_um: 1_000, groove_um: 22_000, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 22, ring_um: 1_000, groove_um: 23_000, grade: 11, width_um: 1_100, sources: READ },
    Row { nominal_mm: 24, ring_um: 1_200, groove_um: 25_200, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 25, ring_um: 1_200, groove_um: 26_200, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 26, ring_um: 1_200, groove_um: 27_200, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 28, ring_um: 1_200, groove_um: 29_400, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 30, ring_um: 1_200, groove_um: 31_400, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 31, ring_um: 1_200, groove_um: 32_700, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 32, ring_um: 1_200, groove_um: 33_700, grade: 12, width_um: 1_300, sources: READ },
    Row { nominal_mm: 34, ring_um: 1_500, groove_um: 35_700, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 35, ring_um: 1_500, groove_um: 37_000, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 36, ring_um: 1_500, groove_um: 38_000, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 37, ring_um: 1_500, groove_um: 39_000, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 38, ring_um: 1_500, groove_um: 40_000, grade: 12, width_um: 1_600, sources: READ },
    Row { nominal_mm: 40, ring_um: 1_750, groove_um: 42_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 42, ring_um: 1_750, groove_um: 44_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 45, ring_um: 1_750, groove_um: 47_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 47, ring_um: 1_750, groove_um: 49_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 48, ring_um: 1_750, groove_um: 50_500, grade: 12, width_um: 1_850, sources: READ },
    Row { nominal_mm: 50, ring_um: 2_000, groove_um: 53_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 52, ring_um: 2_000, groove_um: 55_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 55, ring_um: 2_000, groove_um: 58_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 56, ring_um: 2_000, groove_um: 59_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 58, ring_um: 2_000, groove_um: 61_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 60, ring_um: 2_000, groove_um: 63_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 62, ring_um: 2_000, groove_um: 65_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 63, ring_um: 2_000, groove_um: 66_000, grade: 12, width_um: 2_150, sources: READ },
    Row { nominal_mm: 65, ring_um: 2_500, groove_um: 68_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 68, ring_um: 2_500, groove_um: 71_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 70, ring_um: 2_500, groove_um: 73_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 72, ring_um: 2_500, groove_um: 75_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 75, ring_um: 2_500, groove_um: 78_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 78, ring_um: 2_500, groove_um: 81_000, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 80, ring_um: 2_500, groove_um: 83_500, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 82, ring_um: 2_500, groove_um: 85_500, grade: 12, width_um: 2_650, sources: READ },
    Row { nominal_mm: 85, ring_um: 3_000, groove_um: 88_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 88, ring_um: 3_000, groove_um: 91_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 90, ring_um: 3_000, groove_um: 93_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 92, ring_um: 3_000, groove_um: 95_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 95, ring_um: 3_000, groove_um: 98_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 98, ring_um: 3_000, groove_um: 101_500, grade: 12, width_um: 3_150, sources: READ },
    Row { nominal_mm: 100, ring_um: 3_000, groove_um: 103_500, grade: 12, width_um: 3_150, sources: DIFFERS },
];
