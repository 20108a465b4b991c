//! Gauges, readings and assessments.

use super::common::{Parsed, entry, etag, length, or_unspecified, time, to_places, written};
use super::standards::traces;
use crate::app::judging::{AssessPiece, Manner, PieceAssessment};
use crate::app::measuring::{
    NewReadings, RecordReadings, Recorded, RegisterGauge, UpdateGauge, VoidReading,
};
use crate::app::views::{AssessmentView, ReadingView, StationView};
use crate::grpc::check::{Check, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::ids::ReadingId;
use tenths_domain::item::Side;
use tenths_domain::measure::{EnteredReading, parse_readings};
use tenths_domain::temperature::TemperatureScale;
use tenths_domain::units::{Length, Unit};
use tenths_domain::verdict::{DecisionRule, Judgement, Verdict};
use tenths_proto::v1 as pb;
use tenths_storage::{AssessmentFinding, Gauge};

/// Most readings at once.
const READINGS_MAX: usize = 200;

/// A gauge to be registered.
pub fn register_gauge(wire: &pb::RegisterGaugeRequest) -> Parsed<RegisterGauge> {
    let mut check = Check::new();
    let request = meta(&mut check, "RegisterGauge", &wire.request_id, &wire.person, wire);
    let parsed = gauge_in(&mut check, wire.gauge.as_ref());
    let Some(gauge) = parsed else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, gauge))
}

/// A gauge to be replaced.
pub fn update_gauge(wire: &pb::UpdateGaugeRequest) -> Parsed<UpdateGauge> {
    let mut check = Check::new();
    let request = meta(&mut check, "UpdateGauge", &wire.request_id, &wire.person, wire);
    let etag = check.etag("etag", &wire.etag);
    let state =
        check.required_enum("gauge.state", wire.gauge.as_ref().map_or(0, |gauge| gauge.state));
    let parsed = gauge_in(&mut check, wire.gauge.as_ref());
    let (Some(gauge), Some(state)) = (parsed, state) else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, UpdateGauge { etag, state, gauge }))
}

fn gauge_in(check: &mut Check, wire: Option<&pb::Gauge>) -> Option<RegisterGauge> {
    let Some(wire) = wire else {
        check.refuse("gauge", "it is not given");
        return None;
    };
    let tag = check.tag("gauge.tag", &wire.tag);
    let description = check.text("gauge.description", &wire.description, TEXT_MAX);
    let resolution = check.length("gauge.resolution", wire.resolution.as_ref());
    let uncertainty =
        check.length("gauge.expanded_uncertainty", wire.expanded_uncertainty.as_ref());
    let setting_method = check.required_enum("gauge.setting_method", wire.setting_method);
    let due = check.optional_time("gauge.calibration_due_time", wire.calibration_due_time.as_ref());
    if wire.calibration_due_time.is_none() {
        check
            .refuse("gauge.calibration_due_time", "it is not given; say when the calibration ends");
    }
    let side = match pb::GaugeSide::try_from(wire.side) {
        Ok(pb::GaugeSide::Unspecified) => None,
        Ok(pb::GaugeSide::External) => Some(Side::External),
        Ok(pb::GaugeSide::Internal) => Some(Side::Internal),
        Err(_) => {
            check.refuse("gauge.side", "it is not known; allowed: external, internal, or nothing");
            None
        }
    };
    let size_min = check.optional_length("gauge.size_min", wire.size_min.as_ref());
    let size_max = check.optional_length("gauge.size_max", wire.size_max.as_ref());
    if let (Some(least), Some(most)) = (&size_min, &size_max)
        && least.length > most.length
    {
        check.refuse("gauge.size_min", format!("{least} is above the largest size, {most}"));
    }
    let material = check.optional_enum("gauge.material", wire.material);
    Some(RegisterGauge {
        material,
        side,
        size_min,
        size_max,
        tag,
        description,
        resolution: resolution?,
        uncertainty: uncertainty?,
        setting_method: setting_method?,
        calibration_due_at: due?,
    })
}

/// Readings to be recorded.
pub fn record_readings(wire: &pb::RecordReadingsRequest) -> Parsed<RecordReadings> {
    let mut check = Check::new();
    let request = meta(&mut check, "RecordReadings", &wire.request_id, &wire.person, wire);
    let piece_tag = check.tag("piece_tag", &wire.piece_tag);
    let parsed = readings_in(&mut check, wire.readings.as_ref(), true);
    let override_reason = check.optional_text("override_reason", &wire.override_reason, TEXT_MAX);
    let Some(readings) = parsed else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, RecordReadings { piece_tag, readings, override_reason }))
}

