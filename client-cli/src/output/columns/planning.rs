//! Plans of machines and yields of operations.

use super::super::cell::Cell::{At, First, Number};
use super::{Column, beneath, csv, cut, shown};

pub(super) const PLAN_LINE: &[Column] = &[
    shown("no", At("place")),
    shown("batch", At("batch")),
    shown("job", At("job_tag")),
    shown("piece", At("piece_tag")),
    cut("feature", At("feature")),
    shown("size", At("finish_size")),
    shown("when", At("planned_for")),
    shown("forced", At("forced_by")),
    shown("finish", At("finish_time")),
    csv("start", At("start_time")),
    csv("operation", At("operation")),
    csv("setup_minutes", At("setup_minutes")),
    beneath("minutes", At("minutes")),
    beneath("chance", At("chance")),
    beneath("value", At("value")),
    beneath("due", At("due_time")),
    csv("minutes_after", At("minutes_after")),
    csv("latest_start", At("latest_start_time")),
    csv("queued", At("create_time")),
];

pub(super) const PLAN_BATCH: &[Column] = &[
    shown("batch", At("number")),
    shown("holds", At("text")),
    shown("set_up", At("setup_family")),
    csv("jobs", At("jobs")),
    csv("smallest", At("smallest")),
    csv("largest", At("largest")),
    csv("setup_minutes", At("setup_minutes")),
];

pub(super) const OPERATION_YIELD: &[Column] = &[
    shown("operation", At("operation")),
    shown("where", First(&[At("vendor"), At("site")])).not_in_csv(),
    csv("site", At("site")),
    csv("vendor", At("vendor")),
    shown("passed", At("passed")),
    shown("failed", At("failed")),
    shown("mean", Number("mean", 3, "")),
    shown("lower_bound", Number("lower_bound", 3, "")),
];
