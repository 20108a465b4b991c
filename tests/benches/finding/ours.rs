//! How a question is put to the shop: the one place that knows the rpc.

use prost::Message;
use prost::bytes::Bytes;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::{
    ClassPair, ClearanceLimits, CloseIn, FeatureKind, FindFitRequest, FindFitResponse,
    FitRequirement, ItemKind, Length, LengthUnit, MeasuredPart,
};
use tenths_tests::length;

use crate::place::Place;
use crate::questions::{Question, Required};

/// The service that finds.
pub(crate) const SERVICE: &str = "tenths.v1.FindingService";
/// Its rpc, as a path.
pub(crate) const PATH: &str = "/tenths.v1.FindingService/FindFit";

/// The question as the rpc takes it.
pub(crate) fn encoded(question: &Question) -> Bytes {
    let (value, unit) = &question.written;
    let request = FindFitRequest {
        measured: Some(MeasuredPart {
            size: length(value, *unit).map(Size::Value),
            kind: feature_kind(question.measured).into(),
            gauge_tag: question.gauge.unwrap_or_default().to_owned(),
            expanded_uncertainty: None,
            ..MeasuredPart::default()
        }),
        sought: item_kind(question.sought).into(),
        requirement: Some(FitRequirement { kind: Some(requirement(&question.required)) }),
        close_in: question
            .close_in
            .map(|limits| CloseIn { min: um(limits.lower), max: um(limits.upper) }),
        ..FindFitRequest::default()
    };
    request.encode_to_vec().into()
}

/// The most fits of the first page.
pub(crate) const PAGE: i64 = 20;

/// How many fit, up to the end of the first page, as the answer says.
///
/// # Errors
/// An answer that is none.
pub(crate) fn fits_seen(answer: &Bytes) -> Result<i64, prost::DecodeError> {
    Ok(FindFitResponse::decode(answer.clone())?.fits_seen)
}

fn requirement(required: &Required) -> Kind {
    match required {
        Required::Classes { hole, shaft } => Kind::ClassPair(ClassPair {
            hole_class: (*hole).to_owned(),
            shaft_class: (*shaft).to_owned(),
        }),
        Required::Clearance(limits) => {
            Kind::Clearance(ClearanceLimits { min: um(limits.lower), max: um(limits.upper) })
        }
    }
}

fn um(nm: i64) -> Option<Length> {
    length(&(nm / 1_000).to_string(), LengthUnit::Um)
}

fn feature_kind(place: Place) -> FeatureKind {
    match place {
        Place::BearingBore | Place::BushingBore => FeatureKind::Bore,
        Place::BearingOutside | Place::BushingOutside => FeatureKind::OutsideDiameter,
        Place::Seat => FeatureKind::RollingSeat,
        Place::Journal => FeatureKind::Journal,
        Place::HousingBore => FeatureKind::HousingBore,
    }
}

fn item_kind(place: Place) -> ItemKind {
    match place {
        Place::BearingBore | Place::BearingOutside => ItemKind::RollingBearing,
        Place::BushingBore | Place::BushingOutside => ItemKind::Bushing,
        Place::Seat | Place::Journal => ItemKind::Shaft,
        Place::HousingBore => ItemKind::Housing,
    }
}