/// What was read; none only if refused.
pub fn readings_in(
    check: &mut Check,
    wire: Option<&pb::NewReadings>,
    names_feature: bool,
) -> Option<NewReadings> {
    let Some(wire) = wire else {
        check.refuse("readings", "they are not given");
        return None;
    };
    let feature = if names_feature || !wire.feature.is_empty() {
        check.feature_name("readings.feature", &wire.feature)
    } else {
        String::new()
    };
    let gauge_tag = check.tag("readings.gauge_tag", &wire.gauge_tag);
    let temperature =
        check.optional_temperature("readings.part_temperature", wire.part_temperature.as_ref());
    let gauge_temperature =
        check.optional_temperature("readings.gauge_temperature", wire.gauge_temperature.as_ref());
    let readings = match (wire.readings.is_empty(), wire.line.is_empty()) {
        (true, false) => from_line(check, &wire.line, wire.line_unit),
        (false, true) => one_by_one(check, &wire.readings),
        _ => {
            check.refuse("readings", "give either single readings or one line of them");
            None
        }
    };
    Some(NewReadings { feature, gauge_tag, readings: readings?, temperature, gauge_temperature })
}

fn from_line(check: &mut Check, line: &str, unit: i32) -> Option<Vec<EnteredReading>> {
    let unit = check.required_enum::<Unit>("readings.line_unit", unit)?;
    match parse_readings(line, Some(unit)) {
        Ok(readings) if readings.len() > READINGS_MAX => {
            let count = readings.len();
            let problem = format!("it has {count} readings; at most {READINGS_MAX} are allowed");
            check.refuse("readings.line", problem);
            None
        }
        Ok(readings) => Some(readings),
        Err(error) => {
            check.refuse("readings.line", error.to_string());
            None
        }
    }
}

fn one_by_one(check: &mut Check, wire: &[pb::NewReading]) -> Option<Vec<EnteredReading>> {
    check.list_length("readings.readings", wire.len(), 1, READINGS_MAX);
    let mut readings = Vec::with_capacity(wire.len());
    for (index, one) in wire.iter().take(READINGS_MAX).enumerate() {
        let at = |name: &str| format!("readings.readings[{index}].{name}");
        let station = check.optional_station(&at("station"), &one.station);
        if station.is_none() {
            check.refuse(
                &at("station"),
                "it is empty; 1 to 3 letters are required, such as A or REF",
            );
        }
        let orientation = u16::try_from(one.orientation_deg).ok().filter(|degrees| *degrees < 360);
        if orientation.is_none() {
            check.refuse(
                &at("orientation_deg"),
                format!("it is {}; 0 to 359 is allowed", one.orientation_deg),
            );
        }
        let entry = check.length(&at("value"), one.value.as_ref());
        if let (Some(station), Some(orientation_deg), Some(entry)) = (station, orientation, entry) {
            readings.push(EnteredReading { station, orientation_deg, entry });
        }
    }
    (readings.len() == wire.len()).then_some(readings)
}

