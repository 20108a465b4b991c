//! The columns of each table, and a file's header read against them.

use super::{BadRow, CELL_CHARACTERS_MAX, COLUMNS_MAX, DIMENSIONS_CHARACTERS_MAX, Row, Table};
use crate::app::error::{Error, Violation};

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name in the header.
    pub name: &'static str,
    /// Whether a file must have it. One that may be left out reads as empty in every row.
    pub required: bool,
}

const fn required(name: &'static str) -> Column {
    Column { name, required: true }
}

const fn optional(name: &'static str) -> Column {
    Column { name, required: false }
}

const ITEMS: &[Column] = &[
    required("code"),
    required("kind"),
    required("description"),
    optional("designation"),
    optional("material"),
    optional("feature"),
    optional("feature_kind"),
    optional("nominal"),
    optional("tolerance"),
    optional("wear_limit"),
    optional("recondition_limit"),
    optional("out_of_round_limit"),
    optional("taper_limit"),
    optional("reference_station"),
    optional("limit_source"),
    optional("set_of"),
    optional("no_substitute"),
];

const LOTS: &[Column] = &[
    optional("tag"),
    required("item"),
    required("quantity"),
    required("location"),
    optional("date_code"),
    optional("unit_cost"),
];

const PIECES: &[Column] = &[
    optional("tag"),
    required("item"),
    required("condition"),
    required("location"),
    optional("material"),
    optional("hardness"),
    optional("built_up"),
    optional("state"),
    optional("gauge"),
    optional("dimensions"),
    optional("note"),
];

impl Table {
    /// The columns, in the order in which they are exported.
    pub const fn columns(self) -> &'static [Column] {
        match self {
            Table::Items => ITEMS,
            Table::Lots => LOTS,
            Table::Pieces => PIECES,
        }
    }
}

/// The columns of a file, in its own order.
#[derive(Clone, Debug)]
pub(super) struct Columns(Vec<&'static str>);

impl Columns {
    /// Reads a header; every name that is unknown, missing or given twice is refused at once.
    pub(super) fn read(table: Table, names: &[String]) -> Result<Columns, Error> {
        let known = table.columns();
        if names.len() > COLUMNS_MAX {
            let problem = format!("{} columns are too many; allowed: {}", names.len(), list(known));
            return Err(Error::invalid("columns", problem));
        }
        let (mut columns, mut violations) = (Vec::with_capacity(names.len()), Vec::new());
        let mut refuse = |problem: String| violations.push(Violation::new("columns", problem));
        for name in names {
            let name = name.trim();
            match known.iter().find(|column| column.name == name) {
                None => refuse(format!(
                    "{:?} is not a column here; allowed: {}",
                    shown(name),
                    list(known)
                )),
                Some(column) if columns.contains(&column.name) => {
                    refuse(format!("{name} is there twice; each column is allowed once"));
                }
                Some(column) => columns.push(column.name),
            }
        }
        for column in known.iter().filter(|column| column.required) {
            if !columns.contains(&column.name) {
                refuse(format!("{} is missing; it is required in every file", column.name));
            }
        }
        if violations.is_empty() { Ok(Columns(columns)) } else { Err(Error::Invalid(violations)) }
    }

    /// The first thing that is wrong with the shape of a row, if anything.
    pub(super) fn misfit(&self, row: &Row) -> Option<BadRow> {
        let bad = |column: &str, reason: String| BadRow {
            line: row.line,
            column: column.to_owned(),
            reason,
        };
        let (cells, named) = (row.values.len(), self.0.len());
        if cells != named {
            // The first column without a cell, or the last before the cells without a column.
            let column = self.0.get(cells).or(self.0.last()).copied().unwrap_or_default();
            return Some(bad(column, format!("the row has {cells} cells for {named} columns")));
        }
        self.0.iter().zip(&row.values).find_map(|(column, value)| {
            let max = match *column {
                "dimensions" => DIMENSIONS_CHARACTERS_MAX,
                _ => CELL_CHARACTERS_MAX,
            };
            let count = value.chars().count();
            let reason = || format!("it has {count} characters; at most {max} are allowed");
            (count > max).then(|| bad(column, reason()))
        })
    }

    /// The cell of a column, without the spaces around it; empty if the file has no such column.
    pub(super) fn cell<'r>(&self, row: &'r Row, column: &str) -> &'r str {
        let position = self.0.iter().position(|name| *name == column);
        position.and_then(|position| row.values.get(position)).map_or("", |value| value.trim())
    }
}

fn list(columns: &[Column]) -> String {
    columns.iter().map(|column| column.name).collect::<Vec<_>>().join(", ")
}

/// As much of a name as a message needs.
fn shown(name: &str) -> String {
    name.chars().take(40).collect()
}
