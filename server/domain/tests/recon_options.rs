//! What can be done with a worn part: clean-up and steps, smallest diameter, methods, routes and
//! costs, against published relations and common practice.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod recon_support;

use recon_support::{answered, codes, inch, journal, mm, option, seat};
use tenths_domain::item::{FeatureKind, Limits};
use tenths_domain::money::Money;
use tenths_domain::options::{
    BlockCode, Cost, DoubtCode, Keyway, Mates, MinimumBy, Repair, Replacement, StrengthDemand,
    WornFeature, clean_up_size, diameter_with_keyway, minimum_diameter, options,
};
use tenths_domain::policy::{
    BuildMethod, FeatureUse, Hrc, Noted, OperationPolicy, Policy, ShaftEnd, StepSystem,
};
use tenths_domain::route::{OperationKind, WorkCaution};
use tenths_domain::state::{BuiltUp, ScrapReason};
use tenths_domain::strength::{
    AllowableShear, Power, ShockFactors, Torque, keyway_strength_share, required_diameter,
};
use tenths_domain::units::{Length, Unit};

/// The largest undersize step that is possible, by its number.
fn step(worn: &WornFeature) -> Option<u32> {
    let answer = answered(worn, &Policy::common_practice());
    let steps = answer.options.iter().filter(|option| option.is_feasible());
    let numbers = steps.filter_map(|option| match option.repair {
        Repair::Regrind { step, .. } => Some(step),
        _ => None,
    });
    numbers.min()
}

/// Fixed repair sizes: worn 0.001 in past its limit is still ground to 0.010 under (US Army
/// TM 9-6115-604-34, as a web copy has it). The others follow common practice, no published source:
/// clean-up = smallest reading - run-out - 0.002 in.
#[test]
fn the_step_is_the_largest_at_or_below_the_clean_up_size() {
    for (smallest, tenths, expected) in [
        ("0.7490", 0, Some(1)),
        ("0.7420", 0, Some(1)),
        ("0.7419", 0, Some(2)),
        ("0.7420", 1, Some(2)),
        ("0.7450", 40, Some(2)),
        ("0.7320", 0, Some(2)),
        ("0.7319", 0, Some(3)),
        ("0.7219", 0, None),
    ] {
        let worn =
            WornFeature { run_out_tir: Some(Length::from_nm(tenths * 2_540)), ..journal(smallest) };
        assert_eq!(step(&worn), expected, "{smallest} with {tenths} tenths of run-out");
    }
}

/// Metric steps; the journal of a published engine manual (1998, web copy): 57.000 nominal,
/// 56.993 to 57.007 mm, ground 0.25 mm under and no further ("ground to a maximum of 0.25 mm"),
/// which the shop writes as the most stock removed.
#[test]
fn a_published_journal_takes_its_one_metric_step() {
    let mut policy = Policy::common_practice();
    let plain = policy.features.iter_mut().find(|one| one.feature == FeatureUse::PlainJournal);
    plain.unwrap().stock_removal_max = Some(Noted::new(mm("0.257"), "maker's manual"));
    let worn = WornFeature {
        nominal: mm("57"),
        new_nominal: mm("57"),
        limits: Some(Limits { lower: mm("56.993"), upper: mm("57.007") }),
        smallest: mm("56.96"),
        largest: mm("57.0"),
        wear: Some(mm("0.1")),
        demand: StrengthDemand::UNKNOWN,
        steps: StepSystem::Metric,
        ..journal("0.7490")
    };
    let answer = answered(&worn, &policy);
    let first = option(&answer, "regrind_1");
    assert!(first.is_feasible(), "{:?}", first.blocks);
    let limits = first.target.unwrap().limits.unwrap();
    assert_eq!((limits.lower, limits.upper), (mm("56.743"), mm("56.757")));
    assert_eq!(codes(&option(&answer, "regrind_2")), [BlockCode::StockRemoval]);
    assert_eq!(codes(&option(&answer, "regrind_3")), [BlockCode::StockRemoval]);
}

#[test]
fn clean_up_counts_run_out_and_scores_both_ways() {
    let policy = Policy::common_practice();
    let worn = WornFeature {
        run_out_tir: Some(inch("0.0015")),
        score_depth_per_side: Some(inch("0.002")),
        ..journal("0.7450")
    };
    assert_eq!(clean_up_size(&worn, &policy), inch("0.7375"));
    let bore = WornFeature {
        kind: FeatureKind::HousingBore,
        largest: inch("2.4415"),
        run_out_tir: Some(inch("0.001")),
        ..journal("0.7450")
    };
    assert_eq!(clean_up_size(&bore, &policy), inch("2.4445"));
}

