//! Cores and their teardown.

use super::common::{Parsed, etag, money, or_unspecified, time};
use super::stock::{built_up, piece};
use crate::app::receiving::{LogCore, MoveCore, RegradeCore, TearDownCore, TeardownPiece};
use crate::app::views::{CoreView, PieceView};
use crate::grpc::check::{Check, NAME_MAX, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::state::{CoreGrade, OwnerKind};
use tenths_proto::v1 as pb;

/// Most entries of a nameplate.
const NAMEPLATE_MAX: usize = 40;
/// Most pieces of one core.
const PIECES_MAX: usize = 100;

/// A core to be logged.
pub fn log_core(wire: &pb::LogCoreRequest) -> Parsed<LogCore> {
    let mut check = Check::new();
    let request = meta(&mut check, "LogCore", &wire.request_id, &wire.person, wire);
    let tag = check.optional_tag("tag", &wire.tag);
    let item_code = check.optional_tag("item_code", &wire.item_code);
    let description = match item_code {
        Some(_) => check.optional_text("description", &wire.description, TEXT_MAX),
        None => check.text("description", &wire.description, TEXT_MAX),
    };
    let nameplate = nameplate(&mut check, &wire.nameplate);
    let owner = check.required_enum("owner", wire.owner);
    let customer = match owner {
        Some(OwnerKind::Customer) => check.text("customer", &wire.customer, NAME_MAX),
        _ => check.optional_text("customer", &wire.customer, NAME_MAX),
    };
    if owner == Some(OwnerKind::Shop) && !customer.is_empty() {
        check.refuse(
            "customer",
            "the shop owns this core; leave the customer out, or name the customer as owner",
        );
    }
    let door_grade = check.required_enum("door_grade", wire.door_grade);
    let least = usize::from(!matches!(door_grade, None | Some(CoreGrade::A)));
    let grade_reasons = check.reasons("grade_reasons", &wire.grade_reasons, least);
    let deposit = check.optional_money("deposit", wire.deposit.as_ref());
    let location_code = check.tag("location_code", &wire.location_code);
    let (Some(owner), Some(door_grade)) = (owner, door_grade) else {
        return Err(check.into_error());
    };
    check.finish()?;
    let command = LogCore {
        tag,
        item_code,
        description,
        nameplate,
        owner,
        customer,
        door_grade,
        grade_reasons,
        deposit,
        location_code,
    };
    Ok((request, command))
}

fn nameplate(check: &mut Check, wire: &[pb::KeyValue]) -> Vec<(String, String)> {
    check.list_length("nameplate", wire.len(), 0, NAMEPLATE_MAX);
    let mut entries: Vec<(String, String)> = Vec::new();
    for (index, pair) in wire.iter().take(NAMEPLATE_MAX).enumerate() {
        let key = check.text(&format!("nameplate[{index}].key"), &pair.key, NAME_MAX);
        let value = check.optional_text(&format!("nameplate[{index}].value"), &pair.value, 256);
        if entries.iter().any(|(known, _)| *known == key) {
            check.refuse(&format!("nameplate[{index}].key"), format!("{key:?} is given twice"));
        }
        entries.push((key, value));
    }
    entries
}

/// A grade found at teardown.
pub fn regrade_core(wire: &pb::RegradeCoreRequest) -> Parsed<RegradeCore> {
    let mut check = Check::new();
    let request = meta(&mut check, "RegradeCore", &wire.request_id, &wire.person, wire);
    let tag = check.tag("tag", &wire.tag);
    let etag = check.etag("etag", &wire.etag);
    let grade = check.required_enum("grade", wire.grade);
    let reasons = check.reasons("reasons", &wire.reasons, 1);
    let Some(grade) = grade else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, RegradeCore { tag, etag, grade, reasons }))
}

/// A core to be moved.
pub fn move_core(wire: &pb::MoveCoreRequest) -> Parsed<MoveCore> {
    let mut check = Check::new();
    let request = meta(&mut check, "MoveCore", &wire.request_id, &wire.person, wire);
    let command = MoveCore {
        tag: check.tag("tag", &wire.tag),
        etag: check.etag("etag", &wire.etag),
        location_code: check.tag("location_code", &wire.location_code),
    };
    check.finish()?;
    Ok((request, command))
}

/// A core to be torn down.
pub fn tear_down_core(wire: &pb::TearDownCoreRequest) -> Parsed<TearDownCore> {
    let mut check = Check::new();
    let request = meta(&mut check, "TearDownCore", &wire.request_id, &wire.person, wire);
    let tag = check.tag("tag", &wire.tag);
    let etag = check.optional_etag("etag", &wire.etag);
    check.list_length("pieces", wire.pieces.len(), 1, PIECES_MAX);
    let mut pieces: Vec<TeardownPiece> = Vec::new();
    for (index, wire) in wire.pieces.iter().take(PIECES_MAX).enumerate() {
        let at = |name: &str| format!("pieces[{index}].{name}");
        let tag = check.optional_tag(&at("tag"), &wire.tag);
        if tag.is_some() && pieces.iter().any(|known| known.tag == tag) {
            check.refuse(&at("tag"), format!("{:?} is given twice", wire.tag));
        }
        pieces.push(TeardownPiece {
            tag,
            item_code: check.tag(&at("item_code"), &wire.item_code),
            location_code: check.tag(&at("location_code"), &wire.location_code),
            built_up: built_up(&mut check, &at("built_up"), wire.built_up),
            note: check.optional_text(&at("note"), &wire.note, TEXT_MAX),
        });
    }
    check.finish()?;
    Ok((request, TearDownCore { tag, etag, pieces }))
}

/// A core outward.
pub fn core(view: CoreView) -> pb::Core {
    let core = view.core;
    pb::Core {
        tag: core.tag,
        item_code: view.item_code,
        description: core.description,
        nameplate: core
            .nameplate
            .into_iter()
            .map(|(key, value)| pb::KeyValue { key, value })
            .collect(),
        owner: core.owner.to_wire(),
        customer: core.customer,
        door_grade: core.door_grade.to_wire(),
        grade_reasons: core.door_reasons,
        teardown_grade: or_unspecified(core.teardown_grade),
        teardown_grade_reasons: core.teardown_reasons,
        deposit: core.deposit.map(money),
        location_code: view.location_code,
        state: core.state.to_wire(),
        piece_tags: view.piece_tags,
        etag: etag(core.revision),
        receive_time: Some(time(core.created_at)),
        received_by: core.received_by,
    }
}

/// A torn-down core and its pieces outward.
pub fn torn_down((view, pieces): (CoreView, Vec<PieceView>)) -> pb::TearDownCoreResponse {
    pb::TearDownCoreResponse {
        core: Some(core(view)),
        pieces: pieces.into_iter().map(piece).collect(),
    }
}
