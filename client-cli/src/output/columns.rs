//! The columns that each kind of resource is listed in, in tables and in CSV.

mod found;
mod planning;
mod standards;

use super::cell::Cell::{self, At, First, Joined, Range, Unless, Unlike};

/// A column: its heading, what it shows, and where.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Column {
    pub(crate) heading: &'static str,
    pub(crate) cell: Cell,
    pub(crate) in_csv: bool,
    pub(crate) in_table: InTable,
}

/// How a column is shown to people, who have a hundred columns of text at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum InTable {
    /// As a column.
    Whole,
    /// As a column that is cut, or left out, where the line is too short.
    Cut,
    /// In a line beneath its row.
    Beneath,
    /// In a line below the table, behind the row's first text.
    Foot,
    /// Not at all: `show`, CSV and JSON have it.
    Nowhere,
}

impl Column {
    /// The same for people only: CSV has it in other columns.
    const fn not_in_csv(self) -> Column {
        Column { in_csv: false, ..self }
    }
}

const fn shown(heading: &'static str, cell: Cell) -> Column {
    Column { heading, cell, in_csv: true, in_table: InTable::Whole }
}

const fn cut(heading: &'static str, cell: Cell) -> Column {
    Column { in_table: InTable::Cut, ..shown(heading, cell) }
}

const fn beneath(heading: &'static str, cell: Cell) -> Column {
    Column { in_table: InTable::Beneath, ..shown(heading, cell) }
}

const fn foot(heading: &'static str, cell: Cell) -> Column {
    Column { in_table: InTable::Foot, ..shown(heading, cell) }
}

const fn csv(heading: &'static str, cell: Cell) -> Column {
    Column { in_table: InTable::Nowhere, ..shown(heading, cell) }
}

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
    ("GetLimitsResponse", standards::LIMITS),
    ("GetInchFitResponse", standards::INCH_FIT),
    ("GetBearingResponse", standards::BEARING),
    ("BearingMatch", standards::BEARING_MATCH),
    ("RecommendSeatResponse", standards::SEAT_FORM),
    ("SeatRecommendation", standards::SEAT_RECOMMENDATION),
    ("GetShaftExtensionResponse", standards::EXTENSION),
    ("GetKeyResponse", standards::KEY),
    ("JudgeKeyseatResponse", standards::KEYSEAT),
    ("GetRetainingRingResponse", standards::RETAINING_RING),
    ("JudgeFitResponse", standards::JUDGED_FIT),
    ("GetCloseInResponse", standards::CLOSE_IN),
    ("GetRunningClearanceResponse", standards::RUNNING_CLEARANCE),
    ("GetAssemblyAdviceResponse", standards::ASSEMBLY),
    ("GetShaftStrengthResponse", standards::STRENGTH),
    ("Trace", standards::TRACE),
    ("Fit", found::FIT),
    ("Miss", found::MISS),
    ("SizedRow", found::SIZED_ROW),
    ("Replacement", found::REPLACEMENT),
    ("GetIndexStatusResponse", found::INDEX_STATUS),
    ("Job", JOB),
    ("ClaimJobResponse", CLAIM),
    ("Operation", OPERATION),
    ("SendOut", SEND_OUT),
    ("SendOutLine", SEND_OUT_LINE),
    ("PolicyVersion", POLICY_VERSION),
    ("RepairOption", REPAIR_OPTION),
    ("RepairDecision", REPAIR_DECISION),
    ("PlanLine", planning::PLAN_LINE),
    ("PlanBatch", planning::PLAN_BATCH),
    ("OperationYield", planning::OPERATION_YIELD),
    ("Rebuild", REBUILD),
    ("Reservation", RESERVATION),
    ("ImportSummary", IMPORT_SUMMARY),
];

const ITEM: &[Column] = &[
    shown("code", At("code")),
    shown("kind", At("kind")),
    cut("description", At("description")),
    cut("designation", At("designation")),
    shown("material", At("material")),
    cut("features", At("features.name")),
];

const FEATURE: &[Column] = &[
    shown("feature", At("name")),
    shown("kind", At("kind")),
    shown("nominal", At("nominal")),
    shown(
        "tolerance",
        First(&[At("tolerance_class"), At("ring_class"), Range("limits.lower", "limits.upper")]),
    ),
    shown("wear_limit", At("wear_limit")),
    shown("recondition_limit", At("recondition_limit")),
    foot("out_of_round_limit", At("out_of_round_limit")),
    foot("taper_limit", At("taper_limit")),
    foot("reference", At("reference_station")),
    foot("source", At("limit_source")),
];

const CORE: &[Column] = &[
    shown("tag", At("tag")),
    shown("state", At("state")),
    shown("item", At("item_code")),
    cut("description", At("description")),
    shown("owner", First(&[At("customer"), At("owner")])),
    shown("grade", First(&[At("teardown_grade"), At("door_grade")])).not_in_csv(),
    csv("door_grade", At("door_grade")),
    csv("teardown_grade", At("teardown_grade")),
    csv("deposit", At("deposit")),
    shown("location", At("location_code")),
    shown("received", At("receive_time")),
    cut("pieces", At("piece_tags")),
];