/// The trade's first rule. Common practice, no published source.
#[test]
fn a_rolling_seat_is_built_up_or_sleeved_and_never_undersize() {
    let answer = answered(&seat("29.980"), &Policy::common_practice());
    for number in 1..=3 {
        let regrind = option(&answer, &format!("regrind_{number}"));
        assert_eq!(codes(&regrind), [BlockCode::NeverUndersize]);
    }
    assert_eq!(codes(&option(&answer, "reuse")), [BlockCode::OutOfSize]);
    for key in ["build_up_hard_chrome", "build_up_selective_plating", "sleeve"] {
        let built = option(&answer, key);
        assert!(built.is_feasible(), "{key}: {:?}", built.blocks);
        assert_eq!(built.target.unwrap().limits, seat("29.980").limits, "{key}: back to nominal");
    }
}

/// Below the low limit by more than 0.0002 to 0.0003 in is repair. Common practice, no published
/// source.
#[test]
fn a_seat_just_below_its_limit_is_reused_with_a_doubt() {
    let policy = Policy::common_practice();
    let just = option(&answered(&seat("29.998"), &policy), "reuse");
    assert!(just.is_feasible());
    assert!(just.doubts.iter().any(|doubt| doubt.code == DoubtCode::PastLimit));
    let past = option(&answered(&seat("29.996"), &policy), "reuse");
    assert_eq!(codes(&past), [BlockCode::OutOfSize]);
}

/// Hard chrome: 0.010 in per side is the normal most; more is blocked and said per side.
#[test]
fn a_layer_is_counted_per_side_and_on_diameter() {
    let policy = Policy::common_practice();
    let worn = WornFeature { smallest: inch("0.7400"), ..journal("0.7400") };
    let chrome = option(&answered(&worn, &policy), "build_up_hard_chrome");
    assert_eq!(chrome.cut_to, Some(inch("0.7380")));
    let added = chrome.added.unwrap();
    assert_eq!((added.per_side, added.on_diameter), (inch("0.006"), inch("0.012")));
    assert_eq!(added.words(Unit::Inch), "0.0060 in per side = 0.0120 in on diameter");
    let deep = option(&answered(&journal("0.7310"), &policy), "build_up_hard_chrome");
    assert_eq!(codes(&deep), [BlockCode::TooThick]);
    assert!(deep.blocks[0].text.contains("0.0105 in per side"), "{}", deep.blocks[0].text);
    let spray = option(&answered(&worn, &policy), "build_up_thermal_spray");
    assert_eq!(spray.cut_to, Some(inch("0.7195")), "undercut 0.015 in per side or more");
}

/// The rule of the chart for ASTM B850: baked from HRC 31, and when hardness is not known.
#[test]
fn plated_hard_steel_is_baked() {
    let policy = Policy::common_practice();
    for (hardness, is_baked) in [(Some(309), false), (Some(310), true), (None, true)] {
        let hardness = hardness.map(|tenths| Hrc::from_tenths(tenths).unwrap());
        let worn = WornFeature { hardness, ..seat("29.980") };
        let chrome = option(&answered(&worn, &policy), "build_up_hard_chrome");
        let kinds: Vec<OperationKind> = chrome.operations.iter().map(|one| one.kind).collect();
        assert_eq!(kinds.contains(&OperationKind::Bake), is_baked);
        let doubted = chrome.doubts.iter().any(|doubt| doubt.code == DoubtCode::Hardness);
        assert_eq!(doubted, hardness.is_none());
    }
    let hard = WornFeature { hardness: Some(Hrc::from_tenths(580).unwrap()), ..seat("29.980") };
    let welded = option(&answered(&hard, &policy), "build_up_weld");
    assert_eq!(codes(&welded), [BlockCode::TooHard]);
}

