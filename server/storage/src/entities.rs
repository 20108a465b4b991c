//! The tables as sea-orm sees them; private to this crate.
//!
//! Names and types follow `migrations`; every number that is measured, counted, paid or timed is an
//! `i64`. Records that the rest of Tenths sees are made from these in `records`.

/// Defines the entity of a table whose key is a number that the database gives.
macro_rules! entity {
    ($module:ident, $table:literal { $($field:ident: $type:ty),* $(,)? }) => {
        pub(crate) mod $module {
            use sea_orm::entity::prelude::*;

            #[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
            #[sea_orm(table_name = $table)]
            pub(crate) struct Model {
                #[sea_orm(primary_key)]
                pub(crate) id: i64,
                $(pub(crate) $field: $type,)*
            }

            #[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
            pub(crate) enum Relation {}

            impl ActiveModelBehavior for ActiveModel {}
        }
    };
}

entity!(items, "items" {
    code: String,
    kind: String,
    description: String,
    designation: String,
    material: Option<String>,
    created_at: i64,
    revision: i64,
    set_of: i64,
    no_substitute: i64,
});

entity!(features, "features" {
    item_id: i64,
    name: String,
    kind: String,
    nominal_nm: i64,
    nominal_text: String,
    nominal_unit: String,
    tolerance_kind: String,
    tolerance_class: String,
    lower_nm: Option<i64>,
    upper_nm: Option<i64>,
    wear_limit_nm: Option<i64>,
    recondition_limit_nm: Option<i64>,
    out_of_round_limit_nm: Option<i64>,
    taper_limit_nm: Option<i64>,
    reference_station: String,
    limit_source: String,
});

entity!(locations, "locations" {
    code: String,
    kind: String,
    description: String,
    created_at: i64,
});

entity!(cores, "cores" {
    tag: String,
    item_id: Option<i64>,
    description: String,
    owner: String,
    customer: String,
    door_grade: String,
    door_reasons: String,
    teardown_grade: Option<String>,
    teardown_reasons: String,
    deposit_minor: Option<i64>,
    deposit_currency: Option<String>,
    location_id: Option<i64>,
    state: String,
    received_by: String,
    created_at: i64,
    revision: i64,
});

entity!(core_nameplates, "core_nameplates" { core_id: i64, name: String, value: String });

entity!(pieces, "pieces" {
    tag: String,
    item_id: i64,
    core_id: Option<i64>,
    state: String,
    condition: String,
    location_id: Option<i64>,
    rebuild_id: Option<i64>,
    material: Option<String>,
    hardness: String,
    built_up: String,
    note: String,
    created_at: i64,
    revision: i64,
});

entity!(piece_sizes, "piece_sizes" {
    piece_id: i64,
    feature_id: i64,
    round: i64,
    target_lower_nm: Option<i64>,
    target_upper_nm: Option<i64>,
    min_nm: Option<i64>,
    max_nm: Option<i64>,
    uncertainty_nm: Option<i64>,
    reading_count: i64,
});

entity!(lots, "lots" {
    tag: String,
    item_id: i64,
    date_code: String,
    cost_minor: Option<i64>,
    cost_currency: Option<String>,
    created_at: i64,
    revision: i64,
});

entity!(lot_stock, "lot_stock" { lot_id: i64, location_id: i64, on_hand: i64, held: i64 });

entity!(ledger, "ledger" {
    created_at: i64,
    person: String,
    reason: String,
    core_id: Option<i64>,
    piece_id: Option<i64>,
    lot_id: Option<i64>,
    location_id: i64,
    quantity_delta: i64,
    rebuild_id: Option<i64>,
    note: String,
    request_id: String,
});

entity!(gauges, "gauges" {
    tag: String,
    description: String,
    resolution_nm: i64,
    resolution_text: String,
    resolution_unit: String,
    uncertainty_nm: i64,
    uncertainty_text: String,
    uncertainty_unit: String,
    setting_method: String,
    calibration_due_at: i64,
    state: String,
    created_at: i64,
    revision: i64,
    side: Option<String>,
    size_min_text: Option<String>,
    size_min_unit: Option<String>,
    size_max_text: Option<String>,
    size_max_unit: Option<String>,
    material: Option<String>,
});

entity!(readings, "readings" {
    piece_id: i64,
    feature_id: i64,
    gauge_id: i64,
    round: i64,
    station: String,
    orientation_deg: i64,
    value_nm: i64,
    value_text: String,
    value_unit: String,
    at_20c_nm: i64,
    uncertainty_nm: i64,
    temperature_text: Option<String>,
    temperature_unit: Option<String>,
    gauge_temperature_text: Option<String>,
    gauge_temperature_unit: Option<String>,
    gauge_overdue: bool,
    trap: String,
    override_reason: String,
    person: String,
    created_at: i64,
    request_id: String,
});

entity!(reading_voids, "reading_voids" {
    reading_id: i64,
    reason: String,
    person: String,
    created_at: i64,
});

