//! Standards: keys, bearings, seats, rings, and their traces.

use super::common::{aligned, fit_class, length, to_places};
use crate::app::Error;
use crate::app::standards::{
    self, Bearing, BearingSizes, ExtensionStandard, KeyQuestion, SeatQuestion, spoken,
};
use crate::app::trace::Trace;
use crate::grpc::check::Check;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::iso286::Deviations;
use tenths_domain::item::Limits;
use tenths_domain::keys::{KeyseatJudgement, KeyseatVerdict};
use tenths_domain::seats::{Duty, Machine, ring_warning};
use tenths_domain::units::{Entry, Length, Unit};
use tenths_proto::v1 as pb;

/// A value behind an answer, outward.
pub fn trace(trace: Trace) -> pb::Trace {
    pb::Trace {
        what: trace.what,
        value: trace.value,
        source: trace.source,
        unconfirmed: trace.unconfirmed,
    }
}

/// The values behind an answer, outward.
pub fn traces(traces: Vec<Trace>) -> Vec<pb::Trace> {
    traces.into_iter().map(trace).collect()
}

fn unconfirmed(traces: &[Trace]) -> bool {
    traces.iter().any(|trace| trace.unconfirmed)
}

/// A range of sizes, outward.
pub fn size_range(limits: Limits, unit: Unit) -> pb::SizeRange {
    let [lower, upper] = aligned([limits.lower, limits.upper], unit);
    pb::SizeRange { lower: Some(lower), upper: Some(upper) }
}

fn about(deviations: Deviations, nominal: Length, unit: Unit) -> pb::SizeRange {
    size_range(deviations.about(nominal), unit)
}

/// The ISO 492 class of a text; normal if nothing is said.
pub fn ring_class(check: &mut Check, field: &str, text: &str) -> ToleranceClass {
    match text {
        "" => ToleranceClass::Normal,
        text => text.parse().unwrap_or_else(|error: tenths_domain::named::UnknownName| {
            check.refuse(field, error.to_string());
            ToleranceClass::Normal
        }),
    }
}

/// An inch fit.
///
/// # Errors
/// [`Error::Invalid`].
pub fn inch_fit(wire: &pb::GetInchFitRequest) -> Result<pb::GetInchFitResponse, Error> {
    let mut check = Check::new();
    let size = check.length("size", wire.size.as_ref());
    let class = fit_class(&mut check, "fit_class", &wire.fit_class);
    let (Some(size), Some(class)) = (size, class) else { return Err(check.into_error()) };
    check.finish()?;
    let (fit, found) = standards::inch_fit(&size, class)?;
    let unit = spoken(size.unit);
    let [clearance_min, clearance_max] = aligned([fit.min_clearance, fit.max_clearance], unit);
    Ok(pb::GetInchFitResponse {
        hole: Some(about(fit.hole, size.length, unit)),
        shaft: Some(about(fit.shaft, size.length, unit)),
        clearance_min: Some(clearance_min),
        clearance_max: Some(clearance_max),
        note: fit.note.unwrap_or_default().to_owned(),
        unconfirmed: fit.unconfirmed,
        traces: traces(found),
    })
}

/// A bearing by its number.
///
/// # Errors
/// [`Error::Invalid`].
pub fn bearing(wire: &pb::GetBearingRequest) -> Result<pb::GetBearingResponse, Error> {
    let mut check = Check::new();
    let number = check.text("designation", &wire.designation, 40);
    let class = ring_class(&mut check, "ring_class", &wire.ring_class);
    check.finish()?;
    Ok(bearing_out(standards::bearing(&number, class)?))
}

fn bearing_out(bearing: Bearing) -> pb::GetBearingResponse {
    let mm = Unit::Millimetre;
    let sizes = bearing.designation.dimensions;
    let clearance = bearing.clearance.map(|found| Limits { lower: found.min, upper: found.max });
    pb::GetBearingResponse {
        basic_number: bearing.designation.basic,
        bore: Some(length(sizes.bore, mm)),
        outside_diameter: Some(length(sizes.outside_diameter, mm)),
        width: Some(length(sizes.width, mm)),
        closure: bearing.designation.closure.map(|one| one.as_str().to_owned()).unwrap_or_default(),
        clearance_group: bearing.group.map(|one| one.as_str().to_owned()).unwrap_or_default(),
        unknown_group: bearing.designation.unknown_group.unwrap_or_default(),
        internal_clearance: clearance.map(|limits| size_range(limits, Unit::Micrometre)),
        bore_limits: Some(about(bearing.rings.bore, sizes.bore, mm)),
        outside_diameter_limits: Some(about(
            bearing.rings.outside_diameter,
            sizes.outside_diameter,
            mm,
        )),
        width_limits: Some(about(bearing.rings.width, sizes.width, mm)),
        uninterpreted: bearing.designation.uninterpreted,
        unconfirmed: unconfirmed(&bearing.traces),
        traces: traces(bearing.traces),
    }
}

