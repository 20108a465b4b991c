//! The columns that each kind of resource is listed in, in tables and in CSV.

use super::cell::Cell::{self, At, First, Flag, Range};

/// A column: its heading and what it shows.
pub(crate) type Column = (&'static str, Cell);

/// The columns of a message of `tenths.v1`; nothing for one that is never a row.
pub(crate) fn columns_of(message: &str) -> Option<&'static [Column]> {
    TABLES.iter().find(|(name, _)| *name == message).map(|(_, columns)| *columns)
}

/// Every message that can be a row.
pub(crate) const TABLES: &[(&str, &[Column])] = &[
    ("Item", ITEM),
    ("Feature", FEATURE),
    ("Core", CORE),
    ("Location", LOCATION),
    ("Piece", PIECE),
    ("FeatureSize", FEATURE_SIZE),
    ("Lot", LOT),
    ("LotStock", LOT_STOCK),
    ("LedgerEntry", LEDGER_ENTRY),
    ("Gauge", GAUGE),
    ("Reading", READING),
    ("FeatureAssessment", ASSESSMENT),
    ("Finding", FINDING),
    ("StationSummary", STATION),
    ("GetLimitsResponse", LIMITS),
    ("Fit", FIT),
    ("Miss", MISS),
    ("Job", JOB),
    ("ClaimJobResponse", CLAIM),
    ("Rebuild", REBUILD),
    ("Reservation", RESERVATION),
    ("ImportSummary", IMPORT_SUMMARY),
];

const ITEM: &[Column] = &[
    ("code", At("code")),
    ("kind", At("kind")),
    ("description", At("description")),
    ("designation", At("designation")),
    ("material", At("material")),
    ("features", At("features.name")),
];

const FEATURE: &[Column] = &[
    ("feature", At("name")),
    ("kind", At("kind")),
    ("nominal", At("nominal")),
    (
        "tolerance",
        First(&[At("tolerance_class"), At("ring_class"), Range("limits.lower", "limits.upper")]),
    ),
    ("wear_limit", At("wear_limit")),
    ("recondition_limit", At("recondition_limit")),
    ("out_of_round_limit", At("out_of_round_limit")),
    ("taper_limit", At("taper_limit")),
    ("reference", At("reference_station")),
    ("source", At("limit_source")),
];

const CORE: &[Column] = &[
    ("tag", At("tag")),
    ("state", At("state")),
    ("item", At("item_code")),
    ("description", At("description")),
    ("owner", First(&[At("customer"), At("owner")])),
    ("door_grade", At("door_grade")),
    ("teardown_grade", At("teardown_grade")),
    ("deposit", At("deposit")),
    ("location", At("location_code")),
    ("received", At("receive_time")),
    ("pieces", At("piece_tags")),
];

const LOCATION: &[Column] =
    &[("code", At("code")), ("kind", At("kind")), ("description", At("description"))];

const PIECE: &[Column] = &[
    ("tag", At("tag")),
    ("item", At("item_code")),
    ("kind", At("kind")),
    ("state", At("state")),
    ("condition", At("condition")),
    ("location", At("location_code")),
    ("core", At("core_tag")),
    ("built_up", At("built_up")),
    ("held_for", First(&[At("hold.rebuild_tag"), At("rebuild_tag")])),
    ("held_by", At("hold.person")),
    ("held_until", At("hold.until_time")),
];

const FEATURE_SIZE: &[Column] = &[
    ("feature", At("feature")),
    ("kind", At("kind")),
    ("nominal", At("nominal")),
    ("measured_at_20c", Range("min", "max")),
    ("uncertainty", At("expanded_uncertainty")),
    ("readings", At("reading_count")),
    ("round", At("round")),
];

const LOT: &[Column] = &[
    ("tag", At("tag")),
    ("item", At("item_code")),
    ("kind", At("kind")),
    ("on_hand", At("on_hand")),
    ("held", At("held")),
    ("locations", At("stock.location_code")),
    ("date_code", At("date_code")),
    ("unit_cost", At("unit_cost")),
    ("received", At("receive_time")),
];

const LOT_STOCK: &[Column] =
    &[("location", At("location_code")), ("on_hand", At("on_hand")), ("held", At("held"))];

const LEDGER_ENTRY: &[Column] = &[
    ("id", At("id")),
    ("time", At("time")),
    ("person", At("person")),
    ("reason", At("reason")),
    ("what", First(&[At("core_tag"), At("piece_tag"), At("lot_tag")])),
    ("location", At("location_code")),
    ("change", At("quantity_delta")),
    ("rebuild", At("rebuild_tag")),
    ("note", At("note")),
];

const GAUGE: &[Column] = &[
    ("tag", At("tag")),
    ("description", At("description")),
    ("resolution", At("resolution")),
    ("uncertainty", At("expanded_uncertainty")),
    ("set_on", At("setting_method")),
    ("calibration_due", At("calibration_due_time")),
    ("state", At("state")),
];

