//! `tenths piece ...`: tagged pieces.

use crate::args::{PieceAdd, PieceCommand, PieceUpdate};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::{Failure, broken_answer};
use crate::paging;
use tenths_proto::v1::stock_service_client::StockServiceClient;
use tenths_proto::v1::{self, Piece};

pub(crate) async fn run(session: &mut Session, command: PieceCommand) -> Result<(), Failure> {
    match command {
        PieceCommand::Add(arguments) => {
            let request = add_request(arguments, &session.context)?;
            let answer = rpc!(session, StockServiceClient.create_piece(request))?;
            session.printer.rows(&answer, &["piece"])
        }
        PieceCommand::Show { tag } => {
            let request = v1::GetPieceRequest { tag };
            let answer = rpc!(session, StockServiceClient.get_piece(request))?;
            session.printer.record(&answer, "piece")
        }
        PieceCommand::List { state, item, core, paging } => {
            let request = v1::ListPiecesRequest {
                state: state.unwrap_or_default().into(),
                item_code: item.unwrap_or_default(),
                core_tag: core.unwrap_or_default(),
                ..Default::default()
            };
            paging::list(session, &paging, request, "pieces", async |session, request| {
                rpc!(session, StockServiceClient.list_pieces(request))
            })
            .await
        }
        PieceCommand::Update(arguments) => update(session, arguments).await,
        other => act(session, other).await,
    }
}

/// The acts that a piece as it is allows or refuses.
async fn act(session: &mut Session, command: PieceCommand) -> Result<(), Failure> {
    let request_id = session.context.request_id();
    let person = session.context.person()?;
    match command {
        PieceCommand::Move { tag, to, etag } => {
            let (etag, location_code) = (etag.unwrap_or_default(), to);
            let request = v1::MovePieceRequest { request_id, person, etag, tag, location_code };
            let answer = rpc!(session, StockServiceClient.move_piece(request))?;
            session.printer.rows(&answer, &["piece"])
        }
        PieceCommand::Accept { tag, at, sure, etag } => {
            let request = v1::AcceptPieceRequest {
                request_id,
                person,
                etag: etag.unwrap_or_default(),
                tag,
                location_code: at.unwrap_or_default(),
                override_reason: sure.unwrap_or_default(),
            };
            let answer = rpc!(session, StockServiceClient.accept_piece(request))?;
            session.printer.rows(&answer, &["piece"])
        }
        PieceCommand::Scrap { tag, reason, note, etag } => {
            let (etag, reason) = (etag.unwrap_or_default(), reason.into());
            let request = v1::ScrapPieceRequest { request_id, person, etag, tag, reason, note };
            let answer = rpc!(session, StockServiceClient.scrap_piece(request))?;
            session.printer.rows(&answer, &["piece"])
        }
        // Done by the caller.
        PieceCommand::Add(_)
        | PieceCommand::Show { .. }
        | PieceCommand::List { .. }
        | PieceCommand::Update(_) => Ok(()),
    }
}

fn add_request(arguments: PieceAdd, context: &Context) -> Result<v1::CreatePieceRequest, Failure> {
    Ok(v1::CreatePieceRequest {
        request_id: context.request_id(),
        person: context.person()?,
        tag: arguments.tag.unwrap_or_default(),
        item_code: arguments.item,
        condition: arguments.condition.into(),
        location_code: arguments.at,
        material: arguments.material.unwrap_or_default().into(),
        hardness: arguments.hardness.unwrap_or_default(),
        built_up: arguments.built_up.unwrap_or_default().into(),
        note: arguments.note.unwrap_or_default(),
    })
}

async fn update(session: &mut Session, arguments: PieceUpdate) -> Result<(), Failure> {
    let person = session.context.person()?;
    let request = v1::GetPieceRequest { tag: arguments.tag.clone() };
    let answer = rpc!(session, StockServiceClient.get_piece(request))?;
    let known = answer.piece.ok_or_else(|| broken_answer("piece"))?;
    let request = update_request(known, arguments, person, session.context.request_id());
    let answer = rpc!(session, StockServiceClient.update_piece(request))?;
    session.printer.rows(&answer, &["piece"])
}

/// What is known of the piece, with what the arguments give put over it.
fn update_request(
    known: Piece,
    arguments: PieceUpdate,
    person: String,
    request_id: String,
) -> v1::UpdatePieceRequest {
    v1::UpdatePieceRequest {
        request_id,
        person,
        etag: arguments.etag.unwrap_or(known.etag),
        tag: arguments.tag,
        material: arguments.material.map_or(known.material, i32::from),
        hardness: arguments.hardness.unwrap_or(known.hardness),
        built_up: arguments.built_up.map_or(known.built_up, i32::from),
        note: arguments.note.unwrap_or(known.note),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;

    #[test]
    fn an_update_keeps_what_is_not_given() {
        let line = "piece update P-104 --hardness \"58 HRC\"";
        let Command::Piece(PieceCommand::Update(arguments)) = parse(line) else { panic!() };
        let known = Piece {
            tag: "P-104".into(),
            etag: "4".into(),
            material: v1::Material::Steel.into(),
            built_up: v1::BuiltUp::No.into(),
            note: "scored".into(),
            ..Default::default()
        };
        let request = update_request(known, arguments, "mara".into(), "id".into());
        let expected = v1::UpdatePieceRequest {
            request_id: "id".into(),
            person: "mara".into(),
            etag: "4".into(),
            tag: "P-104".into(),
            material: v1::Material::Steel.into(),
            hardness: "58 HRC".into(),
            built_up: v1::BuiltUp::No.into(),
            note: "scored".into(),
        };
        assert_eq!(request, expected);
    }
}
