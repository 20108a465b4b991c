//! What a person wrote as a length: exact, kept as written, or refused with what is allowed.

use super::number::{self, NUMBER_CHARACTERS_MAX, NumberFault};
use super::{Length, LengthError, Unit};

/// The most characters that an entry with its unit may have.
const TEXT_CHARACTERS_MAX: usize = 32;

/// A length as the person wrote it.
///
/// A decimal may be as fine as 0.000001 mm or 0.00001 in (0.001 um, 0.01 thou). An inch fraction
/// with a denominator up to 64 is taken too: 1/64 in is 396 875 nm, exact in nanometres although
/// it has six decimal places.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Entry {
    /// The number as written, without its unit.
    pub text: String,
    /// The unit it is in.
    pub unit: Unit,
    /// The exact length.
    pub length: Length,
    /// The value of one last place (`0.9350` in: 0.0001 in), or of one count of the denominator
    /// of a fraction (`15/16` in: 1/16 in).
    pub resolution: Length,
}

/// What a number may be.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    /// A size: above zero, without a sign.
    Size,
    /// A clearance or deviation: any sign, zero too.
    Signed,
}

impl Entry {
    /// Reads a size, written without its unit: `0.9350`, `.9350`, `15/16`, `1-1/4`, `1 1/4`.
    ///
    /// ```
    /// use tenths_domain::units::{Entry, Length, Unit};
    /// let entry = Entry::parse("0.9350", Unit::Inch)?;
    /// assert_eq!(entry.length, Length::from_nm(23_749_000));
    /// assert_eq!(entry.resolution, Length::from_nm(2_540));
    /// # Ok::<(), tenths_domain::units::LengthError>(())
    /// ```
    pub fn parse(text: &str, unit: Unit) -> Result<Entry, LengthError> {
        read(text, unit, Form::Size)
    }

    /// Reads a clearance, interference or deviation: like [`Entry::parse`], but zero and a leading
    /// `+` or `-` are allowed.
    ///
    /// ```
    /// use tenths_domain::units::{Entry, Length, Unit};
    /// assert_eq!(Entry::parse_signed("-0.5", Unit::Thou)?.length, Length::from_nm(-12_700));
    /// # Ok::<(), tenths_domain::units::LengthError>(())
    /// ```
    pub fn parse_signed(text: &str, unit: Unit) -> Result<Entry, LengthError> {
        read(text, unit, Form::Signed)
    }

    /// Reads a size that may carry its unit: `25.4mm`, `25.4 mm`, `15/16 in`, `1 1/4"`, `9.5thou`.
    /// Without a unit the default is taken; without a default too it is refused.
    ///
    /// ```
    /// use tenths_domain::units::{Entry, Unit};
    /// let inch = Entry::parse_with_suffix("1.0000\"", None)?;
    /// assert_eq!(inch.length, Entry::parse_with_suffix("25.4", Some(Unit::Millimetre))?.length);
    /// assert!(Entry::parse_with_suffix("25.4", None).is_err());
    /// # Ok::<(), tenths_domain::units::LengthError>(())
    /// ```
    pub fn parse_with_suffix(text: &str, default_unit: Option<Unit>) -> Result<Entry, LengthError> {
        let (number, unit) = split_unit(text, default_unit)?;
        read(number, unit, Form::Size)
    }

    /// Reads a clearance, interference or deviation that may carry its unit: `-0.0005 in`.
    pub fn parse_signed_with_suffix(
        text: &str,
        default_unit: Option<Unit>,
    ) -> Result<Entry, LengthError> {
        let (number, unit) = split_unit(text, default_unit)?;
        read(number, unit, Form::Signed)
    }
}

/// A number in nanometres, without its sign.
struct Magnitude {
    nm: i128,
    resolution_nm: i64,
}