/// A reading to be voided.
pub fn void_reading(wire: &pb::VoidReadingRequest) -> Parsed<VoidReading> {
    let mut check = Check::new();
    let request = meta(&mut check, "VoidReading", &wire.request_id, &wire.person, wire);
    let command = VoidReading {
        reading: ReadingId(check.count("reading_id", wire.reading_id, 1, i64::MAX)),
        reason: check.text("reason", &wire.reason, TEXT_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// A piece to be assessed.
pub fn assess_piece(wire: &pb::AssessPieceRequest) -> Parsed<AssessPiece> {
    let mut check = Check::new();
    let request = meta(&mut check, "AssessPiece", &wire.request_id, &wire.person, wire);
    let command = AssessPiece {
        piece_tag: check.tag("piece_tag", &wire.piece_tag),
        feature: match wire.feature.as_str() {
            "" => None,
            name => Some(check.feature_name("feature", name)),
        },
        manner: Manner {
            reference_station: check.optional_station("reference_station", &wire.reference_station),
            text_unit: check.optional_enum("text_unit", wire.text_unit),
            rule: check.optional_enum("rule", wire.rule).unwrap_or(DecisionRule::FullGuardBand),
        },
    };
    check.finish()?;
    Ok((request, command))
}

/// A gauge outward.
pub fn gauge(gauge: Gauge) -> pb::Gauge {
    pb::Gauge {
        tag: gauge.tag,
        description: gauge.description,
        resolution: Some(entry(&gauge.resolution)),
        expanded_uncertainty: Some(entry(&gauge.uncertainty)),
        setting_method: gauge.setting_method.to_wire(),
        calibration_due_time: Some(time(gauge.calibration_due_at)),
        state: gauge.state.to_wire(),
        etag: etag(gauge.revision),
        side: match gauge.side {
            None => pb::GaugeSide::Unspecified,
            Some(Side::External) => pb::GaugeSide::External,
            Some(Side::Internal) => pb::GaugeSide::Internal,
        } as i32,
        size_min: gauge.size_min.as_ref().map(entry),
        size_max: gauge.size_max.as_ref().map(entry),
        material: or_unspecified(gauge.material),
    }
}

/// A changed gauge outward.
pub fn gauge_updated((changed, in_doubt): (Gauge, i64)) -> pb::UpdateGaugeResponse {
    pb::UpdateGaugeResponse { gauge: Some(gauge(changed)), assessments_in_doubt: in_doubt }
}

fn temperature((value, scale): (String, TemperatureScale)) -> pb::Temperature {
    pb::Temperature { value, unit: scale.to_wire() }
}

/// A reading outward.
pub fn reading(view: ReadingView) -> pb::Reading {
    let reading = view.reading;
    pb::Reading {
        id: reading.id.0,
        piece_tag: view.piece_tag,
        feature: view.feature,
        station: reading.station,
        orientation_deg: i32::from(reading.orientation_deg),
        value: Some(written(&reading.value_text, reading.value_unit, reading.value)),
        value_at_20c: Some(length(reading.at_20c, reading.value_unit)),
        part_temperature: reading.temperature.map(temperature),
        gauge_temperature: reading.gauge_temperature.map(temperature),
        gauge_tag: view.gauge_tag,
        person: reading.person,
        time: Some(time(reading.created_at)),
        round: i32::try_from(reading.round).unwrap_or(i32::MAX),
        override_reason: reading.override_reason,
        trap: reading.trap,
        void: reading.void.map(|void| pb::ReadingVoid {
            reason: void.reason,
            person: void.person,
            time: Some(time(void.created_at)),
        }),
        gauge_out_of_calibration: reading.gauge_overdue,
    }
}

/// Recorded readings outward.
pub fn recorded(done: Recorded) -> pb::RecordReadingsResponse {
    pb::RecordReadingsResponse {
        readings: done.readings.into_iter().map(reading).collect(),
        notes: done.notes,
        traces: traces(done.traces),
    }
}

/// An assessment outward, in the unit that its sentences are written in.
pub fn assessment(view: AssessmentView) -> pb::FeatureAssessment {
    let record = view.assessment.record;
    let unit = record.text_unit;
    let shown = |value: Length| Some(length(value, unit));
    let compared = record.findings.iter().flat_map(|found| [found.measured, found.limit]);
    let places = compared.map(|length| length.places_in(unit)).max().unwrap_or(0);
    let basis = match record.wear_basis.as_str() {
        "reference_station" => pb::WearBasis::ReferenceStation,
        "nominal" => pb::WearBasis::Nominal,
        _ => pb::WearBasis::Unspecified,
    };
    pb::FeatureAssessment {
        id: view.assessment.id.0,
        piece_tag: view.piece_tag,
        feature: view.feature,
        kind: view.feature_kind.to_wire(),
        time: Some(time(record.created_at)),
        person: record.person,
        nominal: shown(record.nominal),
        nominal_source: record.nominal_source,
        limit_lower: record.limit_lower.and_then(shown),
        limit_upper: record.limit_upper.and_then(shown),
        limit_source: record.limit_source,
        min: shown(record.min),
        max: shown(record.max),
        mean: shown(record.mean),
        out_of_round: record.out_of_round.and_then(shown),
        taper: record.taper.and_then(shown),
        wear: record.wear.and_then(shown),
        wear_basis: basis as i32,
        wear_limit: record.wear_limit.and_then(shown),
        expanded_uncertainty: shown(record.uncertainty),
        stations: view.stations.iter().map(|station| station_out(station, unit)).collect(),
        findings: record.findings.into_iter().map(|found| finding(found, unit, places)).collect(),
        disposition: record.disposition.to_wire(),
        reasons: record.reasons,
        reading_ids: record.readings,
        gauge_tags: view.gauge_tags,
        rule: record.rule.to_wire(),
    }
}

fn station_out(station: &StationView, unit: Unit) -> pb::StationSummary {
    let shown = |value: Option<Length>| value.map(|value| length(value, unit));
    pb::StationSummary {
        station: station.station.clone(),
        min: shown(station.readings.iter().min().copied()),
        max: shown(station.readings.iter().max().copied()),
        mean: shown(Length::mean(&station.readings)),
        reference: station.is_reference,
    }
}

/// A finding, its lengths to as many places as the others of its column.
fn finding(found: AssessmentFinding, unit: Unit, places: u32) -> pb::Finding {
    let judgement = found.verdict.parse::<Verdict>().ok().map(|verdict| Judgement {
        verdict,
        probability_in: found.probability_in_ppb as f64 / 1e9,
    });
    pb::Finding {
        criterion: found.criterion,
        measured: Some(to_places(found.measured, unit, places)),
        limit: Some(to_places(found.limit, unit, places)),
        within: found.within,
        verdict: judgement.map(super::common::verdict),
        text: found.text,
    }
}

/// An assessed piece outward.
pub fn assessed(piece: PieceAssessment) -> pb::AssessPieceResponse {
    pb::AssessPieceResponse {
        assessments: piece.assessments.into_iter().map(assessment).collect(),
        disposition: piece.disposition.to_wire(),
        unmeasured_features: piece.unmeasured,
        traces: traces(piece.traces),
    }
}
