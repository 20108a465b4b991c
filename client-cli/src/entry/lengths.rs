//! Lengths and temperatures as typed: the number goes to the server as written, with its unit.

use crate::failure::Failure;
use tenths_domain::units::{Entry, LengthError, Unit};
use tenths_proto::v1;

/// A size such as `0.9845in` or `15/16 in`; `flag` names it in the refusal.
pub(crate) fn size(flag: &str, text: &str, default: Option<Unit>) -> Result<v1::Length, Failure> {
    wire(flag, Entry::parse_with_suffix(text, default))
}

/// A difference that may be zero or negative, such as `-0.02mm`.
pub(crate) fn signed(flag: &str, text: &str, default: Option<Unit>) -> Result<v1::Length, Failure> {
    wire(flag, Entry::parse_signed_with_suffix(text, default))
}

/// Two differences as `LOWER..UPPER`; a unit after the second one counts for both.
pub(crate) fn range(
    flag: &str,
    text: &str,
    default: Option<Unit>,
) -> Result<(v1::Length, v1::Length), Failure> {
    let Some((lower, upper)) = text.split_once("..") else {
        let message = format!("{flag}: {text:?} is not a range; write LOWER..UPPER with a unit");
        return Err(Failure::Usage(message));
    };
    let upper = signed(flag, upper, default)?;
    let unit_of_upper = unit_of(&upper).or(default);
    Ok((signed(flag, lower, unit_of_upper)?, upper))
}

/// A temperature such as `24C` or `75 F`.
pub(crate) fn temperature(text: &str) -> Result<v1::Temperature, String> {
    let (number, unit) = if let Some(number) = text.strip_suffix(['C', 'c']) {
        (number, v1::TemperatureUnit::C)
    } else if let Some(number) = text.strip_suffix(['F', 'f']) {
        (number, v1::TemperatureUnit::F)
    } else {
        return Err("write a number and its scale, such as 24C or 75F".to_owned());
    };
    let value = number.trim_end_matches(['\u{b0}', ' ']).trim_start().to_owned();
    Ok(v1::Temperature { value, unit: unit.into() })
}

/// The wire's name of a unit.
pub(crate) fn wire_unit(unit: Unit) -> v1::LengthUnit {
    match unit {
        Unit::Millimetre => v1::LengthUnit::Mm,
        Unit::Inch => v1::LengthUnit::In,
        Unit::Micrometre => v1::LengthUnit::Um,
        Unit::Thou => v1::LengthUnit::Thou,
    }
}

/// The unit that a length on the wire was written in, if it says one.
pub(crate) fn unit_of(length: &v1::Length) -> Option<Unit> {
    match length.unit() {
        v1::LengthUnit::Unspecified => None,
        v1::LengthUnit::Mm => Some(Unit::Millimetre),
        v1::LengthUnit::In => Some(Unit::Inch),
        v1::LengthUnit::Um => Some(Unit::Micrometre),
        v1::LengthUnit::Thou => Some(Unit::Thou),
    }
}

fn wire(flag: &str, entry: Result<Entry, LengthError>) -> Result<v1::Length, Failure> {
    match entry {
        Ok(entry) => {
            Ok(v1::Length { value: entry.text, unit: wire_unit(entry.unit).into(), nm: 0 })
        }
        Err(error @ LengthError::NoUnit { .. }) => Err(Failure::Usage(format!(
            "{flag}: {error}, or set a default with --unit or TENTHS_UNIT"
        ))),
        Err(error) => Err(Failure::Usage(format!("{flag}: {error}"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(value: &str, unit: v1::LengthUnit) -> v1::Length {
        v1::Length { value: value.into(), unit: unit.into(), nm: 0 }
    }

    #[test]
    fn a_size_goes_out_as_it_was_typed() {
        for (text, value, unit) in [
            ("0.9350in", "0.9350", v1::LengthUnit::In),
            ("15/16 in", "15/16", v1::LengthUnit::In),
            ("1-1/4\"", "1-1/4", v1::LengthUnit::In),
            ("25.4 mm", "25.4", v1::LengthUnit::Mm),
            ("9um", "9", v1::LengthUnit::Um),
            ("0.5thou", "0.5", v1::LengthUnit::Thou),
            ("25.40", "25.40", v1::LengthUnit::Mm),
        ] {
            let sent = size("--x", text, Some(Unit::Millimetre)).unwrap();
            assert_eq!(sent, length(value, unit), "{text}");
        }
    }

    #[test]
    fn a_size_without_a_unit_is_refused_with_the_way_out() {
        let Err(Failure::Usage(message)) = size("--nominal", "25.4", None) else { panic!() };
        assert!(message.starts_with("--nominal: \"25.4\" has no unit"), "{message}");
        assert!(message.contains("--unit"), "{message}");
        assert!(size("--nominal", "-1mm", None).is_err());
    }

    #[test]
    fn a_range_takes_the_unit_of_its_end() {
        let (lower, upper) = range("--clearance", "-0.02..0.0mm", Some(Unit::Inch)).unwrap();
        assert_eq!(lower, length("-0.02", v1::LengthUnit::Mm));
        assert_eq!(upper, length("0.0", v1::LengthUnit::Mm));
        let (lower, _) = range("--clearance", "-20um..0.01mm", None).unwrap();
        assert_eq!(lower, length("-20", v1::LengthUnit::Um));
        assert!(range("--clearance", "0.02mm", None).is_err());
    }

    #[test]
    fn temperatures_need_their_scale() {
        let (c, f) = (temperature("24.5\u{b0}C").unwrap(), temperature("75 F").unwrap());
        assert_eq!((c.value.as_str(), c.unit()), ("24.5", v1::TemperatureUnit::C));
        assert_eq!((f.value.as_str(), f.unit()), ("75", v1::TemperatureUnit::F));
        assert!(temperature("24").is_err());
    }
}
