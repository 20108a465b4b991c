//! Locations, pieces, lots and the ledger.

use super::common::{Parsed, etag, length, money, or_unspecified, time};
use crate::app::stock::{
    AcceptPiece, AdjustLot, CreateLocation, MoveLot, MovePiece, NewPiece, ReceiveLot, ScrapPiece,
    UpdatePiece,
};
use crate::app::views::{LedgerView, LotView, PieceView};
use crate::grpc::check::{Check, NAME_MAX, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::state::{BuiltUp, LedgerReason};
use tenths_proto::v1 as pb;
use tenths_proto::v1::ledger_entry::Subject;
use tenths_storage::{Hold, ItemFeature, LedgerSubject, Location, LotStock, PieceSize};

/// Most of one lot.
const QUANTITY_MAX: i64 = 1_000_000;

/// Whether a part was built up; nothing said is not known.
pub fn built_up(check: &mut Check, field: &str, number: i32) -> BuiltUp {
    match pb::BuiltUp::try_from(number) {
        Ok(pb::BuiltUp::Unspecified) => BuiltUp::Unknown,
        Ok(pb::BuiltUp::Yes) => BuiltUp::Yes,
        Ok(pb::BuiltUp::No) => BuiltUp::No,
        Err(_) => {
            check.refuse(
                field,
                format!("{number} is not known; allowed: yes, no, or nothing if unknown"),
            );
            BuiltUp::Unknown
        }
    }
}

fn built_up_out(built_up: BuiltUp) -> i32 {
    let wire = match built_up {
        BuiltUp::Unknown => pb::BuiltUp::Unspecified,
        BuiltUp::Yes => pb::BuiltUp::Yes,
        BuiltUp::No => pb::BuiltUp::No,
    };
    wire as i32
}

/// A location to be added.
pub fn create_location(wire: &pb::CreateLocationRequest) -> Parsed<CreateLocation> {
    let mut check = Check::new();
    let request = meta(&mut check, "CreateLocation", &wire.request_id, &wire.person, wire);
    let Some(location) = &wire.location else {
        check.refuse("location", "it is not given");
        return Err(check.into_error());
    };
    let code = check.tag("location.code", &location.code);
    let kind = check.required_enum("location.kind", location.kind);
    let description = check.optional_text("location.description", &location.description, TEXT_MAX);
    let Some(kind) = kind else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, CreateLocation { code, kind, description }))
}

/// A piece to be added.
pub fn create_piece(wire: &pb::CreatePieceRequest) -> Parsed<NewPiece> {
    let mut check = Check::new();
    let request = meta(&mut check, "CreatePiece", &wire.request_id, &wire.person, wire);
    let tag = check.optional_tag("tag", &wire.tag);
    let item_code = check.tag("item_code", &wire.item_code);
    let condition = check.required_enum("condition", wire.condition);
    let location_code = check.tag("location_code", &wire.location_code);
    let material = check.optional_enum("material", wire.material);
    let hardness = check.optional_text("hardness", &wire.hardness, NAME_MAX);
    let built_up = built_up(&mut check, "built_up", wire.built_up);
    let note = check.optional_text("note", &wire.note, TEXT_MAX);
    let Some(condition) = condition else { return Err(check.into_error()) };
    check.finish()?;
    Ok((
        request,
        NewPiece { tag, item_code, condition, location_code, material, hardness, built_up, note },
    ))
}

