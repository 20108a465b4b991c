//! From the domain's policy to a document, for the built-in one: every other is kept as it was sent.

use crate::grpc::convert::common::{length, money};
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::money::Money;
use tenths_domain::policy::{
    BakeRule, FeaturePolicy, Hrc, MethodPolicy, Noted, OperationPolicy, Policy, QueuePolicy,
};
use tenths_domain::units::{Length, Unit};
use tenths_domain::yields::Prior;
use tenths_proto::v1 as pb;

/// A tenth, 0.0001 in.
const TENTH_NM: i64 = 2_540;

/// The document of a policy.
pub fn document(policy: &Policy) -> pb::Policy {
    pb::Policy {
        version: policy.version,
        currency: policy.currency.as_str().to_owned(),
        features: policy.features.iter().map(feature).collect(),
        inch_steps: Some(steps(&policy.inch_steps)),
        metric_steps: Some(steps(&policy.metric_steps)),
        grinding_allowance: Some(noted(&policy.grinding_allowance)),
        straighten_from: policy.straighten_from.as_ref().map(noted),
        methods: policy.methods.iter().map(method).collect(),
        operations: policy.operations.iter().map(operation).collect(),
        hourly_rate: policy.hourly_rate.as_ref().map(rate),
        in_house_lead_time_days: policy.in_house_lead_time_days.as_ref().map(count),
        cost_share_max_percent: policy.cost_share_max_percent.as_ref().map(count),
        queue: Some(queue(&policy.queue)),
        yield_prior: Some(prior(&policy.yield_prior)),
    }
}

/// In inches what is a whole number of tenths, in millimetres what is not.
fn spoken(value: Length) -> pb::Length {
    let is_inch = value != Length::ZERO && value.nm() % TENTH_NM == 0;
    length(value, if is_inch { Unit::Inch } else { Unit::Millimetre })
}

fn noted(noted: &Noted<Length>) -> pb::NotedLength {
    pb::NotedLength { value: Some(spoken(noted.value)), note: noted.note.clone() }
}

fn steps(steps: &Noted<Vec<Length>>) -> pb::NotedLengths {
    let values = steps.value.iter().map(|step| spoken(*step)).collect();
    pb::NotedLengths { values, note: steps.note.clone() }
}

/// A count within the policy's limits, which an i32 holds.
fn whole(value: u32) -> i32 {
    i32::try_from(value).unwrap_or(i32::MAX)
}

fn count(noted: &Noted<u32>) -> pb::NotedCount {
    pb::NotedCount { value: whole(noted.value), note: noted.note.clone() }
}

fn rate(noted: &Noted<Money>) -> pb::NotedMoney {
    pb::NotedMoney { value: Some(money(noted.value)), note: noted.note.clone() }
}

/// A hardness as bare decimal text.
fn hardness(hardness: Hrc) -> String {
    format!("{}.{}", hardness.tenths() / 10, hardness.tenths() % 10)
}

fn feature(entry: &FeaturePolicy) -> pb::FeaturePolicy {
    pb::FeaturePolicy {
        feature: entry.feature.to_wire(),
        wear_limit: entry.wear_limit.as_ref().map(noted),
        out_of_round_limit: entry.out_of_round_limit.as_ref().map(noted),
        taper_limit: entry.taper_limit.as_ref().map(noted),
        run_out_limit: entry.run_out_limit.as_ref().map(noted),
        past_limit_max: entry.past_limit_max.as_ref().map(noted),
        polish_max: entry.polish_max.as_ref().map(noted),
        finish_tolerance: entry.finish_tolerance.as_ref().map(noted),
        stock_removal_max: entry.stock_removal_max.as_ref().map(noted),
    }
}

fn method(entry: &MethodPolicy) -> pb::MethodPolicy {
    pb::MethodPolicy {
        method: entry.method.to_wire(),
        per_side_min: Some(spoken(entry.per_side_min)),
        per_side_max: entry.per_side_max.map(spoken),
        over_build_per_side: Some(spoken(entry.over_build_per_side)),
        features: entry.features.iter().map(|used_as| used_as.to_wire()).collect(),
        ends: entry.ends.iter().map(|end| end.to_wire()).collect(),
        allows_keyway: entry.allows_keyway,
        hardness_max_hrc: entry.hardness_max.map(hardness).unwrap_or_default(),
        bake: entry.bake.as_ref().map(bake),
        site: entry.site.to_wire(),
        vendor: entry.vendor.clone().unwrap_or_default(),
        cost: entry.cost.map(money),
        lead_time_days: entry.lead_time_days.map(whole),
        note: entry.note.clone(),
    }
}

fn bake(rule: &BakeRule) -> pb::BakeRule {
    pb::BakeRule {
        from_hrc: hardness(rule.from),
        hours_min: whole(rule.hours_min),
        hours_max: whole(rule.hours_max),
        celsius_min: rule.celsius_min,
        celsius_max: rule.celsius_max,
        start_within_hours: whole(rule.start_within_hours),
        note: rule.note.clone(),
    }
}

fn operation(entry: &OperationPolicy) -> pb::OperationPolicy {
    pb::OperationPolicy {
        operation: entry.operation.to_wire(),
        minutes: entry.minutes.map(whole),
        cost: entry.cost.map(money),
        note: entry.note.clone(),
    }
}

fn queue(queue: &QueuePolicy) -> pb::QueuePolicy {
    pb::QueuePolicy {
        max_wait_minutes: queue.max_wait_minutes.as_ref().map(count),
        due_floor_minutes: queue.due_floor_minutes.as_ref().map(count),
        setup_family_minutes: queue.setup_family_minutes.as_ref().map(count),
        setup_band_minutes: queue.setup_band_minutes.as_ref().map(count),
        band_width: Some(noted(&queue.band_width)),
        wip_max: queue.wip_max.as_ref().map(count),
    }
}

fn prior(noted: &Noted<Prior>) -> pb::YieldPrior {
    pb::YieldPrior {
        passed: noted.value.passed().to_string(),
        failed: noted.value.failed().to_string(),
        note: noted.note.clone(),
    }
}