const READING: &[Column] = &[
    ("id", At("id")),
    ("piece", At("piece_tag")),
    ("feature", At("feature")),
    ("station", At("station")),
    ("degrees", At("orientation_deg")),
    ("value", At("value")),
    ("at_20c", At("value_at_20c")),
    ("part_temperature", At("part_temperature")),
    ("gauge", At("gauge_tag")),
    ("gauge_overdue", Flag("gauge_out_of_calibration")),
    ("person", At("person")),
    ("time", At("time")),
    ("round", At("round")),
    ("asked", At("trap")),
    ("kept_because", At("override_reason")),
    ("voided_because", At("void.reason")),
];

const ASSESSMENT: &[Column] = &[
    ("id", At("id")),
    ("time", At("time")),
    ("piece", At("piece_tag")),
    ("feature", At("feature")),
    ("nominal", At("nominal")),
    ("limits", Range("limit_lower", "limit_upper")),
    ("measured_at_20c", Range("min", "max")),
    ("out_of_round", At("out_of_round")),
    ("taper", At("taper")),
    ("wear", At("wear")),
    ("wear_limit", At("wear_limit")),
    ("proposed", At("disposition")),
    ("gauges", At("gauge_tags")),
    ("person", At("person")),
];

const FINDING: &[Column] = &[
    ("compared", At("criterion")),
    ("measured", At("measured")),
    ("limit", At("limit")),
    ("within", At("within")),
    ("verdict", At("verdict")),
    ("finding", At("text")),
];

const STATION: &[Column] = &[
    ("station", At("station")),
    ("measured_at_20c", Range("min", "max")),
    ("mean", At("mean")),
    ("reference", Flag("reference")),
];

const LIMITS: &[Column] = &[
    ("lower", At("lower")),
    ("upper", At("upper")),
    ("lower_deviation", At("lower_deviation")),
    ("upper_deviation", At("upper_deviation")),
    ("source", At("source")),
    ("unconfirmed", Flag("unconfirmed")),
];

const FIT: &[Column] = &[
    ("what", First(&[At("candidate.piece_tag"), At("candidate.lot_tag")])),
    ("item", At("candidate.item_code")),
    ("feature", At("candidate.feature")),
    ("size", Range("candidate.size_min", "candidate.size_max")),
    ("measured", At("candidate.measured")),
    ("clearance", Range("clearance_min", "clearance_max")),
    ("required", Range("required_min", "required_max")),
    ("verdict", At("verdict")),
    ("free", At("candidate.available")),
    ("held_by", At("candidate.hold.person")),
    ("held_for", At("candidate.hold.rebuild_tag")),
    ("held_until", At("candidate.hold.until_time")),
    ("location", At("candidate.stock_by_location.location_code")),
    ("date_code", At("candidate.date_code")),
    ("unit_cost", At("candidate.unit_cost")),
];

const MISS: &[Column] = &[
    ("what", First(&[At("fit.candidate.piece_tag"), At("fit.candidate.lot_tag")])),
    ("item", At("fit.candidate.item_code")),
    ("size", Range("fit.candidate.size_min", "fit.candidate.size_max")),
    ("clearance", Range("fit.clearance_min", "fit.clearance_max")),
    ("required", Range("fit.required_min", "fit.required_max")),
    ("misses_by", At("by")),
    ("side", At("side")),
    ("free", At("fit.candidate.available")),
    ("location", At("fit.candidate.stock_by_location.location_code")),
    ("act", At("act")),
];

const JOB: &[Column] = &[
    ("tag", At("tag")),
    ("piece", At("piece_tag")),
    ("feature", At("feature")),
    ("method", At("method")),
    ("target", Range("target_lower", "target_upper")),
    ("due", At("due_time")),
    ("state", At("state")),
    ("worker", At("worker")),
    ("lease_until", At("lease_until_time")),
    ("outcome", At("outcome")),
    ("rework_of", At("rework_of")),
    ("reason", At("reason")),
];

const CLAIM: &[Column] = &[
    ("tag", At("job.tag")),
    ("token", At("fencing_token")),
    ("lease_until", At("job.lease_until_time")),
    ("piece", At("job.piece_tag")),
    ("feature", At("job.feature")),
    ("method", At("job.method")),
    ("target", Range("job.target_lower", "job.target_upper")),
    ("due", At("job.due_time")),
    ("reason", At("job.reason")),
];

const REBUILD: &[Column] = &[
    ("tag", At("tag")),
    ("state", At("state")),
    ("description", At("description")),
    ("customer", At("customer")),
    ("core", At("core_tag")),
    ("due", At("due_time")),
    ("opened", At("create_time")),
];

const RESERVATION: &[Column] = &[
    ("tag", At("tag")),
    ("state", At("state")),
    ("rebuild", At("rebuild_tag")),
    ("what", First(&[At("piece_tag"), At("lot_tag")])),
    ("quantity", At("quantity")),
    ("location", At("location_code")),
    ("person", At("person")),
    ("until", At("until_time")),
    ("ended", At("end_time")),
    ("reason", At("reason")),
];

const IMPORT_SUMMARY: &[Column] = &[
    ("received", At("received")),
    ("saved", At("saved")),
    ("bad", At("bad")),
    ("committed", At("committed")),
];

#[cfg(test)]
mod tests;
