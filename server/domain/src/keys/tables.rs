//! The tables of parallel keys by shaft diameter, in nanometres.
//!
//! ANSI B17.1-1967 (R1998), Table 1: read at a published shop reference and, to 4.5 in, at a shaft
//! maker's page, equal to memory. DIN 6885-1:1968 (sections of ISO/R 773:1969): read at a
//! parts-guide page to 44 mm and at a gear-unit page from 38 to 230 mm; over 230 to 500 mm, where
//! the standard ends, section and hub depth at an engineering reference's table of ISO/R 773, shaft
//! depth in a public program's table of DIN 6885-1. All equal memory.

/// One step of shaft diameter: over, to (inclusive), and the key's sizes.
pub(super) struct Row {
    pub(super) shaft_over_nm: i64,
    pub(super) shaft_to_nm: i64,
    pub(super) width_nm: i64,
    /// Height of the square key (inch) or of the key (metric).
    pub(super) height_nm: i64,
    /// Height of the rectangular key of this width, where there is one (inch).
    pub(super) flat_height_nm: Option<i64>,
    /// Nominal depth of the keyseat in the shaft.
    pub(super) shaft_depth_nm: i64,
    /// Nominal depth of the keyseat in the hub.
    pub(super) hub_depth_nm: i64,
}

/// A square key sits half its height deep in the shaft, and the other half in the hub.
const fn inch_row(over: i64, to: i64, width: i64, flat_height: Option<i64>) -> Row {
    Row {
        shaft_over_nm: over,
        shaft_to_nm: to,
        width_nm: width,
        height_nm: width,
        flat_height_nm: flat_height,
        shaft_depth_nm: width / 2,
        hub_depth_nm: width / 2,
    }
}

const fn metric_row(over: i64, to: i64, width: i64, height: i64, shaft: i64, hub: i64) -> Row {
    Row {
        shaft_over_nm: over,
        shaft_to_nm: to,
        width_nm: width,
        height_nm: height,
        flat_height_nm: None,
        shaft_depth_nm: shaft,
        hub_depth_nm: hub,
    }
}

/// ANSI B17.1-1967 (R1998), Table 1: shaft over, to, width of key, height of the rectangular key.
#[rustfmt::skip]
pub(super) const INCH: [Row; 14] = [
    inch_row(7_937_500, 11_112_500, 2_381_250, None),
    inch_row(11_112_500, 14_287_500, 3_175_000, Some(2_381_250)),
    inch_row(14_287_500, 22_225_000, 4_762_500, Some(3_175_000)),
    inch_row(22_225_000, 31_750_000, 6_350_000, Some(4_762_500)),
    inch_row(31_750_000, 34_925_000, 7_937_500, Some(6_350_000)),
    inch_row(34_925_000, 44_450_000, 9_525_000, Some(6_350_000)),
    inch_row(44_450_000, 57_150_000, 12_700_000, Some(9_525_000)),
    inch_row(57_150_000, 69_850_000, 15_875_000, Some(11_112_500)),
    inch_row(69_850_000, 82_550_000, 19_050_000, Some(12_700_000)),
    inch_row(82_550_000, 95_250_000, 22_225_000, Some(15_875_000)),
    inch_row(95_250_000, 114_300_000, 25_400_000, Some(19_050_000)),
    inch_row(114_300_000, 139_700_000, 31_750_000, Some(22_225_000)),
    inch_row(139_700_000, 165_100_000, 38_100_000, Some(25_400_000)),
    inch_row(165_100_000, 190_500_000, 44_450_000, Some(38_100_000)),
];

/// DIN 6885-1:1968, ISO/R 773:1969: shaft over, to, width, height, depth in shaft, depth in hub.
#[rustfmt::skip]
pub(super) const METRIC: [Row; 26] = [
    metric_row(6_000_000, 8_000_000, 2_000_000, 2_000_000, 1_200_000, 1_000_000),
    metric_row(8_000_000, 10_000_000, 3_000_000, 3_000_000, 1_800_000, 1_400_000),
    metric_row(10_000_000, 12_000_000, 4_000_000, 4_000_000, 2_500_000, 1_800_000),
    metric_row(12_000_000, 17_000_000, 5_000_000, 5_000_000, 3_000_000, 2_300_000),
    metric_row(17_000_000, 22_000_000, 6_000_000, 6_000_000, 3_500_000, 2_800_000),
    metric_row(22_000_000, 30_000_000, 8_000_000, 7_000_000, 4_000_000, 3_300_000),
    metric_row(30_000_000, 38_000_000, 10_000_000, 8_000_000, 5_000_000, 3_300_000),
    metric_row(38_000_000, 44_000_000, 12_000_000, 8_000_000, 5_000_000, 3_300_000),
    metric_row(44_000_000, 50_000_000, 14_000_000, 9_000_000, 5_500_000, 3_800_000),
    metric_row(50_000_000, 58_000_000, 16_000_000, 10_000_000, 6_000_000, 4_300_000),
    metric_row(58_000_000, 65_000_000, 18_000_000, 11_000_000, 7_000_000, 4_400_000),
    metric_row(65_000_000, 75_000_000, 20_000_000, 12_000_000, 7_500_000, 4_900_000),
    metric_row(75_000_000, 85_000_000, 22_000_000, 14_000_000, 9_000_000, 5_400_000),
    metric_row(85_000_000, 95_000_000, 25_000_000, 14_000_000, 9_000_000, 5_400_000),
    metric_row(95_000_000, 110_000_000, 28_000_000, 16_000_000, 10_000_000, 6_400_000),
    metric_row(110_000_000, 130_000_000, 32_000_000, 18_000_000, 11_000_000, 7_400_000),
    metric_row(130_000_000, 150_000_000, 36_000_000, 20_000_000, 12_000_000, 8_400_000),
    metric_row(150_000_000, 170_000_000, 40_000_000, 22_000_000, 13_000_000, 9_400_000),
    metric_row(170_000_000, 200_000_000, 45_000_000, 25_000_000, 15_000_000, 10_400_000),
    metric_row(200_000_000, 230_000_000, 50_000_000, 28_000_000, 17_000_000, 11_400_000),
    metric_row(230_000_000, 260_000_000, 56_000_000, 32_000_000, 20_000_000, 12_400_000),
    metric_row(260_000_000, 290_000_000, 63_000_000, 32_000_000, 20_000_000, 12_400_000),
    metric_row(290_000_000, 330_000_000, 70_000_000, 36_000_000, 22_000_000, 14_400_000),
    metric_row(330_000_000, 380_000_000, 80_000_000, 40_000_000, 25_000_000, 15_400_000),
    metric_row(380_000_000, 440_000_000, 90_000_000, 45_000_000, 28_000_000, 17_400_000),
    metric_row(440_000_000, 500_000_000, 100_000_000, 50_000_000, 31_000_000, 19_500_000),
];
