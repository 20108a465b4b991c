//! ISO 286-1:2010, limits of size of plain cylindrical parts.

/// A tolerance class such as `k5` (shaft) or `H7` (hole).
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Class(String);
