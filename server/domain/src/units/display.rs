//! Writing lengths: rounded once, at the end, half to even, to a stated number of places.

use super::rounding::{divide_half_even, divide_half_even_small};
use super::{Entry, Length, Unit};
use std::fmt;

/// More places than this say nothing: a nanometre is 0.00000004 in.
const PLACES_MAX: u32 = 9;

impl Length {
    /// The number alone, in `unit`, to `places` decimal places (at most 9).
    ///
    /// ```
    /// use tenths_domain::units::{Length, Unit};
    /// let inch = Length::from_nm(25_400_000);
    /// assert_eq!(inch.number(Unit::Inch, 4), "1.0000");
    /// assert_eq!(inch.number(Unit::Millimetre, 1), "25.4");
    /// // Half to even: 0.5 um and 1.5 um.
    /// assert_eq!(Length::from_nm(500).number(Unit::Micrometre, 0), "0");
    /// assert_eq!(Length::from_nm(1_500).number(Unit::Micrometre, 0), "2");
    /// ```
    pub fn number(self, unit: Unit, places: u32) -> String {
        let places = places.min(PLACES_MAX);
        decimal(self.rounded(unit, places), places)
    }

    /// How many of the last places it is, rounded once, half to even.
    fn rounded(self, unit: Unit, places: u32) -> i128 {
        let power = 10_i64.pow(places);
        match self.nm().checked_mul(power) {
            // Answers show hundreds of lengths, nearly all of which fit: this is ten times as fast.
            Some(scaled) => i128::from(divide_half_even_small(scaled, unit.nm())),
            None => {
                divide_half_even(i128::from(self.nm()) * i128::from(power), i128::from(unit.nm()))
            }
        }
    }

    /// The number and its unit, to `places` decimal places (at most 9).
    ///
    /// ```
    /// use tenths_domain::units::{Length, Unit};
    /// assert_eq!(Length::from_nm(25_400_000).display(Unit::Inch, 4), "1.0000 in");
    /// ```
    pub fn display(self, unit: Unit, places: u32) -> String {
        format!("{} {unit}", self.number(unit, places))
    }

    /// The number and its unit to [`Length::places_in`] places.
    ///
    /// ```
    /// use tenths_domain::units::{Length, Unit};
    /// assert_eq!(Length::from_nm(76_200).display_in(Unit::Inch), "0.0030 in");
    /// assert_eq!(Length::from_nm(25_000_000).display_in(Unit::Inch), "0.98425 in");
    /// assert_eq!(Length::from_nm(25_000_000).display_in(Unit::Millimetre), "25.0000 mm");
    /// ```
    pub fn display_in(self, unit: Unit) -> String {
        self.display(unit, self.places_in(unit))
    }

    /// The usual number of places: 4 for mm, 1 for um; 4 for inch and 1 for thou (a tenth), one
    /// more of these where the length is not whole tenths. Common practice, no published source.
    pub fn places_in(self, unit: Unit) -> u32 {
        let (usual, finer) = match unit {
            Unit::Millimetre => return 4,
            Unit::Micrometre => return 1,
            Unit::Inch => (4, 5),
            Unit::Thou => (1, 2),
        };
        if self.rounded(unit, finer) % 10 == 0 { usual } else { finer }
    }
}

/// A whole number of last places as a decimal with all of them: at most 9. Written without a
/// formatter, since an answer has hundreds of them.
pub(crate) fn decimal(number: i128, places: u32) -> String {
    let mut digits = Digits::default();
    let mut rest = number.unsigned_abs();
    for _ in 0..places {
        rest = digits.push_last_of(rest);
    }
    if places > 0 {
        digits.push(b'.');
    }
    rest = digits.push_last_of(rest);
    while rest > 0 {
        rest = digits.push_last_of(rest);
    }
    if number < 0 {
        digits.push(b'-');
    }
    digits.text()
}

/// A number written from its end.
struct Digits {
    bytes: [u8; Digits::MOST],
    from: usize,
}

