//! Rebuilds and holds.

use super::common::{Parsed, etag, money, time};
use super::stock::ledger_entry;
use crate::app::holds::{
    ConsumeReservations, ExtendReservation, LineSubject, ReleaseReservations, Reserve, Until,
};
use crate::app::rebuilds::{CloseRebuild, OpenRebuild, UpdateRebuild};
use crate::app::views::{LedgerView, RebuildView, ReservationView};
use crate::grpc::check::{Check, NAME_MAX, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use std::time::Duration;
use tenths_domain::state::{RebuildState, ReservationState};
use tenths_proto::v1 as pb;
use tenths_proto::v1::reservation::Subject;
use tenths_proto::v1::reserve_line::Subject as Line;

/// Most lines or tags of one request.
const LINES_MAX: usize = 200;
const HOLD_LEAST: Duration = Duration::from_secs(1);
const HOLD_MOST: Duration = Duration::from_secs(366 * 24 * 60 * 60);
/// A hold when nothing is said, in microseconds: 7 days.
const HOLD_DEFAULT: i64 = 7 * 24 * 60 * 60 * 1_000_000;

/// A rebuild to be opened.
pub fn open_rebuild(wire: &pb::OpenRebuildRequest) -> Parsed<OpenRebuild> {
    let mut check = Check::new();
    let request = meta(&mut check, "OpenRebuild", &wire.request_id, &wire.person, wire);
    let command = OpenRebuild {
        tag: check.optional_tag("tag", &wire.tag),
        description: check.text("description", &wire.description, TEXT_MAX),
        customer: check.optional_text("customer", &wire.customer, NAME_MAX),
        core_tag: check.optional_tag("core_tag", &wire.core_tag),
        due_at: check.optional_time("due_time", wire.due_time.as_ref()),
        value: check.optional_money("value", wire.value.as_ref()),
    };
    check.finish()?;
    Ok((request, command))
}

/// What is said of a rebuild from now on.
pub fn update_rebuild(wire: &pb::UpdateRebuildRequest) -> Parsed<UpdateRebuild> {
    let mut check = Check::new();
    let request = meta(&mut check, "UpdateRebuild", &wire.request_id, &wire.person, wire);
    let command = UpdateRebuild {
        tag: check.tag("tag", &wire.tag),
        etag: check.etag("etag", &wire.etag),
        description: check.text("description", &wire.description, TEXT_MAX),
        customer: check.optional_text("customer", &wire.customer, NAME_MAX),
        due_at: check.optional_time("due_time", wire.due_time.as_ref()),
        value: check.optional_money("value", wire.value.as_ref()),
    };
    check.finish()?;
    Ok((request, command))
}

/// A rebuild to be closed.
pub fn close_rebuild(wire: &pb::CloseRebuildRequest) -> Parsed<CloseRebuild> {
    let mut check = Check::new();
    let request = meta(&mut check, "CloseRebuild", &wire.request_id, &wire.person, wire);
    let tag = check.tag("tag", &wire.tag);
    let etag = check.optional_etag("etag", &wire.etag);
    let state = check.required_enum("state", wire.state);
    if state == Some(RebuildState::Open) {
        check.refuse("state", "a rebuild is closed as shipped or cancelled");
    }
    let Some(state) = state else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, CloseRebuild { tag, etag, state }))
}

/// Things to be held.
pub fn reserve(wire: &pb::ReserveRequest) -> Parsed<Reserve> {
    let mut check = Check::new();
    let request = meta(&mut check, "Reserve", &wire.request_id, &wire.person, wire);
    let rebuild_tag = check.tag("rebuild_tag", &wire.rebuild_tag);
    check.list_length("lines", wire.lines.len(), 1, LINES_MAX);
    let mut lines = Vec::new();
    for (index, wire) in wire.lines.iter().take(LINES_MAX).enumerate() {
        let subject = line(&mut check, &format!("lines[{index}]"), wire);
        if subject
            .as_ref()
            .is_some_and(|new| matches!(new, LineSubject::Piece(_)) && lines.contains(new))
        {
            check.refuse(&format!("lines[{index}].piece_tag"), "the piece is named twice");
        }
        lines.extend(subject);
    }
    let until_at = check.optional_time("until_time", wire.until_time.as_ref());
    let hold_for =
        check.optional_duration("hold_for", wire.hold_for.as_ref(), HOLD_LEAST, HOLD_MOST);
    if wire.until_time.is_some() && wire.hold_for.is_some() {
        check.refuse("hold_for", "a time and a duration are both given; only one is allowed");
    }
    check.finish()?;
    let until = match (until_at, hold_for) {
        (Some(at), _) => Until::At(at),
        (None, Some(micros)) => Until::For(micros),
        (None, None) => Until::For(HOLD_DEFAULT),
    };
    Ok((request, Reserve { rebuild_tag, lines, until }))
}

