//! The policy: what a shop starts from, and every fault named at once.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use tenths_domain::item::FeatureKind;
use tenths_domain::money::{Currency, Money};
use tenths_domain::policy::{
    BuildMethod, FeaturePolicy, FeatureUse, Hrc, Noted, OperationPolicy, Policy, StepSystem,
};
use tenths_domain::route::OperationKind;
use tenths_domain::units::{Length, Unit};

fn thou(tenths_of_thou: i64) -> Length {
    Length::from_nm(tenths_of_thou * 2_540)
}

/// Common practice, no published source, unless the entry's note names one.
#[test]
fn the_steps_and_thicknesses_are_common_practice() {
    let policy = Policy::common_practice();
    assert_eq!(policy.check(), Ok(()));
    assert_eq!(policy.steps(StepSystem::Inch), [thou(100), thou(200), thou(300)]);
    let metric = [250_000, 500_000, 750_000].map(Length::from_nm);
    assert_eq!(policy.steps(StepSystem::Metric), metric);
    assert_eq!(policy.grinding_allowance.value, thou(20));
    for (method, least, most) in [
        (BuildMethod::HardChrome, 5, Some(100)),
        (BuildMethod::SelectivePlating, 5, Some(100)),
        (BuildMethod::ThermalSpray, 150, Some(1_000)),
        (BuildMethod::Weld, 0, None),
        (BuildMethod::Sleeve, 600, Some(1_250)),
    ] {
        let entry = policy.method(method).unwrap();
        assert_eq!((entry.per_side_min, entry.per_side_max), (thou(least), most.map(thou)));
    }
    let bake = policy.method(BuildMethod::HardChrome).unwrap().bake.clone().unwrap();
    assert_eq!(bake.from, Hrc::from_tenths(310).unwrap());
    assert_eq!((bake.hours_min, bake.hours_max), (8, 22));
    assert_eq!((bake.celsius_min, bake.celsius_max, bake.start_within_hours), (190, 220, 3));
}

/// No figure that only the shop knows is invented.
#[test]
fn costs_and_times_start_unset() {
    let policy = Policy::common_practice();
    assert_eq!(policy.version, 0);
    let priced = |entry: &tenths_domain::policy::MethodPolicy| {
        entry.cost.is_some() || entry.lead_time_days.is_some()
    };
    assert!(!policy.methods.iter().any(priced));
    assert!(policy.operations.is_empty() && policy.hourly_rate.is_none());
    assert!(policy.in_house_lead_time_days.is_none() && policy.queue.max_wait_minutes.is_none());
}

/// Goal: one answer names all faults, with field, value and what is allowed.
#[test]
fn every_violation_is_named_at_once() {
    let mut policy = Policy::common_practice();
    policy.version = -1;
    policy.inch_steps = Noted::new(vec![thou(200), thou(100)], " ");
    policy.grinding_allowance.value = Length::from_nm(-1);
    policy.features.push(FeaturePolicy::unset(FeatureUse::Keyseat));
    policy.methods[0].per_side_max = Some(Length::from_nm(1));
    policy.methods[0].cost = Some(Money { minor: 100, currency: Currency::Eur });
    policy.methods[1].bake.as_mut().unwrap().hours_max = 1;
    policy.operations.push(OperationPolicy {
        operation: OperationKind::Bake,
        minutes: Some(1_000_000),
        cost: None,
        note: String::new(),
    });
    policy.cost_share_max_percent = Some(Noted::new(0, "shop"));
    policy.queue.wip_max = Some(Noted::new(0, "shop"));
    policy.queue.setup_family_minutes = Some(Noted::new(10, "shop"));
    policy.queue.setup_band_minutes = Some(Noted::new(20, "shop"));
    let found = policy.check().unwrap_err();
    let fields: Vec<&str> = found.iter().map(|one| one.field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "version",
            "features[keyseat]",
            "inch_steps[1]",
            "inch_steps.note",
            "grinding_allowance",
            "methods[hard_chrome].per_side_max",
            "methods[hard_chrome].cost",
            "methods[selective_plating].bake.hours",
            "operations[bake].minutes",
            "operations[bake].note",
            "cost_share_max_percent",
            "queue.wip_max",
            "queue.setup_band_minutes",
        ]
    );
    assert_eq!(
        found[6].to_string(),
        "methods[hard_chrome].cost: 1.00 EUR is not possible; allowed: 0 or more, in USD"
    );
    assert_eq!(
        found[2].to_string(),
        "inch_steps[1]: 0.2540 mm is not possible; allowed: more than the step before it"
    );
}

#[test]
fn a_use_is_one_kind_of_feature() {
    for used_as in FeatureUse::ALL {
        assert!(FeatureUse::of(used_as.kind()).is_some());
        if *used_as != FeatureUse::SlidingJournal {
            assert_eq!(FeatureUse::of(used_as.kind()), Some(*used_as));
        }
    }
    assert!(!FeatureUse::of(FeatureKind::RollingSeat).unwrap().may_go_undersize());
}

#[test]
fn hardness_is_read_exactly() {
    for (text, shown) in [("31", "HRC 31.0"), (" 58.5 ", "HRC 58.5"), ("60 HRC", "HRC 60.0")] {
        assert_eq!(Hrc::parse(text).unwrap().to_string(), shown);
    }
    for text in ["", "-1", "70.1", "58.55", "hard", "1e1"] {
        let error = Hrc::parse(text).unwrap_err().to_string();
        assert!(error.ends_with("allowed: 0.0 to 70.0, such as 31 or 58.5"), "{error}");
    }
}

/// A note in the policy's own unit: the default's lengths print as the trade writes them.
#[test]
fn lengths_print_as_the_trade_writes_them() {
    let policy = Policy::common_practice();
    let shown: Vec<String> =
        policy.inch_steps.value.iter().map(|step| step.display(Unit::Inch, 3)).collect();
    assert_eq!(shown, ["0.010 in", "0.020 in", "0.030 in"]);
}
