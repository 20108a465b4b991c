//! The series of ISO 15:2017 that the shop meets, as tables: which bores they have, and for each
//! the outside diameter and the width.
//!
//! Series 60, 62 and 63 are dimension series 10, 02 and 03; series 68 and 69 (also written 618 and
//! 619) are dimension series 18 and 19. The numbering is DIN 623-1:1993 (from memory) and plain
//! trade custom: the last two figures are the bore code, 00 to 03 for 10, 12, 15 and 17 mm, from
//! 04 on a fifth of the bore (to 40 here, 200 mm, as far as the clearance groups are kept; series 63
//! to 36, as far as the ring tolerances are). A bore under 10 mm is written as one figure (`608`) or after a
//! stroke (`618/8`); 22, 28 and 32 mm and parts of a millimetre only after a stroke (`62/22`).
//!
//! Where the values were read beside memory: series 60 and 62, bore codes 00 to 30, a published
//! bearing size chart; series 60 and 62, codes 32 to 36, and series 63, codes 13 to 36, a public
//! stock program's table of standard bearings; series 63, codes 00 to 12, series 68, codes 00 to 06 and 10, series 69,
//! codes 00 to 08, and 607, 608, 609, 623 to 627, 629 and 635, tables of public CAD libraries after
//! ISO 15 and DIN 625-1. Outside diameters of series 63 also agree with the housing bores of
//! ANSI/EASA AR100-2015, Table 2-13. Everything else is from memory alone and is marked so.

use super::boundary::BoundaryDimensions;
use crate::units::Length;

/// One series.
pub(super) struct Series {
    /// The figures that the short form of a number begins with.
    pub(super) digits: &'static str,
    /// The figures that the long form begins with, if there is one.
    pub(super) long_digits: Option<&'static str>,
    /// Outside diameter and width in mm by bore code, 00 to 20.
    by_code_mm: [(u8, u8); CODES],
    /// Bore code, outside diameter and width in mm of the codes over 20.
    larger_mm: &'static [(u8, u16, u8)],
    /// The largest of those codes whose row was read in a published table; 0 if none was.
    larger_read_to: u8,
    /// The bore codes to 20 whose row was read in a published table: bit n for code n.
    codes_read: u32,
    /// Sizes whose bore is written out.
    by_bore: &'static [ByBore],
}

/// A size whose bore is written out in the number.
struct ByBore {
    bore: &'static str,
    bore_um: u32,
    outside_diameter_um: u32,
    width_um: u32,
    is_read: bool,
}

/// One bearing: its basic number in the short form, its sizes, whether they are from memory alone.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) basic: String,
    pub(super) dimensions: BoundaryDimensions,
    pub(super) is_from_memory: bool,
}

/// Bore codes 00 to 20: every series has them all.
const CODES: usize = 21;
const SMALL_BORES_MM: [u32; 4] = [10, 12, 15, 17];
const ALL_READ: u32 = (1 << CODES) - 1;

impl Series {
    /// Every bearing of the series, smallest bore first.
    pub(super) fn entries(&self) -> Vec<Entry> {
        let by_code = self.codes().filter_map(|code| self.coded(code));
        let by_bore = self.by_bore.iter().map(|row| self.written_out(row));
        let mut entries: Vec<Entry> = by_bore.chain(by_code).collect();
        entries.sort_by_key(|entry| entry.dimensions.bore);
        entries
    }

    /// The bearing that the rest of a number behind the series' figures names.
    ///
    /// `is_long` tells that the long form of the figures was written.
    pub(super) fn named(&self, rest: &str, is_long: bool) -> Option<Entry> {
        if let Some(bore) = rest.strip_prefix('/') {
            return self
                .by_bore
                .iter()
                .find(|row| row.bore == bore)
                .map(|row| self.written_out(row));
        }
        if rest.len() == 1 && !is_long {
            return self
                .by_bore
                .iter()
                .find(|row| row.bore == rest)
                .map(|row| self.written_out(row));
        }
        let code: usize = Some(rest).filter(|rest| rest.len() == 2)?.parse().ok()?;
        self.coded(code)
    }

