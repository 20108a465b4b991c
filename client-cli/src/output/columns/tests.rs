//! Every column leads somewhere.

use super::*;
use crate::output::reflect::descriptor;
use prost_reflect::{Kind, MessageDescriptor};

fn check(table: &str, message: &MessageDescriptor, path: &str) {
    let (name, rest) = path.split_once('.').unwrap_or((path, ""));
    let field = message.get_field_by_name(name);
    let field = field.unwrap_or_else(|| panic!("{table}: {path}: no such field"));
    match field.kind() {
        Kind::Message(inner) if !rest.is_empty() => check(table, &inner, rest),
        _ => assert_eq!(rest, "", "{table}: {path} goes past a plain field"),
    }
}

fn check_cell(table: &str, message: &MessageDescriptor, cell: &Cell) {
    match cell {
        At(path) | Flag(path) => check(table, message, path),
        Range(lower, upper) => {
            check(table, message, lower);
            check(table, message, upper);
        }
        First(cells) => cells.iter().for_each(|cell| check_cell(table, message, cell)),
    }
}

/// A misspelled path would only show as an empty column: every one must exist in the contract.
#[test]
fn every_column_is_in_the_contract() {
    for (table, columns) in TABLES {
        let message = descriptor(table).unwrap_or_else(|| panic!("no message {table}"));
        for (_, cell) in *columns {
            check_cell(table, &message, cell);
        }
    }
}
