//! The columns that each kind of resource is listed in, in tables and in CSV.

use super::cell::Cell::{
    self, At, Bracketed, First, Joined, Number, Numbers, Range, Sentences, System, Unless, Unlike,
    Words,
};

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

/// A temperature in the system of the answer: Celsius, or Fahrenheit with Celsius beside it.
macro_rules! hot {
    ($celsius:literal, $fahrenheit:literal) => {
        System(&At($celsius), &Joined(" ", &[At($fahrenheit), Bracketed(&At($celsius))]))
    };
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
    ("GetLimitsResponse", LIMITS),
    ("GetInchFitResponse", INCH_FIT),
    ("GetBearingResponse", BEARING),
    ("BearingMatch", BEARING_MATCH),
    ("RecommendSeatResponse", SEAT_FORM),
    ("SeatRecommendation", SEAT_RECOMMENDATION),
    ("GetShaftExtensionResponse", EXTENSION),
    ("GetKeyResponse", KEY),
    ("JudgeKeyseatResponse", KEYSEAT),
    ("GetRetainingRingResponse", RETAINING_RING),
    ("JudgeFitResponse", JUDGED_FIT),
    ("GetCloseInResponse", CLOSE_IN),
    ("GetRunningClearanceResponse", RUNNING_CLEARANCE),
    ("GetAssemblyAdviceResponse", ASSEMBLY),
    ("GetShaftStrengthResponse", STRENGTH),
    ("Trace", TRACE),
    ("Fit", FIT),
    ("Miss", MISS),
    ("SizedRow", SIZED_ROW),
    ("Replacement", REPLACEMENT),
    ("GetIndexStatusResponse", INDEX_STATUS),
    ("Job", JOB),
    ("ClaimJobResponse", CLAIM),
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

const LIMITS: &[Column] = &[
    shown("lower", At("lower")),
    shown("upper", At("upper")),
    shown("lower_deviation", At("lower_deviation")),
    shown("upper_deviation", At("upper_deviation")),
    shown("source", At("source")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const INCH_FIT: &[Column] = &[
    shown("hole", At("hole")),
    shown("shaft", At("shaft")),
    shown("clearance", Range("clearance_min", "clearance_max")),
    shown("note", At("note")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const BEARING: &[Column] = &[
    shown("basic_number", At("basic_number")),
    shown("bore", At("bore")),
    shown("outside_diameter", At("outside_diameter")),
    shown("width", At("width")),
    csv("closure", At("closure")),
    shown("closure", Words("closure")).not_in_csv(),
    shown("clearance_group", At("clearance_group")),
    shown("unknown_group", At("unknown_group")),
    shown("internal_clearance", At("internal_clearance")),
    shown("bore_limits", At("bore_limits")),
    shown("outside_diameter_limits", At("outside_diameter_limits")),
    shown("width_limits", At("width_limits")),
    shown("uninterpreted", At("uninterpreted")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const BEARING_MATCH: &[Column] = &[
    shown("basic_number", At("basic_number")),
    shown("bore", At("bore")),
    shown("outside_diameter", At("outside_diameter")),
    shown("width", At("width")),
    shown("off", At("off")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const SEAT_RECOMMENDATION: &[Column] = &[
    shown("class", At("tolerance_class")),
    shown("limits", At("limits")),
    csv("confidence", At("confidence")),
    shown("confidence", Words("confidence")).not_in_csv(),
    beneath("when", At("condition")),
    beneath("source", At("source")),
];

const SEAT_FORM: &[Column] = &[
    shown("cylindricity", At("cylindricity")),
    shown("total_radial_run_out", At("total_radial_run_out")),
    shown("shoulder_squareness", At("shoulder_squareness")),
];

const EXTENSION: &[Column] = &[
    shown("limits", At("limits")),
    shown("run_out", At("run_out")),
    shown("run_out_reduced", At("run_out_reduced")),
    shown("measured_at", At("measured_at")),
];

const KEY: &[Column] = &[
    csv("standard", At("standard")),
    shown("standard", At("standard_name")).not_in_csv(),
    shown("width", At("width")),
    shown("height", At("height")),
    shown("rectangular_height", At("rectangular_height")),
    csv("shaft_depth", At("shaft_depth")),
    csv("hub_depth", At("hub_depth")),
    shown("shaft_depth_limits", At("shaft_depth_limits")),
    shown("hub_depth_limits", At("hub_depth_limits")),
    shown("rectangular_depth", At("rectangular_depth")),
    shown("key_width", At("key_width")),
    shown("keyseat_width", At("keyseat_width")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const KEYSEAT: &[Column] = &[
    csv("verdict", At("verdict")),
    csv("text", At("text")),
    shown("verdict", At("text")).not_in_csv(),
    shown("limits", At("limits")),
    shown("over_nominal", At("over_nominal")),
    shown("next_key_width", At("next_key_width")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const RETAINING_RING: &[Column] = &[
    shown("ring_thickness", At("ring_thickness")),
    shown("groove_diameter", At("groove_diameter")),
    shown("groove_diameter_limits", At("groove_diameter_limits")),
    shown("groove_width_limits", At("groove_width_limits")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const JUDGED_FIT: &[Column] = &[
    shown("clearance", Range("clearance_min", "clearance_max")),
    shown("required", Range("required_min", "required_max")),
    shown("fit_kind", At("fit_kind")),
    shown("uncertainty", At("expanded_uncertainty")),
    shown("verdict", At("verdict")),
    csv("rule", At("rule")),
    shown("decision", At("decision_text")),
    shown("measure_next", At("measure_next")),
    csv("probability_is_at_most", At("probability_is_at_most")),
    csv("bore_is", At("internal_basis")),
    csv("shaft_is", At("external_basis")),
    shown("note", Sentences("notes")),
];

const CLOSE_IN: &[Column] = &[
    shown("interference", Range("interference_min", "interference_max")),
    shown("share", At("share")),
    shown("close_in", Range("close_in_min", "close_in_max")),
    shown("installed", Range("installed_min", "installed_max")),
    shown("uncertainty", At("expanded_uncertainty")),
];

/// A rule gives one number; a range would need a source for its other end.
const RUNNING_CLEARANCE: &[Column] = &[shown("clearance_by_the_rule", At("clearance"))];

const ASSEMBLY: &[Column] = &[
    shown("interference", Range("interference_min", "interference_max")),
    shown("uncertainty", At("expanded_uncertainty")),
    shown(
        "pressure",
        System(&PRESSURE_MPA, &Joined(" ", &[PRESSURE_PSI, Bracketed(&PRESSURE_MPA)])),
    )
    .not_in_csv(),
    shown("outer_hoop", System(&OUTER_MPA, &Joined(" ", &[OUTER_PSI, Bracketed(&OUTER_MPA)])))
        .not_in_csv(),
    shown("inner_hoop", System(&INNER_MPA, &Joined(" ", &[INNER_PSI, Bracketed(&INNER_MPA)])))
        .not_in_csv(),
    shown("press_force", System(&FORCE_N, &Joined(" ", &[FORCE_LBF, Bracketed(&FORCE_N)])))
        .not_in_csv(),
    csv("pressure_MPa", Numbers("pressure_min_mpa", "pressure_max_mpa", 1, "")),
    csv("pressure_psi", Numbers("pressure_min_psi", "pressure_max_psi", 0, "")),
    csv("outer_hoop_MPa", Number("outer_hoop_mpa", 1, "")),
    csv("outer_hoop_psi", Number("outer_hoop_psi", 0, "")),
    csv("inner_hoop_MPa", Number("inner_hoop_mpa", 1, "")),
    csv("inner_hoop_psi", Number("inner_hoop_psi", 0, "")),
    csv("press_force_N", Numbers("press_force_min_n", "press_force_max_n", 0, "")),
    csv("press_force_lbf", Numbers("press_force_min_lbf", "press_force_max_lbf", 0, "")),
    shown("heat_at_least", hot!("heat_at_least", "heat_at_least_f")),
    shown("heat_to", hot!("heat_to", "heat_to_f")),
    shown("never_over", hot!("never_over", "never_over_f")),
    csv("heat_outcome", At("heat_outcome")),
    shown("heating", At("heat_text")).not_in_csv(),
    shown("internal_clearance", At("internal_clearance")),
    shown("internal_clearance_left", At("internal_clearance_left")),
    shown("may_preload", Unless("no", "may_preload")),
];

const PRESSURE_MPA: Cell = Numbers("pressure_min_mpa", "pressure_max_mpa", 1, "MPa");
const PRESSURE_PSI: Cell = Numbers("pressure_min_psi", "pressure_max_psi", 0, "psi");
const OUTER_MPA: Cell = Number("outer_hoop_mpa", 1, "MPa");
const OUTER_PSI: Cell = Number("outer_hoop_psi", 0, "psi");
const INNER_MPA: Cell = Number("inner_hoop_mpa", 1, "MPa");
const INNER_PSI: Cell = Number("inner_hoop_psi", 0, "psi");
const FORCE_N: Cell = Numbers("press_force_min_n", "press_force_max_n", 0, "N");
const FORCE_LBF: Cell = Numbers("press_force_min_lbf", "press_force_max_lbf", 0, "lbf");

const STRENGTH: &[Column] = &[
    shown("torque", System(&TORQUE_NM, &Joined(" ", &[TORQUE_LB_IN, Bracketed(&TORQUE_NM)])))
        .not_in_csv(),
    csv("torque_N_m", Number("torque_nm", 2, "")),
    csv("torque_lb_in", Number("torque_lb_in", 1, "")),
    shown("required_diameter", At("required_diameter")),
    shown("shear_stress", System(&SHEAR_MPA, &Joined(" ", &[SHEAR_PSI, Bracketed(&SHEAR_MPA)])))
        .not_in_csv(),
    csv("shear_stress_MPa", Number("shear_stress_mpa", 1, "")),
    csv("shear_stress_psi", Number("shear_stress_psi", 0, "")),
];

const TORQUE_NM: Cell = Number("torque_nm", 2, "N m");
const TORQUE_LB_IN: Cell = Number("torque_lb_in", 1, "lb in");
const SHEAR_MPA: Cell = Number("shear_stress_mpa", 1, "MPa");
const SHEAR_PSI: Cell = Number("shear_stress_psi", 0, "psi");

const TRACE: &[Column] = &[
    shown("what", At("what")),
    shown("value", At("value")),
    shown("source", At("source")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

const FIT_SIZE: Cell = Range("candidate.size_min", "candidate.size_max");

const FIT: &[Column] = &[
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
    beneath("installed", Range("installed_min", "installed_max")),
    beneath("housing", Range("other.clearance_min", "other.clearance_max")),
    beneath("housing_required", Range("other.required_min", "other.required_max")),
    beneath("housing_verdict", At("other.verdict")),
    beneath("free", At("candidate.available")),
    csv("set_of", Unless("1", "candidate.set_of")),
    beneath("held_by", At("candidate.hold.person")),
    beneath("held_for", At("candidate.hold.rebuild_tag")),
    beneath("held_until", At("candidate.hold.until_time")),
    beneath("location", At("candidate.stock_by_location.location_code")),
    beneath("date_code", At("candidate.date_code")),
    beneath("unit_cost", At("candidate.unit_cost")),
    beneath("lot_held_until", At("candidate.lot_holds.until_time")),
];

const SIZED_ROW: &[Column] = &[
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

const REPLACEMENT: &[Column] = &[
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

const INDEX_STATUS: &[Column] = &[
    shown("ready", At("ready")),
    shown("rows", At("rows")),
    shown("revision", At("freshness.revision")),
    shown("age", At("freshness.age")),
    shown("reloads", At("reloads")),
];

const MISS_SIZE: Cell = Range("fit.candidate.size_min", "fit.candidate.size_max");

const MISS: &[Column] = &[
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

const CLAIM: &[Column] = &[
    shown("tag", At("job.tag")),
    shown("token", At("fencing_token")),
    shown("lease_until", At("job.lease_until_time")),
    shown("piece", At("job.piece_tag")),
    shown("feature", At("job.feature")),
    shown("method", At("job.method")),
    shown("target", Range("job.target_lower", "job.target_upper")),
    shown("due", At("job.due_time")),
    foot("reason", At("job.reason")),
];

const REBUILD: &[Column] = &[
    shown("tag", At("tag")),
    shown("state", At("state")),
    cut("description", At("description")),
    cut("customer", At("customer")),
    shown("core", At("core_tag")),
    shown("due", At("due_time")),
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
