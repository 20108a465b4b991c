//! Retaining rings and their grooves: DIN 471 on shafts, DIN 472 in bores, normal type.
//!
//! The nominal size is that of the plain shaft or bore. A groove's edge carries the thrust: a worn
//! or rounded groove is not made good by a thicker ring.

mod tables;

use crate::iso286::{self, Class, FundamentalDeviation as Letter, Grade, millimetres};
use crate::item::{Limits, Side};
use crate::named::named_enum;
use crate::units::Length;
use tables::{BORE, Row, SHAFT, Sources};

named_enum! {
    /// Where a retaining ring sits.
    RingKind, "kind of retaining ring" {
        /// On a shaft: DIN 471.
        Shaft = "shaft",
        /// In a bore: DIN 472.
        Bore = "bore",
    }
}

/// A retaining ring's groove.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Groove {
    /// Shaft or bore.
    pub kind: RingKind,
    /// Nominal size of the shaft or bore.
    pub nominal: Length,
    /// Thickness of the ring.
    pub ring_thickness: Length,
    /// Nominal diameter at the bottom of the groove.
    pub diameter: Length,
    /// The tolerance class of that diameter.
    pub diameter_class: Class,
    /// Its limits (ISO 286-1; the standard's own table rounds h10 to 0.01 mm).
    pub diameter_limits: Limits,
    /// Nominal, which is least, width of the groove.
    pub width: Length,
    /// The tolerance class of the width, H13.
    pub width_class: Class,
    /// The limits of the width.
    pub width_limits: Limits,
    /// The published table that the sizes rest on.
    pub source: &'static str,
    /// Whether the sources differ on this row, or part of it is from memory: an unconfirmed value,
    /// say so beside it.
    pub is_unconfirmed: bool,
}

/// A groove found from measured sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NearestGroove {
    /// The standard groove that lies nearest.
    pub groove: Groove,
    /// Measured less nominal diameter at the bottom.
    pub diameter_off: Length,
    /// Measured less nominal width, if a width was measured.
    pub width_off: Option<Length>,
    /// Whether everything measured lies within the limits.
    pub is_within_limits: bool,
}

/// A size that has no ring.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum GrooveError {
    /// The standard's table has no such size among those kept here.
    #[error(
        "{standard} has no ring for {} here; nearest: {}; kept: {} to {}",
        millimetres(*nominal), nearest_shown(nearest),
        millimetres(*from), millimetres(*to)
    )]
    NoSuchSize {
        /// The standard asked.
        standard: &'static str,
        /// The size asked for.
        nominal: Length,
        /// The nearest sizes below and above, those that there are.
        nearest: [Option<Length>; 2],
        /// Smallest size kept.
        from: Length,
        /// Largest size kept.
        to: Length,
    },
    /// ISO 286 does not cover the groove.
    #[error(transparent)]
    Iso286(#[from] iso286::Iso286Error),
}

fn nearest_shown(nearest: &[Option<Length>; 2]) -> String {
    let shown: Vec<String> = nearest.iter().flatten().map(|size| millimetres(*size)).collect();
    shown.join(" and ")
}

/// The groove for a shaft or bore of a nominal size.
///
/// ```
/// use tenths_domain::retaining_rings::{RingKind, groove};
/// use tenths_domain::units::Length;
/// let groove = groove(Length::from_nm(25_000_000), RingKind::Shaft)?;
/// assert_eq!((groove.diameter.nm(), groove.width.nm()), (23_900_000, 1_300_000));
/// # Ok::<(), tenths_domain::retaining_rings::GrooveError>(())
/// ```
pub fn groove(nominal: Length, kind: RingKind) -> Result<Groove, GrooveError> {
    let rows = rows(kind);
    match rows.iter().find(|row| row.nominal_mm * NM_PER_MM == nominal.nm()) {
        Some(row) => from_row(row, kind),
        None => {
            let mm = |row: &Row| Length::from_nm(row.nominal_mm * NM_PER_MM);
            Err(GrooveError::NoSuchSize {
                standard: standard(kind),
                nominal,
                nearest: [
                    rows.iter().map(mm).rfind(|size| *size < nominal),
                    rows.iter().map(mm).find(|size| *size > nominal),
                ],
                from: mm(&rows[0]),
                to: mm(&rows[rows.len() - 1]),
            })
        }
    }
}

/// The standard groove that lies nearest to measured sizes, by diameter, then by width.
///
/// ```
/// use tenths_domain::retaining_rings::{RingKind, nearest_groove};
/// use tenths_domain::units::Length;
/// let um = |um: i64| Length::from_nm(um * 1_000);
/// let found = nearest_groove(um(54_950), Some(um(2_200)), RingKind::Bore)?;
/// assert_eq!(found.groove.nominal, um(52_000));
/// assert_eq!((found.diameter_off, found.is_within_limits), (um(-50), false));
/// # Ok::<(), tenths_domain::retaining_rings::GrooveError>(())
/// ```
pub fn nearest_groove(
    diameter: Length,
    width: Option<Length>,
    kind: RingKind,
) -> Result<NearestGroove, GrooveError> {
    let off =
        |measured: Length, um: i64| (i128::from(measured.nm()) - i128::from(um) * 1_000).abs();
    let row = rows(kind)
        .iter()
        .min_by_key(|row| {
            (off(diameter, row.groove_um), width.map_or(0, |width| off(width, row.width_um)))
        })
        .expect("the tables are not empty");
    let groove = from_row(row, kind)?;
    let within = |size: Length, limits: Limits| limits.lower <= size && size <= limits.upper;
    Ok(NearestGroove {
        groove,
        diameter_off: diameter - groove.diameter,
        width_off: width.map(|width| width - groove.width),
        is_within_limits: within(diameter, groove.diameter_limits)
            && width.is_none_or(|width| within(width, groove.width_limits)),
    })
}

const NM_PER_MM: i64 = 1_000_000;

fn rows(kind: RingKind) -> &'static [Row] {
    match kind {
        RingKind::Shaft => &SHAFT,
        RingKind::Bore => &BORE,
    }
}

fn standard(kind: RingKind) -> &'static str {
    match kind {
        RingKind::Shaft => "DIN 471",
        RingKind::Bore => "DIN 472",
    }
}

fn from_row(row: &Row, kind: RingKind) -> Result<Groove, GrooveError> {
    let um = |um: i64| Length::from_nm(um * 1_000);
    let (side, source) = match kind {
        RingKind::Shaft => (Side::External, "DIN 471:2011-04, normal type"),
        RingKind::Bore => (Side::Internal, "DIN 472:2011-04, normal type"),
    };
    let grade = |number: i8| Grade::new(number).expect("10 to 13 are grades");
    let diameter_class = Class::new(side, Letter::H, grade(row.grade));
    let width_class = Class::new(Side::Internal, Letter::H, grade(13));
    Ok(Groove {
        kind,
        nominal: Length::from_nm(row.nominal_mm * NM_PER_MM),
        ring_thickness: um(row.ring_um),
        diameter: um(row.groove_um),
        diameter_class,
        diameter_limits: iso286::limits(um(row.groove_um), &diameter_class)?,
        width: um(row.width_um),
        width_class,
        width_limits: iso286::limits(um(row.width_um), &width_class)?,
        source,
        is_unconfirmed: row.sources != Sources::Agree,
    })
}
