//! `tenths rebuild ...`

use crate::args::{RebuildClose, RebuildCommand, RebuildOpen, RebuildUpdate};
use crate::connect::{Session, rpc};
use crate::failure::{Failure, broken_answer};
use crate::paging;
use tenths_proto::v1;
use tenths_proto::v1::rebuilds_service_client::RebuildsServiceClient;

pub(crate) async fn run(session: &mut Session, command: RebuildCommand) -> Result<(), Failure> {
    match command {
        RebuildCommand::Open(arguments) => open(session, arguments).await,
        RebuildCommand::Show { tag } => {
            let request = v1::GetRebuildRequest { tag };
            let answer = rpc!(session, RebuildsServiceClient.get_rebuild(request))?;
            session.printer.record(&answer, "rebuild")
        }
        RebuildCommand::List { state, paging } => {
            let state = state.unwrap_or_default().into();
            let request = v1::ListRebuildsRequest { state, ..Default::default() };
            paging::list(session, &paging, request, "rebuilds", async |session, request| {
                rpc!(session, RebuildsServiceClient.list_rebuilds(request))
            })
            .await
        }
        RebuildCommand::Update(arguments) => update(session, arguments).await,
        RebuildCommand::Close(arguments) => close(session, arguments).await,
    }
}

async fn open(session: &mut Session, arguments: RebuildOpen) -> Result<(), Failure> {
    let request = v1::OpenRebuildRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: arguments.tag,
        description: arguments.description,
        customer: arguments.customer,
        core_tag: arguments.core,
        due_time: arguments.due,
        value: arguments.value,
    };
    let answer = rpc!(session, RebuildsServiceClient.open_rebuild(request))?;
    session.printer.rows(&answer, &["rebuild"])
}

async fn update(session: &mut Session, arguments: RebuildUpdate) -> Result<(), Failure> {
    let person = session.context.person()?;
    let request = v1::GetRebuildRequest { tag: arguments.tag.clone() };
    let answer = rpc!(session, RebuildsServiceClient.get_rebuild(request))?;
    let known = answer.rebuild.ok_or_else(|| broken_answer("rebuild"))?;
    let request = v1::UpdateRebuildRequest {
        request_id: session.context.request_id(),
        person,
        etag: arguments.etag.unwrap_or(known.etag),
        tag: arguments.tag,
        description: arguments.description.unwrap_or(known.description),
        customer: arguments.customer.unwrap_or(known.customer),
        due_time: arguments.due.or(known.due_time),
        value: arguments.value.or(known.value),
    };
    let answer = rpc!(session, RebuildsServiceClient.update_rebuild(request))?;
    session.printer.rows(&answer, &["rebuild"])
}

async fn close(session: &mut Session, arguments: RebuildClose) -> Result<(), Failure> {
    let request = v1::CloseRebuildRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        etag: arguments.etag,
        tag: arguments.tag,
        state: v1::RebuildState::from(arguments.ending).into(),
    };
    let answer = rpc!(session, RebuildsServiceClient.close_rebuild(request))?;
    session.printer.notes("note", &answer.notes)?;
    session.printer.rows(&answer, &["rebuild", "released"])
}
