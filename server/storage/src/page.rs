//! Paging by key: rows after the last one seen, never by offset.

/// Which rows of a list are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Page {
    /// Only rows whose number is above this one.
    pub after: i64,
    /// At most this many rows.
    pub limit: u64,
}
