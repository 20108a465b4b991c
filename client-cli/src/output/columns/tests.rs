//! Every column leads somewhere.

use super::*;
use crate::output::cell::Cell::*;
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
        At(path) | Sentences(path) | Unless(_, path) | Number(path, ..) | Words(path) => {
            check(table, message, path);
        }
        Range(first, second) | Unlike(first, second) | Numbers(first, second, ..) => {
            check(table, message, first);
            check(table, message, second);
        }
        System(metric, inch) => {
            check(table, message, "unit");
            check_cell(table, message, metric);
            check_cell(table, message, inch);
        }
        Bracketed(cell) => check_cell(table, message, cell),
        First(cells) | Joined(_, cells) => {
            cells.iter().for_each(|cell| check_cell(table, message, cell))
        }
    }
}

/// A misspelled path would only show as an empty column: every one must exist in the contract.
#[test]
fn every_column_is_in_the_contract() {
    for (table, columns) in TABLES {
        let message = descriptor(table).unwrap_or_else(|| panic!("no message {table}"));
        for column in *columns {
            check_cell(table, &message, &column.cell);
        }
    }
}

/// The columns of CSV are what scripts rely on: they stay, whatever tables leave out.
#[test]
fn csv_keeps_its_columns() {
    for (table, expected) in [
        (
            "Reading",
            "id piece feature station degrees value at_20c part_temperature gauge gauge_overdue \
             person time round asked kept_because voided_because gauge_temperature",
        ),
        (
            "FeatureAssessment",
            "id time piece feature nominal limits measured_at_20c out_of_round taper wear \
             wear_limit proposed gauges person rule",
        ),
        (
            "Fit",
            "row what item feature size measured clearance required verdict measure_next \
             installed housing housing_required housing_verdict housing_measure_next free set_of \
             held_by held_for held_until location date_code unit_cost lot_held_until unconfirmed",
        ),
        (
            "Gauge",
            "tag description resolution uncertainty set_on calibration_due state side sizes material",
        ),
        (
            "Job",
            "tag piece feature method target due state worker lease_until outcome rework_of reason",
        ),
        (
            "Core",
            "tag state item description owner door_grade teardown_grade deposit location received \
             pieces",
        ),
        (
            "Piece",
            "tag item kind state condition location core built_up held_for held_by held_until",
        ),
        ("Lot", "tag item kind on_hand held locations date_code unit_cost received"),
    ] {
        let columns = columns_of(table).unwrap().iter().filter(|column| column.in_csv);
        let headings: Vec<&str> = columns.map(|column| column.heading).collect();
        assert_eq!(headings.join(" "), expected, "{table}");
    }
}

/// No heading stands twice in one form: what a table says otherwise, CSV must not say again.
#[test]
fn a_heading_stands_once() {
    for (table, columns) in TABLES {
        for is_csv in [true, false] {
            let here = |column: &&Column| match is_csv {
                true => column.in_csv,
                false => column.in_table != InTable::Nowhere,
            };
            let mut headings: Vec<&str> =
                columns.iter().filter(here).map(|column| column.heading).collect();
            let all = headings.len();
            headings.sort_unstable();
            headings.dedup();
            assert_eq!(headings.len(), all, "{table}, CSV {is_csv}");
        }
    }
}
