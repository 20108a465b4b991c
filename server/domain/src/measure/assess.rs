//! What the readings of a feature say of it.

use super::form::{OutOfRound, Place, Taper, first_greatest, out_of_round, places, taper};
use super::standard_size::STANDARD_SIZE_WINDOW;
use super::{ExpandedUncertainty, MeasureError, Reading, snap_to_standard};
use crate::item::{Feature, Limits, Side};
use crate::units::Length;
use std::collections::BTreeMap;

/// What the readings are set against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Basis {
    /// Which way the feature wears.
    pub side: Side,
    /// The nominal size, if the item is known.
    pub nominal: Option<Length>,
    /// The station that does not wear, if there is one; its letters may be in any case.
    pub reference_station: Option<String>,
}

impl Basis {
    /// The basis that the catalogue gives for a feature.
    pub fn of(feature: &Feature) -> Basis {
        Basis {
            side: feature.kind.side(),
            nominal: Some(feature.nominal),
            reference_station: feature.reference_station.clone(),
        }
    }

    fn is_reference(&self, station: &str) -> bool {
        self.reference_station.as_deref().is_some_and(|name| name.eq_ignore_ascii_case(station))
    }
}

/// The smallest or the largest reading, and where it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Extreme {
    /// The value at 20 C.
    pub value: Length,
    /// The station.
    pub station: String,
    /// The orientation in degrees.
    pub orientation_deg: u16,
    /// Expanded uncertainty of this reading, k = 2.
    pub expanded_uncertainty: ExpandedUncertainty,
}

/// The readings of one station, for the profile along the axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StationSummary {
    /// The station.
    pub station: String,
    /// Whether it is the reference station, which is left out of everything but the wear's basis.
    pub is_reference: bool,
    /// How many readings it has.
    pub count: usize,
    /// The smallest.
    pub min: Length,
    /// The largest.
    pub max: Length,
    /// The mean, rounded once half to even.
    pub mean: Length,
    /// Its out-of-round; nothing unless it was read in two orientations.
    pub out_of_round: Option<Length>,
}

/// What wear is counted from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WearBasis {
    /// The mean of a station that does not wear.
    ReferenceStation {
        /// The station.
        station: String,
        /// The mean of its readings.
        mean: Length,
    },
    /// The nominal size: what the making tolerance took off counts as wear too.
    Nominal {
        /// The nominal size.
        size: Length,
    },
}

/// How much is worn away, on diameter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wear {
    /// The wear, never below zero.
    pub amount: Length,
    /// By how much the feature is on the other side of its reference station (a journal larger, a
    /// bore smaller): built up before, or the reference itself worn. Zero if it is not, and when
    /// counted from nominal, where it means nothing.
    pub growth: Length,
    /// What it is counted from.
    pub basis: WearBasis,
    /// Where the most wear is.
    pub station: String,
    /// Where the most wear is, in degrees.
    pub orientation_deg: u16,
    /// Expanded uncertainty of the wear, k = 2: of the difference of two readings, or of the one
    /// reading when counted from nominal.
    pub expanded_uncertainty: ExpandedUncertainty,
}

/// The standard size that the reference station points to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InferredNominal {
    /// The standard size.
    pub size: Length,
    /// Whether the item has the same nominal size; nothing when the item is not known.
    pub confirmed_by_item: Option<bool>,
}

impl InferredNominal {
    /// Whether a nominal size is too far from the standard size for one spot to be made to either:
    /// over 0.001 in, the window of [`snap_to_standard`].
    pub fn is_far_from(self, nominal: Length) -> bool {
        (self.size - nominal).abs() > STANDARD_SIZE_WINDOW
    }
}

/// What the readings say of a feature, all at 20 C and on diameter. The reference station counts
/// only as the basis of wear: smallest, largest, mean and form are those of the other stations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assessment {
    /// Which way the feature wears.
    pub side: Side,
    /// How many readings, without those of the reference station.
    pub count: usize,
    /// The smallest reading.
    pub min: Extreme,
    /// The largest reading.
    pub max: Extreme,
    /// The mean, rounded once half to even.
    pub mean: Length,
    /// Expanded uncertainty of the worst reading, k = 2; the mean's too, since a gauge's own error
    /// does not average out.
    pub expanded_uncertainty: ExpandedUncertainty,
    /// The greatest out-of-round; nothing unless a station was read in two orientations.
    pub out_of_round: Option<OutOfRound>,
    /// The greatest taper; nothing unless two stations were read in one orientation.
    pub taper: Option<Taper>,
    /// The wear; nothing without a reference station and without a nominal size.
    pub wear: Option<Wear>,
    /// The nominal size inferred from the reference station.
    pub inferred_nominal: Option<InferredNominal>,
    /// Every station by name, the reference station too.
    pub stations: Vec<StationSummary>,
}

impl Assessment {
    /// The wear that a wear limit is held against. Counted from a reference station it is all of it.
    /// Counted from nominal, the making tolerance cannot be told from wear: where there are limits of
    /// size, what is within them is not worn, and only what lies past them counts.
    pub fn service_wear(&self, limits: Option<Limits>) -> Option<Length> {
        let wear = self.wear.as_ref()?;
        let (WearBasis::Nominal { .. }, Some(limits)) = (&wear.basis, limits) else {
            return Some(wear.amount);
        };
        let past = match self.side {
            Side::External => limits.lower - self.min.value,
            Side::Internal => self.max.value - limits.upper,
        };
        Some(past.max(Length::ZERO))
    }
}

