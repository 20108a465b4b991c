//! Parsing of request fields: every violation is collected, none is answered alone.

use super::wire_enum::{UnknownNumber, WireEnum};
use crate::app::{Error, Violation};
use std::time::Duration;
use tenths_domain::entry::EnteredTemperature;
use tenths_domain::money::{Currency, Money};
use tenths_domain::temperature::{Temperature, TemperatureScale};
use tenths_domain::units::{Entry, Length, Unit};
use tenths_proto::v1 as pb;

/// Most characters of a description, note or reason.
pub const TEXT_MAX: usize = 500;
/// Most characters of a name of a person, customer or thing.
pub const NAME_MAX: usize = 64;
/// Most characters of a tag or code.
pub const TAG_MAX: usize = 40;

/// Collects what is wrong with a request.
#[derive(Debug, Default)]
pub struct Check {
    violations: Vec<Violation>,
}

impl Check {
    /// Nothing found yet.
    pub fn new() -> Self {
        Check::default()
    }

    /// Notes a violation of `field`.
    pub fn refuse(&mut self, field: &str, problem: impl Into<String>) {
        self.violations.push(Violation::new(field, problem));
    }

    /// Everything found, as one error, if anything was.
    ///
    /// # Errors
    /// [`Error::Invalid`] with every violation.
    pub fn finish(self) -> Result<(), Error> {
        if self.violations.is_empty() { Ok(()) } else { Err(Error::Invalid(self.violations)) }
    }

    /// Everything found, as one error.
    pub fn into_error(self) -> Error {
        Error::Invalid(self.violations)
    }

    /// A text that may be empty.
    pub fn optional_text(&mut self, field: &str, value: &str, max: usize) -> String {
        let value = value.trim();
        let count = value.chars().count();
        if count > max {
            self.refuse(field, format!("it has {count} characters; at most {max} are allowed"));
        } else if value.chars().any(char::is_control) {
            self.refuse(
                field,
                "it has control characters or line breaks; only plain text is allowed",
            );
        }
        value.to_owned()
    }

    /// A text that must say something.
    pub fn text(&mut self, field: &str, value: &str, max: usize) -> String {
        if value.trim().is_empty() {
            self.refuse(field, format!("it is empty; 1 to {max} characters are required"));
        }
        self.optional_text(field, value, max)
    }

    /// A tag or code that must be given.
    pub fn tag(&mut self, field: &str, value: &str) -> String {
        self.optional_tag(field, value).unwrap_or_else(|| {
            self.refuse(field, "it is empty; a tag or code is required");
            String::new()
        })
    }

    /// A tag or code that may be left out.
    pub fn optional_tag(&mut self, field: &str, value: &str) -> Option<String> {
        let value = value.trim();
        if value.is_empty() {
            return None;
        }
        let plain = |c: char| c.is_ascii_alphanumeric() || "-_./".contains(c);
        if value.len() > TAG_MAX
            || !value.chars().all(plain)
            || !value.starts_with(|c: char| c.is_ascii_alphanumeric())
        {
            let shown: String = value.chars().take(TAG_MAX + 1).collect();
            let allowed = format!(
                "{shown:?} is no tag or code; allowed are 1 to {TAG_MAX} of A-Z a-z 0-9 - _ . / beginning with a letter or digit"
            );
            self.refuse(field, allowed);
        }
        Some(value.to_owned())
    }

    /// The name of a feature.
    pub fn feature_name(&mut self, field: &str, value: &str) -> String {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        if value.is_empty() || value.len() > 32 || !value.chars().all(plain) {
            let shown: String = value.chars().take(33).collect();
            self.refuse(
                field,
                format!("{shown:?} is no name of a feature; allowed are 1 to 32 of a-z 0-9 -"),
            );
        }
        value.to_owned()
    }

