//! The rows of each table that a stocked row stands for, as the server would have written them.

use std::borrow::Cow;

use tenths_proto::v1::LengthUnit;

use crate::catalogue::GAUGES;
use crate::stock::{Kind, Measured, Stocked};

/// The request that every row of the load belongs to.
pub(crate) const REQUEST: &str = "00000000-0000-4000-8000-000000000001";
const PERSON: &str = "mara";

/// One value of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Cell {
    /// A whole number.
    Int(i64),
    /// Text without tabs, line ends and backslashes.
    Text(Cow<'static, str>),
    /// A truth value that is false.
    False,
    /// Nothing.
    Null,
}

impl From<i64> for Cell {
    fn from(number: i64) -> Self {
        Cell::Int(number)
    }
}

impl From<Option<i64>> for Cell {
    fn from(number: Option<i64>) -> Self {
        number.map_or(Cell::Null, Cell::Int)
    }
}

impl From<&'static str> for Cell {
    fn from(text: &'static str) -> Self {
        Cell::Text(text.into())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Cell::Text(text.into())
    }
}

macro_rules! cells {
    ($into:expr; $($value:expr),+ $(,)?) => { $into.extend([$(Cell::from($value)),+]) };
}

/// A table and how a stocked row fills it.
#[derive(Clone, Copy)]
pub(crate) struct Table {
    /// Its name.
    pub(crate) name: &'static str,
    /// Its columns, in the order of the cells.
    pub(crate) columns: &'static [&'static str],
    /// Appends the cells of no, one or more rows.
    pub(crate) fill: fn(&Stocked, &Facts, &mut Vec<Cell>),
}

/// What holds for the whole load.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Facts {
    /// When holds end, in Unix microseconds.
    pub(crate) until_at: i64,
}

/// The tables, parents first.
pub(crate) const TABLES: [Table; 7] = [
    Table {
        name: "lots",
        columns: &[
            "id",
            "tag",
            "item_id",
            "date_code",
            "cost_minor",
            "cost_currency",
            "created_at",
            "revision",
        ],
        fill: lots,
    },
    Table {
        name: "lot_stock",
        columns: &["lot_id", "location_id", "on_hand", "held"],
        fill: lot_stock,
    },
    Table {
        name: "pieces",
        columns: &[
            "id",
            "tag",
            "item_id",
            "state",
            "condition",
            "location_id",
            "hardness",
            "built_up",
            "note",
            "created_at",
            "revision",
        ],
        fill: pieces,
    },
    Table {
        name: "piece_sizes",
        columns: &[
            "piece_id",
            "feature_id",
            "round",
            "target_lower_nm",
            "target_upper_nm",
            "min_nm",
            "max_nm",
            "uncertainty_nm",
            "reading_count",
        ],
        fill: piece_sizes,
    },
    Table {
        name: "readings",
        columns: &[
            "piece_id",
            "feature_id",
            "gauge_id",
            "round",
            "station",
            "orientation_deg",
            "value_nm",
            "value_text",
            "value_unit",
            "at_20c_nm",
            "uncertainty_nm",
            "temperature_text",
            "temperature_unit",
            "gauge_overdue",
            "trap",
            "override_reason",
            "person",
            "created_at",
            "request_id",
        ],
        fill: readings,
    },
    Table {
        name: "ledger",
        columns: &[
            "created_at",
            "person",
            "reason",
            "piece_id",
            "lot_id",
            "location_id",
            "quantity_delta",
            "note",
            "request_id",
        ],
        fill: ledger,
    },
    Table {
        name: "reservations",
        columns: &[
            "id",
            "tag",
            "rebuild_id",
            "piece_id",
            "lot_id",
            "location_id",
            "quantity",
            "person",
            "until_at",
            "state",
            "reason",
            "created_at",
            "revision",
        ],
        fill: reservations,
    },
];

fn lots(row: &Stocked, _: &Facts, into: &mut Vec<Cell>) {
    if let Kind::Lot { date_month, cost_minor, .. } = &row.kind {
        let date_code = format!("{}-{:02}", 2021 + date_month / 12, 1 + date_month % 12);
        let tag = format!("BL-{:08}", row.id);
        cells!(into; row.id, tag, row.item, date_code, *cost_minor, "USD", row.created_at, 1);
    }
}

fn lot_stock(row: &Stocked, _: &Facts, into: &mut Vec<Cell>) {
    if let Kind::Lot { quantity, .. } = &row.kind {
        cells!(into; row.id, row.location, *quantity, i64::from(row.hold.is_some()));
    }
}

fn pieces(row: &Stocked, _: &Facts, into: &mut Vec<Cell>) {
    if let Kind::Piece { condition, .. } = &row.kind {
        let tag = format!("BP-{:08}", row.id);
        cells!(into; row.id, tag, row.item, "in_stock", *condition, row.location, "", "no", "",
            row.created_at, 1);
    }
}

fn measured(row: &Stocked) -> &[Measured] {
    match &row.kind {
        Kind::Piece { sizes, .. } => sizes,
        Kind::Lot { .. } => &[],
    }
}

fn piece_sizes(row: &Stocked, _: &Facts, into: &mut Vec<Cell>) {
    for size in measured(row) {
        let (min, max) = size.range();
        let target = size.target;
        cells!(into; row.id, size.feature, i64::from(target.is_some()),
            target.map(|target| target.lower), target.map(|target| target.upper), min, max,
            GAUGES[size.gauge].uncertainty_nm, size.steps.len() as i64);
    }
}

fn readings(row: &Stocked, _: &Facts, into: &mut Vec<Cell>) {
    for size in measured(row) {
        let gauge = GAUGES[size.gauge];
        let unit = if gauge.unit == LengthUnit::In { "in" } else { "mm" };
        let tenths = size.temperature_tenths;
        for (index, orientation) in [0, 90].into_iter().enumerate() {
            cells!(into; row.id, size.feature, size.gauge as i64 + 1,
                i64::from(size.target.is_some()), "A", orientation, size.value_nm(index),
                written(size.steps[index], gauge.step_nm, gauge.unit), unit,
                size.at_20c_nm(index), gauge.uncertainty_nm,
                format!("{}.{}", tenths / 10, tenths % 10), "c", Cell::False, "", "", PERSON,
                row.created_at, REQUEST);
        }
    }
}

/// A number of steps as the gauge shows it.
pub(crate) fn written(steps: i64, step_nm: i64, unit: LengthUnit) -> String {
    let unit_nm = if unit == LengthUnit::In { 25_400_000 } else { 1_000_000 };
    let per_unit = unit_nm / step_nm;
    let places = per_unit.ilog10() as usize;
    format!("{}.{:0places$}", steps / per_unit, steps % per_unit)
}

fn ledger(row: &Stocked, _: &Facts, into: &mut Vec<Cell>) {
    let (piece, lot, quantity) = match &row.kind {
        Kind::Lot { quantity, .. } => (None, Some(row.id), *quantity),
        Kind::Piece { .. } => (Some(row.id), None, 1),
    };
    cells!(into; row.created_at, PERSON, "receive", piece, lot, row.location, quantity, "",
        REQUEST);
}

fn reservations(row: &Stocked, facts: &Facts, into: &mut Vec<Cell>) {
    let Some(hold) = row.hold else { return };
    let (piece, lot) = match &row.kind {
        Kind::Lot { .. } => (None, Some(row.id)),
        Kind::Piece { .. } => (Some(row.id), None),
    };
    cells!(into; hold.id, format!("BH-{:08}", hold.id), hold.rebuild, piece, lot, row.location, 1,
        PERSON, facts.until_at, "active", "", row.created_at, 1);
}
