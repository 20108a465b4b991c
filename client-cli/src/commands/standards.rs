//! `tenths limits`, `inch-fit`, `bearing`, `seat`, `extension`, `key`, `retaining-ring`: published
//! tables.

use super::bulk::{self, Questions, micrometres, millimetres, mm, mm_ends, yes_or_no};
use super::fit::is_inch_fit;
use crate::args::{Bearing, Extension, InchFit, KeyFor, Limits, RetainingRing, Seat};
use crate::connect::{Session, rpc};
use crate::failure::Failure;
use crate::output::Format;
use std::path::Path;
use tenths_proto::v1;
use tenths_proto::v1::fits_service_client::FitsServiceClient;
use tenths_proto::v1::standards_service_client::StandardsServiceClient;

pub(crate) async fn limits(session: &mut Session, arguments: Limits) -> Result<(), Failure> {
    if let Some(path) = arguments.from {
        return bulk_limits(session, &path).await;
    }
    if let (Some(size), Some(class)) = (&arguments.size, &arguments.class) {
        one_class(size, class)?;
    }
    let request = v1::GetLimitsRequest {
        size: session.context.size_if_given("--size", arguments.size.as_deref())?,
        tolerance_class: arguments.class.unwrap_or_default(),
    };
    let answer = rpc!(session, FitsServiceClient.get_limits(request))?;
    session.printer.traced(&answer, arguments.explain)
}

/// Limits are those of one part: what names both parts is a question for `tenths fit`.
fn one_class(size: &str, class: &str) -> Result<(), Failure> {
    if !class.contains('/') && !is_inch_fit(class) {
        return Ok(());
    }
    Err(Failure::Usage(format!(
        "--class {class} names both parts of a fit; limits are those of one, such as H7 or g6. For \
         the fit: tenths fit --size {size} --class {class}"
    )))
}

async fn bulk_limits(session: &mut Session, path: &Path) -> Result<(), Failure> {
    let questions = Questions::read(path, &["size", "unit", "class"], &[])?;
    let columns = ["lower", "upper", "lower_limit", "upper_limit", "unconfirmed"];
    bulk::run(
        session,
        &questions,
        &columns,
        |row, unit| {
            let size = Some(row.size("size", unit)?);
            Ok(v1::LimitsQuestion { size, tolerance_class: row.at("class").to_owned() })
        },
        async |session, questions| {
            let request = v1::BatchGetLimitsRequest { questions };
            let answer = rpc!(session, StandardsServiceClient.batch_get_limits(request))?;
            Ok(answer.answers.into_iter().map(limits_columns).collect())
        },
    )
    .await
}

fn limits_columns(answer: v1::LimitsAnswer) -> bulk::Answered {
    bulk::answered(answer.problem, || {
        vec![
            micrometres(answer.lower_deviation_nm),
            micrometres(answer.upper_deviation_nm),
            millimetres(answer.lower_nm),
            millimetres(answer.upper_nm),
            yes_or_no(answer.unconfirmed),
        ]
    })
}

pub(crate) async fn inch_fit(session: &mut Session, arguments: InchFit) -> Result<(), Failure> {
    let request = v1::GetInchFitRequest {
        size: Some(session.context.size("--size", &arguments.size)?),
        fit_class: arguments.class,
    };
    let answer = rpc!(session, StandardsServiceClient.get_inch_fit(request))?;
    session.printer.traced(&answer, arguments.explain)
}

pub(crate) async fn bearing(session: &mut Session, arguments: Bearing) -> Result<(), Failure> {
    if let Some(path) = &arguments.from {
        return bulk_bearings(session, path).await;
    }
    if arguments.bore.is_some() {
        return match_bearings(session, &arguments).await;
    }
    let request = v1::GetBearingRequest {
        // A number may be typed in parts: 6205 C3.
        designation: arguments.designation.join(" "),
        ring_class: arguments.ring_class.unwrap_or_default(),
    };
    let answer = rpc!(session, StandardsServiceClient.get_bearing(request))?;
    if !answer.unknown_group.is_empty() {
        let note = format!(
            "clearance group {} is not in ISO 5753-1 (C2, CN, C3, C4, C5): no clearance is given",
            answer.unknown_group
        );
        session.printer.notes("note", &[note])?;
    }
    session.printer.traced(&answer, arguments.explain)
}

