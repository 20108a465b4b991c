//! One cell of a table: a path into a message, written for people.

use super::json::enum_word;
use super::reflect::{short_name, typed};
use crate::entry::{lengths, times};
use prost::Message;
use prost_reflect::{DynamicMessage, FieldDescriptor, ReflectMessage, Value as Seen};
use tenths_domain::units::{Length, Unit};
use tenths_proto::v1;

/// How values are written.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wording {
    /// The unit of lengths; without one as they were written.
    pub(crate) unit: Option<Unit>,
    /// RFC 3339 instead of the minute that a person wants to know.
    pub(crate) for_programs: bool,
}

/// What a column shows.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Cell {
    /// The field at a path such as `hold.until_time`; through a list, all of them.
    At(&'static str),
    /// Sentences at a path, all of them.
    Sentences(&'static str),
    /// A field with a usual text, given first, that goes without saying.
    Unless(&'static str, &'static str),
    /// Several with something between them: station and orientation are `A90`.
    Joined(&'static str, &'static [Cell]),
    /// A length that goes without saying where it is the same as another.
    Unlike(&'static str, &'static str),
    /// Two lengths as `LOWER..UPPER unit`.
    Range(&'static str, &'static str),
    /// The first of these that says something.
    First(&'static [Cell]),
    /// The first in an answer spoken of in millimetres, the second in one of inches: by the unit
    /// asked for, else by the answer's own field `unit`.
    System(&'static Cell, &'static Cell),
    /// A number to a fixed number of places, with its unit; zero says nothing.
    Number(&'static str, usize, &'static str),
    /// Two numbers as `LEAST..MOST unit`, both to the same places.
    Numbers(&'static str, &'static str, usize, &'static str),
    /// A code in plain words: `not_enough` is `not enough`.
    Words(&'static str),
    /// Something in brackets, if there is something.
    Bracketed(&'static Cell),
}

impl Cell {
    /// The cell's text in a message.
    pub(crate) fn text(&self, message: &DynamicMessage, wording: Wording) -> String {
        let at = |path| texts(message, path, wording).join(", ");
        match self {
            Cell::At(path) => at(path),
            Cell::Sentences(path) => texts(message, path, wording).join("; "),
            Cell::Unless(usual, path) => {
                let mut said = texts(message, path, wording);
                said.retain(|text| text != usual);
                said.join(", ")
            }
            Cell::Joined(between, cells) => {
                let mut texts: Vec<_> =
                    cells.iter().map(|cell| cell.text(message, wording)).collect();
                texts.retain(|text| !text.is_empty());
                texts.join(between)
            }
            Cell::Unlike(path, other) => {
                let is_same = length_at(message, path) == length_at(message, other);
                if is_same { String::new() } else { at(path) }
            }
            Cell::Range(lower, upper) => range_text(&at(lower), &at(upper)),
            Cell::First(cells) => {
                let mut texts = cells.iter().map(|cell| cell.text(message, wording));
                texts.find(|text| !text.is_empty()).unwrap_or_default()
            }
            Cell::System(metric, inch) => match is_inch(message, wording) {
                true => inch.text(message, wording),
                false => metric.text(message, wording),
            },
            Cell::Number(path, places, unit) => match number_at(message, path) {
                Some(number) if number != 0.0 => with_unit(format!("{number:.places$}"), unit),
                _ => String::new(),
            },
            Cell::Numbers(least, most, places, unit) => {
                match number_at(message, least).zip(number_at(message, most)) {
                    Some((least, most)) => {
                        with_unit(format!("{least:.places$}..{most:.places$}"), unit)
                    }
                    None => String::new(),
                }
            }
            Cell::Words(path) => at(path).replace('_', " "),
            Cell::Bracketed(cell) => match cell.text(message, wording) {
                text if text.is_empty() => text,
                text => format!("({text})"),
            },
        }
    }
}

fn with_unit(number: String, unit: &str) -> String {
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// Whether an answer is spoken of in inches.
fn is_inch(message: &DynamicMessage, wording: Wording) -> bool {
    match wording.unit {
        Some(unit) => matches!(unit, Unit::Inch | Unit::Thou),
        None => {
            let unit = message.get_field_by_name("unit");
            let inch = v1::LengthUnit::In as i32;
            unit.is_some_and(|unit| unit.as_enum_number() == Some(inch))
        }
    }
}

/// The number in a field of a message.
fn number_at(message: &DynamicMessage, field: &str) -> Option<f64> {
    let value = message.get_field_by_name(field)?;
    // Forces are whole newtons, far below 2^53.
    value.as_f64().or_else(|| value.as_i64().map(|whole| whole as f64))
}

/// `24.9840 mm` and `24.9930 mm` as `24.9840..24.9930 mm`, both to as many places as the one that has
/// more; one end alone as `at least 24.9840 mm`.
pub(crate) fn range_text(lower: &str, upper: &str) -> String {
    match (lower.is_empty(), upper.is_empty()) {
        (true, true) => return String::new(),
        (false, true) => return format!("at least {lower}"),
        (true, false) => return format!("at most {upper}"),
        (false, false) => {}
    }
    match (lower.rsplit_once(' '), upper.rsplit_once(' ')) {
        (Some((low, unit)), Some((high, same))) if unit == same => {
            let places = |number: &str| number.split_once('.').map_or(0, |(_, after)| after.len());
            let most = places(low).max(places(high));
            format!("{}..{} {unit}", to_places(low, most), to_places(high, most))
        }
        _ => format!("{lower}..{upper}"),
    }
}

/// A decimal number with zeros behind it, up to so many places.
fn to_places(number: &str, places: usize) -> String {
    match number.split_once('.') {
        Some((whole, after)) => format!("{whole}.{after:0<places$}"),
        None if places > 0 => format!("{number}.{:0<places$}", ""),
        None => number.to_owned(),
    }
}

/// The exact length in a field of a message, whatever it is written in.
fn length_at(message: &DynamicMessage, field: &str) -> Option<i64> {
    let value = message.get_field_by_name(field)?;
    typed::<v1::Length>(value.as_message()?).map(|length| length.nm)
}

/// The texts that a path leads to: none where a message on the way is absent.
fn texts(message: &DynamicMessage, path: &str, wording: Wording) -> Vec<String> {
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
            (Some(rest), Seen::Message(inner)) => texts(inner, rest, wording),
            _ => vec![value_text(value, &field, wording)],
        })
        .filter(|text| !text.is_empty())
        .collect()
}

/// One value for people: "unspecified" says nothing and is left empty.
pub(crate) fn value_text(value: &Seen, field: &FieldDescriptor, wording: Wording) -> String {
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
        Seen::Message(message) => message_text(message, wording).unwrap_or_default(),
        Seen::List(values) => {
            let texts = values.iter().map(|value| value_text(value, field, wording));
            texts.filter(|text| !text.is_empty()).collect::<Vec<_>>().join(", ")
        }
    }
}

/// A message that is one value to a person; nothing for a message that is a resource.
pub(crate) fn message_text(message: &DynamicMessage, wording: Wording) -> Option<String> {
    fn with<M: Message + Default>(
        message: &DynamicMessage,
        write: impl Fn(M) -> String,
    ) -> Option<String> {
        typed::<M>(message).map(write)
    }
    match short_name(message).as_str() {
        "Length" => with(message, |length: v1::Length| length_text(&length, wording.unit)),
        "SizeRange" => with(message, |range: v1::SizeRange| {
            let end = |end: Option<v1::Length>| {
                end.map(|length| length_text(&length, wording.unit)).unwrap_or_default()
            };
            range_text(&end(range.lower), &end(range.upper))
        }),
        "Money" => with(message, |money: v1::Money| format!("{} {}", money.amount, money.currency)),
        "KeyValue" => with(message, |pair: v1::KeyValue| format!("{}={}", pair.key, pair.value)),
        "Verdict" => with(message, |verdict: v1::Verdict| verdict.text),
        "Timestamp" => with(message, |time: prost_types::Timestamp| {
            if wording.for_programs { times::whole(&time) } else { times::shown(&time) }
        }),
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

    fn text(cell: Cell, message: &DynamicMessage) -> String {
        cell.text(message, Wording::default())
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
        assert_eq!(text(Cell::At("stock.location_code"), &lot), "A-1, B-2");
        assert_eq!(text(Cell::At("on_hand"), &lot), "0", "zero is a count, not a blank");
        assert_eq!(text(Cell::At("unit_cost"), &lot), "4.10 USD");
        assert_eq!(text(Cell::First(&[Cell::At("date_code"), Cell::At("tag")]), &lot), "L-22");
        let reading = v1::Reading { gauge_out_of_calibration: true, ..Default::default() };
        let overdue = Cell::Unless("no", "gauge_out_of_calibration");
        assert_eq!(text(overdue, &seen("Reading", &reading)), "yes");
        assert_eq!(text(overdue, &seen("Reading", &v1::Reading::default())), "");
        let free = seen("Piece", &v1::Piece::default());
        assert_eq!(text(Cell::At("hold.until_time"), &free), "");
    }

    #[test]
    fn what_is_the_rule_goes_without_saying() {
        let inch = |value: &str, nm| Some(length(value, v1::LengthUnit::In, nm));
        let warm = v1::Reading {
            station: "A".into(),
            orientation_deg: 90,
            value: inch("0.78760", 20_005_040),
            value_at_20c: inch("0.78757", 20_004_278),
            round: 1,
            ..Default::default()
        };
        let cool = v1::Reading {
            value_at_20c: inch("0.7876", 20_005_040),
            orientation_deg: 0,
            round: 0,
            ..warm.clone()
        };
        let at_20c = Cell::Unlike("value_at_20c", "value");
        for (reading, at, said, round) in [(warm, "A90", "0.78757 in", "1"), (cool, "A0", "", "")] {
            let reading = seen("Reading", &reading);
            assert_eq!(
                text(
                    Cell::Joined("", &[Cell::At("station"), Cell::At("orientation_deg")]),
                    &reading
                ),
                at
            );
            assert_eq!(text(at_20c, &reading), said);
            assert_eq!(text(Cell::Unless("0", "round"), &reading), round);
        }
    }

    #[test]
    fn times_are_minutes_for_people_and_rfc_3339_for_programs() {
        let due_time = Some(prost_types::Timestamp { seconds: 1_795_910_399, nanos: 0 });
        let job = seen("Job", &v1::Job { due_time, ..Default::default() });
        for (for_programs, expected) in
            [(false, "2026-11-28 23:59"), (true, "2026-11-28T23:59:59Z")]
        {
            let wording = Wording { for_programs, ..Default::default() };
            assert_eq!(Cell::At("due_time").text(&job, wording), expected);
        }
    }

    #[test]
    fn an_inch_answer_has_inch_units_first_and_the_unit_asked_for_governs() {
        let answer = |unit: v1::LengthUnit| v1::GetShaftStrengthResponse {
            torque_nm: 8.3,
            torque_lb_in: 73.07,
            unit: unit.into(),
            ..Default::default()
        };
        const NM: Cell = Cell::Number("torque_nm", 2, "N m");
        const BOTH: Cell =
            Cell::Joined(" ", &[Cell::Number("torque_lb_in", 1, "lb in"), Cell::Bracketed(&NM)]);
        let cell = Cell::System(&NM, &BOTH);
        let (inch, mm) = ("73.1 lb in (8.30 N m)", "8.30 N m");
        for (unit, asked, expected) in [
            (v1::LengthUnit::In, None, inch),
            (v1::LengthUnit::Mm, None, mm),
            (v1::LengthUnit::In, Some(Unit::Millimetre), mm),
            (v1::LengthUnit::Mm, Some(Unit::Inch), inch),
        ] {
            let seen = seen("GetShaftStrengthResponse", &answer(unit));
            let wording = Wording { unit: asked, ..Default::default() };
            assert_eq!(cell.text(&seen, wording), expected);
        }
        let none = Cell::Number("shear_stress_mpa", 1, "MPa");
        assert_eq!(text(none, &seen("GetShaftStrengthResponse", &answer(v1::LengthUnit::In))), "");
    }

    #[test]
    fn a_range_names_its_unit_once() {
        let limits = v1::SizeLimits {
            lower: Some(length("24.984", v1::LengthUnit::Mm, 24_984_000)),
            upper: Some(length("24.993", v1::LengthUnit::Mm, 24_993_000)),
        };
        let limits = seen("SizeLimits", &limits);
        let cell = Cell::Range("lower", "upper");
        assert_eq!(text(cell, &limits), "24.984..24.993 mm");
        assert_eq!(text(cell, &seen("SizeLimits", &v1::SizeLimits::default())), "");
        assert_eq!(range_text("0.98 in", "25 mm"), "0.98 in..25 mm");
        assert_eq!(range_text("0.00051 in", "0.0011 in"), "0.00051..0.00110 in");
        assert_eq!(range_text("0 mm", "10.5 mm"), "0.0..10.5 mm");
    }
}