    /// A station, in capitals; empty if it may be left out.
    pub fn optional_station(&mut self, field: &str, value: &str) -> Option<String> {
        let value = value.trim();
        if value.is_empty() {
            return None;
        }
        if value.len() > 3 || !value.chars().all(|c| c.is_ascii_alphabetic()) {
            let shown: String = value.chars().take(10).collect();
            self.refuse(
                field,
                format!("{shown:?} is no station; allowed are 1 to 3 letters, such as A or REF"),
            );
        }
        Some(value.to_ascii_uppercase())
    }

    /// The version in an etag that must be given.
    pub fn etag(&mut self, field: &str, value: &str) -> i64 {
        self.optional_etag(field, value).unwrap_or_else(|| {
            self.refuse(field, "it is empty; give the etag as last read");
            0
        })
    }

    /// The version in an etag that may be left out.
    pub fn optional_etag(&mut self, field: &str, value: &str) -> Option<i64> {
        if value.is_empty() {
            return None;
        }
        let version = value.strip_prefix('r').and_then(|digits| digits.parse().ok());
        if version.is_none() {
            let shown: String = value.chars().take(40).collect();
            self.refuse(field, format!("{shown:?} is no etag; give it as last read"));
        }
        Some(version.unwrap_or(0))
    }

    /// A member of an enumeration that may be left out.
    pub fn optional_enum<T: WireEnum>(&mut self, field: &str, number: i32) -> Option<T> {
        T::from_wire(number).unwrap_or_else(|UnknownNumber(number)| {
            self.refuse(
                field,
                format!("{number} is not known; allowed: {}", T::allowed().join(", ")),
            );
            None
        })
    }

    /// A member of an enumeration that must be given; none only if it was refused.
    pub fn required_enum<T: WireEnum>(&mut self, field: &str, number: i32) -> Option<T> {
        if number == 0 {
            self.refuse(field, format!("it is not given; allowed: {}", T::allowed().join(", ")));
            return None;
        }
        self.optional_enum(field, number)
    }

    /// A size that may be left out.
    pub fn optional_length(&mut self, field: &str, length: Option<&pb::Length>) -> Option<Entry> {
        self.read_length(field, length?, Entry::parse)
    }

    /// A size that must be given; none only if it was refused.
    pub fn length(&mut self, field: &str, length: Option<&pb::Length>) -> Option<Entry> {
        if length.is_none() {
            self.refuse(field, "it is not given; a length is required");
        }
        self.optional_length(field, length)
    }

    /// A clearance or other signed length that must be given; none only if it was refused.
    pub fn signed_length(&mut self, field: &str, length: Option<&pb::Length>) -> Option<Entry> {
        let Some(length) = length else {
            self.refuse(field, "it is not given; a length is required, negative for interference");
            return None;
        };
        self.read_length(field, length, Entry::parse_signed)
    }

    /// A length that may be zero, such as an amount of wear, and may be left out.
    pub fn optional_amount(&mut self, field: &str, length: Option<&pb::Length>) -> Option<Entry> {
        let entry = self.read_length(field, length?, Entry::parse_signed)?;
        if entry.length < Length::ZERO {
            self.refuse(&format!("{field}.value"), format!("it is {entry}; 0 or more is allowed"));
            return None;
        }
        Some(entry)
    }

    /// A number above zero that is no measured value, as decimal text; none only if it was refused.
    pub fn number(&mut self, field: &str, text: &str) -> Option<f64> {
        let plain = !text.is_empty()
            && text.len() <= 12
            && text.chars().all(|c| c.is_ascii_digit() || c == '.');
        let value = text.parse::<f64>().ok().filter(|value| plain && *value > 0.0);
        if value.is_none() {
            let shown: String = text.chars().take(20).collect();
            self.refuse(
                field,
                format!("{shown:?} is no number above 0; write digits and a decimal point"),
            );
        }
        value
    }

    fn read_length<E: std::fmt::Display>(
        &mut self,
        field: &str,
        length: &pb::Length,
        parse: fn(&str, Unit) -> Result<Entry, E>,
    ) -> Option<Entry> {
        let unit = self.required_enum::<Unit>(&format!("{field}.unit"), length.unit)?;
        match parse(&length.value, unit) {
            Ok(entry) => Some(entry),
            Err(error) => {
                self.refuse(&format!("{field}.value"), error.to_string());
                None
            }
        }
    }

