//! The standard size that an unworn spot was made to.

use crate::units::{Length, Unit};

/// How far from a standard size an unworn spot may be: 0.001 in, which holds the usual seats of
/// small shafts (k5, H6, h6 and near ones). Common practice, no published source.
pub(super) const STANDARD_SIZE_WINDOW: Length = Length::from_nm(25_400);

/// Bores of rolling bearings below 20 mm (ISO 15, bore codes 00 to 03; from memory).
const METRIC_BELOW_TWENTY_MM: [i64; 4] = [10, 12, 15, 17];
/// From 20 mm the bore is five times its code (ISO 15, from code 04 on; from memory). Up to 300 mm:
/// larger machines are not this trade's.
const METRIC_MIN_CODE: i64 = 4;
const METRIC_MAX_CODE: i64 = 60;

/// Inch sizes run in sixteenths from 1/4 in to 12 in: common practice, no published source.
const INCH_STEP_NM: i64 = Unit::Inch.nm() / 16;
const INCH_MIN_STEPS: i64 = 4;
const INCH_MAX_STEPS: i64 = 12 * 16;

/// The one standard size (metric bearing bore or sixteenth of an inch) within 0.001 in of a length.
///
/// Nothing when none is near, and nothing when a metric and an inch size both are (as at 100 mm and
/// 3-15/16 in): the readings alone cannot tell these apart.
///
/// ```
/// use tenths_domain::measure::snap_to_standard;
/// use tenths_domain::units::Length;
/// assert_eq!(snap_to_standard(Length::from_nm(30_006_000)), Some(Length::from_nm(30_000_000)));
/// assert_eq!(snap_to_standard(Length::from_nm(23_800_000)), Some(Length::from_nm(23_812_500)));
/// assert_eq!(snap_to_standard(Length::from_nm(31_000_000)), None);
/// ```
pub fn snap_to_standard(length: Length) -> Option<Length> {
    let near = |size: &Length| (length - *size).abs() <= STANDARD_SIZE_WINDOW;
    match (nearest_metric(length).filter(near), nearest_inch(length).filter(near)) {
        (Some(_), Some(_)) => None,
        (metric, inch) => metric.or(inch),
    }
}

fn nearest_metric(length: Length) -> Option<Length> {
    METRIC_BELOW_TWENTY_MM
        .into_iter()
        .chain((METRIC_MIN_CODE..=METRIC_MAX_CODE).map(|code| 5 * code))
        .map(|mm| Length::from_nm(mm * Unit::Millimetre.nm()))
        .min_by_key(|size| (length - *size).abs())
}

fn nearest_inch(length: Length) -> Option<Length> {
    (INCH_MIN_STEPS..=INCH_MAX_STEPS)
        .map(|steps| Length::from_nm(steps * INCH_STEP_NM))
        .min_by_key(|size| (length - *size).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(nm: i64, expected_nm: Option<i64>) {
        assert_eq!(snap_to_standard(Length::from_nm(nm)), expected_nm.map(Length::from_nm), "{nm}");
    }

    #[test]
    fn seats_made_near_a_standard_size_find_it() {
        for mm in [10, 12, 15, 17, 20, 25, 30, 35, 40, 50, 65, 80, 290] {
            let exact = mm * 1_000_000;
            for off in [-25_400, -9_000, 0, 2_000, 11_000, 25_400] {
                check(exact + off, Some(exact));
            }
        }
        check(19_050_000 - 12_700, Some(19_050_000));
        check(23_825_200, Some(23_812_500));
    }

    #[test]
    fn sizes_between_are_left_alone() {
        for nm in [1, 9_000_000, 11_000_000, 13_000_000, 20_025_401, 23_000_000, 400_000_000] {
            check(nm, None);
        }
    }

    #[test]
    fn a_metric_and_an_inch_size_side_by_side_cannot_be_told_apart() {
        // 100 mm and 3-15/16 in (100.0125 mm).
        check(100_000_000, None);
        check(100_010_000, None);
        check(99_980_000, Some(100_000_000));
        // 300 mm and 11-13/16 in (300.0375 mm).
        check(300_020_000, None);
        check(300_000_000, Some(300_000_000));
    }
}
