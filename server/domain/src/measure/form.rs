//! Out-of-round and taper, from diameters read across stations and orientations.
//!
//! Two-point diameters do not see odd lobes: a part of three lobes can read round.

use super::{ExpandedUncertainty, Reading};
use crate::units::Length;
use std::collections::BTreeMap;

/// The greatest out-of-round of any station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutOfRound {
    /// The largest less the smallest diameter at the station.
    pub amount: Length,
    /// The station.
    pub station: String,
    /// Expanded uncertainty of the difference, k = 2.
    pub expanded_uncertainty: ExpandedUncertainty,
}

/// The greatest taper in any orientation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taper {
    /// The largest less the smallest diameter along the axis.
    pub amount: Length,
    /// The orientation.
    pub orientation_deg: u16,
    /// The station with the smallest diameter.
    pub smallest_station: String,
    /// The station with the largest diameter.
    pub largest_station: String,
    /// Expanded uncertainty of the difference, k = 2.
    pub expanded_uncertainty: ExpandedUncertainty,
}

/// One place of a feature. Repeats at the same place are averaged, so that how well a reading
/// repeats is not taken for form; its uncertainty is that of the worst repeat, because a gauge's
/// own error does not average out.
#[derive(Clone, Copy)]
pub(super) struct Place<'a> {
    pub(super) station: &'a str,
    pub(super) orientation_deg: u16,
    pub(super) mean: Length,
    pub(super) expanded_uncertainty: ExpandedUncertainty,
}

/// The places that were read, by station and then orientation.
pub(super) fn places<'a>(readings: &[&'a Reading]) -> Vec<Place<'a>> {
    let mut repeats: BTreeMap<(&str, u16), Vec<&Reading>> = BTreeMap::new();
    for reading in readings {
        let place = (reading.station.as_str(), reading.orientation_deg);
        repeats.entry(place).or_default().push(reading);
    }
    let place = |((station, orientation_deg), repeats): ((&'a str, u16), Vec<&Reading>)| {
        let values: Vec<Length> = repeats.iter().map(|reading| reading.value_at_20c).collect();
        let worst = repeats.iter().map(|reading| reading.expanded_uncertainty).max()?;
        let mean = Length::mean(&values)?;
        Some(Place { station, orientation_deg, mean, expanded_uncertainty: worst })
    };
    repeats.into_iter().filter_map(place).collect()
}

/// The greatest difference of diameters within a station (X less Y, common practice in published
/// engine manuals); nothing unless a station was read in two orientations.
pub(super) fn out_of_round(places: &[Place<'_>]) -> Option<OutOfRound> {
    let by_station = grouped(places, |place| place.station);
    let found = by_station.into_iter().filter_map(|(station, places)| {
        let (smallest, largest) = extremes(&places)?;
        let expanded_uncertainty =
            smallest.expanded_uncertainty.of_difference(largest.expanded_uncertainty);
        let amount = largest.mean - smallest.mean;
        Some(OutOfRound { amount, station: station.to_owned(), expanded_uncertainty })
    });
    first_greatest(found, |form| form.amount)
}

/// The greatest difference of diameters along the axis in one orientation (A less B, common
/// practice in published engine manuals); nothing unless two stations share an orientation.
pub(super) fn taper(places: &[Place<'_>]) -> Option<Taper> {
    let by_orientation = grouped(places, |place| place.orientation_deg);
    let found = by_orientation.into_iter().filter_map(|(orientation_deg, places)| {
        let (smallest, largest) = extremes(&places)?;
        Some(Taper {
            amount: largest.mean - smallest.mean,
            orientation_deg,
            smallest_station: smallest.station.to_owned(),
            largest_station: largest.station.to_owned(),
            expanded_uncertainty: smallest
                .expanded_uncertainty
                .of_difference(largest.expanded_uncertainty),
        })
    });
    first_greatest(found, |form| form.amount)
}

fn grouped<'a, K: Ord>(
    places: &[Place<'a>],
    key: impl Fn(&Place<'a>) -> K,
) -> BTreeMap<K, Vec<Place<'a>>> {
    let mut groups: BTreeMap<K, Vec<Place<'a>>> = BTreeMap::new();
    for place in places {
        groups.entry(key(place)).or_default().push(*place);
    }
    groups
}

/// The smallest and the largest of at least two places; the first of equals.
fn extremes<'a>(places: &[Place<'a>]) -> Option<(Place<'a>, Place<'a>)> {
    if places.len() < 2 {
        return None;
    }
    let smallest = places.iter().copied().min_by_key(|place| place.mean)?;
    let largest = first_greatest(places.iter().copied(), |place| place.mean)?;
    Some((smallest, largest))
}

/// The greatest by a measure; the first of equals, so that an answer does not depend on chance.
pub(super) fn first_greatest<T>(
    candidates: impl Iterator<Item = T>,
    measure: impl Fn(&T) -> Length,
) -> Option<T> {
    candidates.reduce(|best, next| if measure(&next) > measure(&best) { next } else { best })
}
