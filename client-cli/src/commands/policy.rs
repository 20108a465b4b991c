//! `tenths policy ...`: the shop's policy for worn parts, as a file.

use crate::args::{PolicyCommand, PolicySet};
use crate::connect::{Session, rpc};
use crate::document;
use crate::failure::{Failure, broken_answer};
use crate::output::Format;
use crate::output::reflect::seen;
use crate::paging;
use anyhow::Context as _;
use std::io::Read;
use std::path::Path;
use tenths_proto::v1;
use tenths_proto::v1::policy_service_client::PolicyServiceClient;

/// A policy is some kilobytes; a file that is larger is another one.
const FILE_BYTES_MAX: u64 = 512 * 1024;

pub(crate) async fn run(session: &mut Session, command: PolicyCommand) -> Result<(), Failure> {
    match command {
        PolicyCommand::Show { version } => show(session, version).await,
        PolicyCommand::Set(arguments) => set(session, arguments).await,
        PolicyCommand::History { paging } => {
            let request = v1::ListPoliciesRequest::default();
            paging::list(session, &paging, request, "versions", async |session, request| {
                rpc!(session, PolicyServiceClient.list_policies(request))
            })
            .await
        }
    }
}

async fn show(session: &mut Session, version: Option<i64>) -> Result<(), Failure> {
    let request = v1::GetPolicyRequest { version };
    let answer = rpc!(session, PolicyServiceClient.get_policy(request))?;
    if session.printer.format != Format::Table {
        return session.printer.rows(&answer, &["version"]);
    }
    let policy = answer.policy.as_ref().ok_or_else(|| broken_answer("policy"))?;
    let about = answer.version.as_ref().ok_or_else(|| broken_answer("version"))?;
    // The version is written even where it is 0: `policy set` takes it as the one edited from.
    let built_in = if policy.version == 0 { "version = 0\n" } else { "" };
    let in_force = if about.in_force { "in force" } else { "no longer in force" };
    let text = document::write(&seen(policy)?);
    session.printer.text(&format!("# {in_force}: {}\n{built_in}{text}", about.note))
}

async fn set(session: &mut Session, arguments: PolicySet) -> Result<(), Failure> {
    let name = arguments.from.display().to_string();
    let text = text_of(&arguments.from)?;
    let says_version = text.lines().any(|line| line.trim_start().starts_with("version"));
    let policy: v1::Policy = document::read(&name, &text)?;
    let etag = match arguments.etag {
        Some(etag) => etag,
        None if says_version => format!("r{}", policy.version),
        None => {
            return Err(Failure::File(format!(
                "{name} does not say which version it was edited from: start from `tenths policy \
                 show > {name}`, or give --etag"
            )));
        }
    };
    let request = v1::SetPolicyRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        etag,
        policy: Some(policy),
        note: arguments.note,
    };
    let answer = rpc!(session, PolicyServiceClient.set_policy(request))?;
    session.printer.rows(&answer, &["version"])
}

fn text_of(path: &Path) -> Result<String, Failure> {
    let mut text = String::new();
    let shown = path.display();
    if path == Path::new("-") {
        std::io::stdin().take(FILE_BYTES_MAX + 1).read_to_string(&mut text)
    } else {
        std::fs::File::open(path)
            .and_then(|file| file.take(FILE_BYTES_MAX + 1).read_to_string(&mut text))
    }
    .with_context(|| format!("{shown} cannot be read"))?;
    if text.len() as u64 > FILE_BYTES_MAX {
        return Err(Failure::File(format!(
            "{shown} has over {FILE_BYTES_MAX} bytes: no policy has"
        )));
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::reach::run_line;
    use crate::shop_double::ShopDouble;

    fn built_in() -> v1::GetPolicyResponse {
        let policy = v1::Policy { currency: "USD".into(), ..Default::default() };
        let version =
            v1::PolicyVersion { note: "built in".into(), in_force: true, ..Default::default() };
        v1::GetPolicyResponse { policy: Some(policy), version: Some(version) }
    }

    #[tokio::test]
    async fn what_is_shown_says_which_version_it_is() {
        let double = ShopDouble::default();
        double.answer("PolicyService/GetPolicy", &built_in());
        let server = double.serve().await;
        let (_, out, _) = run_line(&server, Format::Table, "policy show").await;
        assert_eq!(out, "# in force: built in\nversion = 0\ncurrency = \"USD\"\n");
    }
}
