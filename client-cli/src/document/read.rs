//! From the text of a TOML file to a message.

use crate::entry::{lengths, lists};
use crate::failure::Failure;
use crate::output::enum_words;
use crate::output::reflect::{Shown, descriptor, typed};
use anyhow::anyhow;
use prost::Message;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, Value};
use toml::Value as Toml;

/// The message that the text of a file is; `file` names it in a refusal.
pub(crate) fn read<M: Shown + Default>(file: &str, text: &str) -> Result<M, Failure> {
    let refused = |problem: String| Failure::File(format!("{file}: {problem}"));
    let table: toml::Table =
        text.parse().map_err(|error: toml::de::Error| refused(error.to_string()))?;
    let known = descriptor(M::NAME).ok_or_else(|| anyhow!("{} is not in the contract", M::NAME))?;
    let message = message(&known, &table, "").map_err(refused)?;
    Ok(typed(&message).ok_or_else(|| anyhow!("{} cannot be made from {file}", M::NAME))?)
}

fn message(
    known: &MessageDescriptor,
    table: &toml::Table,
    path: &str,
) -> Result<DynamicMessage, String> {
    let mut message = DynamicMessage::new(known.clone());
    for (key, value) in table {
        let Some(field) = known.get_field_by_name(key) else {
            let allowed: Vec<String> =
                known.fields().map(|field| field.name().to_owned()).collect();
            return Err(format!("{path}{key} is not known; allowed: {}", allowed.join(", ")));
        };
        message.set_field(&field, whole(&field, value, &format!("{path}{key}"))?);
    }
    Ok(message)
}

fn whole(field: &FieldDescriptor, value: &Toml, path: &str) -> Result<Value, String> {
    if !field.is_list() {
        return one(field, value, path);
    }
    let Toml::Array(values) = value else { return Err(format!("{path}: a list is required")) };
    let values = values.iter().enumerate();
    let read = values.map(|(index, value)| one(field, value, &format!("{path}[{index}]")));
    read.collect::<Result<_, _>>().map(Value::List)
}

fn one(field: &FieldDescriptor, value: &Toml, path: &str) -> Result<Value, String> {
    let required = |what: &str| format!("{path}: {what} is required");
    match field.kind() {
        Kind::String => text(value, path).map(|text| Value::String(text.to_owned())),
        Kind::Bool => value.as_bool().map(Value::Bool).ok_or_else(|| required("true or false")),
        Kind::Int32 => {
            let number = value.as_integer().and_then(|number| i32::try_from(number).ok());
            number.map(Value::I32).ok_or_else(|| required("a whole number"))
        }
        Kind::Int64 => value.as_integer().map(Value::I64).ok_or_else(|| required("a whole number")),
        Kind::Enum(kind) => {
            let word = text(value, path)?.replace('-', "_");
            let words = enum_words(&kind);
            let found = words.iter().find(|(known, _)| *known == word);
            let allowed: Vec<&str> = words.iter().map(|(known, _)| known.as_str()).collect();
            let unknown =
                || format!("{path}: {word:?} is not known; allowed: {}", allowed.join(", "));
            found.map(|(_, number)| Value::EnumNumber(*number)).ok_or_else(unknown)
        }
        Kind::Message(inner) => part(&inner, value, path).map(Value::Message),
        _ => Err(format!("{path} cannot be written in a file")),
    }
}

fn part(known: &MessageDescriptor, value: &Toml, path: &str) -> Result<DynamicMessage, String> {
    let encoded = match known.name() {
        "Length" => match lengths::signed(path, text(value, path)?, None) {
            Ok(length) => length.encode_to_vec(),
            Err(Failure::Usage(problem)) => return Err(problem),
            Err(_) => return Err(format!("{path}: a length is required, such as \"0.002 in\"")),
        },
        "Money" => {
            let money = lists::money(text(value, path)?);
            money.map_err(|problem| format!("{path}: {problem}"))?.encode_to_vec()
        }
        _ => {
            let Toml::Table(table) = value else {
                return Err(format!(
                    "{path}: a table is required, such as {{ value = ..., note = ... }}"
                ));
            };
            return message(known, table, &format!("{path}."));
        }
    };
    DynamicMessage::decode(known.clone(), encoded.as_slice())
        .map_err(|error| format!("{path}: {error}"))
}

fn text<'v>(value: &'v Toml, path: &str) -> Result<&'v str, String> {
    value.as_str().ok_or_else(|| format!("{path}: text in quotes is required"))
}
