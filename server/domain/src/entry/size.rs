//! Traps about a reading's size as a whole: its unit, radius for diameter, growth, the wrong part.

use super::{Context, NewReading, TrapKind, median};
use crate::item::Side;
use crate::units::{Entry, Length, Unit};

/// A size within one part in this many of the expected one is near it: 5 %. Worn parts differ from
/// nominal by far less, mixed units by far more (common practice, no published source).
const NEAR_PARTS: i64 = 20;
/// A number below one part in this many of the expected size is a difference, not a size: 2 %
/// (common practice, no published source).
const DIFFERENCE_PARTS: i64 = 50;
/// Without a nominal size, this many readings are needed to say what size is expected.
const READINGS_MIN: usize = 3;

/// The size to expect: the nominal, or else the median of what is saved, or else of the new ones.
pub(super) fn expected(context: &Context, readings: &[NewReading]) -> Option<Length> {
    let new = || readings.iter().map(|reading| reading.value_at_20c).collect::<Vec<_>>();
    context
        .nominal
        .or_else(|| median(context.accepted.clone()))
        .or_else(|| if readings.len() >= READINGS_MIN { median(new()) } else { None })
}

pub(super) fn is_near(length: Length, expected: Length) -> bool {
    (length - expected).abs().nm() <= expected.nm() / NEAR_PARTS
}

/// A number that is no size of this feature: of another unit, a radius, a difference.
pub(super) fn not_this_size(
    reading: &NewReading,
    expected: Option<Length>,
) -> Option<(TrapKind, String)> {
    let expected = expected?;
    if is_near(reading.value_at_20c, expected) {
        return None;
    }
    unit_mixed(&reading.entry, expected).or_else(|| per_side(reading, expected))
}

/// Why a size as written is none near the one expected, in words that follow it; nothing if it is.
///
/// ```
/// use tenths_domain::entry::size_doubt;
/// use tenths_domain::units::{Entry, Length, Unit};
/// let nominal = Length::from_nm(25_000_000);
/// let doubt = size_doubt(&Entry::parse("24.8", Unit::Inch).unwrap(), nominal).unwrap();
/// assert_eq!(
///     doubt,
///     "is far from 0.98425 in, but 24.8 mm would be near it: was the unit mm?"
/// );
/// assert_eq!(size_doubt(&Entry::parse("24.8", Unit::Millimetre).unwrap(), nominal), None);
/// ```
pub fn size_doubt(entry: &Entry, expected: Length) -> Option<String> {
    if is_near(entry.length, expected) {
        return None;
    }
    let far = || {
        let shown = expected.display_in(entry.unit);
        format!("is more than 5 % from {shown}: the right size?")
    };
    Some(unit_mixed(entry, expected).map_or_else(far, |(_, doubt)| doubt))
}

fn unit_mixed(entry: &Entry, expected: Length) -> Option<(TrapKind, String)> {
    let written = i128::from(entry.length.nm());
    let in_unit = |unit: Unit| {
        let nm = written * i128::from(unit.nm()) / i128::from(entry.unit.nm());
        i64::try_from(nm).map(Length::from_nm).ok()
    };
    let fits = |unit: &Unit| in_unit(*unit).is_some_and(|length| is_near(length, expected));
    let unit = Unit::ALL.iter().copied().filter(|unit| *unit != entry.unit).find(fits)?;
    let doubt = format!(
        "is far from {}, but {} {unit} would be near it: was the unit {unit}?",
        expected.display_in(entry.unit),
        entry.text,
    );
    Some((TrapKind::UnitMixed, doubt))
}

fn per_side(reading: &NewReading, expected: Length) -> Option<(TrapKind, String)> {
    let value = reading.value_at_20c;
    let shown = expected.display_in(reading.entry.unit);
    let doubt = if is_near(value + value, expected) {
        format!("is about half of {shown}: is it per side? the whole diameter is wanted")
    } else if value.nm() < expected.nm() / DIFFERENCE_PARTS {
        format!(
            "is a difference rather than a size near {shown}: is it what is missing per side? the \
             whole diameter is wanted"
        )
    } else {
        return None;
    };
    Some((TrapKind::PerSide, doubt))
}

/// Growth beyond the combined uncertainty of both rounds, without a build-up. A reading far from
/// nominal is not called growth: more than 5 % is no build-up but another part.
pub(super) fn grown(context: &Context, reading: &NewReading) -> Option<(TrapKind, String)> {
    let earlier = context.earlier.filter(|_| !context.built_up_since)?;
    let value = reading.value_at_20c;
    if context.nominal.is_some_and(|nominal| !is_near(value, nominal)) {
        return None;
    }
    let (growth, last_time, word) = match context.side {
        Side::External => (value - earlier.largest, earlier.largest, "larger"),
        Side::Internal => (earlier.smallest - value, earlier.smallest, "smaller"),
    };
    let uncertainty = context.expanded_uncertainty.of_difference(earlier.expanded_uncertainty);
    (growth > uncertainty.length()).then(|| {
        let unit = reading.entry.unit;
        let doubt = format!(
            "is {} {word} than any reading of last time ({}), and no build-up is recorded: built \
             up since, or misread?",
            growth.display_in(unit),
            last_time.display_in(unit),
        );
        (TrapKind::Grown, doubt)
    })
}

pub(super) fn far_from_nominal(
    context: &Context,
    reading: &NewReading,
) -> Option<(TrapKind, String)> {
    let nominal = context.nominal.filter(|nominal| !is_near(reading.value_at_20c, *nominal))?;
    let shown = nominal.display_in(reading.entry.unit);
    let doubt = format!("is more than 5 % from the nominal {shown}: the right part and feature?");
    Some((TrapKind::FarFromNominal, doubt))
}