fn read(text: &str, unit: Unit, form: Form) -> Result<Entry, LengthError> {
    let text = text.trim();
    check_length(text, NUMBER_CHARACTERS_MAX)?;
    let (negative, digits) = number::split_sign(text);
    if negative.is_some() && form == Form::Size {
        return Err(LengthError::Signed { text: text.to_owned() });
    }
    let magnitude = if digits.contains('/') {
        read_fraction(text, digits, unit)?
    } else {
        read_decimal(text, digits, unit)?
    };
    if magnitude.nm == 0 && form == Form::Size {
        return Err(LengthError::Zero { text: text.to_owned() });
    }
    let nm = i64::try_from(magnitude.nm).unwrap_or(i64::MAX);
    if nm > Length::ENTRY_MAX.nm() {
        return Err(LengthError::TooLarge { text: text.to_owned(), unit });
    }
    Ok(Entry {
        text: text.to_owned(),
        unit,
        length: Length::from_nm(if negative == Some(true) { -nm } else { nm }),
        resolution: Length::from_nm(magnitude.resolution_nm),
    })
}

fn check_length(text: &str, max: usize) -> Result<(), LengthError> {
    if text.is_empty() {
        return Err(LengthError::Empty);
    }
    let characters = text.chars().count();
    if characters > max {
        return Err(LengthError::TooLong { characters, max });
    }
    Ok(())
}

fn read_decimal(text: &str, digits: &str, unit: Unit) -> Result<Magnitude, LengthError> {
    let text = || text.to_owned();
    let number = number::read_decimal(digits).map_err(|fault| match fault {
        NumberFault::Comma => LengthError::Comma { text: text() },
        NumberFault::Exponent => LengthError::Exponent { text: text() },
        NumberFault::NotDecimal => LengthError::NotANumber { text: text() },
    })?;
    if number.places > unit.places_max() {
        return Err(LengthError::TooFine { text: text(), unit, places: unit.places_max() });
    }
    // Exact: ten to `places_max` divides every unit.
    let resolution_nm = unit.nm() / 10_i64.pow(number.places);
    Ok(Magnitude { nm: number.mantissa * i128::from(resolution_nm), resolution_nm })
}

fn read_fraction(text: &str, digits: &str, unit: Unit) -> Result<Magnitude, LengthError> {
    if unit != Unit::Inch {
        return Err(LengthError::FractionUnit { text: text.to_owned(), unit });
    }
    fraction_of_inch(digits).ok_or_else(|| LengthError::Fraction { text: text.to_owned() })
}

/// `15/16`, `1-1/4` or `1 1/4`, a proper fraction of a rule's denominators.
fn fraction_of_inch(digits: &str) -> Option<Magnitude> {
    let (whole, fraction) = match digits.split_once(['-', ' ']) {
        Some((whole, fraction)) => (whole_number(whole)?, fraction.trim_start()),
        None => (0, digits),
    };
    let (numerator, denominator) = fraction.split_once('/')?;
    let (numerator, denominator) = (whole_number(numerator)?, whole_number(denominator)?);
    let known = matches!(denominator, 2 | 4 | 8 | 16 | 32 | 64);
    if !known || numerator == 0 || numerator >= denominator {
        return None;
    }
    let resolution_nm = Unit::Inch.nm() / i64::from(denominator);
    let counts = i128::from(whole) * i128::from(denominator) + i128::from(numerator);
    Some(Magnitude { nm: counts * i128::from(resolution_nm), resolution_nm })
}

fn whole_number(text: &str) -> Option<u32> {
    let digits_only = text.bytes().all(|byte| byte.is_ascii_digit());
    if digits_only { text.parse().ok() } else { None }
}

/// Splits the number from its unit; the default stands in for a unit that is not written.
fn split_unit(text: &str, default_unit: Option<Unit>) -> Result<(&str, Unit), LengthError> {
    let text = text.trim();
    check_length(text, TEXT_CHARACTERS_MAX)?;
    let number = text.trim_end_matches(is_unit_character);
    let suffix = &text[number.len()..];
    let number = number.trim_end();
    let text = || text.to_owned();
    if number.is_empty() {
        return Err(LengthError::NotANumber { text: text() });
    }
    if suffix.is_empty() {
        return default_unit
            .map(|unit| (number, unit))
            .ok_or_else(|| LengthError::NoUnit { text: text() });
    }
    let unit = Unit::from_suffix(suffix);
    let unit =
        unit.ok_or_else(|| LengthError::UnknownUnit { text: text(), suffix: suffix.to_owned() })?;
    if number.ends_with(is_unit_character) {
        return Err(LengthError::TwoUnits { text: text() });
    }
    Ok((number, unit))
}

fn is_unit_character(character: char) -> bool {
    character.is_alphabetic() || character == '"'
}
