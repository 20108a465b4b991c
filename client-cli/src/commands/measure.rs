//! `tenths read`, `readings`, `reading`, `assess`, `assessments`: measuring and judging.

use crate::args::{Assess, Assessments, NumbersRead, Read, ReadingCommand, Readings};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::Failure;
use crate::output::Format;
use crate::{paging, report};
use tenths_proto::v1::measuring_service_client::MeasuringServiceClient;
use tenths_proto::v1::{self, LengthUnit, NewReadings};

pub(crate) async fn read(session: &mut Session, arguments: Read) -> Result<(), Failure> {
    let explain = arguments.explain;
    let request = read_request(arguments, &session.context)?;
    let answer = rpc!(session, MeasuringServiceClient.record_readings(request))?;
    session.printer.notes("note", &answer.notes)?;
    session.printer.rows_explained(&answer, &["readings"], &answer.traces, explain)
}

fn read_request(arguments: Read, context: &Context) -> Result<v1::RecordReadingsRequest, Failure> {
    let override_reason = arguments.numbers.sure.clone().unwrap_or_default();
    Ok(v1::RecordReadingsRequest {
        request_id: context.request_id(),
        person: context.person()?,
        piece_tag: arguments.piece,
        readings: Some(new_readings(arguments.feature, arguments.numbers)),
        override_reason,
    })
}

/// The line goes to the server as typed: it knows what a station and a value may be.
pub(crate) fn new_readings(feature: String, numbers: NumbersRead) -> NewReadings {
    let (line, unit) = match (numbers.inch, numbers.mm) {
        (Some(line), _) => (line, LengthUnit::In),
        (None, line) => (line.unwrap_or_default(), LengthUnit::Mm),
    };
    NewReadings {
        feature,
        gauge_tag: numbers.gauge,
        readings: Vec::new(),
        line,
        line_unit: unit.into(),
        part_temperature: numbers.part_temp,
        gauge_temperature: numbers.gauge_temp,
    }
}

pub(crate) async fn readings(session: &mut Session, arguments: Readings) -> Result<(), Failure> {
    let request = v1::ListReadingsRequest {
        piece_tag: arguments.piece.unwrap_or_default(),
        feature: arguments.feature.unwrap_or_default(),
        gauge_tag: arguments.gauge.unwrap_or_default(),
        ..Default::default()
    };
    paging::list(session, &arguments.paging, request, "readings", async |session, request| {
        rpc!(session, MeasuringServiceClient.list_readings(request))
    })
    .await
}

pub(crate) async fn reading(session: &mut Session, command: ReadingCommand) -> Result<(), Failure> {
    let ReadingCommand::Void { id, reason } = command;
    let request = v1::VoidReadingRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        reading_id: id,
        reason,
    };
    let answer = rpc!(session, MeasuringServiceClient.void_reading(request))?;
    session.printer.rows(&answer, &["reading"])
}

pub(crate) async fn assess(session: &mut Session, arguments: Assess) -> Result<(), Failure> {
    let request = v1::AssessPieceRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        piece_tag: arguments.piece,
        feature: arguments.feature.unwrap_or_default(),
        reference_station: arguments.reference.unwrap_or_default(),
        text_unit: session.context.text_unit().into(),
        rule: arguments.rule.unwrap_or_default().into(),
    };
    let answer = rpc!(session, MeasuringServiceClient.assess_piece(request))?;
    match session.printer.format {
        Format::Table => {
            let columns = session.printer.columns;
            let report = report::of_piece(&answer, session.context.unit, columns);
            session.printer.text(&report)?;
            session.printer.values(&answer.traces, arguments.explain)
        }
        Format::Json | Format::Csv => {
            let parts = ["assessments"];
            session.printer.rows_explained(&answer, &parts, &answer.traces, arguments.explain)
        }
    }
}

pub(crate) async fn assessments(
    session: &mut Session,
    arguments: Assessments,
) -> Result<(), Failure> {
    let request = v1::ListAssessmentsRequest {
        piece_tag: arguments.piece.unwrap_or_default(),
        gauge_tag: arguments.gauge.unwrap_or_default(),
        ..Default::default()
    };
    paging::list(session, &arguments.paging, request, "assessments", async |session, request| {
        rpc!(session, MeasuringServiceClient.list_assessments(request))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;

    #[test]
    fn a_line_of_readings_goes_out_as_typed() {
        let line = "read P-104 --feature seat-a --gauge M-07 --in \"A0 1.1809 A90 1.1808\" \
                    --part-temp 75F --gauge-temp 21C --sure \"read twice\"";
        let Command::Read(arguments) = parse(line) else { panic!() };
        let request = read_request(arguments, &Context::of_mara()).unwrap();
        let expected = NewReadings {
            feature: "seat-a".into(),
            gauge_tag: "M-07".into(),
            readings: vec![],
            line: "A0 1.1809 A90 1.1808".into(),
            line_unit: LengthUnit::In.into(),
            part_temperature: Some(v1::Temperature {
                value: "75".into(),
                unit: v1::TemperatureUnit::F.into(),
            }),
            gauge_temperature: Some(v1::Temperature {
                value: "21".into(),
                unit: v1::TemperatureUnit::C.into(),
            }),
        };
        assert_eq!(request.readings, Some(expected));
        assert_eq!(
            (request.piece_tag.as_str(), request.override_reason.as_str()),
            ("P-104", "read twice")
        );
        let Command::Read(metric) = parse("read P-1 --feature a --gauge M-1 --mm \"A0 25.01\"")
        else {
            panic!()
        };
        assert_eq!(new_readings("a".into(), metric.numbers).line_unit(), LengthUnit::Mm);
    }
}