async fn match_bearings(session: &mut Session, arguments: &Bearing) -> Result<(), Failure> {
    let size = |flag, text: &Option<String>| session.context.size_if_given(flag, text.as_deref());
    let request = v1::MatchBearingsRequest {
        bore: size("--bore", &arguments.bore)?,
        outside_diameter: size("--od", &arguments.od)?,
        width: size("--width", &arguments.width)?,
        tolerance: size("--within", &arguments.within)?,
    };
    let answer = rpc!(session, StandardsServiceClient.match_bearings(request))?;
    if answer.nearest_only {
        let nearest = "no bearing has these sizes; the nearest are shown".to_owned();
        session.printer.notes("note", &[nearest])?;
    }
    session.printer.rows(&answer, &["matches"])?;
    if session.printer.format == Format::Csv && arguments.explain {
        session.printer.notes("source", std::slice::from_ref(&answer.source))?;
    }
    if session.printer.format == Format::Table {
        let doubtful = answer.matches.iter().filter(|bearing| bearing.unconfirmed);
        let numbers: Vec<&str> = doubtful.map(|bearing| bearing.basic_number.as_str()).collect();
        if arguments.explain {
            session.printer.text(&format!("source: {}\n", answer.source))?;
        }
        if !numbers.is_empty() {
            let line = format!("unconfirmed value: sizes of {}\n", numbers.join(", "));
            session.printer.text(&line)?;
        }
    }
    Ok(())
}

const BEARING_COLUMNS: [&str; 16] = [
    "basic_number",
    "bore",
    "outside_diameter",
    "width",
    "closure",
    "clearance_group",
    "clearance_min",
    "clearance_max",
    "bore_lower",
    "bore_upper",
    "outside_diameter_lower",
    "outside_diameter_upper",
    "width_lower",
    "width_upper",
    "uninterpreted",
    "unconfirmed",
];

async fn bulk_bearings(session: &mut Session, path: &Path) -> Result<(), Failure> {
    let questions = Questions::read(path, &["designation", "ring_class"], &["ring_class"])?;
    bulk::run(
        session,
        &questions,
        &BEARING_COLUMNS,
        |row, _| {
            Ok(v1::GetBearingRequest {
                designation: row.at("designation").to_owned(),
                ring_class: row.at("ring_class").to_owned(),
            })
        },
        async |session, questions| {
            let request = v1::BatchGetBearingsRequest { questions };
            let answer = rpc!(session, StandardsServiceClient.batch_get_bearings(request))?;
            Ok(answer.answers.into_iter().map(bearing_columns).collect())
        },
    )
    .await
}

fn bearing_columns(answer: v1::BearingAnswer) -> bulk::Answered {
    let bearing = answer.bearing.unwrap_or_default();
    bulk::answered(answer.problem, || {
        let sizes = [&bearing.bore, &bearing.outside_diameter, &bearing.width];
        let mut columns = vec![bearing.basic_number.clone()];
        columns.extend(sizes.map(|size| mm(size.as_ref())));
        columns.extend([bearing.closure, bearing.clearance_group]);
        for range in [
            &bearing.internal_clearance,
            &bearing.bore_limits,
            &bearing.outside_diameter_limits,
            &bearing.width_limits,
        ] {
            columns.extend(mm_ends(range.as_ref()));
        }
        columns.extend([bearing.uninterpreted.join(" "), yes_or_no(bearing.unconfirmed)]);
        columns
    })
}

pub(crate) async fn seat(session: &mut Session, arguments: Seat) -> Result<(), Failure> {
    let request = v1::RecommendSeatRequest {
        size: Some(session.context.size("--size", &arguments.size)?),
        housing: arguments.housing,
        rotation: arguments.rotation.into(),
        load: arguments.load.into(),
        machine: arguments.machine.unwrap_or_default().into(),
        ring_class: arguments.ring_class.unwrap_or_default(),
    };
    let answer = rpc!(session, StandardsServiceClient.recommend_seat(request))?;
    session.printer.notes("caution", &answer.cautions)?;
    session.printer.traced(&answer, arguments.explain)
}

