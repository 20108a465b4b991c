//! A message of the contract as a TOML file that a person edits: the contract's field names, enumerations
//! by their short word, lengths as "0.002 in", money as "85.00 USD".
//!
//! What is not set is not written. Reading names the place of every word that it does not know.

mod read;
mod write;

pub(crate) use read::read;
pub(crate) use write::write;

use prost_reflect::{Kind, MessageDescriptor};

/// Whether a message stands in one line: it holds no other message than lengths and money, and no
/// list of messages but of lengths.
fn is_flat(message: &MessageDescriptor) -> bool {
    let is_leaf = |inner: &MessageDescriptor| matches!(inner.name(), "Length" | "Money");
    message.fields().all(|field| match field.kind() {
        Kind::Message(inner) => is_leaf(&inner),
        _ => true,
    }) && message.fields().count() <= FIELDS_OF_A_LINE_MAX
}

/// More than a figure with its note takes a section of its own.
const FIELDS_OF_A_LINE_MAX: usize = 3;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::failure::Failure;
    use crate::output::reflect::seen;
    use tenths_proto::v1;

    fn inch(value: &str) -> Option<v1::Length> {
        Some(v1::Length { value: value.into(), unit: v1::LengthUnit::In.into(), nm: 0 })
    }

    fn policy() -> v1::Policy {
        let noted = |value: &str| v1::NotedLength { value: inch(value), note: "a \"note\"".into() };
        v1::Policy {
            version: 3,
            currency: "USD".into(),
            inch_steps: Some(v1::NotedLengths {
                values: ["0.010", "0.020"].into_iter().filter_map(inch).collect(),
                note: "custom".into(),
            }),
            features: vec![v1::FeaturePolicy {
                feature: v1::FeatureUse::RollingSeat.into(),
                past_limit_max: Some(noted("0.0002")),
                ..Default::default()
            }],
            methods: vec![v1::MethodPolicy {
                method: v1::BuildMethod::HardChrome.into(),
                features: vec![v1::FeatureUse::RollingSeat.into()],
                allows_keyway: true,
                cost: Some(v1::Money { amount: "85.00".into(), currency: "USD".into() }),
                lead_time_days: Some(0),
                bake: Some(v1::BakeRule { from_hrc: "31.0".into(), ..Default::default() }),
                ..Default::default()
            }],
            queue: Some(v1::QueuePolicy { band_width: Some(noted("0.2")), ..Default::default() }),
            ..Default::default()
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let text = write(&seen(&policy()).unwrap());
        let again: v1::Policy = read("policy.toml", &text).unwrap();
        assert_eq!(again, policy(), "{text}");
        for line in [
            "version = 3",
            "inch_steps = { values = [\"0.010 in\", \"0.020 in\"], note = \"custom\" }",
            "[[features]]",
            "feature = \"rolling_seat\"",
            "cost = \"85.00 USD\"",
            "lead_time_days = 0",
            "[methods.bake]",
            "[queue]",
        ] {
            assert!(text.lines().any(|one| one == line), "{line}: {text}");
        }
    }

    #[test]
    fn what_is_not_known_is_told_by_its_place() {
        for (text, part) in [
            ("colour = 'red'", "colour is not known; allowed: version, currency"),
            (
                "[[methods]]\nmethod = 'glue'",
                "methods[0].method: \"glue\" is not known; allowed: hard_chrome",
            ),
            (
                "grinding_allowance = { value = '0.002' }",
                "grinding_allowance.value: \"0.002\" has no unit",
            ),
            ("grinding_allowance = '0.002 in'", "grinding_allowance: a table is required"),
            ("[[methods]]\ncost = '85'", "methods[0].cost: write the amount and its currency"),
            ("features = 3", "features: a list is required"),
            ("version = 'three'", "version: a whole number is required"),
            ("currency = ", "policy.toml"),
        ] {
            let refused = read::<v1::Policy>("policy.toml", text);
            let Err(Failure::File(message)) = refused else { panic!("{text}: {refused:?}") };
            assert!(message.contains(part), "{text}: {message}");
        }
    }
}
