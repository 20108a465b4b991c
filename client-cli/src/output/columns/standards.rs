//! The columns of what the standards and fits answer.

use super::super::cell::Cell::{
    self, At, Bracketed, Joined, Number, Numbers, Range, Sentences, System, Unless, Words,
};
use super::{Column, beneath, csv, shown};

/// A temperature in the system of the answer: Celsius, or Fahrenheit with Celsius beside it.
macro_rules! hot {
    ($celsius:literal, $fahrenheit:literal) => {
        System(&At($celsius), &Joined(" ", &[At($fahrenheit), Bracketed(&At($celsius))]))
    };
}

pub(super) const LIMITS: &[Column] = &[
    shown("lower", At("lower")),
    shown("upper", At("upper")),
    shown("lower_deviation", At("lower_deviation")),
    shown("upper_deviation", At("upper_deviation")),
    shown("source", At("source")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

pub(super) const INCH_FIT: &[Column] = &[
    shown("hole", At("hole")),
    shown("shaft", At("shaft")),
    shown("clearance", Range("clearance_min", "clearance_max")),
    shown("note", At("note")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

pub(super) const BEARING: &[Column] = &[
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

pub(super) const BEARING_MATCH: &[Column] = &[
    shown("basic_number", At("basic_number")),
    shown("bore", At("bore")),
    shown("outside_diameter", At("outside_diameter")),
    shown("width", At("width")),
    shown("off", At("off")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

pub(super) const SEAT_RECOMMENDATION: &[Column] = &[
    shown("class", At("tolerance_class")),
    shown("limits", At("limits")),
    csv("confidence", At("confidence")),
    shown("confidence", Words("confidence")).not_in_csv(),
    beneath("when", At("condition")),
    beneath("source", At("source")),
];

pub(super) const SEAT_FORM: &[Column] = &[
    shown("cylindricity", At("cylindricity")),
    shown("total_radial_run_out", At("total_radial_run_out")),
    shown("shoulder_squareness", At("shoulder_squareness")),
];

pub(super) const EXTENSION: &[Column] = &[
    shown("limits", At("limits")),
    shown("run_out", At("run_out")),
    shown("run_out_reduced", At("run_out_reduced")),
    shown("measured_at", At("measured_at")),
];

pub(super) const KEY: &[Column] = &[
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

pub(super) const KEYSEAT: &[Column] = &[
    csv("verdict", At("verdict")),
    csv("text", At("text")),
    shown("verdict", At("text")).not_in_csv(),
    shown("limits", At("limits")),
    shown("over_nominal", At("over_nominal")),
    shown("next_key_width", At("next_key_width")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

pub(super) const RETAINING_RING: &[Column] = &[
    shown("ring_thickness", At("ring_thickness")),
    shown("groove_diameter", At("groove_diameter")),
    shown("groove_diameter_limits", At("groove_diameter_limits")),
    shown("groove_width_limits", At("groove_width_limits")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];

pub(super) const JUDGED_FIT: &[Column] = &[
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

pub(super) const CLOSE_IN: &[Column] = &[
    shown("interference", Range("interference_min", "interference_max")),
    shown("share", At("share")),
    shown("close_in", Range("close_in_min", "close_in_max")),
    shown("installed", Range("installed_min", "installed_max")),
    shown("uncertainty", At("expanded_uncertainty")),
];

/// A rule gives one number; a range would need a source for its other end.
pub(super) const RUNNING_CLEARANCE: &[Column] = &[shown("clearance_by_the_rule", At("clearance"))];

pub(super) const ASSEMBLY: &[Column] = &[
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

pub(super) const PRESSURE_MPA: Cell = Numbers("pressure_min_mpa", "pressure_max_mpa", 1, "MPa");
pub(super) const PRESSURE_PSI: Cell = Numbers("pressure_min_psi", "pressure_max_psi", 0, "psi");
pub(super) const OUTER_MPA: Cell = Number("outer_hoop_mpa", 1, "MPa");
pub(super) const OUTER_PSI: Cell = Number("outer_hoop_psi", 0, "psi");
pub(super) const INNER_MPA: Cell = Number("inner_hoop_mpa", 1, "MPa");
pub(super) const INNER_PSI: Cell = Number("inner_hoop_psi", 0, "psi");
pub(super) const FORCE_N: Cell = Numbers("press_force_min_n", "press_force_max_n", 0, "N");
pub(super) const FORCE_LBF: Cell = Numbers("press_force_min_lbf", "press_force_max_lbf", 0, "lbf");

pub(super) const STRENGTH: &[Column] = &[
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

pub(super) const TORQUE_NM: Cell = Number("torque_nm", 2, "N m");
pub(super) const TORQUE_LB_IN: Cell = Number("torque_lb_in", 1, "lb in");
pub(super) const SHEAR_MPA: Cell = Number("shear_stress_mpa", 1, "MPa");
pub(super) const SHEAR_PSI: Cell = Number("shear_stress_psi", 0, "psi");

pub(super) const TRACE: &[Column] = &[
    shown("what", At("what")),
    shown("value", At("value")),
    shown("source", At("source")),
    shown("unconfirmed", Unless("no", "unconfirmed")),
];