/// How far a size may be off only because it was written in inches: bearings are metric, so half of
/// the last place, of a coarse one half a thou. A size in millimetres is exact.
fn rounding(size: &Entry) -> Length {
    const MOST: Length = Length::from_nm(12_700);
    match size.unit {
        Unit::Inch | Unit::Thou => Length::from_nm((size.resolution.nm() + 1) / 2).min(MOST),
        Unit::Millimetre | Unit::Micrometre => Length::ZERO,
    }
}

/// Bearings by their sizes.
///
/// # Errors
/// [`Error::Invalid`].
pub fn match_bearings(wire: &pb::MatchBearingsRequest) -> Result<pb::MatchBearingsResponse, Error> {
    let mut check = Check::new();
    let bore = check.length("bore", wire.bore.as_ref());
    let outside_diameter =
        check.optional_length("outside_diameter", wire.outside_diameter.as_ref());
    let width = check.optional_length("width", wire.width.as_ref());
    let tolerance = check.optional_length("tolerance", wire.tolerance.as_ref());
    let Some(bore) = bore else { return Err(check.into_error()) };
    check.finish()?;
    let given = [Some(&bore), outside_diameter.as_ref(), width.as_ref()];
    let rounded = given.into_iter().flatten().map(rounding).max().unwrap_or(Length::ZERO);
    let sizes = BearingSizes {
        bore: bore.length,
        outside_diameter: outside_diameter.map(|entry| entry.length),
        width: width.map(|entry| entry.length),
        tolerance: tolerance.map_or(rounded, |entry| entry.length),
    };
    let (found, nearest_only) = standards::match_bearings(&sizes);
    let unit = spoken(bore.unit);
    let all = found.iter().flat_map(|one| {
        let sizes = one.dimensions;
        [sizes.bore, sizes.outside_diameter, sizes.width, one.off]
    });
    let places = all.map(|length| length.places_in(unit)).max().unwrap_or(0);
    let shown = |length| Some(to_places(length, unit, places));
    let matches = found.into_iter().map(|one| pb::BearingMatch {
        basic_number: one.basic,
        bore: shown(one.dimensions.bore),
        outside_diameter: shown(one.dimensions.outside_diameter),
        width: shown(one.dimensions.width),
        off: shown(one.off),
        unconfirmed: one.is_unconfirmed,
    });
    Ok(pb::MatchBearingsResponse {
        matches: matches.collect(),
        nearest_only,
        source: tenths_domain::bearings::boundary::SOURCE.to_owned(),
    })
}

/// The class of a seat.
///
/// # Errors
/// [`Error::Invalid`].
pub fn seat(wire: &pb::RecommendSeatRequest) -> Result<pb::RecommendSeatResponse, Error> {
    let mut check = Check::new();
    let size = check.length("size", wire.size.as_ref());
    let rotation = check.required_enum("rotation", wire.rotation);
    let load = check.required_enum("load", wire.load);
    let machine = check.optional_enum("machine", wire.machine).unwrap_or(Machine::General);
    let class = ring_class(&mut check, "ring_class", &wire.ring_class);
    let (Some(size), Some(rotation), Some(load)) = (size, rotation, load) else {
        return Err(check.into_error());
    };
    check.finish()?;
    let duty = Duty { rotation, load, machine };
    let question = SeatQuestion { size: size.length, housing: wire.housing, duty, class };
    let (found, form) = standards::seat(&question)?;
    let unit = spoken(size.unit);
    let shown = |value: Option<Length>| value.map(|value| length(value, unit));
    let mut behind = standards::seat_traces(&found, &size);
    behind.extend(form.iter().flat_map(|form| standards::form_traces(form, size.unit)));
    let recommendations = found.into_iter().map(|one| pb::SeatRecommendation {
        tolerance_class: one.class.to_string(),
        limits: Some(size_range(one.limits, unit)),
        condition: one.when,
        source: one.source.to_owned(),
        confidence: one.confidence.as_str().to_owned(),
    });
    Ok(pb::RecommendSeatResponse {
        recommendations: recommendations.collect(),
        cylindricity: shown(form.as_ref().map(|form| form.cylindricity)),
        total_radial_run_out: shown(form.as_ref().map(|form| form.total_radial_run_out)),
        shoulder_squareness: shown(form.as_ref().map(|form| form.shoulder_squareness)),
        traces: traces(behind),
        cautions: ring_warning(machine, class).map(str::to_owned).into_iter().collect(),
    })
}