entity!(assessments, "assessments" {
    piece_id: i64,
    feature_id: i64,
    round: i64,
    person: String,
    created_at: i64,
    text_unit: String,
    reference_station: String,
    nominal_nm: i64,
    nominal_source: String,
    limit_lower_nm: Option<i64>,
    limit_upper_nm: Option<i64>,
    limit_source: String,
    min_nm: i64,
    max_nm: i64,
    mean_nm: i64,
    out_of_round_nm: Option<i64>,
    taper_nm: Option<i64>,
    wear_nm: Option<i64>,
    wear_basis: String,
    wear_limit_nm: Option<i64>,
    uncertainty_nm: i64,
    disposition: String,
    reasons: String,
    decision_rule: Option<String>,
});

entity!(assessment_findings, "assessment_findings" {
    assessment_id: i64,
    criterion: String,
    measured_nm: i64,
    limit_nm: i64,
    within: bool,
    verdict: String,
    probability_in_ppb: i64,
    text: String,
});

entity!(assessment_readings, "assessment_readings" { assessment_id: i64, reading_id: i64 });

entity!(decisions, "decisions" {
    piece_id: i64,
    proposed: Option<String>,
    decided: String,
    reason: String,
    person: String,
    created_at: i64,
});

entity!(jobs, "jobs" {
    tag: String,
    piece_id: i64,
    feature_id: i64,
    method: String,
    target_lower_nm: Option<i64>,
    target_upper_nm: Option<i64>,
    target_unit: String,
    reason: String,
    due_at: Option<i64>,
    state: String,
    worker: String,
    lease_until_at: Option<i64>,
    fencing_token: i64,
    attempt: i64,
    outcome: Option<String>,
    scrap_reason: Option<String>,
    rework_of: Option<i64>,
    created_at: i64,
    revision: i64,
    operation_position: Option<i64>,
    machine: Option<String>,
    setup_family: Option<String>,
    site: Option<String>,
    finish_size_nm: Option<i64>,
    rebuild_id: Option<i64>,
    value_minor: Option<i64>,
    policy_version: Option<i64>,
    plan_rank: Option<i64>,
    force_at: Option<i64>,
});

entity!(operations, "operations" {
    job_id: i64,
    position: i64,
    kind: String,
    machine: String,
    setup_family: String,
    site: String,
    vendor: Option<String>,
    from_nm: Option<i64>,
    to_lower_nm: Option<i64>,
    to_upper_nm: Option<i64>,
    change_on_diameter_nm: Option<i64>,
    minutes: Option<i64>,
    cautions: String,
    text: String,
    state: String,
    worker: String,
    started_at: Option<i64>,
    resumed_at: Option<i64>,
    worked_micros: i64,
    finished_at: Option<i64>,
    passed: Option<i64>,
    reject_reason: Option<String>,
    note: String,
});

entity!(send_outs, "send_outs" {
    tag: String,
    location_id: i64,
    order_number: String,
    due_back_at: Option<i64>,
    note: String,
    person: String,
    created_at: i64,
    closed_at: Option<i64>,
    revision: i64,
});

entity!(send_out_lines, "send_out_lines" {
    send_out_id: i64,
    line: i64,
    job_id: i64,
    piece_id: i64,
    first_position: i64,
    last_position: i64,
    from_location_id: i64,
    state: String,
    ended_at: Option<i64>,
    ended_by: String,
    note: String,
});

entity!(rebuilds, "rebuilds" {
    tag: String,
    description: String,
    customer: String,
    core_id: Option<i64>,
    due_at: Option<i64>,
    state: String,
    created_at: i64,
    revision: i64,
    value_minor: Option<i64>,
    value_currency: Option<String>,
});

entity!(reservations, "reservations" {
    tag: String,
    rebuild_id: i64,
    piece_id: Option<i64>,
    lot_id: Option<i64>,
    location_id: i64,
    quantity: i64,
    person: String,
    until_at: i64,
    state: String,
    reason: String,
    created_at: i64,
    ended_at: Option<i64>,
    revision: i64,
});

entity!(policies, "policies" {
    version: i64,
    document: Vec<u8>,
    note: String,
    person: String,
    created_at: i64,
});

entity!(repair_decisions, "repair_decisions" {
    piece_id: i64,
    feature_id: i64,
    round: i64,
    policy_version: i64,
    details: Vec<u8>,
    proposed: String,
    chosen: String,
    text: String,
    reason: String,
    person: String,
    created_at: i64,
    job_id: Option<i64>,
});

/// Requests by the id that makes a repeat harmless.
pub(crate) mod requests {
    use sea_orm::entity::prelude::*;

    #[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
    #[sea_orm(table_name = "requests")]
    pub(crate) struct Model {
        #[sea_orm(primary_key, auto_increment = false)]
        pub(crate) request_id: String,
        pub(crate) method: String,
        pub(crate) person: String,
        pub(crate) fingerprint: Vec<u8>,
        pub(crate) answer: Vec<u8>,
        pub(crate) created_at: i64,
    }

    #[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
    pub(crate) enum Relation {}

    impl ActiveModelBehavior for ActiveModel {}
}

/// The next number of each kind of tag.
pub(crate) mod counters {
    use sea_orm::entity::prelude::*;

    #[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
    #[sea_orm(table_name = "counters")]
    pub(crate) struct Model {
        #[sea_orm(primary_key, auto_increment = false)]
        pub(crate) name: String,
        pub(crate) next: i64,
    }

    #[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
    pub(crate) enum Relation {}

    impl ActiveModelBehavior for ActiveModel {}
}
