//! The words of the contract, built short: lengths, times, items.

use std::time::{Duration, SystemTime};

use prost_types::Timestamp;
use tenths_proto::v1::feature::Tolerance;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::reserve_line::Subject;
use tenths_proto::v1::{
    ClassPair, Feature, FeatureKind, FindFitRequest, FitRequirement, Gauge, Item, ItemKind, Length,
    LengthUnit, Material, MeasuredPart, NewReadings, PieceFeature, ReserveLine, SettingMethod,
};

/// A fresh request id.
pub fn request_id() -> String {
    uuid::Uuid::new_v4().to_string()
}

/// A length as a person would write it.
pub fn length(value: &str, unit: LengthUnit) -> Option<Length> {
    Some(Length { value: value.to_owned(), unit: unit.into(), nm: 0 })
}

/// A length in inches.
pub fn inch(value: &str) -> Option<Length> {
    length(value, LengthUnit::In)
}

/// A length in millimetres.
pub fn mm(value: &str) -> Option<Length> {
    length(value, LengthUnit::Mm)
}

/// The whole nanometres of a length that must be there.
#[track_caller]
pub fn nm(length: &Option<Length>) -> i64 {
    length.as_ref().expect("a length").nm
}

/// A time so far from now; coarse enough for holds and calibrations.
pub fn from_now(ahead: Duration) -> Option<Timestamp> {
    Some(Timestamp::from(SystemTime::now() + ahead))
}

/// Some days.
pub fn days(count: u64) -> Duration {
    Duration::from_secs(count * 86_400)
}

/// A micrometer that reads to a ten-thousandth of an inch and is good to one.
pub fn micrometer(tag: &str) -> Gauge {
    Gauge {
        tag: tag.to_owned(),
        description: "0-1 in micrometer".to_owned(),
        resolution: inch("0.0001"),
        expanded_uncertainty: inch("0.0001"),
        setting_method: SettingMethod::GaugeBlock.into(),
        calibration_due_time: from_now(days(200)),
        ..Gauge::default()
    }
}

/// A steel shaft with one seat for a 25 mm rolling bearing, k5, 0.0003 in of wear accepted.
pub fn shaft_item(code: &str) -> Item {
    Item {
        code: code.to_owned(),
        kind: ItemKind::Shaft.into(),
        description: "coolant pump shaft".to_owned(),
        material: Material::Steel.into(),
        features: vec![Feature {
            name: "seat-a".to_owned(),
            kind: FeatureKind::RollingSeat.into(),
            nominal: mm("25"),
            tolerance: Some(Tolerance::ToleranceClass("k5".to_owned())),
            wear_limit: inch("0.0003"),
            limit_source: "shop practice".to_owned(),
            ..Feature::default()
        }],
        ..Item::default()
    }
}

/// A shaft with a journal that a disc slides on: reference station R, 0.002 in of wear accepted.
pub fn disc_shaft_item(code: &str) -> Item {
    Item {
        code: code.to_owned(),
        kind: ItemKind::Shaft.into(),
        description: "drive motor shaft".to_owned(),
        material: Material::Steel.into(),
        features: vec![Feature {
            name: "journal".to_owned(),
            kind: FeatureKind::Journal.into(),
            nominal: inch("0.938"),
            wear_limit: inch("0.002"),
            reference_station: "R".to_owned(),
            limit_source: "common practice".to_owned(),
            ..Feature::default()
        }],
        ..Item::default()
    }
}

/// A rolling bearing whose boundary dimensions follow from its basic number.
pub fn bearing_item(code: &str, designation: &str) -> Item {
    Item {
        code: code.to_owned(),
        kind: ItemKind::RollingBearing.into(),
        description: format!("deep groove ball bearing {designation}"),
        designation: designation.to_owned(),
        material: Material::Steel.into(),
        ..Item::default()
    }
}

/// Readings of one feature, typed in one line in inches.
pub fn readings_in_inches(feature: &str, gauge_tag: &str, line: &str) -> NewReadings {
    NewReadings {
        feature: feature.to_owned(),
        gauge_tag: gauge_tag.to_owned(),
        line: line.to_owned(),
        line_unit: LengthUnit::In.into(),
        ..NewReadings::default()
    }
}

/// Asks which rolling bearings fit the measured seat of a piece, at the shaft's class.
pub fn bearings_for_seat(piece_tag: &str, shaft_class: &str) -> FindFitRequest {
    FindFitRequest {
        measured: Some(MeasuredPart {
            size: Some(Size::PieceFeature(PieceFeature {
                piece_tag: piece_tag.to_owned(),
                feature: "seat-a".to_owned(),
            })),
            ..MeasuredPart::default()
        }),
        sought: ItemKind::RollingBearing.into(),
        requirement: Some(FitRequirement {
            kind: Some(Kind::ClassPair(ClassPair {
                hole_class: String::new(),
                shaft_class: shaft_class.to_owned(),
            })),
        }),
        ..FindFitRequest::default()
    }
}

/// A line that holds one piece.
pub fn hold_piece(tag: &str) -> ReserveLine {
    ReserveLine { subject: Some(Subject::PieceTag(tag.to_owned())), ..ReserveLine::default() }
}

/// A line that holds some of a lot, wherever most of it is free.
pub fn hold_lot(tag: &str, quantity: i64) -> ReserveLine {
    ReserveLine {
        subject: Some(Subject::LotTag(tag.to_owned())),
        quantity,
        ..ReserveLine::default()
    }
}