pub(crate) async fn extension(session: &mut Session, arguments: Extension) -> Result<(), Failure> {
    let request = v1::GetShaftExtensionRequest {
        size: Some(session.context.size("--size", &arguments.size)?),
        standard: arguments.standard.into(),
    };
    let answer = rpc!(session, StandardsServiceClient.get_shaft_extension(request))?;
    session.printer.traced(&answer, arguments.explain)
}

pub(crate) async fn key(session: &mut Session, arguments: KeyFor) -> Result<(), Failure> {
    if let Some(path) = &arguments.from {
        return bulk_keys(session, path).await;
    }
    let shaft = session.context.size_if_given("--shaft", arguments.shaft.as_deref())?;
    let standard = arguments.standard.unwrap_or_default().into();
    let fit = arguments.fit.unwrap_or_default().into();
    let keyseat = arguments.keyseat.as_deref();
    match session.context.size_if_given("--keyseat", keyseat)? {
        Some(width) => {
            let measured_width = Some(width);
            let request = v1::JudgeKeyseatRequest { measured_width, shaft, standard, fit };
            let answer = rpc!(session, StandardsServiceClient.judge_keyseat(request))?;
            session.printer.traced(&answer, arguments.explain)
        }
        None => {
            let request = v1::GetKeyRequest { shaft, standard, fit };
            let answer = rpc!(session, StandardsServiceClient.get_key(request))?;
            session.printer.traced(&answer, arguments.explain)
        }
    }
}

const KEY_COLUMNS: [&str; 13] = [
    "width",
    "height",
    "rectangular_height",
    "shaft_depth",
    "hub_depth",
    "key_width_lower",
    "key_width_upper",
    "keyseat_width_lower",
    "keyseat_width_upper",
    "shaft_depth_max",
    "hub_depth_max",
    "rectangular_depth",
    "unconfirmed",
];

async fn bulk_keys(session: &mut Session, path: &Path) -> Result<(), Failure> {
    let questions =
        Questions::read(path, &["shaft", "unit", "standard", "fit"], &["standard", "fit"])?;
    bulk::run(
        session,
        &questions,
        &KEY_COLUMNS,
        |row, unit| {
            let standard =
                row.member("standard", "KEY_STANDARD_", v1::KeyStandard::from_str_name, |at| {
                    v1::KeyStandard::try_from(at).ok().map(|one| one.as_str_name())
                });
            let fit = row.member("fit", "KEYSEAT_FIT_", v1::KeyseatFit::from_str_name, |at| {
                v1::KeyseatFit::try_from(at).ok().map(|one| one.as_str_name())
            });
            Ok(v1::GetKeyRequest {
                shaft: Some(row.size("shaft", unit)?),
                standard: standard?.unwrap_or_default().into(),
                fit: fit?.unwrap_or_default().into(),
            })
        },
        async |session, questions| {
            let request = v1::BatchGetKeysRequest { questions };
            let answer = rpc!(session, StandardsServiceClient.batch_get_keys(request))?;
            Ok(answer.answers.into_iter().map(key_columns).collect())
        },
    )
    .await
}

fn key_columns(answer: v1::KeyAnswer) -> bulk::Answered {
    let key = answer.key.unwrap_or_default();
    bulk::answered(answer.problem, || {
        let sizes =
            [&key.width, &key.height, &key.rectangular_height, &key.shaft_depth, &key.hub_depth];
        let mut columns: Vec<String> = sizes.iter().map(|size| mm(size.as_ref())).collect();
        columns.extend(mm_ends(key.key_width.as_ref()));
        columns.extend(mm_ends(key.keyseat_width.as_ref()));
        let [_, shaft_depth_max] = mm_ends(key.shaft_depth_limits.as_ref());
        let [_, hub_depth_max] = mm_ends(key.hub_depth_limits.as_ref());
        columns.extend([shaft_depth_max, hub_depth_max, mm(key.rectangular_depth.as_ref())]);
        columns.push(yes_or_no(key.unconfirmed));
        columns
    })
}

