//! `tenths recon send`, `return` and `away`: work at a vendor.

use crate::args::{Paging, ReconReturn, ReconSend};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::Failure;
use crate::paging;
use tenths_proto::v1;
use tenths_proto::v1::reconditioning_service_client::ReconditioningServiceClient;

pub(super) async fn send(session: &mut Session, arguments: ReconSend) -> Result<(), Failure> {
    let request = v1::CreateSendOutRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        location_code: arguments.to,
        order_number: arguments.order,
        due_back_time: arguments.due,
        note: arguments.note,
        job_tags: arguments.jobs,
    };
    let answer = rpc!(session, ReconditioningServiceClient.create_send_out(request))?;
    session.printer.notes("note", &answer.notes)?;
    session.printer.record(&answer, "send_out")
}

pub(super) async fn take_back(
    session: &mut Session,
    arguments: ReconReturn,
) -> Result<(), Failure> {
    let request = return_request(arguments, &session.context)?;
    let answer = rpc!(session, ReconditioningServiceClient.return_send_out(request))?;
    session.printer.record(&answer, "send_out")
}

fn return_request(
    arguments: ReconReturn,
    context: &Context,
) -> Result<v1::ReturnSendOutRequest, Failure> {
    let line = |state: v1::SendOutLineState| {
        let note = arguments.note.clone();
        move |line: i32| v1::ReturnedLine { line, state: state.into(), note: note.clone() }
    };
    let returned = arguments.lines.into_iter().map(line(v1::SendOutLineState::Returned));
    let short = arguments.short.into_iter().map(line(v1::SendOutLineState::Short));
    Ok(v1::ReturnSendOutRequest {
        request_id: context.request_id(),
        person: context.person()?,
        etag: String::new(),
        tag: arguments.tag,
        lines: returned.chain(short).collect(),
        location_code: arguments.at,
    })
}

pub(super) async fn away(
    session: &mut Session,
    at: Option<String>,
    with_closed: bool,
    paging: Paging,
) -> Result<(), Failure> {
    let request = v1::ListSendOutsRequest {
        with_closed,
        location_code: at.unwrap_or_default(),
        ..Default::default()
    };
    paging::list(session, &paging, request, "send_outs", async |session, request| {
        rpc!(session, ReconditioningServiceClient.list_send_outs(request))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::tests::parse;
    use crate::args::{Command, ReconCommand};

    #[test]
    fn lines_that_are_back_and_lines_that_are_short_go_in_one_request() {
        let line = "recon return S-4 --line 1 --line 2 --short 3 --at R-1 --note late";
        let Command::Recon(ReconCommand::Return(arguments)) = parse(line) else { panic!() };
        let request = return_request(arguments, &Context::of_mara()).unwrap();
        let ends: Vec<_> = request.lines.iter().map(|one| (one.line, one.state())).collect();
        let (returned, short) = (v1::SendOutLineState::Returned, v1::SendOutLineState::Short);
        assert_eq!(ends, [(1, returned), (2, returned), (3, short)]);
        assert_eq!((request.tag.as_str(), request.location_code.as_str()), ("S-4", "R-1"));
        assert!(request.lines.iter().all(|one| one.note == "late"));
    }
}