const LOCATION: &[Column] =
    &[shown("code", At("code")), shown("kind", At("kind")), cut("description", At("description"))];

const PIECE: &[Column] = &[
    shown("tag", At("tag")),
    shown("item", At("item_code")),
    csv("kind", At("kind")),
    shown("state", At("state")),
    shown("condition", At("condition")),
    shown("location", At("location_code")),
    shown("core", At("core_tag")),
    shown("built_up", At("built_up")),
    shown("held_for", First(&[At("hold.rebuild_tag"), At("rebuild_tag")])),
    shown("held_by", At("hold.person")),
    shown("held_until", At("hold.until_time")),
];

const FEATURE_SIZE: &[Column] = &[
    shown("feature", At("feature")),
    shown("kind", At("kind")),
    shown("nominal", At("nominal")),
    shown("measured_at_20c", Range("min", "max")),
    shown("uncertainty", At("expanded_uncertainty")),
    shown("readings", At("reading_count")),
    shown("round", At("round")),
];

const LOT: &[Column] = &[
    shown("tag", At("tag")),
    shown("item", At("item_code")),
    csv("kind", At("kind")),
    shown("on_hand", At("on_hand")),
    shown("held", At("held")),
    shown("locations", At("stock.location_code")),
    shown("date_code", At("date_code")),
    shown("unit_cost", At("unit_cost")),
    shown("received", At("receive_time")),
];

const LOT_STOCK: &[Column] = &[
    shown("location", At("location_code")),
    shown("on_hand", At("on_hand")),
    shown("held", At("held")),
];

const LEDGER_ENTRY: &[Column] = &[
    shown("id", At("id")),
    shown("time", At("time")),
    shown("person", At("person")),
    shown("reason", At("reason")),
    shown("what", First(&[At("core_tag"), At("piece_tag"), At("lot_tag")])),
    shown("location", At("location_code")),
    shown("change", At("quantity_delta")),
    shown("rebuild", At("rebuild_tag")),
    cut("note", At("note")),
];

const GAUGE: &[Column] = &[
    shown("tag", At("tag")),
    cut("description", At("description")),
    csv("resolution", At("resolution")),
    shown("uncertainty", At("expanded_uncertainty")),
    shown("set_on", At("setting_method")),
    shown("calibration_due", At("calibration_due_time")),
    csv("state", At("state")),
    shown("state", Unless("in_use", "state")).not_in_csv(),
    csv("side", At("side")),
    csv("sizes", Range("size_min", "size_max")),
    foot("measures", Joined(" ", &[At("side"), Range("size_min", "size_max")])).not_in_csv(),
    foot("material", At("material")),
];

const READING: &[Column] = &[
    shown("id", At("id")),
    shown("piece", At("piece_tag")),
    shown("feature", At("feature")),
    shown("at", Joined("", &[At("station"), At("orientation_deg")])).not_in_csv(),
    csv("station", At("station")),
    csv("degrees", At("orientation_deg")),
    shown("value", At("value")),
    csv("at_20c", At("value_at_20c")),
    shown("at_20c", Unlike("value_at_20c", "value")).not_in_csv(),
    shown("part_temperature", At("part_temperature")),
    shown("gauge_temperature", At("gauge_temperature")).not_in_csv(),
    shown("gauge", At("gauge_tag")),
    shown("gauge_overdue", Unless("no", "gauge_out_of_calibration")),
    shown("person", At("person")),
    shown("time", At("time")),
    csv("round", At("round")),
    shown("round", Unless("0", "round")).not_in_csv(),
    foot("asked", At("trap")),
    foot("kept_because", At("override_reason")),
    foot("voided_because", At("void.reason")),
    csv("gauge_temperature", At("gauge_temperature")),
];

const ASSESSMENT: &[Column] = &[
    csv("id", At("id")),
    shown("time", At("time")),
    shown("piece", At("piece_tag")),
    shown("feature", At("feature")),
    csv("nominal", At("nominal")),
    csv("limits", Range("limit_lower", "limit_upper")),
    shown("measured_at_20c", Range("min", "max")),
    csv("out_of_round", At("out_of_round")),
    csv("taper", At("taper")),
    shown("wear", At("wear")),
    csv("wear_limit", At("wear_limit")),
    shown("proposed", At("disposition")),
    csv("gauges", At("gauge_tags")),
    shown("person", At("person")),
    csv("rule", At("rule")),
];

const FINDING: &[Column] = &[
    shown("compared", At("criterion")),
    shown("measured", At("measured")),
    shown("limit", At("limit")),
    shown("within", At("within")),
    shown("verdict", At("verdict")),
    csv("finding", At("text")),
];

const STATION: &[Column] = &[
    shown("station", At("station")),
    shown("measured_at_20c", Range("min", "max")),
    shown("mean", At("mean")),
    shown("reference", Unless("no", "reference")),
];

