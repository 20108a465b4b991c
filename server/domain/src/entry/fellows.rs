//! The trap of one reading that is alone far from its fellows.
//!
//! Real wear is not alone: its neighbours are worn too, or it is small. So a reading is asked about
//! only when it is far from the median *and* from the nearest of its fellows, by a distance that
//! widens with their own spread. Two slips that agree with each other pass unasked.

use super::size::is_near;
use super::{Context, NewReading, TrapKind, median};
use crate::units::{Entry, Length};

/// Fewer fellows than this cannot outvote a reading.
const FELLOWS_MIN: usize = 2;
/// Nearer than this a lone reading passes as wear: 0.005 in, twice the wear that sends most small
/// journals to be reground (common practice, no published source).
const LONE_MIN: Length = Length::from_nm(127_000);
/// Where one swap of adjacent digits brings a reading among its fellows, a smaller distance is
/// enough: a swap of the last two digits is worth nine last places or more, and one place of spread
/// among the fellows is allowed for.
const LAST_PLACES_MIN_IF_SWAPPED: i64 = 8;
/// But not less than 7 um, a quarter of a thou: finer than that, readings scatter by themselves.
const SWAPPED_MIN: Length = Length::from_nm(7_000);
/// Six robust standard deviations. The deviation is 1.4826 times the median absolute deviation
/// (consistent with the normal: 1 / 0.6745; Hampel 1974, from memory); six is our own choice.
const SPREAD_PER_MILLE: i64 = 6 * 1_483;

/// What the other readings of the round say.
pub(super) struct Fellows {
    values: Vec<Length>,
    median: Option<Length>,
}

/// The fellows of one new reading: those saved, and the other new ones that are of this size.
pub(super) fn of(
    index: usize,
    sound: &[usize],
    readings: &[NewReading],
    accepted: &[Length],
) -> Fellows {
    let others = sound.iter().filter(|other| **other != index);
    let new = others.map(|other| readings[*other].value_at_20c);
    let values: Vec<Length> = accepted.iter().copied().chain(new).collect();
    let median = median(values.clone());
    Fellows { values, median }
}

impl Fellows {
    /// The distance within which a reading belongs to them, for their spread.
    fn reach(&self, median_value: Length) -> Length {
        let deviations = self.values.iter().map(|value| (*value - median_value).abs()).collect();
        let spread = median(deviations).unwrap_or_default();
        Length::from_nm(spread.nm() * SPREAD_PER_MILLE / 1_000)
    }

    /// The distance of a value to the median or to the nearest fellow, the lesser.
    fn distance(&self, median_value: Length, value: Length) -> Length {
        let to_median = (value - median_value).abs();
        let nearest = self.values.iter().map(|fellow| (value - *fellow).abs()).min();
        nearest.unwrap_or(to_median).min(to_median)
    }

    /// Whether a value lies among them, give or take one last place.
    fn include(&self, value: Length, last_place: Length) -> bool {
        let (smallest, largest) = (self.values.iter().min(), self.values.iter().max());
        smallest.is_some_and(|smallest| value >= *smallest - last_place)
            && largest.is_some_and(|largest| value <= *largest + last_place)
    }
}

pub(super) fn far_from_fellows(
    context: &Context,
    reading: &NewReading,
    fellows: &Fellows,
) -> Option<(TrapKind, String)> {
    let median = fellows.median.filter(|_| fellows.values.len() >= FELLOWS_MIN)?;
    let value = reading.value_at_20c;
    let reach = fellows.reach(median);
    let distance = fellows.distance(median, value);
    let swapped = swapped_among(reading, fellows);
    // Further than 5 % without a swap to explain it is another part rather than other digits.
    let of_this_size = context.nominal.is_none_or(|nominal| is_near(value, nominal));
    let lone = match &swapped {
        Some(_) => distance > reach && distance >= swapped_min(&reading.entry),
        None => of_this_size && distance > reach.max(LONE_MIN),
    };
    lone.then(|| {
        let unit = reading.entry.unit;
        let mut doubt = format!(
            "is {} from its fellows (median {}): digits swapped?",
            (value - median).abs().display_in(unit),
            median.display_in(unit),
        );
        if let Some(swapped) = swapped {
            doubt.push_str(&format!(" {swapped} would agree"));
        }
        (TrapKind::DigitSwap, doubt)
    })
}

fn swapped_min(entry: &Entry) -> Length {
    Length::from_nm(entry.resolution.nm() * LAST_PLACES_MIN_IF_SWAPPED).max(SWAPPED_MIN)
}

/// The first swap of two neighbouring digits of the entry that brings it among its fellows.
fn swapped_among(reading: &NewReading, fellows: &Fellows) -> Option<Entry> {
    let to_20c = reading.value_at_20c - reading.entry.length;
    let agrees = |entry: &Entry| fellows.include(entry.length + to_20c, entry.resolution);
    adjacent_swaps(&reading.entry).into_iter().find(agrees)
}

/// Every entry that differs by one swap of neighbouring digits, across the point too.
fn adjacent_swaps(entry: &Entry) -> Vec<Entry> {
    let characters: Vec<char> = entry.text.chars().collect();
    let digits: Vec<usize> =
        (0..characters.len()).filter(|index| characters[*index].is_ascii_digit()).collect();
    // Swapping within a fraction makes another fraction, never a slip of the last places.
    if digits.len() + 1 < characters.len() || entry.text.contains('/') {
        return Vec::new();
    }
    let swap = |pair: &[usize]| {
        let mut swapped = characters.clone();
        swapped.swap(pair[0], pair[1]);
        let differs = swapped != characters;
        let text: String = swapped.into_iter().collect();
        Entry::parse(&text, entry.unit).ok().filter(|_| differs)
    };
    digits.windows(2).filter_map(swap).collect()
}
