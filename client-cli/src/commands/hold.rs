//! `tenths hold`, `holds`, `extend`, `release`, `consume`: what is set aside for a rebuild.

use crate::args::{Consume, Extend, Hold, Holds, Release};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::entry::{lists, times};
use crate::failure::{Failure, broken_answer};
use crate::memory::Row;
use crate::paging;
use prost_types::Timestamp;
use tenths_proto::v1;
use tenths_proto::v1::rebuilds_service_client::RebuildsServiceClient;

pub(crate) async fn hold(session: &mut Session, arguments: Hold) -> Result<(), Failure> {
    let request = reserve_request(arguments, &session.context, |number| session.row(number))?;
    let answer = rpc!(session, RebuildsServiceClient.reserve(request))?;
    session.printer.rows(&answer, &["reservations"])
}

fn reserve_request(
    arguments: Hold,
    context: &Context,
    row: impl Fn(i64) -> Option<Row>,
) -> Result<v1::ReserveRequest, Failure> {
    let usage = |message: String| Failure::Usage(message);
    let (spans, mut rebuilds): (Vec<_>, Vec<_>) =
        arguments.hold_for.iter().partition(|text| times::span(text).is_ok());
    let (rows, named): (Vec<_>, Vec<_>) =
        arguments.what.iter().partition(|text| text.starts_with(|c: char| c.is_ascii_digit()));
    rebuilds.extend(named);
    let rebuild = match rebuilds[..] {
        [rebuild] => rebuild.clone(),
        [] => return Err(usage("for which rebuild? give its tag, such as --for R-318".to_owned())),
        _ => return Err(usage(format!("one rebuild at a time; {} were named", rebuilds.len()))),
    };
    if spans.len() + usize::from(arguments.until.is_some()) > 1 {
        return Err(usage("say once how long: --for SPAN or --until".to_owned()));
    }
    let mut lines: Vec<v1::ReserveLine> =
        arguments.pieces.iter().map(|tag| lists::piece_line(tag)).collect();
    lines.extend(arguments.lots);
    for text in rows {
        lines.push(row_line(text, &row)?);
    }
    if lines.is_empty() {
        let message = "what is to be held? give --piece, --lot, or rows of the last answer";
        return Err(usage(message.to_owned()));
    }
    let span = spans.first().and_then(|text| times::span(text).ok());
    Ok(v1::ReserveRequest {
        request_id: context.request_id(),
        person: context.person()?,
        rebuild_tag: rebuild,
        lines,
        until_time: arguments.until,
        hold_for: span.map(times::span_on_wire),
    })
}

/// A row of the last answer, `ROW` or `ROW:QUANTITY`.
fn row_line(text: &str, row: impl Fn(i64) -> Option<Row>) -> Result<v1::ReserveLine, Failure> {
    let refused = || {
        Failure::Usage(format!("{text:?} is no row; write ROW or ROW:QUANTITY, such as 2 or 2:4"))
    };
    let (number, quantity) = text.split_once(':').unwrap_or((text, "1"));
    let number: i64 = number.parse().map_err(|_| refused())?;
    let quantity: i64 = quantity.parse().ok().filter(|count| *count > 0).ok_or_else(refused)?;
    let found = row(number).ok_or_else(|| {
        Failure::Usage(format!(
            "row {number} is not in the last answer of this server: ask `tenths find` again, or \
             name the tag"
        ))
    })?;
    match found {
        Row::Piece(tag) if quantity == 1 => Ok(lists::piece_line(&tag)),
        Row::Piece(tag) => {
            Err(Failure::Usage(format!("row {number} is piece {tag}: one there is")))
        }
        Row::Lot(tag) => lists::lot_line(&format!("{tag}:{quantity}")).map_err(Failure::Usage),
    }
}

pub(crate) async fn holds(session: &mut Session, arguments: Holds) -> Result<(), Failure> {
    if let Some(tag) = arguments.tag {
        let request = v1::GetReservationRequest { tag };
        let answer = rpc!(session, RebuildsServiceClient.get_reservation(request))?;
        return session.printer.record(&answer, "reservation");
    }
    let request = v1::ListReservationsRequest {
        state: arguments.state.unwrap_or_default().into(),
        rebuild_tag: arguments.rebuild.unwrap_or_default(),
        ..Default::default()
    };
    paging::list(session, &arguments.paging, request, "reservations", async |session, request| {
        rpc!(session, RebuildsServiceClient.list_reservations(request))
    })
    .await
}

pub(crate) async fn extend(session: &mut Session, arguments: Extend) -> Result<(), Failure> {
    let person = session.context.person()?;
    let until = new_end(session, &arguments).await?;
    let request = v1::ExtendReservationRequest {
        request_id: session.context.request_id(),
        person,
        etag: arguments.etag,
        tag: arguments.tag,
        until_time: Some(until),
        reason: arguments.reason,
    };
    let answer = rpc!(session, RebuildsServiceClient.extend_reservation(request))?;
    session.printer.rows(&answer, &["reservation"])
}

