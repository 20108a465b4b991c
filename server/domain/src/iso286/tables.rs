//! The tables of ISO 286-1:2010 up to and including 500 mm, as numbers and nothing else.
//!
//! Table 1 (standard tolerance grades), Tables 4 and 5 (fundamental deviations of shafts), the `J`
//! columns and the delta columns of Tables 2 and 3 (holes). The other holes follow from the shafts
//! by the rules in [`super::deviation`]. Every value is compared with the checked copy of the
//! tables in `tests/golden/iso286_*.csv`, which says row by row how each value was obtained.

/// Upper ends, inclusive, of the 25 intermediate steps of nominal size, in millimetres.
pub(super) const STEP_TO_MM: [i64; 25] = [
    3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315,
    355, 400, 450, 500,
];

/// The main step (0 to 12: to 3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500 mm) that each
/// intermediate step belongs to.
pub(super) const MAIN_STEP: [usize; 25] =
    [0, 1, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 8, 8, 9, 9, 9, 10, 10, 11, 11, 12, 12];

/// Standard tolerances IT01, IT0, IT1 to IT18 by main step, in nanometres (ISO 286-1:2010, Table 1;
/// IT14 to IT18 are not for nominal sizes of 1 mm or less).
#[rustfmt::skip]
pub(super) const STANDARD_TOLERANCE_NM: [[i32; 13]; 20] = [
    [300, 400, 400, 500, 600, 600, 800, 1_000, 1_200, 2_000, 2_500, 3_000, 4_000], // IT01
    [500, 600, 600, 800, 1_000, 1_000, 1_200, 1_500, 2_000, 3_000, 4_000, 5_000, 6_000], // IT0
    [800, 1_000, 1_000, 1_200, 1_500, 1_500, 2_000, 2_500, 3_500, 4_500, 6_000, 7_000, 8_000], // IT1
    [1_200, 1_500, 1_500, 2_000, 2_500, 2_500, 3_000, 4_000, 5_000, 7_000, 8_000, 9_000, 10_000], // IT2
    [2_000, 2_500, 2_500, 3_000, 4_000, 4_000, 5_000, 6_000, 8_000, 10_000, 12_000, 13_000, 15_000], // IT3
    [3_000, 4_000, 4_000, 5_000, 6_000, 7_000, 8_000, 10_000, 12_000, 14_000, 16_000, 18_000, 20_000], // IT4
    [4_000, 5_000, 6_000, 8_000, 9_000, 11_000, 13_000, 15_000, 18_000, 20_000, 23_000, 25_000, 27_000], // IT5
    [6_000, 8_000, 9_000, 11_000, 13_000, 16_000, 19_000, 22_000, 25_000, 29_000, 32_000, 36_000, 40_000], // IT6
    [10_000, 12_000, 15_000, 18_000, 21_000, 25_000, 30_000, 35_000, 40_000, 46_000, 52_000, 57_000, 63_000], // IT7
    [14_000, 18_000, 22_000, 27_000, 33_000, 39_000, 46_000, 54_000, 63_000, 72_000, 81_000, 89_000, 97_000], // IT8
    [25_000, 30_000, 36_000, 43_000, 52_000, 62_000, 74_000, 87_000, 100_000, 115_000, 130_000, 140_000, 155_000], // IT9
    [40_000, 48_000, 58_000, 70_000, 84_000, 100_000, 120_000, 140_000, 160_000, 185_000, 210_000, 230_000, 250_000], // IT10
    [60_000, 75_000, 90_000, 110_000, 130_000, 160_000, 190_000, 220_000, 250_000, 290_000, 320_000, 360_000, 400_000], // IT11
    [100_000, 120_000, 150_000, 180_000, 210_000, 250_000, 300_000, 350_000, 400_000, 460_000, 520_000, 570_000, 630_000], // IT12
    [140_000, 180_000, 220_000, 270_000, 330_000, 390_000, 460_000, 540_000, 630_000, 720_000, 810_000, 890_000, 970_000], // IT13
    [250_000, 300_000, 360_000, 430_000, 520_000, 620_000, 740_000, 870_000, 1_000_000, 1_150_000, 1_300_000, 1_400_000, 1_550_000], // IT14
    [400_000, 480_000, 580_000, 700_000, 840_000, 1_000_000, 1_200_000, 1_400_000, 1_600_000, 1_850_000, 2_100_000, 2_300_000, 2_500_000], // IT15
    [600_000, 750_000, 900_000, 1_100_000, 1_300_000, 1_600_000, 1_900_000, 2_200_000, 2_500_000, 2_900_000, 3_200_000, 3_600_000, 4_000_000], // IT16
    [1_000_000, 1_200_000, 1_500_000, 1_800_000, 2_100_000, 2_500_000, 3_000_000, 3_500_000, 4_000_000, 4_600_000, 5_200_000, 5_700_000, 6_300_000], // IT17
    [1_400_000, 1_800_000, 2_200_000, 2_700_000, 3_300_000, 3_900_000, 4_600_000, 5_400_000, 6_300_000, 7_200_000, 8_100_000, 8_900_000, 9_700_000], // IT18
];

