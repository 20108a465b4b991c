//! Questions asked before readings are saved: slips of unit, digits, radius, and growth.
//!
//! A trap never refuses a reading. It asks, and the person may say that the reading is right; real
//! wear must therefore pass unasked, or people learn to say yes without reading.

mod fellows;
mod size;

pub use size::size_doubt;

use crate::item::Side;
use crate::measure::ExpandedUncertainty;
use crate::named::named_enum;
use crate::temperature::{Temperature, TemperatureScale};
use crate::units::{Entry, Length};

named_enum! {
    /// What a reading may have been mistaken in, the most specific first.
    TrapKind, "entry trap" {
        /// In another unit the number would be near the size expected.
        UnitMixed = "unit_mixed",
        /// About half the size expected, or a mere difference: a radius, or per side.
        PerSide = "per_side",
        /// Alone far from its fellows: digits swapped or miswritten.
        DigitSwap = "digit_swap",
        /// A journal larger, or a bore smaller, than last time without a build-up.
        Grown = "grown",
        /// More than 5 % from nominal for no reason named above.
        FarFromNominal = "far_from_nominal",
        /// A Celsius temperature so hot that Fahrenheit was likely meant.
        Fahrenheit = "fahrenheit",
    }
}

/// A reading that is about to be saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewReading {
    /// Which reading of the entry it is, counted from zero; a question counts from one, as people
    /// do.
    pub position: usize,
    /// The station.
    pub station: String,
    /// The orientation in degrees.
    pub orientation_deg: u16,
    /// The value as it was written.
    pub entry: Entry,
    /// The value at 20 C.
    pub value_at_20c: Length,
    /// The part's temperature, if it was written.
    pub temperature: Option<EnteredTemperature>,
    /// The gauge's temperature, if it was written.
    pub gauge_temperature: Option<EnteredTemperature>,
}

/// A temperature with the scale it was written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EnteredTemperature {
    /// The temperature, read without the question
    /// ([`Temperature::parse_confirmed`]).
    pub temperature: Temperature,
    /// The scale it was written in.
    pub scale: TemperatureScale,
}

/// What was read in the round of measuring before this one, at 20 C.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EarlierRound {
    /// The smallest reading.
    pub smallest: Length,
    /// The largest reading.
    pub largest: Length,
    /// The expanded uncertainty of those readings, k = 2.
    pub expanded_uncertainty: ExpandedUncertainty,
}

/// What is known of a feature before the new readings are saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Context {
    /// Which way the feature wears.
    pub side: Side,
    /// The nominal size, if the item is known.
    pub nominal: Option<Length>,
    /// The readings of this round that are saved already, at 20 C.
    pub accepted: Vec<Length>,
    /// The round before this one.
    pub earlier: Option<EarlierRound>,
    /// Whether the feature was built up (plated, sprayed, welded, sleeved) since that round.
    pub built_up_since: bool,
    /// The expanded uncertainty of the new readings, k = 2.
    pub expanded_uncertainty: ExpandedUncertainty,
}

/// A question about one reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trap {
    /// The [`NewReading::position`] of the reading.
    pub reading_index: usize,
    /// What may have been mistaken.
    pub kind: TrapKind,
    /// The question, in plain words and in the unit of the entry.
    pub question: String,
}

/// The questions to ask about new readings: at most one for each, the most specific.
///
/// ```
/// use tenths_domain::entry::{Context, NewReading, TrapKind, traps};
/// use tenths_domain::item::Side;
/// use tenths_domain::measure::{ExpandedUncertainty, parse_readings};
/// use tenths_domain::units::{Length, Unit};
/// let line = "A0 1.1809 A45 1.1809 A90 1.1719 B0 1.1809";
/// let entered = parse_readings(line, Some(Unit::Inch)).expect("a line of readings");
/// let readings: Vec<NewReading> = entered
///     .into_iter()
///     .enumerate()
///     .map(|(position, one)| NewReading {
///         position,
///         value_at_20c: one.entry.length,
///         station: one.station,
///         orientation_deg: one.orientation_deg,
///         entry: one.entry,
///         temperature: None,
///         gauge_temperature: None,
///     })
///     .collect();
/// let context = Context {
///     side: Side::External,
///     nominal: None,
///     accepted: Vec::new(),
///     earlier: None,
///     built_up_since: false,
///     expanded_uncertainty: ExpandedUncertainty::new(Length::from_nm(4_600)).expect("above zero"),
/// };
/// let asked = traps(&context, &readings);
/// assert_eq!(asked[0].kind, TrapKind::DigitSwap);
/// assert_eq!(
///     asked[0].question,
///     "reading 3 (A90 = 1.1719 in) is 0.0090 in from its fellows (median 1.1809 in): digits \
///      swapped?"
/// );
/// ```
pub fn traps(context: &Context, readings: &[NewReading]) -> Vec<Trap> {
    let expected = size::expected(context, readings);
    let mistaken_as_a_whole: Vec<Option<(TrapKind, String)>> =
        readings.iter().map(|reading| size::not_this_size(reading, expected)).collect();
    let sound: Vec<usize> =
        (0..readings.len()).filter(|index| mistaken_as_a_whole[*index].is_none()).collect();
    let ask = |(index, whole): (usize, Option<(TrapKind, String)>)| {
        let reading = &readings[index];
        let fellows = || fellows::of(index, &sound, readings, &context.accepted);
        let (kind, doubt) = whole
            .or_else(|| fellows::far_from_fellows(context, reading, &fellows()))
            .or_else(|| size::grown(context, reading))
            .or_else(|| size::far_from_nominal(context, reading))
            .or_else(|| fahrenheit(reading))?;
        let place = format!("{}{}", reading.station, reading.orientation_deg);
        let question =
            format!("reading {} ({place} = {}) {doubt}", reading.position + 1, reading.entry);
        Some(Trap { reading_index: reading.position, kind, question })
    };
    mistaken_as_a_whole.into_iter().enumerate().filter_map(ask).collect()
}

fn fahrenheit(reading: &NewReading) -> Option<(TrapKind, String)> {
    let asked = |entered: Option<EnteredTemperature>, how: &str| {
        let EnteredTemperature { temperature, scale } = entered?;
        let doubt = format!("{how} at {temperature}: was that Fahrenheit?");
        temperature.looks_fahrenheit(scale).then_some((TrapKind::Fahrenheit, doubt))
    };
    asked(reading.temperature, "was read")
        .or_else(|| asked(reading.gauge_temperature, "was read with a gauge"))
}

/// The median, of two middle values their mean; nothing for none.
fn median(mut lengths: Vec<Length>) -> Option<Length> {
    lengths.sort_unstable();
    let middle = lengths.len() / 2;
    if lengths.len() % 2 == 1 {
        lengths.get(middle).copied()
    } else {
        Length::mean(lengths.get(middle.checked_sub(1)?..=middle)?)
    }
}
