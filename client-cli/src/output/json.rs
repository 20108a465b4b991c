//! A message as JSON: the contract's field names, enumerations by their short lower-case name,
//! times in RFC 3339, lengths as `{"value", "unit", "nm"}`.
//!
//! Keys are stable: plain fields and lists are always there, absent messages are null, and of a
//! oneof only the member that is set appears.

use super::reflect::typed;
use crate::entry::times;
use crate::words::word;
use prost_reflect::{
    DynamicMessage, EnumDescriptor, FieldDescriptor, Kind, ReflectMessage, Value as Seen,
};
use serde_json::{Map, Value};

/// The message with all its fields.
pub(crate) fn message(seen: &DynamicMessage) -> Value {
    if seen.descriptor().full_name() == "google.protobuf.Timestamp" {
        let time = typed::<prost_types::Timestamp>(seen);
        return time.and_then(|time| times::exact(&time)).map_or(Value::Null, Value::String);
    }
    let mut fields = Map::new();
    for field in seen.descriptor().fields() {
        let in_oneof = field.containing_oneof().is_some();
        let is_absent = !seen.has_field(&field);
        if in_oneof && is_absent {
            continue;
        }
        let is_message = matches!(field.kind(), Kind::Message(_)) && !field.is_list();
        let value = if is_message && is_absent {
            Value::Null
        } else {
            field_value(&seen.get_field(&field), &field)
        };
        fields.insert(field.name().to_owned(), value);
    }
    Value::Object(fields)
}

fn field_value(value: &Seen, field: &FieldDescriptor) -> Value {
    match value {
        Seen::Bool(value) => (*value).into(),
        Seen::I32(value) => (*value).into(),
        Seen::I64(value) => (*value).into(),
        Seen::U32(value) => (*value).into(),
        Seen::U64(value) => (*value).into(),
        Seen::F32(value) => (*value).into(),
        Seen::F64(value) => (*value).into(),
        Seen::String(value) => value.as_str().into(),
        Seen::Bytes(value) => String::from_utf8_lossy(value).into(),
        Seen::EnumNumber(number) => enum_word(*number, field).into(),
        Seen::Message(value) => message(value),
        Seen::List(values) => values.iter().map(|value| field_value(value, field)).collect(),
        // The contract has no map fields; one would show up as null in the tests of every key.
        Seen::Map(_) => Value::Null,
    }
}

/// The short word of an enumeration's member; its number if this program is older than it.
pub(crate) fn enum_word(number: i32, field: &FieldDescriptor) -> String {
    let Kind::Enum(kind) = field.kind() else { return number.to_string() };
    match kind.get_value(number) {
        Some(member) => word(member.name(), &enum_prefix(&kind)),
        None => number.to_string(),
    }
}

/// Every member of an enumeration by its short word, the zero member left out.
pub(crate) fn enum_words(kind: &EnumDescriptor) -> Vec<(String, i32)> {
    let prefix = enum_prefix(kind);
    let members = kind.values().filter(|member| member.number() != 0);
    members.map(|member| (word(member.name(), &prefix), member.number())).collect()
}

/// `ITEM_KIND_`: the zero member's name without its last word.
fn enum_prefix(kind: &EnumDescriptor) -> String {
    kind.default_value().name().trim_end_matches("UNSPECIFIED").to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::reflect::seen;
    use serde_json::json;
    use tenths_proto::v1;

    #[test]
    fn a_feature_keeps_every_key_and_one_tolerance() {
        let feature = v1::Feature {
            name: "seat-a".into(),
            kind: v1::FeatureKind::RollingSeat.into(),
            nominal: Some(v1::Length {
                value: "25".into(),
                unit: v1::LengthUnit::Mm.into(),
                nm: 25_000_000,
            }),
            tolerance: Some(v1::feature::Tolerance::ToleranceClass("k5".into())),
            ..Default::default()
        };
        let item = v1::Item {
            code: "SHAFT-40".into(),
            features: vec![feature],
            create_time: Some(prost_types::Timestamp { seconds: 0, nanos: 500_000_000 }),
            ..Default::default()
        };
        let answer = seen(&v1::GetItemResponse { item: Some(item) }).unwrap();
        assert_eq!(
            message(&answer),
            json!({"item": {
                "code": "SHAFT-40", "kind": "unspecified", "description": "", "designation": "",
                "material": "unspecified", "set_of": 0, "no_substitute": false, "etag": "", "create_time": "1970-01-01T00:00:00.5Z",
                "features": [{
                    "name": "seat-a", "kind": "rolling_seat", "tolerance_class": "k5",
                    "nominal": {"value": "25", "unit": "mm", "nm": 25_000_000},
                    "wear_limit": null, "recondition_limit": null, "out_of_round_limit": null,
                    "taper_limit": null, "reference_station": "", "limit_source": ""
                }]
            }})
        );
    }
}
