//! The shop's policy for worn parts: the version in force, and those before it.

use super::act::{Act, View};
use super::error::{Error, Violation, check_etag};
use crate::policy_document;
use tenths_domain::policy::{Policy, Site};
use tenths_domain::state::LocationKind;
use tenths_storage::{Page, PolicyVersion};

/// Puts a policy in force.
#[derive(Clone, Debug)]
pub struct SetPolicy {
    /// The version that it was edited from.
    pub etag: i64,
    /// The policy as it was sent; it was read and checked.
    pub document: Vec<u8>,
    /// Why it is changed.
    pub note: String,
}

/// A version of the policy.
#[derive(Clone, Debug)]
pub struct PolicyView {
    /// What is kept of it; nothing for the built-in one.
    pub kept: Option<PolicyVersion>,
    /// Whether it is in force.
    pub in_force: bool,
}

/// The policy in force, for whoever decides by it.
///
/// # Errors
/// [`Error::Io`] for a stored document that cannot be read.
pub async fn in_force(view: View<'_>) -> Result<Policy, Error> {
    match view.tx.latest_policy().await? {
        Some(kept) => policy_document::read(&kept.document, kept.version),
        None => Ok(Policy::common_practice()),
    }
}

/// Reads a version, or the one in force.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_policy(view: View<'_>, version: Option<i64>) -> Result<PolicyView, Error> {
    let latest = view.tx.latest_policy().await?;
    let current = latest.as_ref().map_or(0, |kept| kept.version);
    let kept = match version {
        None => latest,
        Some(0) => None,
        Some(version) => {
            let missing = || Error::NotFound { kind: "policy", name: version.to_string() };
            Some(view.tx.policy_of_version(version).await?.ok_or_else(missing)?)
        }
    };
    let in_force = kept.as_ref().map_or(0, |kept| kept.version) == current;
    Ok(PolicyView { kept, in_force })
}

/// Puts a policy in force as the next version.
///
/// # Errors
/// [`Error::Stale`] if another version is in force than the one that it was edited from;
/// [`Error::Invalid`] for a method's vendor that is no location of that kind.
pub async fn set_policy(act: &Act<'_>, order: &SetPolicy) -> Result<PolicyView, Error> {
    let current = act.tx.latest_policy().await?.map_or(0, |kept| kept.version);
    check_etag("policy", "in force", current, Some(order.etag))?;
    check_vendors(act, &policy_document::read(&order.document, current + 1)?).await?;
    let new = PolicyVersion {
        id: 0,
        version: current + 1,
        document: order.document.clone(),
        note: order.note.clone(),
        person: act.person.to_owned(),
        created_at: act.now,
    };
    let kept = act.tx.insert_policy(new).await?;
    Ok(PolicyView { kept: Some(kept), in_force: true })
}

/// A vendor's work is counted by the place it was sent to, so a policy names it in the same way. Only
/// what is set now is held to that: a version that was kept before stays readable.
async fn check_vendors(act: &Act<'_>, policy: &Policy) -> Result<(), Error> {
    let mut violations = Vec::new();
    for (index, method) in policy.methods.iter().enumerate() {
        let Some(code) = &method.vendor else { continue };
        let field = format!("policy.methods[{index}].vendor");
        if method.site == Site::InHouse {
            let problem = format!("{code}; allowed: none, {} is done in house", method.method);
            violations.push(Violation::new(field, problem));
            continue;
        }
        let problem = match act.tx.location_by_code(code).await? {
            Some(location) if location.kind == LocationKind::Vendor => continue,
            Some(location) => format!("{code} is a {}", location.kind),
            None => format!("there is no location {code}"),
        };
        let problem = format!("{problem}; allowed: the code of a location of kind vendor");
        violations.push(Violation::new(field, problem));
    }
    if violations.is_empty() { Ok(()) } else { Err(Error::Invalid(violations)) }
}

/// Lists the shop's own versions, oldest first.
///
/// # Errors
/// A database that does not answer.
pub async fn list_policies(view: View<'_>, page: Page) -> Result<Vec<PolicyView>, Error> {
    let current = view.tx.latest_policy().await?.map_or(0, |kept| kept.version);
    let shown = |kept: PolicyVersion| {
        let in_force = kept.version == current;
        PolicyView { kept: Some(kept), in_force }
    };
    Ok(view.tx.policies_page(page).await?.into_iter().map(shown).collect())
}
