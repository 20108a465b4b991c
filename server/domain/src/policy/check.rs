//! Every fault of a policy at once.

use super::{BuildMethod, FeaturePolicy, FeatureUse, MethodPolicy, Noted, Policy, Violation};
use crate::money::Money;
use crate::units::{Length, Unit};
use std::collections::BTreeSet;

/// The largest amount of a policy, 10 mm: it catches a length typed in the wrong unit.
const AMOUNT_MAX: Length = Length::from_nm(10_000_000);
/// The longest time in minutes: a year.
const MINUTES_MAX: u32 = 525_600;
/// The longest lead time in days: ten years.
const DAYS_MAX: u32 = 3_650;
/// The most steps of one system.
const STEPS_MAX: usize = 20;
/// The greatest cost share: a part of which no other exists may be worth ten times a new one.
const PERCENT_MAX: u32 = 1_000;
/// The longest note.
const NOTE_CHARACTERS_MAX: usize = 500;

impl Policy {
    /// Looks for faults.
    ///
    /// # Errors
    /// Every violation there is, in the order of the policy's fields.
    ///
    /// ```
    /// use tenths_domain::policy::Policy;
    /// use tenths_domain::units::Length;
    /// let mut policy = Policy::common_practice();
    /// assert_eq!(policy.check(), Ok(()));
    /// policy.grinding_allowance.value = Length::from_nm(-1);
    /// policy.inch_steps.note = String::new();
    /// assert_eq!(policy.check().unwrap_err().len(), 2);
    /// ```
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut faults = Faults { policy: self, found: Vec::new() };
        if self.version < 0 {
            faults.add("version", self.version, "0 or more");
        }
        faults.features();
        faults.steps("inch_steps", &self.inch_steps);
        faults.steps("metric_steps", &self.metric_steps);
        faults.amount("grinding_allowance", Some(&self.grinding_allowance), true);
        faults.amount("straighten_from", self.straighten_from.as_ref(), true);
        faults.methods();
        faults.operations();
        faults.money("hourly_rate", self.hourly_rate.as_ref().map(|rate| rate.value));
        faults.noted("hourly_rate", self.hourly_rate.as_ref());
        faults.count("in_house_lead_time_days", self.in_house_lead_time_days.as_ref(), 0, DAYS_MAX);
        let share = self.cost_share_max_percent.as_ref();
        faults.count("cost_share_max_percent", share, 1, PERCENT_MAX);
        faults.queue();
        faults.noted("yield_prior", Some(&self.yield_prior));
        if faults.found.is_empty() { Ok(()) } else { Err(faults.found) }
    }
}

struct Faults<'a> {
    policy: &'a Policy,
    found: Vec<Violation>,
}