    /// Every bore code of the series.
    fn codes(&self) -> impl Iterator<Item = usize> + '_ {
        (0..CODES).chain(self.larger_mm.iter().map(|(code, ..)| usize::from(*code)))
    }

    /// Every spelling of the numbers of this series.
    pub(super) fn spellings(&self) -> Vec<String> {
        let mut spellings = Vec::new();
        for (digits, is_long) in self.forms() {
            spellings.extend(self.codes().map(|code| format!("{digits}{code:02}")));
            spellings.extend(self.by_bore.iter().map(|row| {
                match row.bore.len() == 1 && !is_long {
                    true => format!("{digits}{}", row.bore),
                    false => format!("{digits}/{}", row.bore),
                }
            }));
        }
        spellings
    }

    /// The figures of the series in their forms, and whether each is the long one.
    pub(super) fn forms(&self) -> impl Iterator<Item = (&'static str, bool)> {
        std::iter::once((self.digits, false)).chain(self.long_digits.map(|digits| (digits, true)))
    }

    fn coded(&self, code: usize) -> Option<Entry> {
        let small =
            self.by_code_mm.get(code).map(|(diameter, width)| (u16::from(*diameter), *width));
        let large = self.larger_mm.iter().find(|(larger, ..)| usize::from(*larger) == code);
        let (outside_diameter, width) =
            small.or(large.map(|(_, diameter, width)| (*diameter, *width)))?;
        let is_read = match code < CODES {
            true => self.codes_read & (1 << code) != 0,
            false => code <= usize::from(self.larger_read_to),
        };
        let bore_mm = SMALL_BORES_MM.get(code).copied().unwrap_or(5 * code as u32);
        Some(Entry {
            basic: format!("{}{code:02}", self.digits),
            dimensions: dimensions_um(
                bore_mm * 1_000,
                u32::from(outside_diameter) * 1_000,
                u32::from(width) * 1_000,
            ),
            is_from_memory: !is_read,
        })
    }

    fn written_out(&self, row: &ByBore) -> Entry {
        let stroke = if row.bore.len() == 1 { "" } else { "/" };
        Entry {
            basic: format!("{}{stroke}{}", self.digits, row.bore),
            dimensions: dimensions_um(row.bore_um, row.outside_diameter_um, row.width_um),
            is_from_memory: !row.is_read,
        }
    }
}

fn dimensions_um(bore: u32, outside_diameter: u32, width: u32) -> BoundaryDimensions {
    let length = |um: u32| Length::from_nm(i64::from(um) * 1_000);
    BoundaryDimensions {
        bore: length(bore),
        outside_diameter: length(outside_diameter),
        width: length(width),
    }
}

const fn read(bore: &'static str, sizes_um: [u32; 3]) -> ByBore {
    let [bore_um, outside_diameter_um, width_um] = sizes_um;
    ByBore { bore, bore_um, outside_diameter_um, width_um, is_read: true }
}

const fn from_memory(bore: &'static str, sizes_um: [u32; 3]) -> ByBore {
    let [bore_um, outside_diameter_um, width_um] = sizes_um;
    ByBore { bore, bore_um, outside_diameter_um, width_um, is_read: false }
}

