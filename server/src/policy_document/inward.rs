//! From the document to the domain's policy; every fault is noted, none is answered alone.

use crate::grpc::check::{Check, NAME_MAX};
use tenths_domain::money::{Currency, Money};
use tenths_domain::policy::{
    BakeRule, FeaturePolicy, Hrc, MethodPolicy, Noted, OperationPolicy, Policy, QueuePolicy,
};
use tenths_domain::units::Length;
use tenths_domain::yields::Prior;
use tenths_proto::v1 as pb;

/// The policy that a document is, as this version; none only if refused. What the rules forbid is
/// refused too.
pub fn policy(check: &mut Check, field: &str, wire: &pb::Policy, version: i64) -> Option<Policy> {
    let mut read = Reader { check, field: field.to_owned() };
    let found = read.policy(wire, version)?;
    for fault in found.check().err().unwrap_or_default() {
        let problem = format!("it is {}; allowed: {}", fault.value, fault.allowed);
        read.check.refuse(&format!("{field}.{}", fault.field), problem);
    }
    Some(found)
}

/// A place in the document.
struct Reader<'c> {
    check: &'c mut Check,
    field: String,
}

impl Reader<'_> {
    /// The place of a field here.
    fn at(&mut self, name: &str) -> Reader<'_> {
        Reader { field: format!("{}.{name}", self.field), check: &mut *self.check }
    }

    fn refuse(&mut self, problem: impl Into<String>) {
        self.check.refuse(&self.field, problem);
    }

    /// What must be given here.
    fn required<T>(&mut self, given: Option<T>, what: &str) -> Option<T> {
        if given.is_none() {
            self.refuse(format!("it is not given; {what} is required"));
        }
        given
    }

    fn each<T, R>(
        &mut self,
        name: &str,
        rows: &[T],
        read: impl Fn(&mut Reader<'_>, &T) -> Option<R>,
    ) -> Option<Vec<R>> {
        let rows = rows.iter().enumerate();
        let found: Vec<Option<R>> =
            rows.map(|(index, row)| read(&mut self.at(&format!("{name}[{index}]")), row)).collect();
        found.into_iter().collect()
    }

    fn policy(&mut self, wire: &pb::Policy, version: i64) -> Option<Policy> {
        let currency = self.at("currency").currency(&wire.currency);
        let features = self.each("features", &wire.features, |read, row| read.feature(row));
        let inch_steps = self.at("inch_steps").steps(wire.inch_steps.as_ref());
        let metric_steps = self.at("metric_steps").steps(wire.metric_steps.as_ref());
        let allowance =
            self.at("grinding_allowance").noted_length(wire.grinding_allowance.as_ref());
        let straighten_from = self.at("straighten_from").if_given(&wire.straighten_from);
        let methods = self.each("methods", &wire.methods, |read, row| read.method(row));
        let operations = self.each("operations", &wire.operations, |read, row| read.operation(row));
        let hourly_rate = self.at("hourly_rate").rate(wire.hourly_rate.as_ref());
        let lead_time = self.at("in_house_lead_time_days").count(&wire.in_house_lead_time_days);
        let cost_share = self.at("cost_share_max_percent").count(&wire.cost_share_max_percent);
        let queue = self.at("queue").queue(wire.queue.as_ref());
        let yield_prior = self.at("yield_prior").prior(wire.yield_prior.as_ref());
        Some(Policy {
            version,
            currency: currency?,
            features: features?,
            inch_steps: inch_steps?,
            metric_steps: metric_steps?,
            grinding_allowance: allowance?,
            straighten_from: straighten_from?,
            methods: methods?,
            operations: operations?,
            hourly_rate: hourly_rate?,
            in_house_lead_time_days: lead_time?,
            cost_share_max_percent: cost_share?,
            queue: queue?,
            yield_prior: yield_prior?,
        })
    }

    fn currency(&mut self, text: &str) -> Option<Currency> {
        text.parse()
            .map_err(|error: tenths_domain::named::UnknownName| self.refuse(error.to_string()))
            .ok()
    }

    /// A note; that it says something is the rules' to ask.
    fn note(&mut self, text: &str) -> String {
        let field = format!("{}.note", self.field);
        self.check.optional_text(&field, text, usize::MAX)
    }

    fn length(&mut self, wire: Option<&pb::Length>) -> Option<Length> {
        let wire = self.required(wire, "a length")?;
        self.check.optional_amount(&self.field, Some(wire)).map(|entry| entry.length)
    }

    /// A length that may be absent: nothing given is an answer, something refused is none.
    fn length_if_given(&mut self, wire: Option<&pb::Length>) -> Option<Option<Length>> {
        wire.map_or(Some(None), |wire| self.length(Some(wire)).map(Some))
    }

    fn noted_length(&mut self, wire: Option<&pb::NotedLength>) -> Option<Noted<Length>> {
        let wire = self.required(wire, "a length with its note")?;
        let note = self.note(&wire.note);
        self.at("value").length(wire.value.as_ref()).map(|value| Noted { value, note })
    }

    fn if_given(&mut self, wire: &Option<pb::NotedLength>) -> Option<Option<Noted<Length>>> {
        wire.as_ref().map_or(Some(None), |wire| self.noted_length(Some(wire)).map(Some))
    }

    fn steps(&mut self, wire: Option<&pb::NotedLengths>) -> Option<Noted<Vec<Length>>> {
        let wire = self.required(wire, "a list of steps with its note")?;
        let note = self.note(&wire.note);
        let values = self.each("values", &wire.values, |read, step| read.length(Some(step)))?;
        Some(Noted { value: values, note })
    }

    fn whole(&mut self, value: i32) -> Option<u32> {
        let found = u32::try_from(value).ok();
        if found.is_none() {
            self.refuse(format!("it is {value}; 0 or more is allowed"));
        }
        found
    }

    fn whole_if_given(&mut self, value: Option<i32>) -> Option<Option<u32>> {
        value.map_or(Some(None), |value| self.whole(value).map(Some))
    }

    fn count(&mut self, wire: &Option<pb::NotedCount>) -> Option<Option<Noted<u32>>> {
        let Some(wire) = wire else { return Some(None) };
        let note = self.note(&wire.note);
        self.whole(wire.value).map(|value| Some(Noted { value, note }))
    }

    fn money_if_given(&mut self, wire: Option<&pb::Money>) -> Option<Option<Money>> {
        let Some(wire) = wire else { return Some(None) };
        self.check.optional_money(&self.field, Some(wire)).map(Some)
    }

    fn rate(&mut self, wire: Option<&pb::NotedMoney>) -> Option<Option<Noted<Money>>> {
        let Some(wire) = wire else { return Some(None) };
        let note = self.note(&wire.note);
        let value = self.required(wire.value.as_ref(), "an amount of money");
        let value = self.at("value").money_if_given(Some(value?))??;
        Some(Some(Noted { value, note }))
    }

    fn hardness_if_given(&mut self, text: &str) -> Option<Option<Hrc>> {
        match text.trim() {
            "" => Some(None),
            text => self.hardness(text).map(Some),
        }
    }

    fn hardness(&mut self, text: &str) -> Option<Hrc> {
        Hrc::parse(text).map_err(|error| self.refuse(error.to_string())).ok()
    }

    fn feature(&mut self, wire: &pb::FeaturePolicy) -> Option<FeaturePolicy> {
        let field = format!("{}.feature", self.field);
        let feature = self.check.required_enum(&field, wire.feature);
        let wear_limit = self.at("wear_limit").if_given(&wire.wear_limit);
        let out_of_round = self.at("out_of_round_limit").if_given(&wire.out_of_round_limit);
        let taper = self.at("taper_limit").if_given(&wire.taper_limit);
        let run_out = self.at("run_out_limit").if_given(&wire.run_out_limit);
        let past_limit = self.at("past_limit_max").if_given(&wire.past_limit_max);
        let polish = self.at("polish_max").if_given(&wire.polish_max);
        let finish = self.at("finish_tolerance").if_given(&wire.finish_tolerance);
        let removal = self.at("stock_removal_max").if_given(&wire.stock_removal_max);
        Some(FeaturePolicy {
            feature: feature?,
            wear_limit: wear_limit?,
            out_of_round_limit: out_of_round?,
            taper_limit: taper?,
            run_out_limit: run_out?,
            past_limit_max: past_limit?,
            polish_max: polish?,
            finish_tolerance: finish?,
            stock_removal_max: removal?,
        })
    }

    fn method(&mut self, wire: &pb::MethodPolicy) -> Option<MethodPolicy> {
        let [of_method, of_site] = ["method", "site"].map(|name| format!("{}.{name}", self.field));
        let method = self.check.required_enum(&of_method, wire.method);
        let per_side_min = self.at("per_side_min").length(wire.per_side_min.as_ref());
        let per_side_max = self.at("per_side_max").length_if_given(wire.per_side_max.as_ref());
        let over_build = self.at("over_build_per_side").length(wire.over_build_per_side.as_ref());
        let features = self.each("features", &wire.features, |read, number| {
            read.check.required_enum(&read.field, *number)
        });
        let ends = self.each("ends", &wire.ends, |read, number| {
            read.check.required_enum(&read.field, *number)
        });
        let hardness_max = self.at("hardness_max_hrc").hardness_if_given(&wire.hardness_max_hrc);
        let bake = self.at("bake").bake_if_given(wire.bake.as_ref());
        let site = self.check.required_enum(&of_site, wire.site);
        let vendor = format!("{}.vendor", self.field);
        let vendor = self.check.optional_text(&vendor, &wire.vendor, NAME_MAX);
        let cost = self.at("cost").money_if_given(wire.cost.as_ref());
        let lead_time_days = self.at("lead_time_days").whole_if_given(wire.lead_time_days);
        let note = self.note(&wire.note);
        Some(MethodPolicy {
            method: method?,
            per_side_min: per_side_min?,
            per_side_max: per_side_max?,
            over_build_per_side: over_build?,
            features: features?,
            ends: ends?,
            allows_keyway: wire.allows_keyway,
            hardness_max: hardness_max?,
            bake: bake?,
            site: site?,
            vendor: Some(vendor).filter(|name| !name.is_empty()),
            cost: cost?,
            lead_time_days: lead_time_days?,
            note,
        })
    }

    fn bake_if_given(&mut self, wire: Option<&pb::BakeRule>) -> Option<Option<BakeRule>> {
        let Some(wire) = wire else { return Some(None) };
        let from = self.at("from_hrc").hardness(&wire.from_hrc);
        let hours_min = self.at("hours_min").whole(wire.hours_min);
        let hours_max = self.at("hours_max").whole(wire.hours_max);
        let start = self.at("start_within_hours").whole(wire.start_within_hours);
        let note = self.note(&wire.note);
        Some(Some(BakeRule {
            from: from?,
            hours_min: hours_min?,
            hours_max: hours_max?,
            celsius_min: wire.celsius_min,
            celsius_max: wire.celsius_max,
            start_within_hours: start?,
            note,
        }))
    }

    fn operation(&mut self, wire: &pb::OperationPolicy) -> Option<OperationPolicy> {
        let field = format!("{}.operation", self.field);
        let operation = self.check.required_enum(&field, wire.operation);
        let minutes = self.at("minutes").whole_if_given(wire.minutes);
        let cost = self.at("cost").money_if_given(wire.cost.as_ref());
        let note = self.note(&wire.note);
        Some(OperationPolicy { operation: operation?, minutes: minutes?, cost: cost?, note })
    }

    fn queue(&mut self, wire: Option<&pb::QueuePolicy>) -> Option<QueuePolicy> {
        let wire = self.required(wire, "how the queue is kept, at least its band_width,")?;
        let max_wait = self.at("max_wait_minutes").count(&wire.max_wait_minutes);
        let due_floor = self.at("due_floor_minutes").count(&wire.due_floor_minutes);
        let setup_family = self.at("setup_family_minutes").count(&wire.setup_family_minutes);
        let setup_band = self.at("setup_band_minutes").count(&wire.setup_band_minutes);
        let band_width = self.at("band_width").noted_length(wire.band_width.as_ref());
        let wip_max = self.at("wip_max").count(&wire.wip_max);
        Some(QueuePolicy {
            max_wait_minutes: max_wait?,
            due_floor_minutes: due_floor?,
            setup_family_minutes: setup_family?,
            setup_band_minutes: setup_band?,
            band_width: band_width?,
            wip_max: wip_max?,
        })
    }

    fn prior(&mut self, wire: Option<&pb::YieldPrior>) -> Option<Noted<Prior>> {
        let wire = self.required(wire, "a prior with its note")?;
        let note = self.note(&wire.note);
        let passed = self.check.number(&format!("{}.passed", self.field), &wire.passed);
        let failed = self.check.number(&format!("{}.failed", self.field), &wire.failed);
        match Prior::new(passed?, failed?) {
            Ok(value) => Some(Noted { value, note }),
            Err(error) => {
                self.refuse(error.to_string());
                None
            }
        }
    }
}