    /// An amount of money that may be left out.
    pub fn optional_money(&mut self, field: &str, money: Option<&pb::Money>) -> Option<Money> {
        let money = money?;
        let currency = match money.currency.parse::<Currency>() {
            Ok(currency) => currency,
            Err(error) => {
                self.refuse(&format!("{field}.currency"), error.to_string());
                return None;
            }
        };
        match Money::parse_amount(&money.amount, currency) {
            Ok(money) if money.minor >= 0 => Some(money),
            Ok(_) => {
                self.refuse(&format!("{field}.amount"), "it is below zero; 0 or more is allowed");
                None
            }
            Err(error) => {
                self.refuse(&format!("{field}.amount"), error.to_string());
                None
            }
        }
    }

    /// A temperature that may be left out, with its text as written.
    pub fn optional_temperature(
        &mut self,
        field: &str,
        given: Option<&pb::Temperature>,
    ) -> Option<(EnteredTemperature, String)> {
        let given = given?;
        let scale = self.required_enum::<TemperatureScale>(&format!("{field}.unit"), given.unit)?;
        match Temperature::parse_confirmed(&given.value, scale) {
            Ok(temperature) => {
                Some((EnteredTemperature { temperature, scale }, given.value.trim().to_owned()))
            }
            Err(error) => {
                self.refuse(&format!("{field}.value"), error.to_string());
                None
            }
        }
    }

    /// A time that may be left out, in Unix microseconds.
    pub fn optional_time(
        &mut self,
        field: &str,
        time: Option<&prost_types::Timestamp>,
    ) -> Option<i64> {
        let time = time?;
        let second_range = -2_000_000_000..=253_402_300_799;
        if !second_range.contains(&time.seconds) || !(0..1_000_000_000).contains(&time.nanos) {
            self.refuse(field, "it is no time; allowed are 1906 to 9999");
            return None;
        }
        Some(time.seconds * 1_000_000 + i64::from(time.nanos) / 1_000)
    }

    /// A duration that may be left out, in microseconds, within limits.
    pub fn optional_duration(
        &mut self,
        field: &str,
        duration: Option<&prost_types::Duration>,
        least: Duration,
        most: Duration,
    ) -> Option<i64> {
        let duration = duration?;
        let micros = i128::from(duration.seconds) * 1_000_000 + i128::from(duration.nanos) / 1_000;
        let range = least.as_micros() as i128..=most.as_micros() as i128;
        match i64::try_from(micros) {
            Ok(micros) if range.contains(&i128::from(micros)) => Some(micros),
            _ => {
                let (least, most) = (least.as_secs(), most.as_secs());
                self.refuse(
                    field,
                    format!("it is {} s; allowed are {least} s to {most} s", duration.seconds),
                );
                None
            }
        }
    }

    /// A count within limits.
    pub fn count(&mut self, field: &str, count: i64, least: i64, most: i64) -> i64 {
        if !(least..=most).contains(&count) {
            self.refuse(field, format!("it is {count}; allowed are {least} to {most}"));
        }
        count
    }

    /// How many entries a list has.
    pub fn list_length(&mut self, field: &str, count: usize, least: usize, most: usize) {
        if !(least..=most).contains(&count) {
            self.refuse(field, format!("it has {count} entries; allowed are {least} to {most}"));
        }
    }

    /// Reasons: short lines of text.
    pub fn reasons(&mut self, field: &str, reasons: &[String], least: usize) -> Vec<String> {
        self.list_length(field, reasons.len(), least, 20);
        let one = |(index, reason): (usize, &String)| {
            self.text(&format!("{field}[{index}]"), reason, TEXT_MAX)
        };
        reasons.iter().take(20).enumerate().map(one).collect()
    }
}
