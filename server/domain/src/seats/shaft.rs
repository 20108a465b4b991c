//! Recommended classes of shaft seats for deep groove ball bearings.

use super::Confidence::{Confirmed, SingleSource, Unconfirmed};
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

/// The classes that published practice recommends for the shaft seat of a ball bearing, the
/// machine's own practice first; at least one.
///
/// ```
/// use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation, shaft_seat};
/// use tenths_domain::units::Length;
/// let duty = Duty {
///     rotation: RingRotation::InnerRotates,
///     load: LoadClass::Normal,
///     machine: Machine::Motor,
/// };
/// let seats = shaft_seat(Length::from_nm(25_000_000), &duty)?;
/// assert_eq!(seats[0].class.to_string(), "k5");
/// assert!(seats.iter().any(|seat| seat.source.starts_with("ANSI/ABMA 7")));
/// # Ok::<(), tenths_domain::seats::SeatError>(())
/// ```
pub fn shaft_seat(bore: Length, duty: &Duty) -> Result<Vec<Recommendation>, SeatError> {
    recommend(PRACTICES, bore, duty)
}

const TURNING: &[RingRotation] = &[InnerRotates, Indeterminate];
const STANDING: &[RingRotation] = &[OuterRotates];
const ORDINARY: &[Machine] = &[Motor, Pump, General];
const ANY_LOAD: &[LoadClass] = &[Light, Normal, Heavy];

const ABMA: &str = "ANSI/ABMA 7 (shaft tolerance classes, metric radial ball bearings)";
const ABMA_DIFFERS: &str = "ANSI/ABMA 7 (shaft tolerance classes, metric radial ball bearings): \
                            one published copy gives h5 here, another h6";
const ISO_BASED: &str = "ISO-based practice (a published rolling-bearing table of shaft fits)";
const REPAIR: &str = "ANSI/EASA AR100, Table 2-13 (ball bearing fits), motor repair practice; \
                      the shaft classes are from memory";
const SPINDLE: &str = "ISO-based practice for rings of class 5 (a published table of standard \
                       fits lists m5, k4, js4, h4); which load takes which is common practice";

const fn class(letter: Letter, grade: i8) -> Class {
    match Grade::new(grade) {
        Some(grade) => Class::new(Side::External, letter, grade),
        None => panic!("a grade of this table does not exist"),
    }
}

#[allow(clippy::too_many_arguments, reason = "one argument per column of the table")]
const fn row(
    rotations: &'static [RingRotation],
    loads: &'static [LoadClass],
    machines: &'static [Machine],
    sizes_mm: [i64; 2],
    class: Class,
    condition: &'static str,
    source: &'static str,
    confidence: Confidence,
) -> Practice {
    let [over_mm, to_mm] = sizes_mm;
    Practice { rotations, loads, machines, over_mm, to_mm, class, condition, source, confidence }
}

/// The published tables say "under 18" or "to 18 mm": no ball bearing has a bore of 18 mm.
#[rustfmt::skip]
const PRACTICES: &[Practice] = &[
    row(TURNING, ANY_LOAD, &[Motor], [0, 18], class(Letter::J, 5), "", REPAIR, Unconfirmed),
    row(TURNING, ANY_LOAD, &[Motor], [18, 100], class(Letter::K, 5), "", REPAIR, Unconfirmed),
    row(TURNING, ANY_LOAD, &[Motor], [100, 140], class(Letter::M, 5), "", REPAIR, Unconfirmed),

    row(TURNING, &[Light], &[Spindle], [0, 500], class(Letter::Js, 4), "", SPINDLE, SingleSource),
    row(TURNING, &[Light], &[Spindle], [0, 500], class(Letter::H, 4), "where the ring must slide on by hand", SPINDLE, SingleSource),
    row(TURNING, &[Normal], &[Spindle], [0, 500], class(Letter::K, 4), "", SPINDLE, SingleSource),
    row(TURNING, &[Heavy], &[Spindle], [0, 500], class(Letter::M, 5), "", SPINDLE, SingleSource),
    row(STANDING, ANY_LOAD, &[Spindle], [0, 500], class(Letter::H, 4), "", SPINDLE, SingleSource),

    row(TURNING, &[Light], ORDINARY, [0, 18], class(Letter::H, 5), "", ABMA_DIFFERS, SingleSource),
    row(TURNING, &[Light], ORDINARY, [18, 500], class(Letter::J, 6), "", ABMA, Confirmed),
    row(TURNING, &[Normal], ORDINARY, [0, 18], class(Letter::J, 5), "", ABMA, Confirmed),
    row(TURNING, &[Normal], ORDINARY, [18, 500], class(Letter::K, 5), "", ABMA, Confirmed),
    row(TURNING, &[Heavy], ORDINARY, [18, 100], class(Letter::K, 5), "", ABMA, Confirmed),
    row(TURNING, &[Heavy], ORDINARY, [100, 500], class(Letter::M, 5), "", ABMA, Confirmed),
    row(STANDING, ANY_LOAD, ORDINARY, [0, 500], class(Letter::G, 6), "where the inner ring must slide easily along the shaft", ABMA, Confirmed),
    row(STANDING, ANY_LOAD, ORDINARY, [0, 500], class(Letter::H, 6), "where the inner ring need not slide", ABMA, Confirmed),

    row(TURNING, &[Light], ORDINARY, [0, 18], class(Letter::Js, 5), "", ISO_BASED, SingleSource),
    row(TURNING, &[Light], ORDINARY, [18, 100], class(Letter::Js, 6), "", ISO_BASED, SingleSource),
    row(TURNING, &[Light], ORDINARY, [100, 200], class(Letter::K, 6), "", ISO_BASED, SingleSource),
    row(TURNING, &[Normal], ORDINARY, [0, 18], class(Letter::Js, 5), "", ISO_BASED, SingleSource),
    row(TURNING, &[Normal], ORDINARY, [18, 100], class(Letter::K, 5), "", ISO_BASED, SingleSource),
    row(TURNING, &[Normal], ORDINARY, [18, 100], class(Letter::K, 6), "where the wider tolerance is enough", ISO_BASED, SingleSource),
    row(TURNING, &[Normal], ORDINARY, [100, 140], class(Letter::M, 5), "", ISO_BASED, SingleSource),
    row(TURNING, &[Normal], ORDINARY, [100, 140], class(Letter::M, 6), "where the wider tolerance is enough", ISO_BASED, SingleSource),
    row(TURNING, &[Normal], ORDINARY, [140, 200], class(Letter::M, 6), "", ISO_BASED, SingleSource),
    row(STANDING, ANY_LOAD, ORDINARY, [0, 500], class(Letter::G, 6), "where the inner ring must slide easily along the shaft", ISO_BASED, Confirmed),
    row(STANDING, ANY_LOAD, ORDINARY, [0, 500], class(Letter::H, 6), "where the inner ring need not slide", ISO_BASED, Confirmed),
];