/// Delta for grades IT3 to IT8 by main step, in nanometres (ISO 286-1:2010, Tables 2 and 3).
#[rustfmt::skip]
pub(super) const DELTA_NM: [[i32; 13]; 6] = [
    [0, 1_000, 1_000, 1_000, 1_500, 1_500, 2_000, 2_000, 3_000, 3_000, 4_000, 4_000, 5_000], // IT3
    [0, 1_500, 1_500, 2_000, 2_000, 3_000, 3_000, 4_000, 4_000, 4_000, 4_000, 5_000, 5_000], // IT4
    [0, 1_000, 2_000, 3_000, 3_000, 4_000, 5_000, 5_000, 6_000, 6_000, 7_000, 7_000, 7_000], // IT5
    [0, 3_000, 3_000, 3_000, 4_000, 5_000, 6_000, 7_000, 7_000, 9_000, 9_000, 11_000, 13_000], // IT6
    [0, 4_000, 6_000, 7_000, 8_000, 9_000, 11_000, 13_000, 15_000, 17_000, 20_000, 21_000, 23_000], // IT7
    [0, 6_000, 7_000, 9_000, 12_000, 14_000, 16_000, 19_000, 23_000, 26_000, 29_000, 32_000, 34_000], // IT8
];

/// Holes J6, J7 and J8: upper deviation ES by main step, in micrometres (ISO 286-1:2010, Table 2).
#[rustfmt::skip]
pub(super) const HOLE_J_UM: [[i16; 13]; 3] = [
    [2, 5, 5, 6, 8, 10, 13, 16, 18, 22, 25, 29, 33], // J6
    [4, 6, 8, 10, 12, 14, 18, 22, 26, 30, 36, 39, 43], // J7
    [6, 10, 12, 15, 20, 24, 28, 34, 41, 47, 55, 60, 66], // J8
];

/// Main steps, first and last inclusive, at which J6, J7 and J8 were read in published limits; the
/// other steps are from memory alone.
pub(super) const HOLE_J_READ: [(usize, usize); 3] = [(2, 9), (2, 9), (3, 9)];

/// Marks a step at which a letter has no value.
pub(super) const NONE: i16 = i16::MIN;

/// One fundamental deviation of shafts over the 25 intermediate steps.
pub(super) struct ShaftRow {
    /// The deviation in micrometres: `es` for a to h, `ei` for j to zc.
    pub(super) um: [i16; 25],
    /// First and last intermediate step, inclusive, that are known from memory alone.
    pub(super) from_memory: Option<(usize, usize)>,
}

/// Shafts a to h: upper deviation `es` (ISO 286-1:2010, Table 4), in the order a, b, c, cd, d, e,
/// ef, f, fg, g, h. The values of cd, ef and fg over 10 mm first appear in the 2010 edition.
#[rustfmt::skip]
pub(super) const SHAFT_UPPER: [ShaftRow; 11] = [
    // a
    ShaftRow { um: [-270, -270, -280, -290, -290, -300, -300, -310, -320, -340, -360, -380, -410, -460, -520, -580, -660, -740, -820, -920, -1050, -1200, -1350, -1500, -1650], from_memory: None },
    // b
    ShaftRow { um: [-140, -140, -150, -150, -150, -160, -160, -170, -180, -190, -200, -220, -240, -260, -280, -310, -340, -380, -420, -480, -540, -600, -680, -760, -840], from_memory: None },
    // c
    ShaftRow { um: [-60, -70, -80, -95, -95, -110, -110, -120, -130, -140, -150, -170, -180, -200, -210, -230, -240, -260, -280, -300, -330, -360, -400, -440, -480], from_memory: None },
    // cd
    ShaftRow { um: [-34, -46, -56, -70, -70, -85, -85, -100, -100, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE], from_memory: Some((3, 8)) },
    // d
    ShaftRow { um: [-20, -30, -40, -50, -50, -65, -65, -80, -80, -100, -100, -120, -120, -145, -145, -145, -170, -170, -170, -190, -190, -210, -210, -230, -230], from_memory: None },
    // e
    ShaftRow { um: [-14, -20, -25, -32, -32, -40, -40, -50, -50, -60, -60, -72, -72, -85, -85, -85, -100, -100, -100, -110, -110, -125, -125, -135, -135], from_memory: None },
    // ef
    ShaftRow { um: [-10, -14, -18, -23, -23, -28, -28, -35, -35, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE], from_memory: Some((3, 8)) },
    // f
    ShaftRow { um: [-6, -10, -13, -16, -16, -20, -20, -25, -25, -30, -30, -36, -36, -43, -43, -43, -50, -50, -50, -56, -56, -62, -62, -68, -68], from_memory: None },
    // fg
    ShaftRow { um: [-4, -6, -8, -10, -10, -12, -12, -15, -15, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE], from_memory: Some((3, 8)) },
    // g
    ShaftRow { um: [-2, -4, -5, -6, -6, -7, -7, -9, -9, -10, -10, -12, -12, -14, -14, -14, -15, -15, -15, -17, -17, -18, -18, -20, -20], from_memory: None },
    // h
    ShaftRow { um: [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0], from_memory: None },
];