/// Assesses the readings of one feature.
///
/// ```
/// use tenths_domain::item::Side;
/// use tenths_domain::measure::{Basis, ExpandedUncertainty, Reading, assess};
/// use tenths_domain::units::{Entry, Length, Unit};
/// let expanded_uncertainty = ExpandedUncertainty::new(Length::from_nm(4_600))?;
/// let reading = |station: &str, text: &str| {
///     let entry = Entry::parse(text, Unit::Inch).expect("an inch size");
///     Reading {
///         station: station.into(),
///         orientation_deg: 0,
///         value_at_20c: entry.length,
///         expanded_uncertainty,
///         resolution: entry.resolution,
///     }
/// };
/// let readings = [reading("REF", "0.938"), reading("A", "0.937"), reading("B", "0.935")];
/// let reference_station = Some("REF".to_owned());
/// let basis = Basis { side: Side::External, nominal: None, reference_station };
/// let wear = assess(&readings, &basis)?.wear.expect("a reference station was read");
/// assert_eq!(wear.amount.display_in(Unit::Inch), "0.0030 in");
/// assert_eq!(wear.station, "B");
/// # Ok::<(), tenths_domain::measure::MeasureError>(())
/// ```
pub fn assess(readings: &[Reading], basis: &Basis) -> Result<Assessment, MeasureError> {
    let (reference, worn): (Vec<&Reading>, Vec<&Reading>) =
        readings.iter().partition(|reading| basis.is_reference(&reading.station));
    let values: Vec<Length> = worn.iter().map(|reading| reading.value_at_20c).collect();
    let min = worn.iter().min_by_key(|reading| reading.value_at_20c).map(|found| extreme(found));
    let max =
        first_greatest(worn.iter(), |reading| reading.value_at_20c).map(|found| extreme(found));
    let worst = worn.iter().map(|reading| reading.expanded_uncertainty).max();
    let (Some(min), Some(max), Some(mean), Some(worst)) = (min, max, Length::mean(&values), worst)
    else {
        return Err(match reference.first() {
            Some(reading) => MeasureError::OnlyReference { station: reading.station.clone() },
            None => MeasureError::NoReadings,
        });
    };
    let reference = Reference::of(&reference);
    let places = places(&worn);
    Ok(Assessment {
        side: basis.side,
        count: worn.len(),
        wear: wear(basis, reference.as_ref(), &min, &max),
        inferred_nominal: reference.as_ref().and_then(|reference| inferred(reference, basis)),
        min,
        max,
        mean,
        expanded_uncertainty: worst,
        out_of_round: out_of_round(&places),
        taper: taper(&places),
        stations: station_summaries(readings, basis),
    })
}

/// The station that does not wear, as it was read.
struct Reference {
    station: String,
    mean: Length,
    expanded_uncertainty: ExpandedUncertainty,
}

impl Reference {
    fn of(readings: &[&Reading]) -> Option<Reference> {
        let values: Vec<Length> = readings.iter().map(|reading| reading.value_at_20c).collect();
        Some(Reference {
            station: readings.first()?.station.clone(),
            mean: Length::mean(&values)?,
            expanded_uncertainty: readings.iter().map(|one| one.expanded_uncertainty).max()?,
        })
    }
}

fn extreme(reading: &Reading) -> Extreme {
    Extreme {
        value: reading.value_at_20c,
        station: reading.station.clone(),
        orientation_deg: reading.orientation_deg,
        expanded_uncertainty: reading.expanded_uncertainty,
    }
}

fn wear(
    basis: &Basis,
    reference: Option<&Reference>,
    min: &Extreme,
    max: &Extreme,
) -> Option<Wear> {
    let (worst, least) = match basis.side {
        Side::External => (min, max),
        Side::Internal => (max, min),
    };
    let lost = |from: Length, reading: &Extreme| match basis.side {
        Side::External => from - reading.value,
        Side::Internal => reading.value - from,
    };
    let (from, growth, wear_basis, expanded_uncertainty) = match (reference, basis.nominal) {
        (Some(reference), _) => (
            reference.mean,
            (-lost(reference.mean, least)).max(Length::ZERO),
            WearBasis::ReferenceStation {
                station: reference.station.clone(),
                mean: reference.mean,
            },
            worst.expanded_uncertainty.of_difference(reference.expanded_uncertainty),
        ),
        (None, Some(size)) => {
            (size, Length::ZERO, WearBasis::Nominal { size }, worst.expanded_uncertainty)
        }
        (None, None) => return None,
    };
    Some(Wear {
        amount: lost(from, worst).max(Length::ZERO),
        growth,
        basis: wear_basis,
        station: worst.station.clone(),
        orientation_deg: worst.orientation_deg,
        expanded_uncertainty,
    })
}

fn inferred(reference: &Reference, basis: &Basis) -> Option<InferredNominal> {
    let size = snap_to_standard(reference.mean)?;
    Some(InferredNominal { size, confirmed_by_item: basis.nominal.map(|nominal| nominal == size) })
}

fn station_summaries(readings: &[Reading], basis: &Basis) -> Vec<StationSummary> {
    let mut stations: BTreeMap<&str, Vec<&Reading>> = BTreeMap::new();
    for reading in readings {
        stations.entry(&reading.station).or_default().push(reading);
    }
    let summary = |(station, readings): (&str, Vec<&Reading>)| {
        let values: Vec<Length> = readings.iter().map(|reading| reading.value_at_20c).collect();
        let places: Vec<Place<'_>> = places(&readings);
        Some(StationSummary {
            station: station.to_owned(),
            is_reference: basis.is_reference(station),
            count: values.len(),
            min: values.iter().copied().min()?,
            max: values.iter().copied().max()?,
            mean: Length::mean(&values)?,
            out_of_round: out_of_round(&places).map(|form| form.amount),
        })
    };
    stations.into_iter().filter_map(summary).collect()
}
