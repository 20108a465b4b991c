//! From a message to the text of a TOML file, fields in the order of the contract.

use super::is_flat;
use crate::output::enum_word;
use crate::output::reflect::typed;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, ReflectMessage, Value};
use tenths_proto::v1;

/// The message as TOML.
pub(crate) fn write(message: &DynamicMessage) -> String {
    let mut text = String::new();
    section(message, "", &mut text);
    text
}

/// What stands in lines of its own comes before what has a section: TOML asks for that.
fn section(message: &DynamicMessage, path: &str, text: &mut String) {
    let set: Vec<FieldDescriptor> =
        message.descriptor().fields().filter(|field| message.has_field(field)).collect();
    for field in set.iter().filter(|field| stands_in_a_line(field)) {
        let value = inline(&message.get_field(field), field);
        text.push_str(&format!("{} = {value}\n", field.name()));
    }
    for field in set.iter().filter(|field| !stands_in_a_line(field)) {
        let value = message.get_field(field);
        let (parts, open, close) = match &*value {
            Value::List(values) => (values.as_slice(), "[[", "]]"),
            single => (std::slice::from_ref(single), "[", "]"),
        };
        for part in parts.iter().filter_map(Value::as_message) {
            let name = format!("{path}{}", field.name());
            text.push_str(&format!("\n{open}{name}{close}\n"));
            section(part, &format!("{name}."), text);
        }
    }
}

fn stands_in_a_line(field: &FieldDescriptor) -> bool {
    match field.kind() {
        Kind::Message(inner) if matches!(inner.name(), "Length" | "Money") => true,
        Kind::Message(inner) => !field.is_list() && is_flat(&inner),
        _ => true,
    }
}

fn inline(value: &Value, field: &FieldDescriptor) -> String {
    match value {
        Value::Bool(value) => value.to_string(),
        Value::I32(value) => value.to_string(),
        Value::I64(value) => value.to_string(),
        Value::EnumNumber(number) => quoted(&enum_word(*number, field)),
        Value::String(text) => quoted(text),
        Value::List(values) => {
            let values: Vec<String> = values.iter().map(|value| inline(value, field)).collect();
            format!("[{}]", values.join(", "))
        }
        Value::Message(message) => line(message),
        // The contract's documents have no bytes, floats or maps.
        _ => quoted(""),
    }
}

fn line(message: &DynamicMessage) -> String {
    if let Some(length) = typed::<v1::Length>(message).filter(|_| is_named(message, "Length")) {
        let unit = length.unit().as_str_name().trim_start_matches("LENGTH_UNIT_").to_lowercase();
        return quoted(&format!("{} {unit}", length.value));
    }
    if let Some(money) = typed::<v1::Money>(message).filter(|_| is_named(message, "Money")) {
        return quoted(&format!("{} {}", money.amount, money.currency));
    }
    let known = message.descriptor();
    let set = known.fields().filter(|field| message.has_field(field));
    let pairs = set.map(|field| {
        let value = inline(&message.get_field(&field), &field);
        format!("{} = {value}", field.name())
    });
    format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", "))
}

fn is_named(message: &DynamicMessage, name: &str) -> bool {
    message.descriptor().name() == name
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}
