//! Who acts, under which request id, and the unit that a bare number is in.

use crate::entry::lengths;
use crate::failure::Failure;
use std::cell::Cell;
use tenths_domain::units::Unit;
use tenths_proto::v1;
use uuid::Uuid;

/// What the global arguments say of the one request that a command makes.
#[derive(Clone, Debug)]
pub(crate) struct Context {
    /// Who acts; needed for every change.
    pub(crate) person: Option<String>,
    /// Makes a repeat harmless.
    pub(crate) request_id: Uuid,
    /// The unit of numbers without one, and of what is shown.
    pub(crate) unit: Option<Unit>,
    /// Whether the command has put its request id into a request: only changes carry one.
    pub(crate) is_change: Cell<bool>,
}

impl Context {
    /// Who makes a change.
    pub(crate) fn person(&self) -> Result<String, Failure> {
        match self.person.as_deref().map(str::trim) {
            Some(person) if !person.is_empty() => Ok(person.to_owned()),
            _ => Err(Failure::Usage(
                "who does this? give --person NAME or set TENTHS_PERSON; it is recorded with \
                 every change"
                    .to_owned(),
            )),
        }
    }

    /// The request id as it goes on the wire with a change.
    pub(crate) fn request_id(&self) -> String {
        self.is_change.set(true);
        self.request_id.to_string()
    }

    /// A size as typed behind `flag`.
    pub(crate) fn size(&self, flag: &str, text: &str) -> Result<v1::Length, Failure> {
        lengths::size(flag, text, self.unit)
    }

    /// A size that may be left out.
    pub(crate) fn size_if_given(
        &self,
        flag: &str,
        text: Option<&str>,
    ) -> Result<Option<v1::Length>, Failure> {
        text.map(|text| self.size(flag, text)).transpose()
    }

    /// The unit for sentences that the server writes.
    pub(crate) fn text_unit(&self) -> v1::LengthUnit {
        self.unit.map_or(v1::LengthUnit::Unspecified, lengths::wire_unit)
    }
}

#[cfg(test)]
impl Context {
    /// A context for tests: mara, a fixed request id, no default unit.
    pub(crate) fn of_mara() -> Context {
        Context {
            person: Some("mara".into()),
            request_id: Uuid::from_u128(7),
            unit: None,
            is_change: Cell::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_needs_a_person_and_says_how_to_name_one() {
        for nobody in [None, Some("  ".to_owned())] {
            let context = Context { person: nobody, ..Context::of_mara() };
            let Err(Failure::Usage(message)) = context.person() else { panic!() };
            assert!(message.contains("--person") && message.contains("TENTHS_PERSON"));
        }
        assert_eq!(Context::of_mara().person().unwrap(), "mara");
    }
}
