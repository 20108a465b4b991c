//! Whole tables in and out, as rows of named columns.
//!
//! An import has two halves. While rows come in, each is checked by itself and put into a temporary
//! file: a slow client holds nothing but that file. Only when the client has said that there are no
//! more are they looked up and written, in one transaction that reads the file a few hundred rows at
//! a time, so that memory does not grow with the file. That transaction is the whole import: it is
//! committed or rolled back as one, and a dry run is the same with a rollback at the end.
//!
//! What is a bad row by itself is found in the first half, what only the shop can tell (an unknown
//! item, a tag that is taken) in the second.

mod apply;
mod cell;
mod columns;
mod dimensions;
mod export;
mod items;
mod lengths;
mod lots;
mod measured;
mod pieces;
mod receive;
mod spool;
#[cfg(test)]
mod tests;

pub use cell::{NAME_CHARACTERS_MAX, TAG_CHARACTERS_MAX, TEXT_CHARACTERS_MAX};
pub use export::Exported;
pub use receive::{Finished, Import, ImportOrder};

/// Most rows of one import.
pub const ROWS_MAX: i64 = 5_000_000;
/// Most rows that come in at once.
pub const BATCH_ROWS_MAX: usize = 1_000;
/// Most columns that a header may name; more are refused unread.
pub const COLUMNS_MAX: usize = 64;
/// Most characters of a cell.
pub const CELL_CHARACTERS_MAX: usize = 2_000;
/// Most characters of a `dimensions` cell, which holds every reading of a piece.
pub const DIMENSIONS_CHARACTERS_MAX: usize = 64_000;
/// Most bytes that the rows of one import may take in the temporary file: 4 GiB.
pub const SPOOL_BYTES_MAX: u64 = 4 << 30;
/// Most features of one item.
pub const FEATURES_MAX: usize = 200;
/// Most bad rows that are reported one by one.
pub const REPORTED_MAX: usize = 1_000;

/// What the rows are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// Catalogue items, one feature a row.
    Items,
    /// Lots, one location a row.
    Lots,
    /// Pieces, one a row.
    Pieces,
}

/// One row of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The line in the file, for messages.
    pub line: i64,
    /// The values, one per column.
    pub values: Vec<String>,
}

/// One problem of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadRow {
    /// The line in the file.
    pub line: i64,
    /// The column.
    pub column: String,
    /// What is wrong and what is allowed.
    pub reason: String,
}

/// How an import ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Rows received.
    pub received: i64,
    /// Rows saved.
    pub saved: i64,
    /// Rows that are bad.
    pub bad: i64,
    /// Whether anything was saved.
    pub committed: bool,
}
