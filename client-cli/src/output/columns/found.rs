//! The columns of what was found in stock.

use super::super::cell::Cell::{self, At, First, Joined, Range, Unless};
use super::{Column, beneath, csv, shown};

pub(super) const FIT_SIZE: Cell = Range("candidate.size_min", "candidate.size_max");

pub(super) const FIT: &[Column] = &[
    shown("row", Unless("0", "row")),
    shown("what", First(&[At("candidate.piece_tag"), At("candidate.lot_tag")])),
    shown("item", At("candidate.item_code")),
    csv("feature", At("candidate.feature")),
    csv("size", FIT_SIZE),
    beneath("", Joined(" ", &[At("candidate.feature"), FIT_SIZE])).not_in_csv(),
    csv("measured", At("candidate.measured")),
    beneath("measured", Unless("no", "candidate.measured")).not_in_csv(),
    shown("clearance", Range("clearance_min", "clearance_max")),
    beneath("required", Range("required_min", "required_max")),
    beneath("by", At("requirement_source")).not_in_csv(),
    shown("verdict", At("verdict")),
    beneath("measure_next", At("measure_next")),
    beneath("installed", Range("installed_min", "installed_max")),
    beneath("housing", Range("other.clearance_min", "other.clearance_max")),
    beneath("housing_required", Range("other.required_min", "other.required_max")),
    beneath("housing_verdict", At("other.verdict")),
    beneath("housing_measure_next", At("other.measure_next")),
    beneath("free", At("candidate.available")),
    csv("set_of", Unless("1", "candidate.set_of")),
    beneath("held_by", At("candidate.hold.person")),
    beneath("held_for", At("candidate.hold.rebuild_tag")),
    beneath("held_until", At("candidate.hold.until_time")),
    beneath("location", At("candidate.stock_by_location.location_code")),
    beneath("date_code", At("candidate.date_code")),
    beneath("unit_cost", At("candidate.unit_cost")),
    beneath("lot_held_until", At("candidate.lot_holds.until_time")),
    beneath("unconfirmed", Unless("no", "unconfirmed")),
];

pub(super) const SIZED_ROW: &[Column] = &[
    shown("row", At("row")),
    shown("what", First(&[At("candidate.piece_tag"), At("candidate.lot_tag")])),
    shown("item", At("candidate.item_code")),
    shown("feature", At("sizes.feature")),
    shown("from", At("sizes.size_min")),
    shown("to", At("sizes.size_max")),
    beneath("free", At("candidate.available")),
    beneath("held_by", At("candidate.hold.person")),
    beneath("held_for", At("candidate.hold.rebuild_tag")),
    beneath("held_until", At("candidate.hold.until_time")),
    beneath("location", At("candidate.stock_by_location.location_code")),
    beneath("date_code", At("candidate.date_code")),
    beneath("unit_cost", At("candidate.unit_cost")),
];

pub(super) const REPLACEMENT: &[Column] = &[
    shown("row", At("row")),
    shown("what", First(&[At("candidate.piece_tag"), At("candidate.lot_tag")])),
    shown("item", At("candidate.item_code")),
    shown("number", At("candidate.designation")),
    shown("acceptance", At("acceptance")),
    shown("free", At("candidate.available")),
    beneath("", At("differences.note")),
    beneath("work", At("work")),
    beneath("held_by", At("candidate.hold.person")),
    beneath("held_for", At("candidate.hold.rebuild_tag")),
    beneath("held_until", At("candidate.hold.until_time")),
    beneath("location", At("candidate.stock_by_location.location_code")),
    beneath("date_code", At("candidate.date_code")),
    beneath("unit_cost", At("candidate.unit_cost")),
];

pub(super) const INDEX_STATUS: &[Column] = &[
    shown("ready", At("ready")),
    shown("rows", At("rows")),
    shown("revision", At("freshness.revision")),
    shown("age", At("freshness.age")),
    shown("reloads", At("reloads")),
];

pub(super) const MISS_SIZE: Cell = Range("fit.candidate.size_min", "fit.candidate.size_max");

pub(super) const MISS: &[Column] = &[
    shown("what", First(&[At("fit.candidate.piece_tag"), At("fit.candidate.lot_tag")])),
    shown("item", At("fit.candidate.item_code")),
    beneath("", Joined(" ", &[At("fit.candidate.feature"), MISS_SIZE])),
    beneath("measured", Unless("no", "fit.candidate.measured")),
    shown("clearance", Range("fit.clearance_min", "fit.clearance_max")),
    beneath("required", Range("fit.required_min", "fit.required_max")),
    beneath("by", At("fit.requirement_source")),
    shown("misses_by", At("by")),
    shown("side", At("side")),
    beneath("free", At("fit.candidate.available")),
    beneath("held_by", At("fit.candidate.hold.person")),
    beneath("held_for", At("fit.candidate.hold.rebuild_tag")),
    beneath("held_until", At("fit.candidate.hold.until_time")),
    beneath("location", At("fit.candidate.stock_by_location.location_code")),
    beneath("act", At("act")),
    beneath("housing_misses_by", At("fit.other.by")),
    beneath("housing_side", At("fit.other.side")),
    beneath("housing_act", At("fit.other.act")),
    beneath("unconfirmed", Unless("no", "fit.unconfirmed")),
];