/// A shaft extension.
///
/// # Errors
/// [`Error::Invalid`].
pub fn extension(
    wire: &pb::GetShaftExtensionRequest,
) -> Result<pb::GetShaftExtensionResponse, Error> {
    let mut check = Check::new();
    let size = check.length("size", wire.size.as_ref());
    let standard = match pb::ExtensionStandard::try_from(wire.standard) {
        Ok(pb::ExtensionStandard::Nema) => Some(ExtensionStandard::Nema),
        Ok(pb::ExtensionStandard::Iec) => Some(ExtensionStandard::Iec),
        Ok(pb::ExtensionStandard::Unspecified) | Err(_) => {
            check.refuse("standard", "it is not given; allowed: nema, iec");
            None
        }
    };
    let (Some(size), Some(standard)) = (size, standard) else { return Err(check.into_error()) };
    check.finish()?;
    let (found, behind): (_, Vec<Trace>) = standards::extension(&size, standard)?;
    let unit = spoken(size.unit);
    Ok(pb::GetShaftExtensionResponse {
        limits: Some(size_range(found.limits, unit)),
        run_out: Some(length(found.run_out, unit)),
        run_out_reduced: found.run_out_reduced.map(|run_out| length(run_out, unit)),
        measured_at: found.measured_at.to_owned(),
        traces: traces(behind),
    })
}

fn key_question(
    check: &mut Check,
    shaft: Option<&pb::Length>,
    standard: i32,
    fit: i32,
) -> Option<KeyQuestion> {
    let shaft: Option<Entry> = check.length("shaft", shaft);
    let standard = check.optional_enum("standard", standard);
    let fit = check.optional_enum("fit", fit);
    Some(KeyQuestion { shaft: shaft?, standard, fit })
}

/// The key of a shaft.
///
/// # Errors
/// [`Error::Invalid`].
pub fn key(wire: &pb::GetKeyRequest) -> Result<pb::GetKeyResponse, Error> {
    let mut check = Check::new();
    let parsed = key_question(&mut check, wire.shaft.as_ref(), wire.standard, wire.fit);
    let Some(question) = parsed else { return Err(check.into_error()) };
    check.finish()?;
    let (key, limits, behind) = standards::key(&question)?;
    let unit = spoken(question.shaft.unit);
    let shown = |value: Length| Some(length(value, unit));
    let deeper =
        |depth: Length, by: Length| size_range(Limits { lower: depth, upper: depth + by }, unit);
    Ok(pb::GetKeyResponse {
        standard: key.standard.to_wire(),
        width: shown(key.width),
        height: shown(key.height),
        rectangular_height: key.rectangular_height.and_then(shown),
        shaft_depth: shown(key.shaft_depth),
        hub_depth: shown(key.hub_depth),
        standard_name: key.standard.title().to_owned(),
        shaft_depth_limits: Some(deeper(key.shaft_depth, key.shaft_depth_tolerance)),
        hub_depth_limits: Some(deeper(key.hub_depth, key.hub_depth_tolerance)),
        rectangular_depth: key.rectangular_depth.and_then(shown),
        key_width: Some(size_range(limits.key, unit)),
        keyseat_width: Some(size_range(limits.keyseat, unit)),
        unconfirmed: unconfirmed(&behind),
        traces: traces(behind),
    })
}

/// A measured keyseat.
///
/// # Errors
/// [`Error::Invalid`].
pub fn keyseat(wire: &pb::JudgeKeyseatRequest) -> Result<pb::JudgeKeyseatResponse, Error> {
    let mut check = Check::new();
    let measured = check.length("measured_width", wire.measured_width.as_ref());
    let parsed = key_question(&mut check, wire.shaft.as_ref(), wire.standard, wire.fit);
    let (Some(measured), Some(question)) = (measured, parsed) else {
        return Err(check.into_error());
    };
    check.finish()?;
    let (judged, behind) = standards::keyseat(measured.length, &question)?;
    let unit = spoken(question.shaft.unit);
    let next = match judged.verdict {
        KeyseatVerdict::NextKeyWidth { key } => Some(key.width),
        _ => None,
    };
    let (verdict, text) = keyseat_words(&judged, unit);
    Ok(pb::JudgeKeyseatResponse {
        verdict: verdict as i32,
        text,
        limits: Some(size_range(judged.limits, unit)),
        over_nominal: Some(length(judged.over_nominal, unit)),
        next_key_width: next.map(|width| length(width, unit)),
        unconfirmed: judged.is_unconfirmed,
        traces: traces(behind),
    })
}