/// The route of a plated seat: two visits to the grinder with the plater between.
#[test]
fn a_plated_seat_visits_the_grinder_twice() {
    let worn = WornFeature {
        hardness: Some(Hrc::from_tenths(400).unwrap()),
        run_out_tir: Some(inch("0.006")),
        built_up: BuiltUp::Yes,
        ..seat("29.980")
    };
    let chrome = option(&answered(&worn, &Policy::common_practice()), "build_up_hard_chrome");
    let kinds: Vec<&str> = chrome.operations.iter().map(|one| one.kind.as_str()).collect();
    assert_eq!(
        kinds,
        [
            "clean",
            "crack_test",
            "straighten",
            "strip",
            "undercut",
            "plate",
            "bake",
            "return_inspect",
            "finish_grind",
            "crack_test",
            "inspect",
        ]
    );
    let plate = &chrome.operations[5];
    assert_eq!(plate.site.as_str(), "vendor");
    assert_eq!(plate.cautions, [WorkCaution::Plating, WorkCaution::PerSide]);
    assert!(plate.text.contains("per side = "), "{}", plate.text);
    let (undercut, grind) = (&chrome.operations[4], &chrome.operations[8]);
    assert_eq!(plate.from, undercut.to.map(|to| to.upper));
    assert_eq!(grind.from, plate.to.map(|to| to.upper));
    assert_eq!(grind.to, worn.limits);
    assert!(chrome.operations[6].text.starts_with("bake 8 to 22 h at 190 to 220 C"));
}

#[test]
fn methods_keep_to_their_places() {
    let policy = Policy::common_practice();
    let keyed = WornFeature { has_keyway: true, end: Some(ShaftEnd::Drive), ..journal("0.7400") };
    let answer = answered(&keyed, &policy);
    assert_eq!(codes(&option(&answer, "build_up_thermal_spray")), [BlockCode::KeywayThere]);
    let sleeve = codes(&option(&answer, "sleeve"));
    assert!(sleeve.contains(&BlockCode::WrongEnd) && sleeve.contains(&BlockCode::KeywayThere));
    let bore = WornFeature {
        kind: FeatureKind::HousingBore,
        nominal: mm("62"),
        new_nominal: mm("62"),
        limits: Some(Limits { lower: mm("62"), upper: mm("62.019") }),
        smallest: mm("62.010"),
        largest: mm("62.060"),
        bore_max: Some(mm("66")),
        ..journal("0.7490")
    };
    let answer = answered(&bore, &policy);
    let chromed = option(&answer, "build_up_hard_chrome");
    assert_eq!(codes(&chromed), [BlockCode::NotForThisPlace]);
    let sleeved = option(&answer, "sleeve");
    assert!(sleeved.is_feasible(), "{:?}", sleeved.blocks);
    assert_eq!(sleeved.cut_to, Some(mm("65.067")), "0.060 in of wall per side");
    let thin = WornFeature { bore_max: Some(mm("64")), ..bore };
    assert!(!option(&answered(&thin, &policy), "sleeve").is_feasible());
}

/// Worked for the trade notes by the shaft code: 16 K T / (pi s), T = 63 025 hp / rpm, 6000 psi with
/// a keyway, K = 2: 0.40, 0.50 and 0.75 in.
#[test]
fn the_smallest_diameter_is_the_largest_demand() {
    for (horsepower, speed, shown) in
        [(1.0, 1725.0, "0.40 in"), (2.0, 1725.0, "0.50 in"), (2.0, 500.0, "0.75 in")]
    {
        let power = Power::from_horsepower(horsepower).unwrap();
        let worn = WornFeature {
            demand: StrengthDemand {
                torque: Some(Torque::of(power, speed).unwrap()),
                shock: ShockFactors { torsion: 2.0, bending: 2.0 },
                is_keyed: true,
                ..StrengthDemand::UNKNOWN
            },
            ..journal("0.7490")
        };
        let minimum = minimum_diameter(&worn).unwrap();
        assert_eq!(minimum.governing().unwrap().by, MinimumBy::Keyway);
        assert_eq!(minimum.value().unwrap().display(Unit::Inch, 2), shown);
    }
    let worn = WornFeature {
        demand: StrengthDemand {
            case_depth_per_side: Some(inch("0.020")),
            case_left_min_per_side: inch("0.005"),
            shoulder_min: Some(inch("0.715")),
            plating_min: Some(inch("0.710")),
            ..StrengthDemand::UNKNOWN
        },
        ..journal("0.7400")
    };
    let minimum = minimum_diameter(&worn).unwrap();
    assert_eq!(minimum.governing().unwrap().by, MinimumBy::CaseDepth);
    assert_eq!(minimum.value(), Some(inch("0.720")));
    let last = option(&answered(&worn, &Policy::common_practice()), "regrind_3");
    assert_eq!(codes(&last), [BlockCode::BelowMinimum], "0.7195 in is below 0.720 in");
}