pub(crate) async fn retaining_ring(
    session: &mut Session,
    arguments: RetainingRing,
) -> Result<(), Failure> {
    let request = v1::GetRetainingRingRequest {
        size: Some(session.context.size("--size", &arguments.size)?),
        kind: arguments.on.into(),
    };
    let answer = rpc!(session, StandardsServiceClient.get_retaining_ring(request))?;
    session.printer.traced(&answer, arguments.explain)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::reach::run_line;
    use crate::shop_double::ShopDouble;
    use prost::Message;

    #[tokio::test]
    async fn bearings_that_nearly_match_are_said_to() {
        let double = ShopDouble::default();
        let length = |nm| Some(v1::Length { nm, ..Default::default() });
        let matched = |number: &str, unconfirmed| v1::BearingMatch {
            basic_number: number.into(),
            bore: length(25_000_000),
            off: length(1_000_000),
            unconfirmed,
            ..Default::default()
        };
        let answer = v1::MatchBearingsResponse {
            matches: vec![matched("6205", false), matched("61805", true)],
            nearest_only: true,
            source: "ISO 15:2017".into(),
        };
        double.answer("StandardsService/MatchBearings", &answer);
        let server = double.serve().await;
        let line = "bearing --bore 25mm --od 53mm --within 0.5mm --explain";
        let (outcome, out, notes) = run_line(&server, Format::Table, line).await;
        outcome.unwrap();
        let expected = "\
basic_number  bore        off        unconfirmed
6205          25.0000 mm  1.0000 mm
61805         25.0000 mm  1.0000 mm  yes
source: ISO 15:2017
unconfirmed value: sizes of 61805
";
        assert_eq!(out, expected);
        assert_eq!(notes, "note: no bearing has these sizes; the nearest are shown\n");
        let (_, out, notes) = run_line(&server, Format::Csv, line).await;
        assert_eq!(out.lines().count(), 3);
        assert!(notes.ends_with("source: ISO 15:2017\n"), "{notes}");
        let calls = double.calls();
        let sent = v1::MatchBearingsRequest::decode(calls[0].1.as_slice()).unwrap();
        assert_eq!(sent.outside_diameter.unwrap().value, "53");
        assert_eq!((sent.tolerance.unwrap().value.as_str(), sent.width), ("0.5", None));
    }

    /// What a command asks depends on its arguments.
    #[tokio::test]
    async fn a_number_in_parts_and_a_keyseat() {
        let double = ShopDouble::default();
        let server = double.serve().await;
        run_line(&server, Format::Json, "bearing 6205 C3 --ring-class 6").await.0.unwrap();
        run_line(&server, Format::Json, "key --shaft 1in --keyseat 0.2515in").await.0.unwrap();
        run_line(&server, Format::Json, "key --shaft 1in --fit class-2").await.0.unwrap();
        let line = "seat --size 62mm --housing --rotation outer_rotates --load heavy";
        run_line(&server, Format::Json, line).await.0.unwrap();
        let calls = double.calls();
        let sent = v1::GetBearingRequest::decode(calls[0].1.as_slice()).unwrap();
        assert_eq!((sent.designation.as_str(), sent.ring_class.as_str()), ("6205 C3", "6"));
        let sent = v1::JudgeKeyseatRequest::decode(calls[1].1.as_slice()).unwrap();
        assert_eq!(sent.measured_width.unwrap().value, "0.2515");
        let sent = v1::GetKeyRequest::decode(calls[2].1.as_slice()).unwrap();
        assert_eq!(
            (sent.fit(), sent.standard()),
            (v1::KeyseatFit::Class2, v1::KeyStandard::Unspecified)
        );
        let sent = v1::RecommendSeatRequest::decode(calls[3].1.as_slice()).unwrap();
        assert_eq!((sent.housing, sent.load()), (true, v1::LoadClass::Heavy));
    }
}
