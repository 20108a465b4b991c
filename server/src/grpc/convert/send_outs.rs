//! Send-outs.

use super::common::{Parsed, etag, time};
use crate::app::reconditioning::{CreateSendOut, ReturnSendOut, ReturnedLine};
use crate::app::views::{SendOutLineView, SendOutView};
use crate::grpc::check::{Check, NAME_MAX, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::state::SendOutLineState;
use tenths_proto::v1 as pb;

/// Most lines of one send-out.
const LINES_MAX: usize = 100;
const DAY: i64 = 24 * 60 * 60 * 1_000_000;

/// Pieces to be sent.
pub fn create_send_out(wire: &pb::CreateSendOutRequest) -> Parsed<CreateSendOut> {
    let mut check = Check::new();
    let request = meta(&mut check, "CreateSendOut", &wire.request_id, &wire.person, wire);
    check.list_length("job_tags", wire.job_tags.len(), 1, LINES_MAX);
    let tags = wire.job_tags.iter().take(LINES_MAX).enumerate();
    let job_tags = tags.map(|(index, tag)| check.tag(&format!("job_tags[{index}]"), tag)).collect();
    let command = CreateSendOut {
        job_tags,
        location_code: check.tag("location_code", &wire.location_code),
        order_number: check.optional_text("order_number", &wire.order_number, NAME_MAX),
        due_back_at: check.optional_time("due_back_time", wire.due_back_time.as_ref()),
        note: check.optional_text("note", &wire.note, TEXT_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// Lines to be taken back.
pub fn return_send_out(wire: &pb::ReturnSendOutRequest) -> Parsed<ReturnSendOut> {
    let mut check = Check::new();
    let request = meta(&mut check, "ReturnSendOut", &wire.request_id, &wire.person, wire);
    check.list_length("lines", wire.lines.len(), 1, LINES_MAX);
    let mut lines = Vec::new();
    for (index, line) in wire.lines.iter().take(LINES_MAX).enumerate() {
        lines.extend(returned_line(&mut check, &format!("lines[{index}]"), line));
    }
    let command = ReturnSendOut {
        lines,
        tag: check.tag("tag", &wire.tag),
        etag: check.optional_etag("etag", &wire.etag),
        location_code: check.optional_tag("location_code", &wire.location_code),
    };
    check.finish()?;
    Ok((request, command))
}

fn returned_line(check: &mut Check, field: &str, wire: &pb::ReturnedLine) -> Option<ReturnedLine> {
    let state_field = format!("{field}.state");
    let state = check.required_enum::<SendOutLineState>(&state_field, wire.state);
    if state == Some(SendOutLineState::Out) {
        check.refuse(&state_field, "it is out; allowed: returned, short");
    }
    Some(ReturnedLine {
        line: check.count(&format!("{field}.line"), i64::from(wire.line), 1, LINES_MAX as i64),
        note: check.optional_text(&format!("{field}.note"), &wire.note, TEXT_MAX),
        state: state?,
    })
}

/// A send-out outward, with its age at the time that it is shown.
pub fn send_out(view: SendOutView) -> pb::SendOut {
    let one = view.send_out;
    let until = one.closed_at.unwrap_or(view.now);
    let out = view.lines.iter().filter(|line| line.line.state == SendOutLineState::Out);
    let pieces_out: Vec<String> = out.map(|line| line.piece_tag.clone()).collect();
    pb::SendOut {
        tag: one.tag,
        location_code: view.location_code,
        order_number: one.order_number,
        due_back_time: one.due_back_at.map(time),
        note: one.note,
        person: one.person,
        create_time: Some(time(one.created_at)),
        close_time: one.closed_at.map(time),
        age_days: i32::try_from((until - one.created_at).max(0) / DAY).unwrap_or(i32::MAX),
        is_overdue: !pieces_out.is_empty() && one.due_back_at.is_some_and(|due| due < view.now),
        lines_out: i32::try_from(pieces_out.len()).unwrap_or(i32::MAX),
        pieces_out,
        lines: view.lines.into_iter().map(line).collect(),
        etag: etag(one.revision),
    }
}

fn line(view: SendOutLineView) -> pb::SendOutLine {
    pb::SendOutLine {
        line: i32::try_from(view.line.line).unwrap_or(i32::MAX),
        job_tag: view.job_tag,
        piece_tag: view.piece_tag,
        work: view.work,
        from_location_code: view.from_location_code,
        state: view.line.state.to_wire(),
        end_time: view.line.ended_at.map(time),
        ended_by: view.line.ended_by,
        note: view.line.note,
    }
}