impl Digits {
    /// The digits of the largest length in micrometres with 9 places are 25; a point, a sign.
    const MOST: usize = 48;

    fn push(&mut self, byte: u8) {
        self.from -= 1;
        self.bytes[self.from] = byte;
    }

    /// Writes the last digit; answers with the others.
    fn push_last_of(&mut self, number: u128) -> u128 {
        // Numbers of 128 bits are divided slowly, and hardly any needs them.
        let (digit, rest) = match u64::try_from(number) {
            Ok(small) => (small % 10, u128::from(small / 10)),
            Err(_) => ((number % 10) as u64, number / 10),
        };
        self.push(b'0' + digit as u8);
        rest
    }

    fn text(&self) -> String {
        let text = std::str::from_utf8(&self.bytes[self.from..]);
        text.expect("digits, a point and a sign are ASCII").to_owned()
    }
}

impl Default for Digits {
    fn default() -> Self {
        Digits { bytes: [b'0'; Digits::MOST], from: Digits::MOST }
    }
}

impl fmt::Display for Entry {
    /// The entry as the person wrote it, with its unit.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.text, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(nm: i64, unit: Unit, places: u32, expected: &str) {
        assert_eq!(Length::from_nm(nm).number(unit, places), expected);
    }

    #[test]
    fn rounds_once_half_to_even() {
        check(1_270, Unit::Inch, 4, "0.0000");
        check(3_810, Unit::Inch, 4, "0.0002");
        check(-3_810, Unit::Inch, 4, "-0.0002");
        check(1_271, Unit::Inch, 4, "0.0001");
        // 0.00049 in: rounding to five places first and to three after would give 0.001.
        check(12_446, Unit::Inch, 3, "0.000");
    }

    #[test]
    fn nothing_is_never_written_as_minus_nothing() {
        check(-1, Unit::Millimetre, 4, "0.0000");
        check(-100, Unit::Millimetre, 4, "-0.0001");
    }

    #[test]
    fn usual_places_show_a_half_tenth_only_where_there_is_one() {
        for (nm, unit, expected) in [
            (25_400, Unit::Inch, "0.0010 in"),
            (1_270, Unit::Inch, "0.00005 in"),
            (1_270, Unit::Thou, "0.05 thou"),
            (2_540, Unit::Thou, "0.1 thou"),
            (1_270, Unit::Micrometre, "1.3 um"),
            (1_270, Unit::Millimetre, "0.0013 mm"),
        ] {
            assert_eq!(Length::from_nm(nm).display_in(unit), expected);
        }
    }

    /// Goal: the quick way writes what plain arithmetic of 128 bits writes. Method: lengths at and
    /// about every power of ten and the ends of the type, in every unit, to every number of places.
    #[test]
    fn every_length_is_written_as_by_plain_arithmetic() {
        let powers = (0..19).map(|power| 10_i64.pow(power));
        let about = powers.flat_map(|nm| [nm - 1, nm, nm + 1, nm + 1_270, nm / 2 * 3]);
        let lengths = about.flat_map(|nm| [nm, -nm]).chain([i64::MAX, i64::MIN]);
        for nm in lengths {
            for unit in [Unit::Millimetre, Unit::Micrometre, Unit::Inch, Unit::Thou] {
                for places in 0..=PLACES_MAX {
                    check(nm, unit, places, &plain(nm, unit, places));
                }
            }
        }
    }

    fn plain(nm: i64, unit: Unit, places: u32) -> String {
        let power = 10_i128.pow(places);
        let rounded = divide_half_even(i128::from(nm) * power, i128::from(unit.nm()));
        let sign = if rounded < 0 { "-" } else { "" };
        let (whole, rest) = (rounded.abs() / power, rounded.abs() % power);
        match places {
            0 => format!("{sign}{whole}"),
            places => format!("{sign}{whole}.{rest:0width$}", width = places as usize),
        }
    }
}
