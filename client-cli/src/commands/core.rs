//! `tenths core ...`: receiving.

use crate::args::{CoreCommand, CoreLog};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::{Failure, broken_answer};
use crate::paging;
use tenths_proto::v1::receiving_service_client::ReceivingServiceClient;
use tenths_proto::v1::{self, CoreGrade};

pub(crate) async fn run(session: &mut Session, command: CoreCommand) -> Result<(), Failure> {
    match command {
        CoreCommand::Log(arguments) => {
            let request = log_request(arguments, &session.context)?;
            let answer = rpc!(session, ReceivingServiceClient.log_core(request))?;
            session.printer.rows(&answer, &["core"])
        }
        CoreCommand::Show { tag } => {
            let request = v1::GetCoreRequest { tag };
            let answer = rpc!(session, ReceivingServiceClient.get_core(request))?;
            session.printer.record(&answer, "core")
        }
        CoreCommand::List { state, paging } => {
            let state = state.unwrap_or_default().into();
            let request = v1::ListCoresRequest { state, ..Default::default() };
            paging::list(session, &paging, request, "cores", async |session, request| {
                rpc!(session, ReceivingServiceClient.list_cores(request))
            })
            .await
        }
        CoreCommand::Regrade { tag, grade, reasons, etag } => {
            regrade(session, tag, grade, reasons, etag).await
        }
        CoreCommand::Move { tag, to, etag } => move_to(session, tag, to, etag).await,
        CoreCommand::Teardown { tag, pieces, etag } => {
            let request = v1::TearDownCoreRequest {
                request_id: session.context.request_id(),
                person: session.context.person()?,
                etag: etag.unwrap_or_default(),
                tag,
                pieces,
            };
            let answer = rpc!(session, ReceivingServiceClient.tear_down_core(request))?;
            session.printer.rows(&answer, &["pieces"])
        }
    }
}

fn log_request(arguments: CoreLog, context: &Context) -> Result<v1::LogCoreRequest, Failure> {
    Ok(v1::LogCoreRequest {
        request_id: context.request_id(),
        person: context.person()?,
        tag: arguments.tag.unwrap_or_default(),
        item_code: arguments.item.unwrap_or_default(),
        description: arguments.description.unwrap_or_default(),
        nameplate: arguments.nameplate,
        owner: arguments.owner.into(),
        customer: arguments.customer.unwrap_or_default(),
        door_grade: arguments.grade.unwrap_or_default().into(),
        grade_reasons: arguments.reasons,
        deposit: arguments.deposit,
        location_code: arguments.at,
    })
}

async fn regrade(
    session: &mut Session,
    tag: String,
    grade: CoreGrade,
    reasons: Vec<String>,
    etag: Option<String>,
) -> Result<(), Failure> {
    let person = session.context.person()?;
    let etag = etag_or_read(session, &tag, etag).await?;
    let request = v1::RegradeCoreRequest {
        request_id: session.context.request_id(),
        person,
        etag,
        tag,
        grade: grade.into(),
        reasons,
    };
    let answer = rpc!(session, ReceivingServiceClient.regrade_core(request))?;
    session.printer.rows(&answer, &["core"])
}

async fn move_to(
    session: &mut Session,
    tag: String,
    location_code: String,
    etag: Option<String>,
) -> Result<(), Failure> {
    let person = session.context.person()?;
    let etag = etag_or_read(session, &tag, etag).await?;
    let request_id = session.context.request_id();
    let request = v1::MoveCoreRequest { request_id, person, etag, tag, location_code };
    let answer = rpc!(session, ReceivingServiceClient.move_core(request))?;
    session.printer.rows(&answer, &["core"])
}

/// The etag given, or else the one that the core has now: the rpc takes none for "as it is".
async fn etag_or_read(
    session: &Session,
    tag: &str,
    etag: Option<String>,
) -> Result<String, Failure> {
    if let Some(etag) = etag {
        return Ok(etag);
    }
    let request = v1::GetCoreRequest { tag: tag.to_owned() };
    let answer = rpc!(session, ReceivingServiceClient.get_core(request))?;
    answer.core.map(|core| core.etag).ok_or_else(|| broken_answer("core"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;

    #[test]
    fn one_command_logs_everything_known_at_the_door() {
        let line = "core log --tag C-101 --description \"2 hp pump\" --nameplate hp=2 --nameplate \
                    rpm=1750 --owner customer --customer K-7 --grade b --reason \"one seat worn\" \
                    --deposit \"180.00 USD\" --at YARD-1";
        let Command::Core(CoreCommand::Log(arguments)) = parse(line) else { panic!() };
        let pair = |key: &str, value: &str| v1::KeyValue { key: key.into(), value: value.into() };
        let expected = v1::LogCoreRequest {
            request_id: "00000000-0000-0000-0000-000000000007".into(),
            person: "mara".into(),
            tag: "C-101".into(),
            item_code: String::new(),
            description: "2 hp pump".into(),
            nameplate: vec![pair("hp", "2"), pair("rpm", "1750")],
            owner: v1::OwnerKind::Customer.into(),
            customer: "K-7".into(),
            door_grade: CoreGrade::B.into(),
            grade_reasons: vec!["one seat worn".into()],
            deposit: Some(v1::Money { amount: "180.00".into(), currency: "USD".into() }),
            location_code: "YARD-1".into(),
        };
        assert_eq!(log_request(arguments, &Context::of_mara()).unwrap(), expected);
    }
}
