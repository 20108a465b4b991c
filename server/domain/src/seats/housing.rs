//! Recommended classes of housing bores for deep groove ball bearings.

use super::Confidence::{Confirmed, SingleSource};
use super::LoadClass::{Heavy, Light, Normal};
use super::Machine::{General, Motor, Pump, Spindle};
use super::RingRotation::{Indeterminate, InnerRotates, OuterRotates};
use super::{
    Confidence, Duty, LoadClass, Machine, Practice, Recommendation, RingRotation, SeatError,
    recommend,
};
use crate::iso286::{Class, FundamentalDeviation as Letter, Grade};
use crate::item::Side;
use crate::units::Length;

/// The classes that published practice recommends for the housing bore of a ball bearing, the
/// machine's own practice first; at least one.
///
/// ```
/// use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation, housing_seat};
/// use tenths_domain::units::Length;
/// let duty = Duty {
///     rotation: RingRotation::InnerRotates,
///     load: LoadClass::Normal,
///     machine: Machine::Motor,
/// };
/// let seats = housing_seat(Length::from_nm(62_000_000), &duty)?;
/// assert_eq!(seats[0].class.to_string(), "H6");
/// assert_eq!(seats[0].limits.upper.nm(), 62_019_000);
/// # Ok::<(), tenths_domain::seats::SeatError>(())
/// ```
pub fn housing_seat(
    outside_diameter: Length,
    duty: &Duty,
) -> Result<Vec<Recommendation>, SeatError> {
    recommend(PRACTICES, outside_diameter, duty)
}

const INNER: &[RingRotation] = &[InnerRotates];
const EITHER: &[RingRotation] = &[Indeterminate];
const OUTER: &[RingRotation] = &[OuterRotates];
const ORDINARY: &[Machine] = &[Motor, Pump, General];
const ANY_LOAD: &[LoadClass] = &[Light, Normal, Heavy];
const NOT_HEAVY: &[LoadClass] = &[Light, Normal];
const NOT_LIGHT: &[LoadClass] = &[Normal, Heavy];

const REPAIR: &str = "ANSI/EASA AR100-2015, Table 2-13 (ball bearing housing fits, all H6)";
const ABMA: &str = "ANSI/ABMA 7 (housing tolerance classes, metric radial bearings)";
const ISO_BASED: &str = "ISO-based practice (published design-handbook tables of housing fits)";
const WIDER: &str = "ANSI/ABMA 7, note: the next wider grade, where wider tolerances are \
                     permissible";

const SPLIT: &str = "housing split along the axis";
const HEAT: &str = "heat comes in through the shaft";
const SHOCK: &str = "shock with complete unloading between";
const SHOCK_LOAD: &str = "heavy shock loads";
const THIN: &str = "thin-walled housing, not split, heavy load";
const SLIDES: &str = "where the outer ring should slide";
const LOCATED: &str = "where the outer ring need not slide";

const fn class(letter: Letter, grade: i8) -> Class {
    match Grade::new(grade) {
        Some(grade) => Class::new(Side::Internal, letter, grade),
        None => panic!("a grade of this table does not exist"),
    }
}

/// A row over all sizes: the published tables of housing fits have no size steps.
const fn row(
    rotations: &'static [RingRotation],
    loads: &'static [LoadClass],
    machines: &'static [Machine],
    class: Class,
    condition: &'static str,
    source: &'static str,
    confidence: Confidence,
) -> Practice {
    let (over_mm, to_mm) = (0, 500);
    Practice { rotations, loads, machines, over_mm, to_mm, class, condition, source, confidence }
}

/// Rows of ANSI/ABMA 7 were read in one published copy whose columns had run together; those that
/// a second handbook's table bears out in the next wider grade are confirmed.
#[rustfmt::skip]
const PRACTICES: &[Practice] = &[
    row(INNER, ANY_LOAD, &[Motor], class(Letter::H, 6), "", REPAIR, Confirmed),

    row(INNER, ANY_LOAD, &[Spindle], class(Letter::J, 6), SLIDES, ISO_BASED, Confirmed),
    row(INNER, ANY_LOAD, &[Spindle], class(Letter::K, 6), LOCATED, ISO_BASED, SingleSource),
    row(EITHER, ANY_LOAD, &[Spindle], class(Letter::K, 6), "", ISO_BASED, SingleSource),
    row(OUTER, ANY_LOAD, &[Spindle], class(Letter::M, 6), "", ABMA, SingleSource),

    row(INNER, ANY_LOAD, ORDINARY, class(Letter::H, 6), "housing not split", ABMA, Confirmed),
    row(INNER, ANY_LOAD, ORDINARY, class(Letter::H, 7), SPLIT, ABMA, Confirmed),
    row(INNER, ANY_LOAD, ORDINARY, class(Letter::G, 7), HEAT, ABMA, Confirmed),
    row(INNER, ANY_LOAD, ORDINARY, class(Letter::J, 6), SHOCK, ABMA, SingleSource),
    row(EITHER, NOT_HEAVY, ORDINARY, class(Letter::J, 6), SLIDES, ABMA, Confirmed),
    row(EITHER, NOT_LIGHT, ORDINARY, class(Letter::K, 6), LOCATED, ABMA, Confirmed),
    row(EITHER, &[Heavy], ORDINARY, class(Letter::M, 6), SHOCK_LOAD, ABMA, Confirmed),
    row(OUTER, &[Light], ORDINARY, class(Letter::M, 6), "", ABMA, Confirmed),
    row(OUTER, NOT_LIGHT, ORDINARY, class(Letter::N, 6), "", ABMA, Confirmed),
    row(OUTER, &[Heavy], ORDINARY, class(Letter::P, 6), THIN, ABMA, Confirmed),

    row(INNER, ANY_LOAD, ORDINARY, class(Letter::H, 7), "", WIDER, Confirmed),
    row(EITHER, NOT_HEAVY, ORDINARY, class(Letter::J, 7), SLIDES, WIDER, Confirmed),
    row(EITHER, NOT_LIGHT, ORDINARY, class(Letter::K, 7), LOCATED, WIDER, Confirmed),
    row(OUTER, &[Light], ORDINARY, class(Letter::M, 7), "", WIDER, Confirmed),
    row(OUTER, NOT_LIGHT, ORDINARY, class(Letter::N, 7), "", WIDER, Confirmed),
    row(OUTER, &[Heavy], ORDINARY, class(Letter::P, 7), THIN, WIDER, Confirmed),

    row(EITHER, NOT_HEAVY, ORDINARY, class(Letter::J, 7), SLIDES, ISO_BASED, Confirmed),
    row(EITHER, NOT_LIGHT, ORDINARY, class(Letter::K, 7), LOCATED, ISO_BASED, Confirmed),
    row(EITHER, &[Heavy], ORDINARY, class(Letter::M, 7), SHOCK_LOAD, ISO_BASED, Confirmed),
    row(OUTER, &[Light], ORDINARY, class(Letter::M, 7), "", ISO_BASED, Confirmed),
    row(OUTER, NOT_LIGHT, ORDINARY, class(Letter::N, 7), "", ISO_BASED, Confirmed),
    row(OUTER, &[Heavy], ORDINARY, class(Letter::P, 7), SHOCK_LOAD, ISO_BASED, Confirmed),
];
