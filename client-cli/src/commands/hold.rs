//! `tenths hold`, `holds`, `extend`, `release`, `consume`: what is set aside for a rebuild.

use crate::args::{Consume, Extend, Hold, Holds, Release};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::entry::{lists, times};
use crate::failure::{Failure, broken_answer};
use crate::paging;
use prost_types::Timestamp;
use tenths_proto::v1;
use tenths_proto::v1::rebuilds_service_client::RebuildsServiceClient;

pub(crate) async fn hold(session: &mut Session, arguments: Hold) -> Result<(), Failure> {
    let request = reserve_request(arguments, &session.context)?;
    let answer = rpc!(session, RebuildsServiceClient.reserve(request))?;
    session.printer.rows(&answer, &["reservations"])
}

fn reserve_request(arguments: Hold, context: &Context) -> Result<v1::ReserveRequest, Failure> {
    let pieces = arguments.pieces.iter().map(|tag| lists::piece_line(tag));
    Ok(v1::ReserveRequest {
        request_id: context.request_id(),
        person: context.person()?,
        rebuild_tag: arguments.rebuild,
        lines: pieces.chain(arguments.lots).collect(),
        until_time: arguments.until,
        hold_for: arguments.hold_for.map(times::span_on_wire),
    })
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
        let request = reserve_request(arguments, &Context::of_mara()).unwrap();
        let lot = |text| lists::lot_line(text).unwrap();
        let expected = [lists::piece_line("P-104"), lot("L-22:2"), lot("L-9:1@A-1-3")];
        assert_eq!(request.lines, expected);
        assert_eq!(request.hold_for, Some(prost_types::Duration { seconds: 604_800, nanos: 0 }));
        assert_eq!((request.until_time, request.rebuild_tag.as_str()), (None, "R-318"));
    }
}
