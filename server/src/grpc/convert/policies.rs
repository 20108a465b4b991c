//! The shop's policy.

use super::common::{Parsed, etag, time};
use crate::app::Error;
use crate::app::policies::{PolicyView, SetPolicy};
use crate::grpc::check::{Check, TEXT_MAX};
use crate::grpc::once::meta;
use crate::policy_document;
use prost::Message;
use tenths_domain::policy::Policy;
use tenths_proto::v1 as pb;

/// A policy to be put in force.
pub fn set_policy(wire: &pb::SetPolicyRequest) -> Parsed<SetPolicy> {
    let mut check = Check::new();
    let request = meta(&mut check, "SetPolicy", &wire.request_id, &wire.person, wire);
    let etag = check.etag("etag", &wire.etag);
    let note = check.text("note", &wire.note, TEXT_MAX);
    match &wire.policy {
        None => check.refuse("policy", "it is not given; the whole policy is required"),
        Some(policy) => {
            policy_document::policy(&mut check, "policy", policy, etag.saturating_add(1));
        }
    }
    check.finish()?;
    let document = policy_document::measured(wire.policy.clone().unwrap_or_default());
    Ok((request, SetPolicy { etag, document: document.encode_to_vec(), note }))
}

/// A version of the policy, with what it says.
///
/// # Errors
/// [`Error::Io`] for a stored document that cannot be read.
pub fn policy(view: &PolicyView) -> Result<(pb::Policy, pb::PolicyVersion), Error> {
    let document = match &view.kept {
        None => policy_document::document(&Policy::common_practice()),
        Some(kept) => {
            pb::Policy { version: kept.version, ..policy_document::decoded(&kept.document)? }
        }
    };
    Ok((document, version(view)))
}

/// A version of the policy, without what it says.
pub fn version(view: &PolicyView) -> pb::PolicyVersion {
    let number = view.kept.as_ref().map_or(0, |kept| kept.version);
    let kept = view.kept.as_ref();
    pb::PolicyVersion {
        version: number,
        etag: etag(number),
        note: kept.map_or_else(
            || "built in: common practice, costs and times not set".to_owned(),
            |kept| kept.note.clone(),
        ),
        person: kept.map(|kept| kept.person.clone()).unwrap_or_default(),
        create_time: kept.map(|kept| time(kept.created_at)),
        in_force: view.in_force,
    }
}
