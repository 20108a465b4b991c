//! Lengths, money, times and verdicts outward; what several resources share inward.

use crate::app::Request;
use crate::grpc::check::Check;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::b41::FitClass;
use tenths_domain::fit::{ClearanceWindow, Requirement};
use tenths_domain::iso286::Class;
use tenths_domain::item::Limits;
use tenths_domain::money::Money;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::Judgement;
use tenths_proto::v1 as pb;
use tenths_proto::v1::fit_requirement::Kind;

/// A mutation's meta data and its command.
pub type Parsed<C> = Result<(Request, C), crate::app::Error>;

/// A length in the unit that it is spoken of in, rounded once.
pub fn length(length: Length, unit: Unit) -> pb::Length {
    let value = length.number(unit, length.places_in(unit));
    pb::Length { value, unit: unit.to_wire(), nm: length.nm() }
}

/// Lengths of one range or column in the unit that they are spoken of in, all to as many places as
/// the one that needs most.
pub fn aligned<const N: usize>(lengths: [Length; N], unit: Unit) -> [pb::Length; N] {
    let places = lengths.iter().map(|length| length.places_in(unit)).max().unwrap_or(0);
    lengths.map(|length| to_places(length, unit, places))
}

/// A length to a number of places.
pub fn to_places(length: Length, unit: Unit, places: u32) -> pb::Length {
    pb::Length { value: length.number(unit, places), unit: unit.to_wire(), nm: length.nm() }
}

/// A length as it was written.
pub fn entry(entry: &Entry) -> pb::Length {
    written(&entry.text, entry.unit, entry.length)
}

/// A length with the text that it was written in.
pub fn written(text: &str, unit: Unit, length: Length) -> pb::Length {
    pb::Length { value: text.to_owned(), unit: unit.to_wire(), nm: length.nm() }
}

/// An amount of money.
pub fn money(money: Money) -> pb::Money {
    pb::Money { amount: money.amount_text(), currency: money.currency.as_str().to_owned() }
}

/// A time from Unix microseconds.
pub fn time(micros: i64) -> prost_types::Timestamp {
    prost_types::Timestamp {
        seconds: micros.div_euclid(1_000_000),
        // Below a thousand million: it fits.
        nanos: (micros.rem_euclid(1_000_000) * 1_000) as i32,
    }
}

/// A version as an etag.
pub fn etag(revision: i64) -> String {
    format!("r{revision}")
}

/// A verdict in the one wording.
pub fn verdict(judgement: Judgement) -> pb::Verdict {
    pb::Verdict {
        kind: judgement.verdict.to_wire(),
        probability_in: judgement.probability_in,
        text: judgement.to_string(),
    }
}

/// A member that may be unknown.
pub fn or_unspecified<T: WireEnum>(member: Option<T>) -> i32 {
    member.map_or(0, WireEnum::to_wire)
}

/// Limits of size in order; none only if refused.
pub fn limits(
    check: &mut Check,
    field: &str,
    lower: Option<&pb::Length>,
    upper: Option<&pb::Length>,
) -> Option<(Limits, Unit)> {
    let lower = check.length(&format!("{field}lower"), lower);
    let upper = check.length(&format!("{field}upper"), upper);
    let (lower, upper) = (lower?, upper?);
    if lower.length > upper.length {
        check
            .refuse(&format!("{field}lower"), format!("{lower} is above the upper limit, {upper}"));
        return None;
    }
    Some((Limits { lower: lower.length, upper: upper.length }, lower.unit))
}

/// Which classes a requirement names.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NamedClasses {
    /// A hole class.
    pub hole: bool,
    /// A shaft class.
    pub shaft: bool,
}

/// What a fit must be, and which classes it names; none only if refused.
pub fn requirement(
    check: &mut Check,
    field: &str,
    wire: Option<&pb::FitRequirement>,
) -> Option<(Requirement, NamedClasses)> {
    match wire.and_then(|wire| wire.kind.as_ref()) {
        Some(Kind::ClassPair(pair)) => class_pair(check, &format!("{field}.class_pair"), pair),
        Some(Kind::Clearance(limits)) => {
            let min = check.signed_length(&format!("{field}.clearance.min"), limits.min.as_ref());
            let max = check.signed_length(&format!("{field}.clearance.max"), limits.max.as_ref());
            match ClearanceWindow::new(min?.length, max?.length) {
                Ok(window) => Some((Requirement::clearance(window), NamedClasses::default())),
                Err(error) => {
                    check.refuse(&format!("{field}.clearance"), error.to_string());
                    None
                }
            }
        }
        Some(Kind::InchFitClass(text)) => {
            let class = fit_class(check, &format!("{field}.inch_fit_class"), text)?;
            Some((Requirement::inch_fit(class), NamedClasses { hole: true, shaft: true }))
        }
        Some(Kind::Running(running)) => {
            let requirement = running_clearance(check, &format!("{field}.running"), running)?;
            Some((requirement, NamedClasses { hole: true, shaft: true }))
        }
        None => {
            check.refuse(
                field,
                "it is not given; a class pair, an inch fit class, a running clearance or limits of \
                 clearance are required",
            );
            None
        }
    }
}

/// A fit class of ANSI B4.1; none only if refused.
pub fn fit_class(check: &mut Check, field: &str, text: &str) -> Option<FitClass> {
    match text.parse::<FitClass>() {
        Ok(class) => Some(class),
        Err(error) => {
            check.refuse(field, error.to_string());
            None
        }
    }
}

fn running_clearance(
    check: &mut Check,
    field: &str,
    wire: &pb::RunningRequirement,
) -> Option<Requirement> {
    let rule = check.required_enum(&format!("{field}.rule"), wire.rule);
    if wire.tolerance.is_none() {
        let problem = "it is not given; the rule gives one number, so say how much more is still \
                       right, or give explicit limits of clearance instead";
        check.refuse(&format!("{field}.tolerance"), problem);
    }
    let tolerance = check.optional_length(&format!("{field}.tolerance"), wire.tolerance.as_ref());
    Some(Requirement::running(rule?, tolerance?.length))
}

fn class_pair(
    check: &mut Check,
    field: &str,
    pair: &pb::ClassPair,
) -> Option<(Requirement, NamedClasses)> {
    let hole = class(check, &format!("{field}.hole_class"), &pair.hole_class);
    let shaft = class(check, &format!("{field}.shaft_class"), &pair.shaft_class);
    let (hole, shaft) = (hole?, shaft?);
    match Requirement::classes(hole, shaft) {
        Ok(requirement) => {
            Some((requirement, NamedClasses { hole: hole.is_some(), shaft: shaft.is_some() }))
        }
        Err(error) => {
            check.refuse(field, error.to_string());
            None
        }
    }
}

/// A tolerance class that may be left out; none only if refused.
pub fn class(check: &mut Check, field: &str, text: &str) -> Option<Option<Class>> {
    if text.is_empty() {
        return Some(None);
    }
    match text.parse() {
        Ok(class) => Some(Some(class)),
        Err(error) => {
            let error: tenths_domain::iso286::ClassParseError = error;
            check.refuse(field, error.to_string());
            None
        }
    }
}