fn keyseat_words(judged: &KeyseatJudgement, unit: Unit) -> (pb::KeyseatVerdict, String) {
    match judged.verdict {
        KeyseatVerdict::TooNarrow => (
            pb::KeyseatVerdict::TooNarrow,
            "narrower than its least width: no wear does that; check the reading, the key and the fit"
                .to_owned(),
        ),
        KeyseatVerdict::Fits => (pb::KeyseatVerdict::Fits, "within its limits: fit the standard key".to_owned()),
        KeyseatVerdict::SteppedOrOversizeKey => (
            pb::KeyseatVerdict::SteppedOrOversizeKey,
            "worn: a stepped or oversize key, made to the keyseat".to_owned(),
        ),
        KeyseatVerdict::NextKeyWidth { key } => (
            pb::KeyseatVerdict::NextKeyWidth,
            format!("worn: mill out to the next wider key, {}", key.width.display_in(unit)),
        ),
        KeyseatVerdict::Beyond => (
            pb::KeyseatVerdict::Beyond,
            "beyond: weld and recut, or cut a new keyseat 90 or 180 degrees round and balance again"
                .to_owned(),
        ),
    }
}

/// A retaining ring.
///
/// # Errors
/// [`Error::Invalid`].
pub fn retaining_ring(
    wire: &pb::GetRetainingRingRequest,
) -> Result<pb::GetRetainingRingResponse, Error> {
    let mut check = Check::new();
    let size = check.length("size", wire.size.as_ref());
    let kind = check.required_enum("kind", wire.kind);
    let (Some(size), Some(kind)) = (size, kind) else { return Err(check.into_error()) };
    check.finish()?;
    let (groove, behind) = standards::groove(&size, kind)?;
    let unit = spoken(size.unit);
    Ok(pb::GetRetainingRingResponse {
        ring_thickness: Some(length(groove.ring_thickness, unit)),
        groove_diameter: Some(length(groove.diameter, unit)),
        groove_diameter_limits: Some(size_range(groove.diameter_limits, unit)),
        groove_width_limits: Some(size_range(groove.width_limits, unit)),
        unconfirmed: groove.is_unconfirmed,
        traces: traces(behind),
    })
}

/// The limits of one question of many, or why there are none.
pub fn limits_answer(wire: &pb::LimitsQuestion) -> pb::LimitsAnswer {
    let request = pb::GetLimitsRequest {
        size: wire.size.clone(),
        tolerance_class: wire.tolerance_class.clone(),
    };
    let found =
        super::fits::get_limits(&request).and_then(|order| crate::app::fits::get_limits(&order));
    match found {
        Ok(found) => pb::LimitsAnswer {
            lower_deviation_nm: found.deviations.lower.nm(),
            upper_deviation_nm: found.deviations.upper.nm(),
            lower_nm: found.limits.lower.nm(),
            upper_nm: found.limits.upper.nm(),
            unconfirmed: found.unconfirmed,
            problem: String::new(),
        },
        Err(error) => pb::LimitsAnswer { problem: problem(&error), ..Default::default() },
    }
}

/// What is wrong with one question of many, in one line.
pub fn problem(error: &Error) -> String {
    match error {
        Error::Invalid(violations) => {
            let one = |violation: &crate::app::Violation| {
                format!("{}: {}", violation.field, violation.problem)
            };
            violations.iter().map(one).collect::<Vec<_>>().join("; ")
        }
        other => other.to_string(),
    }
}

/// A bearing of one question of many.
pub fn bearing_answer(wire: &pb::GetBearingRequest) -> pb::BearingAnswer {
    match bearing(wire) {
        Ok(bearing) => pb::BearingAnswer { bearing: Some(bearing), problem: String::new() },
        Err(error) => pb::BearingAnswer { bearing: None, problem: problem(&error) },
    }
}

/// A key of one question of many.
pub fn key_answer(wire: &pb::GetKeyRequest) -> pb::KeyAnswer {
    match key(wire) {
        Ok(key) => pb::KeyAnswer { key: Some(key), problem: String::new() },
        Err(error) => pb::KeyAnswer { key: None, problem: problem(&error) },
    }
}

/// Refuses an empty or overlong list of questions.
///
/// # Errors
/// [`Error::Invalid`].
pub fn count(questions: usize, most: usize) -> Result<(), Error> {
    let mut check = Check::new();
    check.list_length("questions", questions, 1, most);
    check.finish()
}
