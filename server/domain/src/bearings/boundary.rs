//! From measured or nominal sizes back to basic numbers: bore, outside diameter and width.
//!
//! Many numbers share a bore, few share bore and outside diameter: give what was measured. Sizes
//! are nominal, so a measured ring needs a tolerance ([`by_dimensions_within`]).

use super::series::{Entry, SERIES};
use crate::units::Length;

/// The sizes by which bearings are interchangeable (ISO 15:2017).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BoundaryDimensions {
    /// Bore.
    pub bore: Length,
    /// Outside diameter.
    pub outside_diameter: Length,
    /// Width of one ring.
    pub width: Length,
}

/// The published table that boundary dimensions rest on.
pub const SOURCE: &str = "ISO 15:2017, dimension series 10, 02, 03, 18 and 19";

/// A bearing found by its sizes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The basic number in its short form, for example `6205`, `608` or `62/22`.
    pub basic: String,
    /// Its nominal sizes.
    pub dimensions: BoundaryDimensions,
    /// How far the sizes asked for lie off, added up without signs.
    pub off: Length,
    /// Whether the sizes are known from memory alone.
    pub is_unconfirmed: bool,
}

/// The basic numbers of exactly these sizes, in the order of the series; what is not given is
/// free. None is an answer too: ask [`nearest_by_dimensions`] then.
///
/// ```
/// use tenths_domain::bearings::boundary::by_dimensions;
/// use tenths_domain::units::Length;
/// let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
/// assert_eq!(by_dimensions(mm(25), Some(mm(52)), None), ["6205"]);
/// assert_eq!(by_dimensions(mm(25), None, None), ["6005", "6205", "6305", "6805", "6905"]);
/// assert!(by_dimensions(mm(25), Some(mm(53)), None).is_empty());
/// ```
pub fn by_dimensions(
    bore: Length,
    outside_diameter: Option<Length>,
    width: Option<Length>,
) -> Vec<String> {
    let found = by_dimensions_within(bore, outside_diameter, width, Length::ZERO);
    found.into_iter().map(|found| found.basic).collect()
}

/// The bearings of which every size given lies within the tolerance, closest first, then in the
/// order of the series. A tolerance below zero finds nothing.
///
/// ```
/// use tenths_domain::bearings::boundary::by_dimensions_within;
/// use tenths_domain::units::Length;
/// let um = |um: i64| Length::from_nm(um * 1_000);
/// let found = by_dimensions_within(um(24_996), Some(um(51_990)), None, um(20));
/// assert_eq!((found[0].basic.as_str(), found[0].off), ("6205", um(14)));
/// ```
pub fn by_dimensions_within(
    bore: Length,
    outside_diameter: Option<Length>,
    width: Option<Length>,
    tolerance: Length,
) -> Vec<Found> {
    let asked = [Some(bore), outside_diameter, width];
    let mut found: Vec<Found> = entries()
        .filter(|entry| {
            offs(&asked, entry).into_iter().all(|off| off <= i128::from(tolerance.nm()))
        })
        .map(|entry| found(&asked, entry))
        .collect();
    found.sort_by_key(|found| found.off);
    found
}

/// The bearings whose outside diameter lies within the tolerance, closest first, then in the order
/// of the series.
///
/// ```
/// use tenths_domain::bearings::boundary::by_outside_diameter_within;
/// use tenths_domain::units::Length;
/// let um = |um: i64| Length::from_nm(um * 1_000);
/// assert_eq!(by_outside_diameter_within(um(52_008), um(20))[0].dimensions.outside_diameter, um(52_000));
/// ```
pub fn by_outside_diameter_within(outside_diameter: Length, tolerance: Length) -> Vec<Found> {
    let asked = [None, Some(outside_diameter), None];
    let within =
        |entry: &Entry| offs(&asked, entry).into_iter().sum::<i128>() <= i128::from(tolerance.nm());
    let mut found: Vec<Found> =
        entries().filter(within).map(|entry| found(&asked, entry)).collect();
    found.sort_by_key(|found| found.off);
    found
}

/// The bearing whose sizes lie closest, whatever the distance: for the message when none fits.
///
/// ```
/// use tenths_domain::bearings::boundary::nearest_by_dimensions;
/// use tenths_domain::units::Length;
/// let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
/// assert_eq!(nearest_by_dimensions(mm(25), Some(mm(53)), None).basic, "6205");
/// ```
pub fn nearest_by_dimensions(
    bore: Length,
    outside_diameter: Option<Length>,
    width: Option<Length>,
) -> Found {
    let asked = [Some(bore), outside_diameter, width];
    let nearest = entries().min_by_key(|entry| offs(&asked, entry).into_iter().sum::<i128>());
    found(&asked, nearest.expect("the tables are not empty"))
}

fn entries() -> impl Iterator<Item = Entry> {
    SERIES.iter().flat_map(|series| series.entries())
}

fn found(asked: &[Option<Length>; 3], entry: Entry) -> Found {
    let off: i128 = offs(asked, &entry).into_iter().sum();
    Found {
        off: Length::from_nm(i64::try_from(off).unwrap_or(i64::MAX)),
        basic: entry.basic,
        dimensions: entry.dimensions,
        is_unconfirmed: entry.is_from_memory,
    }
}

/// How far each size lies off in nanometres; nothing where none was asked.
fn offs(asked: &[Option<Length>; 3], entry: &Entry) -> [i128; 3] {
    let sizes = [entry.dimensions.bore, entry.dimensions.outside_diameter, entry.dimensions.width];
    std::array::from_fn(|index| match asked[index] {
        Some(asked) => (i128::from(asked.nm()) - i128::from(sizes[index].nm())).abs(),
        None => 0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(mm: i64) -> Length {
        Length::from_nm(mm * 1_000_000)
    }

    #[test]
    fn a_width_tells_two_numbers_apart_and_none_is_an_answer() {
        assert_eq!(by_dimensions(mm(20), Some(mm(42)), Some(mm(12))), ["6004"]);
        assert!(by_dimensions(mm(20), Some(mm(42)), Some(mm(8))).is_empty());
        assert!(by_dimensions_within(mm(20), None, None, Length::from_nm(-1)).is_empty());
    }

    #[test]
    fn the_closest_comes_first_and_extremes_do_no_harm() {
        let found = by_dimensions_within(mm(25), Some(mm(50)), None, mm(3));
        let basics: Vec<&str> = found.iter().map(|found| found.basic.as_str()).collect();
        assert_eq!(basics, ["6205", "6005", "62/22", "60/28"]);
        let far = nearest_by_dimensions(Length::from_nm(i64::MIN), Some(mm(1)), None);
        assert_eq!(far.basic, "681");
        let far = nearest_by_dimensions(Length::from_nm(i64::MAX), Some(mm(215)), None);
        assert_eq!(far.basic, "6834");
    }
}
