//! ISO 492:2014: how far the mean bore, the mean outside diameter and the width of a radial
//! bearing's rings may lie from nominal, and how far a ring may run out.
//!
//! The upper deviation is zero in every class: a bore is never over, an outside diameter and a
//! width are never over their nominal size. "Mean" is the mean of the largest and the smallest
//! single diameter in one plane: a ring's out-of-round is not a deviation here. The width is that
//! of one ring of a single bearing, by its bore; both rings of a bearing have the same. Run-out is
//! that of the ring in the assembled bearing (`Kia` inner, `Kea` outer). Tapered roller bearings
//! have their own tables, which are not here.

mod tables;

use crate::iso286::{Deviations, millimetres};
use crate::named::named_enum;
use crate::units::Length;

use super::boundary::BoundaryDimensions;
use tables::{
    INNER_RING_RUN_OUT, MEAN_BORE, MEAN_OUTSIDE_DIAMETER, OUTER_RING_RUN_OUT, RING_WIDTH, Table,
};

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
        /// Class 2.
        Class2 = "2",
    }
}

/// The published tables that every value here rests on: the values were read in the second of
/// them, which is harmonised with the standard, and equal those of the first known from memory and
/// from suppliers' pages.
pub const SOURCE: &str = "ISO 492:2014 (radial bearings except tapered roller bearings); \
                          read in GOST 520-2011, Tables 1 to 12";

/// A size that a tolerance class does not cover.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "ISO 492 class {class} has no {what} of {}; allowed: {} to {}",
    millimetres(*size), millimetres(*from), millimetres(*to)
)]
pub struct Iso492Error {
    /// What was asked for: `mean bore`, `mean outside diameter`, `ring width at a bore`,
    /// `inner ring run-out at a bore` or `outer ring run-out at an outside diameter`.
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

/// Everything that a class says of a bearing's rings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RingTolerances {
    /// Deviations of the mean bore.
    pub bore: Deviations,
    /// Deviations of the mean outside diameter.
    pub outside_diameter: Deviations,
    /// Deviations of the width of either ring.
    pub width: Deviations,
    /// Most radial run-out of the inner ring in the assembled bearing, `Kia`.
    pub inner_ring_run_out: Length,
    /// Most radial run-out of the outer ring in the assembled bearing, `Kea`.
    pub outer_ring_run_out: Length,
    /// The published tables that the values rest on.
    pub source: &'static str,
    /// Whether any of the values is known from memory alone.
    pub is_unconfirmed: bool,
}

/// Everything that a class says of the rings of a bearing of these sizes.
///
/// ```
/// use tenths_domain::bearings::{designation, iso492};
/// let bearing = designation::parse("6205")?;
/// let rings = iso492::ring_tolerances(&bearing.dimensions, iso492::ToleranceClass::Normal)?;
/// assert_eq!(rings.bore.lower.nm(), -10_000);
/// assert_eq!(rings.outside_diameter.lower.nm(), -13_000);
/// assert_eq!(rings.width.lower.nm(), -120_000);
/// assert_eq!((rings.inner_ring_run_out.nm(), rings.outer_ring_run_out.nm()), (13_000, 25_000));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn ring_tolerances(
    sizes: &BoundaryDimensions,
    class: ToleranceClass,
) -> Result<RingTolerances, Iso492Error> {
    Ok(RingTolerances {
        bore: mean_bore_deviations(sizes.bore, class)?,
        outside_diameter: mean_outside_diameter_deviations(sizes.outside_diameter, class)?,
        width: ring_width_deviations(sizes.bore, class)?,
        inner_ring_run_out: inner_ring_run_out(sizes.bore, class)?,
        outer_ring_run_out: outer_ring_run_out(sizes.outside_diameter, class)?,
        source: SOURCE,
        is_unconfirmed: tables::ANY_FROM_MEMORY_ALONE,
    })
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
    below_nominal(&MEAN_BORE, bore, class)
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
    below_nominal(&MEAN_OUTSIDE_DIAMETER, outside_diameter, class)
}

/// Deviations of the width of one ring of a single bearing, by the bearing's bore.
///
/// ```
/// use tenths_domain::bearings::iso492::{ToleranceClass, ring_width_deviations};
/// use tenths_domain::units::Length;
/// let width = ring_width_deviations(Length::from_nm(15_000_000), ToleranceClass::Class4).unwrap();
/// assert_eq!((width.lower.nm(), width.upper.nm()), (-80_000, 0));
/// ```
pub fn ring_width_deviations(
    bore: Length,
    class: ToleranceClass,
) -> Result<Deviations, Iso492Error> {
    below_nominal(&RING_WIDTH, bore, class)
}

/// Most radial run-out of the inner ring in the assembled bearing (`Kia`), by the bore.
///
/// ```
/// use tenths_domain::bearings::iso492::{ToleranceClass, inner_ring_run_out};
/// use tenths_domain::units::Length;
/// let bore = Length::from_nm(50_000_000);
/// assert_eq!(inner_ring_run_out(bore, ToleranceClass::Class2).unwrap().nm(), 2_500);
/// ```
pub fn inner_ring_run_out(bore: Length, class: ToleranceClass) -> Result<Length, Iso492Error> {
    INNER_RING_RUN_OUT.value(bore, class)
}

/// Most radial run-out of the outer ring in the assembled bearing (`Kea`), by the outside
/// diameter.
///
/// ```
/// use tenths_domain::bearings::iso492::{ToleranceClass, outer_ring_run_out};
/// use tenths_domain::units::Length;
/// let outside = Length::from_nm(80_000_000);
/// assert_eq!(outer_ring_run_out(outside, ToleranceClass::Normal).unwrap().nm(), 25_000);
/// ```
pub fn outer_ring_run_out(
    outside_diameter: Length,
    class: ToleranceClass,
) -> Result<Length, Iso492Error> {
    OUTER_RING_RUN_OUT.value(outside_diameter, class)
}

fn below_nominal(
    table: &Table,
    size: Length,
    class: ToleranceClass,
) -> Result<Deviations, Iso492Error> {
    Ok(Deviations { lower: -table.value(size, class)?, upper: Length::ZERO })
}