impl Faults<'_> {
    fn add(&mut self, field: impl Into<String>, value: impl ToString, allowed: impl Into<String>) {
        let (field, value, allowed) = (field.into(), value.to_string(), allowed.into());
        self.found.push(Violation { field, value, allowed });
    }

    fn note(&mut self, field: &str, note: &str) {
        let count = note.chars().count();
        if note.trim().is_empty() || count > NOTE_CHARACTERS_MAX {
            let value =
                if count == 0 { "nothing".to_owned() } else { format!("{count} characters") };
            let allowed =
                format!("where the figure is from, 1 to {NOTE_CHARACTERS_MAX} characters");
            self.add(format!("{field}.note"), value, allowed);
        }
    }

    fn noted<T>(&mut self, field: &str, entry: Option<&Noted<T>>) {
        if let Some(entry) = entry {
            self.note(field, &entry.note);
        }
    }

    /// An amount: above zero, or zero too where nothing is an answer.
    fn amount(&mut self, field: &str, entry: Option<&Noted<Length>>, may_be_zero: bool) {
        let Some(entry) = entry else { return };
        self.length(field, entry.value, may_be_zero);
        self.note(field, &entry.note);
    }

    fn length(&mut self, field: &str, value: Length, may_be_zero: bool) {
        let is_low = if may_be_zero { value < Length::ZERO } else { value <= Length::ZERO };
        if is_low || value > AMOUNT_MAX {
            let least = if may_be_zero { "0 or more" } else { "above 0" };
            let most = AMOUNT_MAX.display(Unit::Millimetre, 0);
            self.add(field, value.display_in(Unit::Millimetre), format!("{least}, at most {most}"));
        }
    }

    fn count(&mut self, field: &str, entry: Option<&Noted<u32>>, least: u32, most: u32) {
        let Some(entry) = entry else { return };
        self.number(field, entry.value, least, most);
        self.note(field, &entry.note);
    }

    fn number(&mut self, field: &str, value: u32, least: u32, most: u32) {
        if !(least..=most).contains(&value) {
            self.add(field, value, format!("{least} to {most}"));
        }
    }

    fn money(&mut self, field: &str, value: Option<Money>) {
        let Some(money) = value else { return };
        let currency = self.policy.currency;
        if money.currency != currency || money.minor < 0 {
            self.add(field, money, format!("0 or more, in {currency}"));
        }
    }

    fn features(&mut self) {
        let mut seen: BTreeSet<FeatureUse> = BTreeSet::new();
        for entry in &self.policy.features {
            let field = format!("features[{}]", entry.feature);
            if !seen.insert(entry.feature) {
                self.add(field.as_str(), "a second entry", "one entry for a use");
            }
            self.feature(&field, entry);
        }
    }

    fn feature(&mut self, field: &str, entry: &FeaturePolicy) {
        for (name, value, may_be_zero) in [
            ("wear_limit", &entry.wear_limit, true),
            ("out_of_round_limit", &entry.out_of_round_limit, true),
            ("taper_limit", &entry.taper_limit, true),
            ("run_out_limit", &entry.run_out_limit, true),
            ("past_limit_max", &entry.past_limit_max, true),
            ("polish_max", &entry.polish_max, false),
            ("finish_tolerance", &entry.finish_tolerance, false),
            ("stock_removal_max", &entry.stock_removal_max, true),
        ] {
            self.amount(&format!("{field}.{name}"), value.as_ref(), may_be_zero);
        }
    }

    fn steps(&mut self, field: &str, steps: &Noted<Vec<Length>>) {
        for (index, step) in steps.value.iter().enumerate() {
            self.length(&format!("{field}[{index}]"), *step, false);
        }
        for (index, pair) in steps.value.windows(2).enumerate() {
            if pair[1] <= pair[0] {
                let shown = pair[1].display_in(Unit::Millimetre);
                self.add(format!("{field}[{}]", index + 1), shown, "more than the step before it");
            }
        }
        if steps.value.len() > STEPS_MAX {
            let shown = format!("{} steps", steps.value.len());
            self.add(field, shown, format!("at most {STEPS_MAX} steps"));
        }
        self.note(field, &steps.note);
    }

    fn methods(&mut self) {
        let mut seen: BTreeSet<BuildMethod> = BTreeSet::new();
        for entry in &self.policy.methods {
            let field = format!("methods[{}]", entry.method);
            if !seen.insert(entry.method) {
                self.add(field.as_str(), "a second entry", "one entry for a method");
            }
            self.method(&field, entry);
        }
    }

    fn method(&mut self, field: &str, entry: &MethodPolicy) {
        self.length(&format!("{field}.per_side_min"), entry.per_side_min, true);
        self.length(&format!("{field}.over_build_per_side"), entry.over_build_per_side, true);
        if let Some(most) = entry.per_side_max
            && !(entry.per_side_min.max(Length::from_nm(1))..=AMOUNT_MAX).contains(&most)
        {
            let least = entry.per_side_min.display_in(Unit::Millimetre);
            let allowed = format!("above 0, at least per_side_min ({least}), at most 10 mm");
            let shown = most.display_in(Unit::Millimetre);
            self.add(format!("{field}.per_side_max"), shown, allowed);
        }
        if entry.features.contains(&FeatureUse::Keyseat) {
            let allowed = "any use but a keyseat, which is recut and not built up by method";
            self.add(format!("{field}.features"), FeatureUse::Keyseat, allowed);
        }
        self.bake(field, entry);
        self.money(&format!("{field}.cost"), entry.cost);
        self.number(
            &format!("{field}.lead_time_days"),
            entry.lead_time_days.unwrap_or(0),
            0,
            DAYS_MAX,
        );
        self.note(field, &entry.note);
    }

    fn bake(&mut self, field: &str, entry: &MethodPolicy) {
        let Some(bake) = &entry.bake else { return };
        if bake.hours_min == 0 || bake.hours_max < bake.hours_min || bake.hours_max > 100 {
            let shown = format!("{} to {} h", bake.hours_min, bake.hours_max);
            self.add(format!("{field}.bake.hours"), shown, "1 to 100 h, the shortest first");
        }
        if bake.celsius_min < 100 || bake.celsius_max < bake.celsius_min || bake.celsius_max > 400 {
            let shown = format!("{} to {} C", bake.celsius_min, bake.celsius_max);
            self.add(format!("{field}.bake.celsius"), shown, "100 to 400 C, the lowest first");
        }
        self.note(&format!("{field}.bake"), &bake.note);
    }

    fn operations(&mut self) {
        let mut seen = BTreeSet::new();
        for entry in &self.policy.operations {
            let field = format!("operations[{}]", entry.operation);
            if !seen.insert(entry.operation) {
                self.add(field.as_str(), "a second entry", "one entry for an operation");
            }
            let minutes = entry.minutes.unwrap_or(0);
            self.number(&format!("{field}.minutes"), minutes, 0, MINUTES_MAX);
            self.money(&format!("{field}.cost"), entry.cost);
            self.note(&field, &entry.note);
        }
    }

    fn queue(&mut self) {
        let queue = &self.policy.queue;
        for (name, entry, least) in [
            ("max_wait_minutes", &queue.max_wait_minutes, 1),
            ("due_floor_minutes", &queue.due_floor_minutes, 0),
            ("setup_family_minutes", &queue.setup_family_minutes, 0),
            ("setup_band_minutes", &queue.setup_band_minutes, 0),
            ("wip_max", &queue.wip_max, 1),
        ] {
            self.count(&format!("queue.{name}"), entry.as_ref(), least, MINUTES_MAX);
        }
        self.amount("queue.band_width", Some(&queue.band_width), false);
        if let (Some(family), Some(band)) = (&queue.setup_family_minutes, &queue.setup_band_minutes)
            && band.value > family.value
        {
            let allowed = format!("at most setup_family_minutes ({})", family.value);
            self.add("queue.setup_band_minutes", band.value, allowed);
        }
    }
}