const JOB: &[Column] = &[
    shown("tag", At("tag")),
    shown("piece", At("piece_tag")),
    shown("feature", At("feature")),
    shown("method", At("method")),
    shown("target", Range("target_lower", "target_upper")),
    shown("due", At("due_time")),
    // How it ended says that it is done.
    shown("state", First(&[At("outcome"), At("state")])).not_in_csv(),
    csv("state", At("state")),
    shown("worker", At("worker")),
    foot("lease_until", At("lease_until_time")),
    csv("outcome", At("outcome")),
    foot("rework_of", At("rework_of")),
    cut("reason", At("reason")),
];

const OPERATION: &[Column] = &[
    shown("position", At("position")),
    shown("operation", At("plan.kind")),
    shown("machine", First(&[At("plan.vendor"), At("plan.machine")])).not_in_csv(),
    csv("machine", At("plan.machine")),
    csv("vendor", At("plan.vendor")),
    shown("state", At("state")),
    shown("worker", At("worker")),
    cut("work", At("plan.text")),
    csv("from", At("plan.from")),
    csv("to", Range("plan.to_lower", "plan.to_upper")),
    csv("change_on_diameter", At("plan.change_on_diameter")),
    csv("change_per_side", At("plan.change_per_side")),
    csv("finished", At("finish_time")),
    csv("passed", At("passed")),
    foot("rejected", At("reject_reason")),
    foot("note", At("note")),
];

const SEND_OUT: &[Column] = &[
    shown("tag", At("tag")),
    shown("vendor", At("location_code")),
    shown("order", At("order_number")),
    shown("sent", At("create_time")),
    shown("age_days", At("age_days")),
    shown("due_back", At("due_back_time")),
    shown("overdue", At("is_overdue")),
    shown("out", At("lines_out")),
    cut("pieces", At("pieces_out")),
    foot("closed", At("close_time")),
    foot("note", At("note")),
];

const SEND_OUT_LINE: &[Column] = &[
    shown("line", At("line")),
    shown("job", At("job_tag")),
    shown("piece", At("piece_tag")),
    shown("state", At("state")),
    cut("work", At("work")),
    shown("from", At("from_location_code")),
    shown("ended", At("end_time")),
    csv("ended_by", At("ended_by")),
    foot("note", At("note")),
];

const CLAIM: &[Column] = &[
    shown("tag", At("job.tag")),
    shown("token", At("fencing_token")),
    csv("operation", At("job.operation_position")),
    shown("lease_until", At("job.lease_until_time")),
    shown("piece", At("job.piece_tag")),
    shown("feature", At("job.feature")),
    shown("method", At("job.method")),
    shown("target", Range("job.target_lower", "job.target_upper")),
    shown("due", At("job.due_time")),
    foot("reason", At("job.reason")),
];

const POLICY_VERSION: &[Column] = &[
    shown("version", At("version")),
    shown("in_force", At("in_force")),
    shown("person", At("person")),
    shown("time", At("create_time")),
    cut("note", At("note")),
    csv("etag", At("etag")),
];

const REPAIR_DECISION: &[Column] = &[
    csv("id", At("id")),
    shown("piece", At("piece_tag")),
    shown("feature", At("feature")),
    shown("proposed", At("proposed")),
    shown("chosen", At("chosen")),
    shown("job", At("job_tag")),
    csv("policy_version", At("policy_version")),
    csv("person", At("person")),
    csv("time", At("time")),
    beneath("as", At("text")),
    beneath("because", At("reason")),
];

const REPAIR_OPTION: &[Column] = &[
    shown("rank", At("rank")),
    shown("repair", At("repair")),
    shown("target", Range("target_lower", "target_upper")),
    csv("removed_on_diameter", At("removed_on_diameter")),
    csv("added_on_diameter", At("added_on_diameter")),
    shown("cost", At("cost")),
    shown("share_percent", At("cost_share_percent")),
    shown("lead_days", At("lead_time_days")),
    shown("mates", At("mates")),
    csv("mates_after_reaming", At("mates_after_reaming")),
    csv("blocks", At("blocks.text")),
    csv("doubts", At("doubts.text")),
    csv("scrap_reason", At("scrap_reason")),
];

const REBUILD: &[Column] = &[
    shown("tag", At("tag")),
    shown("state", At("state")),
    cut("description", At("description")),
    cut("customer", At("customer")),
    shown("core", At("core_tag")),
    shown("due", At("due_time")),
    shown("value", At("value")),
    shown("opened", At("create_time")),
];

const RESERVATION: &[Column] = &[
    shown("tag", At("tag")),
    shown("state", At("state")),
    shown("rebuild", At("rebuild_tag")),
    shown("what", First(&[At("piece_tag"), At("lot_tag")])),
    shown("quantity", At("quantity")),
    shown("location", At("location_code")),
    shown("person", At("person")),
    shown("until", At("until_time")),
    shown("ended", At("end_time")),
    cut("reason", At("reason")),
];

const IMPORT_SUMMARY: &[Column] = &[
    shown("received", At("received")),
    shown("saved", At("saved")),
    shown("bad", At("bad")),
    shown("committed", At("committed")),
];

#[cfg(test)]
mod tests;
