//! Reading the cells of one row: every problem is kept, one per column.

use super::columns::Columns;
use super::{BadRow, Row};
use std::fmt::Display;
use std::str::FromStr;

/// Most characters of a description, note or source, as in every other request.
pub const TEXT_CHARACTERS_MAX: usize = 500;
/// Most characters of a hardness or a designation, as in every other request.
pub const NAME_CHARACTERS_MAX: usize = 64;
/// Most characters of a tag or code, as in every other request.
pub const TAG_CHARACTERS_MAX: usize = 40;

/// Reads one row.
pub(super) struct Cells<'r> {
    columns: &'r Columns,
    row: &'r Row,
    bad: Vec<BadRow>,
}

impl<'r> Cells<'r> {
    pub(super) fn of(columns: &'r Columns, row: &'r Row) -> Self {
        Cells { columns, row, bad: columns.misfit(row).into_iter().collect() }
    }

    /// What was read, if nothing was refused.
    pub(super) fn finish<T>(self, read: T) -> Result<T, Vec<BadRow>> {
        if self.bad.is_empty() { Ok(read) } else { Err(self.bad) }
    }

    /// Whether the row has the shape that the header says; if not, its cells say nothing.
    pub(super) fn fit(&self) -> bool {
        self.bad.is_empty()
    }

    pub(super) fn misfits(self) -> Vec<BadRow> {
        self.bad
    }

    pub(super) fn get(&self, column: &str) -> &'r str {
        self.columns.cell(self.row, column)
    }

    /// Notes a problem; of one column only the first is kept.
    pub(super) fn refuse(&mut self, column: &str, reason: impl Into<String>) {
        if self.bad.iter().all(|bad| bad.column != column) {
            self.bad.push(bad_row(self.row.line, column, reason));
        }
    }

    /// Reads a cell that must say something.
    pub(super) fn required<T>(
        &mut self,
        column: &str,
        what: &str,
        read: impl FnOnce(&'r str) -> Result<T, String>,
    ) -> Option<T> {
        if self.get(column).is_empty() {
            self.refuse(column, format!("it is empty; {what} is required"));
        }
        self.optional(column, read)
    }

    /// Reads a cell that may be empty: then, or if it is refused, it gives nothing.
    pub(super) fn optional<T>(
        &mut self,
        column: &str,
        read: impl FnOnce(&'r str) -> Result<T, String>,
    ) -> Option<T> {
        let text = self.get(column);
        if text.is_empty() {
            return None;
        }
        read(text).map_err(|reason| self.refuse(column, reason)).ok()
    }
}

pub(super) fn bad_row(line: i64, column: &str, reason: impl Into<String>) -> BadRow {
    BadRow { line, column: column.to_owned(), reason: reason.into() }
}

/// A member of an enumeration, whose own error names what is allowed.
pub(super) fn named<T>(text: &str) -> Result<T, String>
where
    T: FromStr,
    T::Err: Display,
{
    text.parse().map_err(|error: T::Err| error.to_string())
}

/// Plain text of at most `max` characters.
pub(super) fn text(max: usize) -> impl FnOnce(&str) -> Result<String, String> {
    move |text| {
        let count = text.chars().count();
        if count > max {
            return Err(format!("it has {count} characters; at most {max} are allowed"));
        }
        if text.chars().any(char::is_control) {
            return Err(
                "it has control characters or line breaks; only plain text is allowed".into()
            );
        }
        Ok(text.to_owned())
    }
}

/// A tag or code.
pub(super) fn tag(text: &str) -> Result<String, String> {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./".contains(c);
    let begins = text.starts_with(|c: char| c.is_ascii_alphanumeric());
    if begins && text.len() <= TAG_CHARACTERS_MAX && text.chars().all(plain) {
        return Ok(text.to_owned());
    }
    Err(format!(
        "{:?} is no tag or code; allowed are 1 to {TAG_CHARACTERS_MAX} of A-Z a-z 0-9 - _ . / \
         beginning with a letter or digit",
        shown(text)
    ))
}

/// The name of a feature.
pub(super) fn feature_name(text: &str) -> Result<String, String> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if (1..=32).contains(&text.len()) && text.chars().all(plain) {
        return Ok(text.to_owned());
    }
    Err(format!("{:?} is no name of a feature; allowed are 1 to 32 of a-z 0-9 -", shown(text)))
}

/// A station, in capitals.
pub(super) fn station(text: &str) -> Result<String, String> {
    if (1..=3).contains(&text.len()) && text.chars().all(|c| c.is_ascii_alphabetic()) {
        return Ok(text.to_ascii_uppercase());
    }
    Err(format!("{:?} is no station; allowed are 1 to 3 letters, such as A or REF", shown(text)))
}

/// As much of a text as a message needs.
pub(super) fn shown(text: &str) -> String {
    text.chars().take(TAG_CHARACTERS_MAX).collect()
}