fn line(check: &mut Check, field: &str, wire: &pb::ReserveLine) -> Option<LineSubject> {
    let at = |name: &str| format!("{field}.{name}");
    match &wire.subject {
        Some(Line::PieceTag(tag)) => {
            if wire.quantity != 0 {
                check.count(&at("quantity"), wire.quantity, 1, 1);
            }
            if !wire.location_code.is_empty() {
                check.refuse(
                    &at("location_code"),
                    "a piece is held where it is; leave the location out",
                );
            }
            Some(LineSubject::Piece(check.tag(&at("piece_tag"), tag)))
        }
        Some(Line::LotTag(tag)) => Some(LineSubject::Lot {
            tag: check.tag(&at("lot_tag"), tag),
            quantity: check.count(&at("quantity"), wire.quantity, 1, 1_000_000),
            location_code: check.optional_tag(&at("location_code"), &wire.location_code),
        }),
        None => {
            check.refuse(field, "it names nothing; a piece or a lot is required");
            None
        }
    }
}

/// A hold to be extended.
pub fn extend_reservation(wire: &pb::ExtendReservationRequest) -> Parsed<ExtendReservation> {
    let mut check = Check::new();
    let request = meta(&mut check, "ExtendReservation", &wire.request_id, &wire.person, wire);
    let tag = check.tag("tag", &wire.tag);
    let etag = check.optional_etag("etag", &wire.etag);
    let until_at = check.optional_time("until_time", wire.until_time.as_ref());
    if wire.until_time.is_none() {
        check.refuse("until_time", "it is not given; say until when");
    }
    let reason = check.text("reason", &wire.reason, TEXT_MAX);
    let Some(until_at) = until_at else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, ExtendReservation { tag, etag, until_at, reason }))
}

fn tags(check: &mut Check, wire: &[String], least: usize) -> Vec<String> {
    check.list_length("tags", wire.len(), least, LINES_MAX);
    let one = |(index, tag): (usize, &String)| check.tag(&format!("tags[{index}]"), tag);
    wire.iter().take(LINES_MAX).enumerate().map(one).collect()
}

/// Holds to be released.
pub fn release_reservations(wire: &pb::ReleaseReservationsRequest) -> Parsed<ReleaseReservations> {
    let mut check = Check::new();
    let request = meta(&mut check, "ReleaseReservations", &wire.request_id, &wire.person, wire);
    let tags = tags(&mut check, &wire.tags, 1);
    let reason = check.optional_text("reason", &wire.reason, TEXT_MAX);
    check.finish()?;
    Ok((request, ReleaseReservations { tags, reason }))
}

/// Holds to be consumed.
pub fn consume_reservations(wire: &pb::ConsumeReservationsRequest) -> Parsed<ConsumeReservations> {
    let mut check = Check::new();
    let request = meta(&mut check, "ConsumeReservations", &wire.request_id, &wire.person, wire);
    let rebuild_tag = check.tag("rebuild_tag", &wire.rebuild_tag);
    let tags = tags(&mut check, &wire.tags, 0);
    check.finish()?;
    Ok((request, ConsumeReservations { rebuild_tag, tags }))
}

/// A rebuild outward.
pub fn rebuild(view: RebuildView) -> pb::Rebuild {
    let rebuild = view.rebuild;
    pb::Rebuild {
        tag: rebuild.tag,
        description: rebuild.description,
        customer: rebuild.customer,
        core_tag: view.core_tag,
        due_time: rebuild.due_at.map(time),
        state: rebuild.state.to_wire(),
        etag: etag(rebuild.revision),
        create_time: Some(time(rebuild.created_at)),
        value: rebuild.value.map(money),
    }
}

/// A closed rebuild outward.
pub fn closed(
    (view, released, notes): (RebuildView, Vec<ReservationView>, Vec<String>),
) -> pb::CloseRebuildResponse {
    pb::CloseRebuildResponse {
        rebuild: Some(rebuild(view)),
        released: released.into_iter().map(reservation).collect(),
        notes,
    }
}

/// A hold outward, as it stands when it is shown.
pub fn reservation(view: ReservationView) -> pb::Reservation {
    let reservation = view.reservation;
    let state = reservation.state_at(view.now);
    let ended_at = match state {
        ReservationState::Expired => Some(reservation.ended_at.unwrap_or(reservation.until_at)),
        _ => reservation.ended_at,
    };
    pb::Reservation {
        tag: reservation.tag,
        rebuild_tag: view.rebuild_tag,
        subject: Some(match reservation.piece {
            Some(_) => Subject::PieceTag(view.subject_tag),
            None => Subject::LotTag(view.subject_tag),
        }),
        location_code: view.location_code,
        quantity: reservation.quantity,
        person: reservation.person,
        until_time: Some(time(reservation.until_at)),
        state: state.to_wire(),
        reason: reservation.reason,
        etag: etag(reservation.revision),
        create_time: Some(time(reservation.created_at)),
        end_time: ended_at.map(time),
    }
}

/// New holds outward.
pub fn reserved(views: Vec<ReservationView>) -> pb::ReserveResponse {
    pb::ReserveResponse { reservations: views.into_iter().map(reservation).collect() }
}

/// Released holds outward.
pub fn released(views: Vec<ReservationView>) -> pb::ReleaseReservationsResponse {
    pb::ReleaseReservationsResponse { reservations: views.into_iter().map(reservation).collect() }
}

/// Consumed holds outward.
pub fn consumed(
    (views, entries): (Vec<ReservationView>, Vec<LedgerView>),
) -> pb::ConsumeReservationsResponse {
    pb::ConsumeReservationsResponse {
        reservations: views.into_iter().map(reservation).collect(),
        entries: entries.into_iter().map(ledger_entry).collect(),
    }
}
