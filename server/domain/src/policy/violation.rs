//! What a policy has that it may not have.

/// One fault of a policy.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{field}: {value} is not possible; allowed: {allowed}")]
pub struct Violation {
    /// The place in the policy, such as `methods[weld].per_side_min`.
    pub field: String,
    /// What was given.
    pub value: String,
    /// What is allowed there.
    pub allowed: String,
}
