//! The compact line of readings, as a tech calls them out: `A0 1.1809 A90 1.1809 B0 1.1808`.

use crate::units::{Entry, Unit};
use std::fmt;

/// The most readings of one line: far above any round of measuring (our own choice).
const READINGS_MAX: usize = 360;
/// The most letters of a station's name.
const STATION_LETTERS_MAX: usize = 3;

/// One reading of the line, as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EnteredReading {
    /// The station, in capitals.
    pub station: String,
    /// The orientation, 0 to 359 degrees.
    pub orientation_deg: u16,
    /// The value as it was written.
    pub entry: Entry,
}

/// A word of the line that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WordFault {
    /// Which word of the line, counted from one.
    pub position: usize,
    /// The word.
    pub word: String,
    /// What is wrong with it and what is allowed.
    pub problem: String,
}

impl fmt::Display for WordFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "word {} {:?}: {}", self.position, self.word, self.problem)
    }
}

/// Why a line of readings cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReadingsError {
    /// Nothing was written.
    #[error(
        "there are no readings; write station and orientation, then the value, such as A0 1.1809"
    )]
    Empty,
    /// More readings than one line may have.
    #[error("a line of {words} words is too long; at most {READINGS_MAX} readings are allowed")]
    TooMany {
        /// How many words were given.
        words: usize,
    },
    /// Every word that cannot be read.
    #[error("{}", joined(.0))]
    Words(Vec<WordFault>),
}

fn joined(faults: &[WordFault]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// Reads a line of readings: for each, a word of 1 to 3 letters for the station and 0 to 359
/// degrees for the orientation, then the value. A value may carry its unit, joined or as the next
/// word. A place may be read more than once. Every fault of the line is reported at once.
///
/// ```
/// use tenths_domain::measure::parse_readings;
/// use tenths_domain::units::Unit;
/// let readings = parse_readings("A0 1.1809 a90 1.1808 REF0 30.001mm", Some(Unit::Inch))?;
/// assert_eq!(readings[1].station, "A");
/// assert_eq!(readings[1].orientation_deg, 90);
/// assert_eq!(readings[2].entry.unit, Unit::Millimetre);
/// # Ok::<(), tenths_domain::measure::ReadingsError>(())
/// ```
pub fn parse_readings(
    text: &str,
    default_unit: Option<Unit>,
) -> Result<Vec<EnteredReading>, ReadingsError> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if words.is_empty() {
        return Err(ReadingsError::Empty);
    }
    // Station, value and unit: at most three words a reading.
    if words.len() > 3 * READINGS_MAX {
        return Err(ReadingsError::TooMany { words: words.len() });
    }
    let (mut readings, mut faults) = (Vec::new(), Vec::new());
    let mut next = 0;
    while next < words.len() {
        let taken = words_of_reading(&words[next..]);
        match read_words(&words[next..next + taken], next + 1, default_unit) {
            Ok(reading) => readings.push(reading),
            Err(fault) => faults.push(fault),
        }
        next += taken;
    }
    if !faults.is_empty() {
        return Err(ReadingsError::Words(faults));
    }
    if readings.len() > READINGS_MAX {
        return Err(ReadingsError::TooMany { words: words.len() });
    }
    Ok(readings)
}

/// How many words belong to the reading that starts here: all before the next word that looks like
/// a station, so that one fault does not spoil the readings after it.
fn words_of_reading(words: &[&str]) -> usize {
    let rest = words.iter().skip(1);
    1 + rest.take_while(|word| !looks_like_station(word)).count()
}

fn looks_like_station(word: &str) -> bool {
    word.starts_with(|c: char| c.is_alphabetic()) && Unit::from_suffix(word).is_none()
}

fn read_words(
    words: &[&str],
    position: usize,
    default_unit: Option<Unit>,
) -> Result<EnteredReading, WordFault> {
    let fault = |offset: usize, problem: String| WordFault {
        position: position + offset,
        word: words[offset].chars().take(40).collect(),
        problem,
    };
    let (station, orientation_deg) = read_station(words[0]).ok_or_else(|| {
        let allowed = "write a station of 1 to 3 letters and an orientation of 0 to 359 degrees as \
                       one word, such as A0 or REF90";
        fault(0, allowed.to_owned())
    })?;
    let value = match *words {
        [_] => {
            return Err(fault(
                0,
                "no value follows; write it after a space, such as A0 1.1809".into(),
            ));
        }
        [_, value] => value.to_owned(),
        [_, value, unit] if Unit::from_suffix(unit).is_some() => format!("{value} {unit}"),
        _ => {
            return Err(fault(
                2,
                "a station and orientation is due here, such as A0 or REF90".into(),
            ));
        }
    };
    let entry = Entry::parse_with_suffix(&value, default_unit);
    let entry = entry.map_err(|error| fault(1, error.to_string()))?;
    Ok(EnteredReading { station, orientation_deg, entry })
}

/// `REF90` as `REF` and 90.
fn read_station(word: &str) -> Option<(String, u16)> {
    let digits = word.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = &word[..word.len() - digits.len()];
    let letters_fit = (1..=STATION_LETTERS_MAX).contains(&letters.len());
    let digits_fit =
        (1..=3).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    let orientation_deg = digits.parse::<u16>().ok().filter(|degrees| *degrees <= 359)?;
    (letters_fit && digits_fit).then(|| (letters.to_ascii_uppercase(), orientation_deg))
}