/// The keyway relation e = 1 - 0.2 w/d - 1.1 h/d (University of Illinois Engineering Experiment
/// Station, Bulletin 42, 1910; from memory): the keyed shaft is as strong as the plain one, and a
/// hair less is not. The torque is that of a published worked example (20 kW at 200 rpm, 42 MPa:
/// 48.7 mm, A Textbook of Machine Design, Example 14.1).
#[test]
fn a_keyed_diameter_is_as_strong_as_the_plain_one() {
    let torque = Torque::of(Power::from_kilowatts(20.0).unwrap(), 200.0).unwrap();
    let shock = ShockFactors { torsion: 1.0, bending: 1.0 };
    let stated = AllowableShear::Stated(42.0);
    let plain = required_diameter(torque, Torque::ZERO, shock, stated).unwrap();
    assert_eq!(plain.display(Unit::Millimetre, 1), "48.7 mm");
    let keyway = Keyway { width: mm("14"), depth: mm("5.5") };
    let (keyed, source) = diameter_with_keyway(plain, keyway).unwrap();
    assert!(keyed > plain && !source.is_confirmed);
    let strength = |diameter: Length| {
        let (share, _) = keyway_strength_share(diameter, keyway.width, keyway.depth).unwrap();
        (diameter.nm() as f64).powi(3) * share
    };
    let wanted = (plain.nm() as f64).powi(3);
    assert!(strength(keyed) >= wanted && strength(keyed - Length::from_nm(1)) < wanted);
}

/// Common practice, no published source: to 0.005 in over a stepped key, then the next width, then
/// welding.
#[test]
fn a_keyseat_goes_by_its_own_steps() {
    let policy = Policy::common_practice();
    for (largest, expected) in [
        ("0.1880", "reuse"),
        ("0.1920", "stepped_key"),
        ("0.2000", "next_key_width"),
        ("0.2600", "build_up_weld"),
    ] {
        let worn = WornFeature {
            kind: FeatureKind::Keyseat,
            nominal: inch("0.1875"),
            new_nominal: inch("0.1875"),
            limits: Some(Limits { lower: inch("0.1875"), upper: inch("0.1895") }),
            smallest: inch("0.1876"),
            largest: inch(largest),
            next_key_width: Some(inch("0.250")),
            ..journal("0.7490")
        };
        let answer = answered(&worn, &policy);
        let kept = answer.options.iter().filter(|one| one.is_feasible() && one.repair.keeps_part());
        let simplest = kept.min_by_key(|option| option.repair).unwrap();
        assert_eq!(simplest.repair.key(), expected, "{largest}");
    }
}

/// A policy with the shop's own costs: figures of this test alone.
fn priced() -> Policy {
    let mut policy = Policy::common_practice();
    let usd = |text: &str| Some(Money::parse(text).unwrap());
    policy.hourly_rate = Some(Noted::new(usd("60.00 USD").unwrap(), "test"));
    policy.in_house_lead_time_days = Some(Noted::new(2, "test"));
    policy.operations = OperationKind::ALL
        .iter()
        .map(|kind| OperationPolicy {
            operation: *kind,
            minutes: Some(10),
            cost: None,
            note: "test".into(),
        })
        .collect();
    for method in &mut policy.methods {
        method.cost = usd("90.00 USD");
        method.lead_time_days = Some(8);
    }
    policy
}

#[test]
fn what_is_not_priced_is_unknown_and_ranks_after_what_is() {
    let worn = journal("0.7450");
    let answer = answered(&worn, &Policy::common_practice());
    let regrind = option(&answer, "regrind_1");
    let Cost::Unknown { missing } = &regrind.cost else { panic!("{:?}", regrind.cost) };
    assert!(missing.contains(&"operations[finish_grind].cost".to_owned()), "{missing:?}");
    assert_eq!(answer.best().unwrap().repair, Repair::Replace, "the only known cost");

    let answer = answered(&worn, &priced());
    let regrind = option(&answer, "regrind_1");
    // Clean, crack test, grind, crack test, inspect: five times ten minutes at 60.00 an hour.
    assert_eq!(regrind.cost, Cost::Known(Money::parse("50.00 USD").unwrap()));
    assert_eq!((regrind.cost_share_percent, regrind.lead_time_days), (Some(25), Some(2)));
    assert_eq!(answer.best(), Some(&regrind));
    let chrome = option(&answer, "build_up_hard_chrome");
    // 90.00, and clean, crack test, undercut, return, grind, crack test, inspect.
    assert_eq!(codes(&chrome), [BlockCode::NotEconomical]);
    assert!(chrome.blocks[0].text.contains("80 % of a replacement"), "{}", chrome.blocks[0].text);
    let none = Replacement { is_available: false, ..worn.replacement };
    let rare = WornFeature { replacement: none, ..worn };
    let chrome = option(&answered(&rare, &priced()), "build_up_hard_chrome");
    assert!(chrome.is_feasible(), "none to be had: repaired above its share");
}