/// Shafts j: lower deviation `ei` (ISO 286-1:2010, Table 4), for j5 and j6, j7, j8.
#[rustfmt::skip]
pub(super) const SHAFT_J: [ShaftRow; 3] = [
    // j5, j6
    ShaftRow { um: [-2, -2, -2, -3, -3, -4, -4, -5, -5, -7, -7, -9, -9, -11, -11, -11, -13, -13, -13, -16, -16, -18, -18, -20, -20], from_memory: None },
    // j7
    ShaftRow { um: [-4, -4, -5, -6, -6, -8, -8, -10, -10, -12, -12, -15, -15, -18, -18, -18, -21, -21, -21, -26, -26, -28, -28, -32, -32], from_memory: Some((0, 15)) },
    // j8
    ShaftRow { um: [-6, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE], from_memory: Some((0, 0)) },
];

/// Shafts k (grades 4 to 7; zero in the other grades), m to zc: lower deviation `ei` (ISO
/// 286-1:2010, Table 5), in the order k, m, n, p, r, s, t, u, v, x, y, z, za, zb, zc.
#[rustfmt::skip]
pub(super) const SHAFT_LOWER: [ShaftRow; 15] = [
    // k4 to k7
    ShaftRow { um: [0, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 4, 4, 4, 4, 4, 4, 4, 5, 5], from_memory: None },
    // m
    ShaftRow { um: [2, 4, 6, 7, 7, 8, 8, 9, 9, 11, 11, 13, 13, 15, 15, 15, 17, 17, 17, 20, 20, 21, 21, 23, 23], from_memory: None },
    // n
    ShaftRow { um: [4, 8, 10, 12, 12, 15, 15, 17, 17, 20, 20, 23, 23, 27, 27, 27, 31, 31, 31, 34, 34, 37, 37, 40, 40], from_memory: None },
    // p
    ShaftRow { um: [6, 12, 15, 18, 18, 22, 22, 26, 26, 32, 32, 37, 37, 43, 43, 43, 50, 50, 50, 56, 56, 62, 62, 68, 68], from_memory: Some((21, 24)) },
    // r
    ShaftRow { um: [10, 15, 19, 23, 23, 28, 28, 34, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132], from_memory: Some((20, 24)) },
    // s
    ShaftRow { um: [14, 19, 23, 28, 28, 35, 35, 43, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252], from_memory: Some((16, 24)) },
    // t
    ShaftRow { um: [NONE, NONE, NONE, NONE, NONE, NONE, 41, 48, 54, 66, 75, 91, 104, 122, 134, 146, 166, 180, 196, 218, 240, 268, 294, 330, 360], from_memory: Some((16, 24)) },
    // u
    ShaftRow { um: [18, 23, 28, 33, 33, 41, 48, 60, 70, 87, 102, 124, 144, 170, 190, 210, 236, 258, 284, 315, 350, 390, 435, 490, 540], from_memory: Some((16, 24)) },
    // v
    ShaftRow { um: [NONE, NONE, NONE, NONE, 39, 47, 55, 68, 81, 102, 120, 146, 172, 202, 228, 252, 284, 310, 340, 385, 425, 475, 530, 595, 660], from_memory: Some((16, 24)) },
    // x
    ShaftRow { um: [20, 28, 34, 40, 45, 54, 64, 80, 97, 122, 146, 178, 210, 248, 280, 310, 350, 385, 425, 475, 525, 590, 660, 740, 820], from_memory: Some((16, 24)) },
    // y
    ShaftRow { um: [NONE, NONE, NONE, NONE, NONE, 63, 75, 94, 114, 144, 174, 214, 254, 300, 340, 380, 425, 470, 520, 580, 650, 730, 820, 920, 1000], from_memory: Some((16, 24)) },
    // z
    ShaftRow { um: [26, 35, 42, 50, 60, 73, 88, 112, 136, 172, 210, 258, 310, 365, 415, 465, 520, 575, 640, 710, 790, 900, 1000, 1100, 1250], from_memory: Some((16, 24)) },
    // za
    ShaftRow { um: [32, 42, 52, 64, 77, 98, 118, 148, 180, 226, 274, 335, 400, 470, 535, 600, 670, 740, 820, 920, 1000, 1150, 1300, 1450, 1600], from_memory: Some((16, 24)) },
    // zb
    ShaftRow { um: [40, 50, 67, 90, 108, 136, 160, 200, 242, 300, 360, 445, 525, 620, 700, 780, 880, 960, 1050, 1200, 1300, 1500, 1650, 1850, 2100], from_memory: Some((16, 24)) },
    // zc
    ShaftRow { um: [60, 80, 97, 130, 150, 188, 218, 274, 325, 405, 480, 585, 690, 800, 900, 1000, 1150, 1250, 1350, 1550, 1700, 1900, 2100, 2400, 2600], from_memory: Some((16, 24)) },
];