/// What is newly known of a piece.
pub fn update_piece(wire: &pb::UpdatePieceRequest) -> Parsed<UpdatePiece> {
    let mut check = Check::new();
    let request = meta(&mut check, "UpdatePiece", &wire.request_id, &wire.person, wire);
    let command = UpdatePiece {
        tag: check.tag("tag", &wire.tag),
        etag: check.etag("etag", &wire.etag),
        material: check.optional_enum("material", wire.material),
        hardness: check.optional_text("hardness", &wire.hardness, NAME_MAX),
        built_up: built_up(&mut check, "built_up", wire.built_up),
        note: check.optional_text("note", &wire.note, TEXT_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// A piece to be moved.
pub fn move_piece(wire: &pb::MovePieceRequest) -> Parsed<MovePiece> {
    let mut check = Check::new();
    let request = meta(&mut check, "MovePiece", &wire.request_id, &wire.person, wire);
    let command = MovePiece {
        tag: check.tag("tag", &wire.tag),
        etag: check.optional_etag("etag", &wire.etag),
        location_code: check.tag("location_code", &wire.location_code),
    };
    check.finish()?;
    Ok((request, command))
}

/// A piece to be put into stock.
pub fn accept_piece(wire: &pb::AcceptPieceRequest) -> Parsed<AcceptPiece> {
    let mut check = Check::new();
    let request = meta(&mut check, "AcceptPiece", &wire.request_id, &wire.person, wire);
    let command = AcceptPiece {
        tag: check.tag("tag", &wire.tag),
        etag: check.optional_etag("etag", &wire.etag),
        location_code: check.optional_tag("location_code", &wire.location_code),
        override_reason: check.optional_text("override_reason", &wire.override_reason, TEXT_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// A piece to be scrapped.
pub fn scrap_piece(wire: &pb::ScrapPieceRequest) -> Parsed<ScrapPiece> {
    let mut check = Check::new();
    let request = meta(&mut check, "ScrapPiece", &wire.request_id, &wire.person, wire);
    let tag = check.tag("tag", &wire.tag);
    let etag = check.optional_etag("etag", &wire.etag);
    let reason = check.required_enum("reason", wire.reason);
    let note = check.optional_text("note", &wire.note, TEXT_MAX);
    let Some(reason) = reason else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, ScrapPiece { tag, etag, reason, note }))
}

/// A lot to be received.
pub fn receive_lot(wire: &pb::ReceiveLotRequest) -> Parsed<ReceiveLot> {
    let mut check = Check::new();
    let request = meta(&mut check, "ReceiveLot", &wire.request_id, &wire.person, wire);
    if !wire.date_code.is_empty() && !is_date_code(&wire.date_code) {
        let shown: String = wire.date_code.chars().take(20).collect();
        check.refuse(
            "date_code",
            format!("{shown:?} is no date code; allowed is YYYY-MM, such as 2026-03"),
        );
    }
    let command = ReceiveLot {
        tag: check.optional_tag("tag", &wire.tag),
        item_code: check.tag("item_code", &wire.item_code),
        quantity: check.count("quantity", wire.quantity, 1, QUANTITY_MAX),
        location_code: check.tag("location_code", &wire.location_code),
        date_code: wire.date_code.clone(),
        unit_cost: check.optional_money("unit_cost", wire.unit_cost.as_ref()),
    };
    check.finish()?;
    Ok((request, command))
}

/// Whether a text is a year and a month, YYYY-MM.
pub fn is_date_code(text: &str) -> bool {
    let Some((year, month)) = text.split_once('-') else { return false };
    let digits =
        |text: &str, count| text.len() == count && text.bytes().all(|byte| byte.is_ascii_digit());
    digits(year, 4) && digits(month, 2) && (1..=12).contains(&month.parse().unwrap_or(0))
}

/// Part of a lot to be moved.
pub fn move_lot(wire: &pb::MoveLotRequest) -> Parsed<MoveLot> {
    let mut check = Check::new();
    let request = meta(&mut check, "MoveLot", &wire.request_id, &wire.person, wire);
    if wire.from_location_code == wire.to_location_code {
        check.refuse(
            "to_location_code",
            "it is the location that the lot is moved from; another is required",
        );
    }
    let command = MoveLot {
        tag: check.tag("tag", &wire.tag),
        etag: check.optional_etag("etag", &wire.etag),
        from_location_code: check.tag("from_location_code", &wire.from_location_code),
        to_location_code: check.tag("to_location_code", &wire.to_location_code),
        quantity: check.count("quantity", wire.quantity, 1, QUANTITY_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// A count to be corrected.
pub fn adjust_lot(wire: &pb::AdjustLotRequest) -> Parsed<AdjustLot> {
    let mut check = Check::new();
    let request = meta(&mut check, "AdjustLot", &wire.request_id, &wire.person, wire);
    let command = AdjustLot {
        tag: check.tag("tag", &wire.tag),
        etag: check.optional_etag("etag", &wire.etag),
        location_code: check.tag("location_code", &wire.location_code),
        counted: check.count("counted", wire.counted, 0, QUANTITY_MAX),
        reason: check.text("reason", &wire.reason, TEXT_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// A location outward.
pub fn location(location: Location) -> pb::Location {
    pb::Location {
        code: location.code,
        kind: location.kind.to_wire(),
        description: location.description,
    }
}

/// A hold outward.
pub fn hold(hold: &Hold) -> pb::Hold {
    pb::Hold {
        reservation_tag: hold.reservation.tag.clone(),
        rebuild_tag: hold.rebuild_tag.clone(),
        person: hold.reservation.person.clone(),
        until_time: Some(time(hold.reservation.until_at)),
    }
}

/// A piece outward.
pub fn piece(view: PieceView) -> pb::Piece {
    let piece = view.piece;
    pb::Piece {
        tag: piece.tag,
        item_code: view.item.code,
        kind: view.item.kind.to_wire(),
        core_tag: view.core_tag,
        state: piece.state.to_wire(),
        condition: piece.condition.to_wire(),
        location_code: view.location_code,
        rebuild_tag: view.rebuild_tag,
        material: or_unspecified(piece.material),
        hardness: piece.hardness,
        built_up: built_up_out(piece.built_up),
        note: piece.note,
        sizes: view.sizes.iter().map(feature_size).collect(),
        hold: view.hold.as_ref().map(hold),
        etag: etag(piece.revision),
        create_time: Some(time(piece.created_at)),
    }
}

fn feature_size((stored, size): &(ItemFeature, PieceSize)) -> pb::FeatureSize {
    let unit = stored.nominal_unit;
    let judged = crate::app::judging::effective_feature(&stored.feature, size);
    pb::FeatureSize {
        feature: judged.name,
        kind: judged.kind.to_wire(),
        nominal: Some(length(judged.nominal, unit)),
        min: size.min.map(|min| length(min, unit)),
        max: size.max.map(|max| length(max, unit)),
        expanded_uncertainty: size.uncertainty.map(|uncertainty| length(uncertainty, unit)),
        reading_count: i32::try_from(size.reading_count).unwrap_or(i32::MAX),
        round: i32::try_from(size.round).unwrap_or(i32::MAX),
    }
}

/// How many are where outward.
pub fn lot_stock((location_code, stock): &(String, LotStock)) -> pb::LotStock {
    pb::LotStock { location_code: location_code.clone(), on_hand: stock.on_hand, held: stock.held }
}

/// A lot outward.
pub fn lot(view: LotView) -> pb::Lot {
    pb::Lot {
        tag: view.lot.tag,
        item_code: view.item_code,
        kind: view.item_kind.to_wire(),
        date_code: view.lot.date_code,
        unit_cost: view.lot.unit_cost.map(money),
        on_hand: view.stock.iter().map(|(_, here)| here.on_hand).sum(),
        held: view.stock.iter().map(|(_, here)| here.held).sum(),
        stock: view.stock.iter().map(lot_stock).collect(),
        etag: etag(view.lot.revision),
        receive_time: Some(time(view.lot.created_at)),
    }
}

/// A ledger entry outward.
pub fn ledger_entry(view: LedgerView) -> pb::LedgerEntry {
    let entry = view.entry.entry;
    let reason: LedgerReason = entry.reason;
    pb::LedgerEntry {
        id: view.entry.id,
        time: Some(time(entry.created_at)),
        person: entry.person,
        reason: reason.to_wire(),
        subject: Some(match entry.subject {
            LedgerSubject::Core(_) => Subject::CoreTag(view.subject_tag),
            LedgerSubject::Piece(_) => Subject::PieceTag(view.subject_tag),
            LedgerSubject::Lot(_) => Subject::LotTag(view.subject_tag),
        }),
        location_code: view.location_code,
        quantity_delta: entry.quantity_delta,
        rebuild_tag: view.rebuild_tag,
        note: entry.note,
        request_id: entry.request_id,
    }
}
