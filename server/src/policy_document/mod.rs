//! The policy as a document: what a person sends is what the books keep, so that every figure stays
//! as it was written.
//!
//! The document is a `tenths.v1.Policy`. It goes over the wire and it is kept by the storage, so
//! neither the wire's side nor the use cases' owns it; both read it here, with the same checks.

mod inward;
mod lengths;
mod outward;

pub use inward::policy;
pub use lengths::measured;
pub use outward::document;

use crate::app::Error;
use crate::grpc::check::Check;
use prost::Message;
use tenths_domain::policy::Policy;
use tenths_proto::v1 as pb;

/// A stored document back as a message.
///
/// # Errors
/// [`Error::Io`] for bytes that this program did not write.
pub fn decoded(bytes: &[u8]) -> Result<pb::Policy, Error> {
    pb::Policy::decode(bytes).map_err(|error| unreadable(error.to_string()))
}

/// A stored document as the policy that it is.
///
/// # Errors
/// [`Error::Io`] for one that would be refused today.
pub fn read(bytes: &[u8], version: i64) -> Result<Policy, Error> {
    let wire = decoded(bytes)?;
    let mut check = Check::new();
    let found = policy(&mut check, "policy", &wire, version);
    match (found, check.finish()) {
        (Some(policy), Ok(())) => Ok(policy),
        (_, refused) => Err(unreadable(format!("{refused:?}"))),
    }
}

fn unreadable(reason: String) -> Error {
    let source = std::io::Error::new(std::io::ErrorKind::InvalidData, reason);
    Error::Io { what: "reading a stored policy", source }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Goal: nothing of a policy is lost on its way to the document and back. Method: the built-in
    /// policy, and it with every cost and time set.
    #[test]
    fn a_policy_comes_back_from_its_document() {
        let built_in = Policy::common_practice();
        let bytes = document(&built_in).encode_to_vec();
        assert_eq!(read(&bytes, 0).unwrap(), built_in);
        let costed = costed(built_in);
        assert_eq!(read(&document(&costed).encode_to_vec(), 3).unwrap(), costed);
    }

    fn costed(policy: Policy) -> Policy {
        use tenths_domain::money::{Currency, Money};
        use tenths_domain::policy::{Noted, OperationPolicy};
        use tenths_domain::route::OperationKind;
        let usd = |minor| Money { minor, currency: Currency::Usd };
        let count = |value| Some(Noted::new(value, "the shop's own"));
        let mut policy = Policy { version: 3, ..policy };
        policy.hourly_rate = Some(Noted::new(usd(9_500), "the shop's own"));
        policy.in_house_lead_time_days = count(4);
        policy.queue.max_wait_minutes = count(2_400);
        policy.queue.due_floor_minutes = count(480);
        policy.queue.setup_family_minutes = count(45);
        policy.queue.setup_band_minutes = count(10);
        policy.queue.wip_max = count(6);
        policy.yield_prior.value = tenths_domain::yields::Prior::new(4.5, 0.5).unwrap();
        policy.operations = OperationKind::ALL
            .iter()
            .map(|operation| OperationPolicy {
                operation: *operation,
                minutes: Some(0),
                cost: Some(usd(1_250)),
                note: "the shop's own".to_owned(),
            })
            .collect();
        for method in &mut policy.methods {
            method.cost = Some(usd(8_500));
            method.lead_time_days = Some(7);
            method.vendor = Some("Plating works".to_owned());
        }
        policy
    }

    /// Goal: every fault is told at once, by its place in the document. Method: one fault of each
    /// kind, those that have no meaning and those that the rules forbid.
    #[test]
    fn every_fault_is_told_by_its_place() {
        let mut wire = document(&Policy::common_practice());
        wire.currency = "dollars".to_owned();
        wire.methods[0].over_build_per_side = None;
        wire.methods[1].hardness_max_hrc = "soft".to_owned();
        wire.grinding_allowance = None;
        wire.features[0].feature = 0;
        let mut check = Check::new();
        assert!(policy(&mut check, "policy", &wire, 1).is_none());
        assert_eq!(
            fields(check),
            [
                "policy.currency",
                "policy.features[0].feature",
                "policy.grinding_allowance",
                "policy.methods[0].over_build_per_side",
                "policy.methods[1].hardness_max_hrc",
            ]
        );
        let mut wire = document(&Policy::common_practice());
        wire.inch_steps.as_mut().unwrap().note.clear();
        wire.methods.push(wire.methods[0].clone());
        let mut check = Check::new();
        policy(&mut check, "policy", &wire, 1);
        assert_eq!(fields(check), ["policy.inch_steps.note", "policy.methods[hard_chrome]"]);
    }

    fn fields(check: Check) -> Vec<String> {
        let Err(Error::Invalid(violations)) = check.finish() else { panic!("nothing is wrong") };
        violations.into_iter().map(|violation| violation.field).collect()
    }
}