/// The rpc takes a time only: a span is added to now, or to the end that the hold has.
async fn new_end(session: &Session, arguments: &Extend) -> Result<Timestamp, Failure> {
    let (from, span) = match (arguments.until, arguments.hold_for, arguments.by) {
        (Some(until), _, _) => return Ok(until),
        (None, Some(span), _) => (times::now(), span),
        (None, None, Some(span)) => (end_of(session, &arguments.tag).await?, span),
        (None, None, None) => {
            return Err(Failure::Usage("say how long: --until, --for or --by".to_owned()));
        }
    };
    times::after(&from, span).ok_or_else(|| Failure::Usage("that is past the calendar".to_owned()))
}

async fn end_of(session: &Session, tag: &str) -> Result<Timestamp, Failure> {
    let request = v1::GetReservationRequest { tag: tag.to_owned() };
    let answer = rpc!(session, RebuildsServiceClient.get_reservation(request))?;
    let until = answer.reservation.and_then(|reservation| reservation.until_time);
    until.ok_or_else(|| broken_answer("reservation with an end"))
}

pub(crate) async fn release(session: &mut Session, arguments: Release) -> Result<(), Failure> {
    let request = v1::ReleaseReservationsRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tags: arguments.tags,
        reason: arguments.reason,
    };
    let answer = rpc!(session, RebuildsServiceClient.release_reservations(request))?;
    session.printer.rows(&answer, &["reservations"])
}

pub(crate) async fn consume(session: &mut Session, arguments: Consume) -> Result<(), Failure> {
    let request = v1::ConsumeReservationsRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        rebuild_tag: arguments.rebuild,
        tags: arguments.tags,
    };
    let answer = rpc!(session, RebuildsServiceClient.consume_reservations(request))?;
    session.printer.rows(&answer, &["reservations", "entries"])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;

    #[test]
    fn a_kit_is_one_request() {
        let line = "hold R-318 --lot L-22:2 --piece P-104 --lot L-9:1@A-1-3 --for 7d";
        let Command::Hold(arguments) = parse(line) else { panic!() };
        let request = reserve_request(arguments, &Context::of_mara(), |_| None).unwrap();
        let lot = |text| lists::lot_line(text).unwrap();
        let expected = [lists::piece_line("P-104"), lot("L-22:2"), lot("L-9:1@A-1-3")];
        assert_eq!(request.lines, expected);
        assert_eq!(request.hold_for, Some(prost_types::Duration { seconds: 604_800, nanos: 0 }));
        assert_eq!((request.until_time, request.rebuild_tag.as_str()), (None, "R-318"));
    }

    fn held(line: &str) -> Result<v1::ReserveRequest, Failure> {
        let Command::Hold(arguments) = parse(line) else { panic!() };
        let row = |number| match number {
            1 => Some(Row::Piece("P-104".to_owned())),
            2 => Some(Row::Lot("L-22".to_owned())),
            _ => None,
        };
        reserve_request(arguments, &Context::of_mara(), row)
    }

    #[test]
    fn rows_of_the_last_answer_are_held_by_number() {
        let request = held("hold 2 --for R-318").unwrap();
        assert_eq!(request.lines, [lists::lot_line("L-22:1").unwrap()]);
        assert_eq!((request.rebuild_tag.as_str(), request.hold_for), ("R-318", None));
        let request = held("hold 1 2:4 --for R-318 --for 3d --piece P-9").unwrap();
        let expected = ["P-9", "P-104"].map(lists::piece_line);
        assert_eq!(request.lines[..2], expected);
        assert_eq!(request.lines[2], lists::lot_line("L-22:4").unwrap());
        assert_eq!(request.hold_for.unwrap().seconds, 3 * 86_400);
    }

    #[test]
    fn what_cannot_be_held_is_said_before_anything_is_sent() {
        for (line, wanted) in [
            ("hold 3 --for R-318", "not in the last answer"),
            ("hold 1:2 --for R-318", "one there is"),
            ("hold 2x --for R-318", "is no row"),
            ("hold 2", "for which rebuild"),
            ("hold 2 --for R-318 --for R-319", "one rebuild"),
            ("hold 2 --for R-318 --for 3d --for 4d", "say once how long"),
            ("hold R-318", "what is to be held"),
            ("hold R-318 --piece P-1 --for 7d --until 2026-12-01", "say once how long"),
        ] {
            let Err(Failure::Usage(message)) = held(line) else { panic!("{line}") };
            assert!(message.contains(wanted), "{line}: {message}");
        }
    }
}
