//! One cell of a table: a path into a message, written for people.

use super::json::enum_word;
use super::reflect::{short_name, typed};
use crate::entry::{lengths, times};
use prost::Message;
use prost_reflect::{DynamicMessage, FieldDescriptor, ReflectMessage, Value as Seen};
use tenths_domain::units::{Length, Unit};
use tenths_proto::v1;

/// What a column shows.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Cell {
    /// The field at a path such as `hold.until_time`; through a list, all of them.
    At(&'static str),
    /// A yes or no whose "no" is the rule, and so goes without saying.
    Flag(&'static str),
    /// Two lengths as `LOWER..UPPER unit`.
    Range(&'static str, &'static str),
    /// The first of these that says something.
    First(&'static [Cell]),
}

impl Cell {
    /// The cell's text in a message; lengths in `unit`, or as they were written.
    pub(crate) fn text(&self, message: &DynamicMessage, unit: Option<Unit>) -> String {
        match self {
            Cell::At(path) => texts(message, path, unit).join(", "),
            Cell::Flag(path) => {
                let mut said = texts(message, path, unit);
                said.retain(|text| text != "no");
                said.join(", ")
            }
            Cell::Range(lower, upper) => {
                let ends = [lower, upper].map(|path| texts(message, path, unit).join(", "));
                range_text(&ends[0], &ends[1])
            }
            Cell::First(cells) => {
                let mut texts = cells.iter().map(|cell| cell.text(message, unit));
                texts.find(|text| !text.is_empty()).unwrap_or_default()
            }
        }
    }
}

/// `24.9840 mm` and `24.9930 mm` as `24.9840..24.9930 mm`.
pub(crate) fn range_text(lower: &str, upper: &str) -> String {
    if lower.is_empty() && upper.is_empty() {
        return String::new();
    }
    match (lower.rsplit_once(' '), upper.rsplit_once(' ')) {
        (Some((number, unit)), Some((_, same))) if unit == same => format!("{number}..{upper}"),
        _ => format!("{lower}..{upper}"),
    }
}

/// The texts that a path leads to: none where a message on the way is absent.
fn texts(message: &DynamicMessage, path: &str, unit: Option<Unit>) -> Vec<String> {
    let (name, rest) = path.split_once('.').map_or((path, None), |(name, rest)| (name, Some(rest)));
    let Some(field) = message.descriptor().get_field_by_name(name) else { return Vec::new() };
    // Zero is a value, but an absent message and the unset member of a oneof are not.
    if field.supports_presence() && !message.has_field(&field) {
        return Vec::new();
    }
    let value = message.get_field(&field);
    let values = match &*value {
        Seen::List(values) => values.as_slice(),
        single => std::slice::from_ref(single),
    };
    values
        .iter()
        .flat_map(|value| match (rest, value) {
            (Some(rest), Seen::Message(inner)) => texts(inner, rest, unit),
            _ => vec![value_text(value, &field, unit)],
        })
        .filter(|text| !text.is_empty())
        .collect()
}

/// One value for people: "unspecified" says nothing and is left empty.
pub(crate) fn value_text(value: &Seen, field: &FieldDescriptor, unit: Option<Unit>) -> String {
    match value {
        Seen::Bool(true) => "yes".to_owned(),
        Seen::Bool(false) => "no".to_owned(),
        Seen::EnumNumber(0) | Seen::Map(_) => String::new(),
        Seen::I32(value) => value.to_string(),
        Seen::I64(value) => value.to_string(),
        Seen::U32(value) => value.to_string(),
        Seen::U64(value) => value.to_string(),
        Seen::F32(value) => value.to_string(),
        Seen::F64(value) => value.to_string(),
        Seen::String(value) => value.clone(),
        Seen::Bytes(value) => String::from_utf8_lossy(value).into_owned(),
        Seen::EnumNumber(number) => enum_word(*number, field),
        Seen::Message(message) => message_text(message, unit).unwrap_or_default(),
        Seen::List(values) => {
            let texts = values.iter().map(|value| value_text(value, field, unit));
            texts.filter(|text| !text.is_empty()).collect::<Vec<_>>().join(", ")
        }
    }
}

/// A message that is one value to a person; nothing for a message that is a resource.
pub(crate) fn message_text(message: &DynamicMessage, unit: Option<Unit>) -> Option<String> {
    fn with<M: Message + Default>(
        message: &DynamicMessage,
        write: impl Fn(M) -> String,
    ) -> Option<String> {
        typed::<M>(message).map(write)
    }
    match short_name(message).as_str() {
        "Length" => with(message, |length: v1::Length| length_text(&length, unit)),
        "Money" => with(message, |money: v1::Money| format!("{} {}", money.amount, money.currency)),
        "KeyValue" => with(message, |pair: v1::KeyValue| format!("{}={}", pair.key, pair.value)),
        "Verdict" => with(message, |verdict: v1::Verdict| verdict.text),
        "Timestamp" => with(message, |time: prost_types::Timestamp| times::shown(&time)),
        "Temperature" => with(message, |temperature: v1::Temperature| {
            let scale = if temperature.unit() == v1::TemperatureUnit::F { "F" } else { "C" };
            format!("{} {scale}", temperature.value)
        }),
        _ => None,
    }
}

/// A length in `unit`, rounded once; without a unit as it was written, else in mm.
pub(crate) fn length_text(length: &v1::Length, unit: Option<Unit>) -> String {
    match (unit, lengths::unit_of(length)) {
        (None, Some(written)) if !length.value.is_empty() => format!("{} {written}", length.value),
        // The same unit: as written shows what it was read to.
        (Some(unit), Some(written)) if unit == written && !length.value.is_empty() => {
            format!("{} {written}", length.value)
        }
        (unit, _) => Length::from_nm(length.nm).display_in(unit.unwrap_or(Unit::Millimetre)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::reflect::descriptor;

    fn length(value: &str, unit: v1::LengthUnit, nm: i64) -> v1::Length {
        v1::Length { value: value.into(), unit: unit.into(), nm }
    }

    fn seen(name: &str, message: &impl Message) -> DynamicMessage {
        let bytes = message.encode_to_vec();
        DynamicMessage::decode(descriptor(name).unwrap(), bytes.as_slice()).unwrap()
    }

    #[test]
    fn lengths_are_shown_as_written_or_rounded_once() {
        let seat = length("0.98430", v1::LengthUnit::In, 25_001_220);
        let computed = length("", v1::LengthUnit::Unspecified, 25_001_220);
        for (length, unit, expected) in [
            (&seat, None, "0.98430 in"),
            (&seat, Some(Unit::Inch), "0.98430 in"),
            (&seat, Some(Unit::Millimetre), "25.0012 mm"),
            (&computed, None, "25.0012 mm"),
            (&computed, Some(Unit::Inch), "0.9843 in"),
        ] {
            assert_eq!(length_text(length, unit), expected);
        }
    }

    #[test]
    fn a_path_goes_through_lists_and_stops_at_absent_messages() {
        let stock = |location: &str, on_hand| v1::LotStock {
            location_code: location.into(),
            on_hand,
            held: 0,
        };
        let lot = v1::Lot {
            tag: "L-22".into(),
            stock: vec![stock("A-1", 3), stock("B-2", 4)],
            unit_cost: Some(v1::Money { amount: "4.10".into(), currency: "USD".into() }),
            ..Default::default()
        };
        let lot = seen("Lot", &lot);
        assert_eq!(Cell::At("stock.location_code").text(&lot, None), "A-1, B-2");
        assert_eq!(Cell::At("on_hand").text(&lot, None), "0", "zero is a count, not a blank");
        assert_eq!(Cell::At("unit_cost").text(&lot, None), "4.10 USD");
        assert_eq!(Cell::First(&[Cell::At("date_code"), Cell::At("tag")]).text(&lot, None), "L-22");
        let reading = v1::Reading { gauge_out_of_calibration: true, ..Default::default() };
        let overdue = Cell::Flag("gauge_out_of_calibration");
        assert_eq!(overdue.text(&seen("Reading", &reading), None), "yes");
        assert_eq!(overdue.text(&seen("Reading", &v1::Reading::default()), None), "");
        let free = seen("Piece", &v1::Piece::default());
        assert_eq!(Cell::At("hold.until_time").text(&free, None), "");
    }

    #[test]
    fn a_range_names_its_unit_once() {
        let limits = v1::SizeLimits {
            lower: Some(length("24.984", v1::LengthUnit::Mm, 24_984_000)),
            upper: Some(length("24.993", v1::LengthUnit::Mm, 24_993_000)),
        };
        let limits = seen("SizeLimits", &limits);
        let cell = Cell::Range("lower", "upper");
        assert_eq!(cell.text(&limits, None), "24.984..24.993 mm");
        assert_eq!(cell.text(&seen("SizeLimits", &v1::SizeLimits::default()), None), "");
        assert_eq!(range_text("0.98 in", "25 mm"), "0.98 in..25 mm");
    }
}