/// Two currencies are never compared: 1.00 of another is not cheaper than 50.00 of the policy's.
#[test]
fn a_replacement_in_another_currency_is_not_ranked_by_its_number() {
    let mut worn = journal("0.7450");
    worn.replacement.cost = Some(Money::parse("1.00 EUR").unwrap());
    let answer = answered(&worn, &priced());
    assert_eq!(answer.best().unwrap().repair.key(), "regrind_1");
    let missing = vec!["replacement.cost in USD".to_owned()];
    assert_eq!(option(&answer, "replace").cost, Cost::Unknown { missing });
    let doubts = option(&answer, "regrind_1").doubts;
    assert!(doubts.iter().any(|doubt| doubt.code == DoubtCode::Currency));
}

#[test]
fn what_was_not_measured_is_a_doubt() {
    let worn = WornFeature {
        run_out_tir: None,
        built_up: BuiltUp::Unknown,
        hardness: None,
        end: None,
        demand: StrengthDemand::UNKNOWN,
        ..journal("0.7450")
    };
    let answer = answered(&worn, &Policy::common_practice());
    let doubts = |key: &str| -> Vec<DoubtCode> {
        option(&answer, key).doubts.iter().map(|doubt| doubt.code).collect()
    };
    for code in [DoubtCode::RunOut, DoubtCode::BuiltUp, DoubtCode::Strength, DoubtCode::CaseDepth] {
        assert!(doubts("regrind_1").contains(&code), "{code}");
    }
    assert!(doubts("sleeve").contains(&DoubtCode::End));
    assert!(doubts("build_up_weld").contains(&DoubtCode::Hardness));
}

#[test]
fn a_condemned_part_is_scrapped_for_its_reason() {
    let worn = WornFeature {
        condemned: Some(ScrapReason::Crack),
        replacement: Replacement::default(),
        ..journal("0.7490")
    };
    let answer = answered(&worn, &Policy::common_practice());
    let best = answer.best().unwrap();
    assert_eq!((best.repair, best.scrap_reason), (Repair::Scrap, Some(ScrapReason::Crack)));
    let gone = WornFeature {
        demand: StrengthDemand { stated_min: Some(inch("0.745")), ..StrengthDemand::UNKNOWN },
        condemned: None,
        ..worn
    };
    let deep = WornFeature { smallest: inch("0.700"), wear: Some(inch("0.05")), ..gone };
    let scrap = option(&answered(&deep, &Policy::common_practice()), "scrap");
    assert_eq!(scrap.scrap_reason, Some(ScrapReason::BelowMinimumDiameter));
}

/// "Regrind to 0.740 in: 6 bushings in stock fit."
#[test]
fn what_it_would_mate_with_is_asked_for_each_target() {
    let count = |target: &tenths_domain::options::Target| {
        let as_they_are = if target.size == inch("0.740") { 6 } else { 0 };
        Some(Mates { as_they_are, after_reaming: 1 })
    };
    let worn = journal("0.7450");
    let answer = options(&worn, &Policy::common_practice(), Unit::Inch, &count).unwrap();
    assert_eq!(
        option(&answer, "regrind_1").mates,
        Some(Mates { as_they_are: 6, after_reaming: 1 })
    );
    assert_eq!(
        option(&answer, "regrind_2").mates,
        Some(Mates { as_they_are: 0, after_reaming: 1 })
    );
    assert_eq!(option(&answer, "reuse").mates, None);
}

/// The whole list, for a journal worn 0.005 in; ranks count the possible from 1.
#[test]
fn every_way_is_listed_once_and_ranked() {
    let answer = answered(&journal("0.7450"), &priced());
    assert_eq!(answer.policy_version, 0);
    let mut keys: Vec<String> = answer.options.iter().map(|option| option.repair.key()).collect();
    let ranks: Vec<u32> = answer.options.iter().filter_map(|option| option.rank).collect();
    assert_eq!(ranks, (1..=ranks.len() as u32).collect::<Vec<_>>());
    assert!(answer.options[ranks.len()..].iter().all(|option| !option.blocks.is_empty()));
    keys.sort();
    let mut expected: Vec<String> =
        ["reuse", "straighten", "polish", "finish_to_limits", "replace", "scrap"]
            .map(str::to_owned)
            .into_iter()
            .chain((1..=3).map(|step| format!("regrind_{step}")))
            .chain(BuildMethod::ALL.iter().map(|method| Repair::BuildUp { method: *method }.key()))
            .collect();
    expected.sort();
    assert_eq!(keys, expected);
}