/// ISO 15:2017.
#[rustfmt::skip]
pub(super) const SERIES: [Series; 5] = [
    Series { digits: "60", long_digits: None, by_code_mm: [
        (26, 8), (28, 8), (32, 9), (35, 10), (42, 12), (47, 12), (55, 13),
        (62, 14), (68, 15), (75, 16), (80, 16), (90, 18), (95, 18), (100, 18),
        (110, 20), (115, 20), (125, 22), (130, 22), (140, 24), (145, 24), (150, 24),
    ], larger_mm: &[
        (21, 160, 26), (22, 170, 28), (24, 180, 28), (26, 200, 33), (28, 210, 33), (30, 225, 35),
        (32, 240, 38), (34, 260, 42), (36, 280, 46), (38, 290, 46), (40, 310, 51),
    ], larger_read_to: 36, codes_read: ALL_READ, by_bore: &[
        from_memory("4", [4_000, 12_000, 4_000]),
        from_memory("5", [5_000, 14_000, 5_000]),
        from_memory("6", [6_000, 17_000, 6_000]),
        read("7", [7_000, 19_000, 6_000]),
        read("8", [8_000, 22_000, 7_000]),
        read("9", [9_000, 24_000, 7_000]),
        from_memory("22", [22_000, 44_000, 12_000]),
        from_memory("28", [28_000, 52_000, 12_000]),
        from_memory("32", [32_000, 58_000, 13_000]),
    ] },
    Series { digits: "62", long_digits: None, by_code_mm: [
        (30, 9), (32, 10), (35, 11), (40, 12), (47, 14), (52, 15), (62, 16),
        (72, 17), (80, 18), (85, 19), (90, 20), (100, 21), (110, 22), (120, 23),
        (125, 24), (130, 25), (140, 26), (150, 28), (160, 30), (170, 32), (180, 34),
    ], larger_mm: &[
        (21, 190, 36), (22, 200, 38), (24, 215, 40), (26, 230, 40), (28, 250, 42), (30, 270, 45),
        (32, 290, 48), (34, 310, 52), (36, 320, 52), (38, 340, 55), (40, 360, 58),
    ], larger_read_to: 36, codes_read: ALL_READ, by_bore: &[
        read("3", [3_000, 10_000, 4_000]),
        read("4", [4_000, 13_000, 5_000]),
        read("5", [5_000, 16_000, 5_000]),
        read("6", [6_000, 19_000, 6_000]),
        read("7", [7_000, 22_000, 7_000]),
        from_memory("8", [8_000, 24_000, 8_000]),
        read("9", [9_000, 26_000, 8_000]),
        from_memory("22", [22_000, 50_000, 14_000]),
        from_memory("28", [28_000, 58_000, 16_000]),
        from_memory("32", [32_000, 65_000, 17_000]),
    ] },
    Series { digits: "63", long_digits: None, by_code_mm: [
        (35, 11), (37, 12), (42, 13), (47, 14), (52, 15), (62, 17), (72, 19),
        (80, 21), (90, 23), (100, 25), (110, 27), (120, 29), (130, 31), (140, 33),
        (150, 35), (160, 37), (170, 39), (180, 41), (190, 43), (200, 45), (215, 47),
    ], larger_mm: &[
        (21, 225, 49), (22, 240, 50), (24, 260, 55), (26, 280, 58), (28, 300, 62), (30, 320, 65),
        (32, 340, 68), (34, 360, 72), (36, 380, 75),
    ], larger_read_to: 36, codes_read: ALL_READ, by_bore: &[
        from_memory("3", [3_000, 13_000, 5_000]),
        from_memory("4", [4_000, 16_000, 5_000]),
        read("5", [5_000, 19_000, 6_000]),
        from_memory("6", [6_000, 22_000, 7_000]),
        from_memory("7", [7_000, 26_000, 9_000]),
        from_memory("8", [8_000, 28_000, 9_000]),
        from_memory("9", [9_000, 30_000, 10_000]),
        from_memory("22", [22_000, 56_000, 16_000]),
        from_memory("28", [28_000, 68_000, 18_000]),
        from_memory("32", [32_000, 75_000, 20_000]),
    ] },
    Series { digits: "68", long_digits: Some("618"), by_code_mm: [
        (19, 5), (21, 5), (24, 5), (26, 5), (32, 7), (37, 7), (42, 7),
        (47, 7), (52, 7), (58, 7), (65, 7), (72, 9), (78, 10), (85, 10),
        (90, 10), (95, 10), (100, 10), (110, 13), (115, 13), (120, 13), (125, 13),
    ], larger_mm: &[
        (21, 130, 13), (22, 140, 16), (24, 150, 16), (26, 165, 18), (28, 175, 18), (30, 190, 20),
        (32, 200, 20), (34, 215, 22), (36, 225, 22), (38, 240, 24), (40, 250, 24),
    ], larger_read_to: 0, codes_read: 0b100_0111_1111, by_bore: &[
        from_memory("1", [1_000, 3_000, 1_000]),
        from_memory("1.5", [1_500, 4_000, 1_200]),
        from_memory("2", [2_000, 5_000, 1_500]),
        from_memory("2.5", [2_500, 6_000, 1_800]),
        from_memory("3", [3_000, 7_000, 2_000]),
        from_memory("4", [4_000, 9_000, 2_500]),
        from_memory("5", [5_000, 11_000, 3_000]),
        from_memory("6", [6_000, 13_000, 3_500]),
        from_memory("7", [7_000, 14_000, 3_500]),
        from_memory("8", [8_000, 16_000, 4_000]),
        from_memory("9", [9_000, 17_000, 4_000]),
        from_memory("22", [22_000, 34_000, 7_000]),
        from_memory("28", [28_000, 40_000, 7_000]),
        from_memory("32", [32_000, 44_000, 7_000]),
    ] },
    Series { digits: "69", long_digits: Some("619"), by_code_mm: [
        (22, 6), (24, 6), (28, 7), (30, 7), (37, 9), (42, 9), (47, 9),
        (55, 10), (62, 12), (68, 12), (72, 12), (80, 13), (85, 13), (90, 13),
        (100, 16), (105, 16), (110, 16), (120, 18), (125, 18), (130, 18), (140, 20),
    ], larger_mm: &[
        (21, 145, 20), (22, 150, 20), (24, 165, 22), (26, 180, 24), (28, 190, 24), (30, 210, 28),
        (32, 220, 28), (34, 230, 28), (36, 250, 33), (38, 260, 33), (40, 280, 38),
    ], larger_read_to: 0, codes_read: 0b1_1111_1111, by_bore: &[
        from_memory("1", [1_000, 4_000, 1_600]),
        from_memory("1.5", [1_500, 5_000, 2_000]),
        from_memory("2", [2_000, 6_000, 2_300]),
        from_memory("2.5", [2_500, 7_000, 2_500]),
        from_memory("3", [3_000, 8_000, 3_000]),
        from_memory("4", [4_000, 11_000, 4_000]),
        from_memory("5", [5_000, 13_000, 4_000]),
        from_memory("6", [6_000, 15_000, 5_000]),
        from_memory("7", [7_000, 17_000, 5_000]),
        from_memory("8", [8_000, 19_000, 6_000]),
        from_memory("9", [9_000, 20_000, 6_000]),
        from_memory("22", [22_000, 39_000, 9_000]),
        from_memory("28", [28_000, 45_000, 9_000]),
        from_memory("32", [32_000, 52_000, 10_000]),
    ] },
];
