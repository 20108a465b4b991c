//! Properties of the options for a worn part, over random parts and policies.
//!
//! Goal: what must never happen does not. Method: random features with wear deepened where it is
//! deepest, random run-outs, demands and costs.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::item::{FeatureKind, Limits, Side};
use tenths_domain::money::{Currency, Money};
use tenths_domain::options::{
    Answer, Mates, Repair, Replacement, StrengthDemand, WornFeature, minimum_diameter, options,
};
use tenths_domain::policy::{Hrc, Noted, OperationPolicy, Policy, ShaftEnd, StepSystem};
use tenths_domain::route::OperationKind;
use tenths_domain::state::{BuiltUp, ScrapReason};
use tenths_domain::strength::{Power, Torque};
use tenths_domain::units::{Length, Unit};

const NOMINAL_NM: i64 = 25_000_000;
const WEAR_MAX_NM: i64 = 1_200_000;

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn some<T: Clone + std::fmt::Debug + 'static>(
    of: impl Strategy<Value = T> + 'static,
) -> impl Strategy<Value = Option<T>> {
    prop::option::of(of)
}

/// Sets how much is worn away at the deepest, on diameter.
fn worn_by(worn: &WornFeature, wear_nm: i64) -> WornFeature {
    let mut deeper = worn.clone();
    match worn.kind.side() {
        Side::External => deeper.smallest = nm(NOMINAL_NM - wear_nm),
        Side::Internal => deeper.largest = nm(NOMINAL_NM + wear_nm),
    }
    deeper.wear = worn.wear.map(|_| nm(wear_nm));
    deeper
}

prop_compose! {
    fn any_demand()(
        watts in some(50_u32..20_000),
        is_keyed in any::<bool>(),
        case in some(100_000_i64..1_000_000),
        shoulder in some(20_000_000_i64..NOMINAL_NM),
        plating in some(23_500_000_i64..NOMINAL_NM),
        stated in some(20_000_000_i64..NOMINAL_NM),
    ) -> StrengthDemand {
        let torque = watts.map(|watts| {
            Torque::of(Power::from_kilowatts(f64::from(watts) / 1e3).unwrap(), 1_750.0).unwrap()
        });
        StrengthDemand {
            torque,
            is_keyed,
            case_depth_per_side: case.map(nm),
            shoulder_min: shoulder.map(nm),
            plating_min: plating.map(nm),
            stated_min: stated.map(nm),
            ..StrengthDemand::UNKNOWN
        }
    }
}

prop_compose! {
    fn any_worn()(
        kind in prop::sample::select(FeatureKind::ALL),
        tolerance in some(1_000_i64..30_000),
        wear in 0..WEAR_MAX_NM,
        has_wear in any::<bool>(),
        forms in (some(0_i64..30_000), some(0_i64..30_000), some(0_i64..200_000)),
        score in some(0_i64..100_000),
        built_up in prop::sample::select(BuiltUp::ALL),
        hardness in some(0_u16..=700),
        end in some(prop::sample::select(ShaftEnd::ALL)),
        has_keyway in any::<bool>(),
        demand in any_demand(),
        bore_max in some(NOMINAL_NM..NOMINAL_NM + 6_000_000),
        condemned in some(prop::sample::select(ScrapReason::ALL)),
        new in (any::<bool>(), some(1_i64..50_000)),
    ) -> WornFeature {
        let limits = tolerance.map(|width| match kind.side() {
            Side::External => Limits { lower: nm(NOMINAL_NM - width), upper: nm(NOMINAL_NM) },
            Side::Internal => Limits { lower: nm(NOMINAL_NM), upper: nm(NOMINAL_NM + width) },
        });
        let (out_of_round, taper, run_out) = forms;
        let fresh = WornFeature {
            kind,
            used_as: None,
            nominal: nm(NOMINAL_NM),
            limits,
            new_nominal: nm(NOMINAL_NM),
            undersize: Length::ZERO,
            new_limits: None,
            wear_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            smallest: nm(NOMINAL_NM),
            largest: nm(NOMINAL_NM),
            expanded_uncertainty: nm(4_000),
            wear: has_wear.then_some(Length::ZERO),
            out_of_round: out_of_round.map(nm),
            taper: taper.map(nm),
            run_out_tir: run_out.map(nm),
            score_depth_per_side: score.map(nm),
            built_up,
            material: None,
            hardness: hardness.map(|tenths| Hrc::from_tenths(tenths).unwrap()),
            end,
            has_keyway,
            demand,
            bore_max: bore_max.map(nm),
            next_key_width: Some(nm(NOMINAL_NM + 500_000)),
            // One in a few parts is condemned, or nothing else would be seen.
            condemned: condemned.filter(|reason| *reason == ScrapReason::Crack),
            replacement: Replacement {
                is_available: new.0,
                cost: new.1.map(|minor| Money { minor, currency: Currency::Usd }),
                lead_time_days: None,
            },
            steps: StepSystem::Inch,
        };
        worn_by(&fresh, wear)
    }
}

prop_compose! {
    fn any_policy()(
        removal in some(0_i64..2_000_000),
        polish in some(1_i64..20_000),
        costs in prop::collection::vec(some(0_i64..20_000), OperationKind::ALL.len()),
        method_costs in prop::collection::vec(some(0_i64..20_000), 5),
        share in some(1_u32..200),
    ) -> Policy {
        let usd = |minor: i64| Money { minor, currency: Currency::Usd };
        let mut policy = Policy::common_practice();
        for entry in &mut policy.features {
            entry.stock_removal_max = removal.map(|most| Noted::new(nm(most), "test"));
            entry.polish_max = polish.map(|most| Noted::new(nm(most), "test"));
        }
        for (entry, cost) in policy.methods.iter_mut().zip(method_costs) {
            entry.cost = cost.map(usd);
        }
        let kinds = OperationKind::ALL.iter().zip(costs);
        policy.operations = kinds.map(|(kind, cost)| OperationPolicy {
            operation: *kind,
            minutes: None,
            cost: cost.map(usd),
            note: "test".into(),
        }).collect();
        policy.cost_share_max_percent = share.map(|most| Noted::new(most, "test"));
        policy
    }
}

fn answered(worn: &WornFeature, policy: &Policy) -> Answer {
    options(worn, policy, Unit::Millimetre, &|_| Some(Mates::default())).unwrap()
}

/// The smallest undersize step that is possible.
fn step(answer: &Answer) -> Option<u32> {
    let possible = answer.options.iter().filter(|option| option.is_feasible());
    let steps = possible.filter_map(|option| match option.repair {
        Repair::Regrind { step, .. } => Some(step),
        _ => None,
    });
    steps.min()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn more_wear_makes_nothing_possible_and_nothing_cheaper(
        worn in any_worn(), policy in any_policy(), more in 0..WEAR_MAX_NM,
    ) {
        let now = match worn.kind.side() {
            Side::External => NOMINAL_NM - worn.smallest.nm(),
            Side::Internal => worn.largest.nm() - NOMINAL_NM,
        };
        let before = answered(&worn, &policy);
        let after = answered(&worn_by(&worn, now + more), &policy);
        for option in after.options.iter().filter(|option| option.is_feasible()) {
            let same = before.options.iter().find(|other| other.repair == option.repair).unwrap();
            prop_assert!(same.is_feasible(), "{:?} became possible: {:?}", option.repair, same.blocks);
            prop_assert_eq!(&same.cost, &option.cost);
        }
    }

    #[test]
    fn no_rolling_seat_ever_gets_an_undersize_step(
        worn in any_worn(), policy in any_policy(),
    ) {
        let seat = WornFeature { kind: FeatureKind::RollingSeat, ..worn };
        let answer = answered(&seat, &policy);
        prop_assert_eq!(step(&answer), None);
        let bare = |option: &&tenths_domain::options::RepairOption| option.is_feasible();
        for option in answer.options.iter().filter(bare) {
            if let (Some(target), Some(limits)) = (option.target, seat.limits) {
                prop_assert_eq!(target.limits, Some(limits), "{:?}", option.repair);
            }
        }
    }

    #[test]
    fn metal_is_never_taken_past_a_limit(worn in any_worn(), policy in any_policy()) {
        let answer = answered(&worn, &policy);
        let minimum = minimum_diameter(&worn).unwrap();
        let most = worn.used_as().and_then(|used_as| policy.feature(used_as))
            .and_then(|entry| entry.stock_removal_max.as_ref()).map(|noted| noted.value);
        let deep = answer.options.iter().filter(|option| {
            matches!(option.repair, Repair::Regrind { .. } | Repair::BuildUp { .. })
        });
        for option in deep.filter(|option| option.is_feasible()) {
            let Some(cut_to) = option.cut_to else { continue };
            let gone = (worn.nominal - cut_to).abs();
            prop_assert!(most.is_none_or(|most| gone <= most), "{:?}: {gone:?}", option.repair);
            match worn.kind.side() {
                // An earlier layer limits only what grinds into it and keeps it.
                Side::External if matches!(option.repair, Repair::Regrind { .. }) => {
                    prop_assert!(minimum.value().is_none_or(|least| cut_to >= least));
                }
                Side::External => {
                    let demand = &worn.demand;
                    let bare = [demand.stated_min, demand.shoulder_min].into_iter().flatten().max();
                    prop_assert!(bare.is_none_or(|least| cut_to >= least));
                }
                Side::Internal => prop_assert!(worn.bore_max.is_none_or(|most| cut_to <= most)),
            }
        }
    }

    #[test]
    fn more_run_out_never_gives_a_larger_size(
        worn in any_worn(), policy in any_policy(), run_out in 0_i64..300_000, more in 0_i64..300_000,
    ) {
        let of = |run_out: i64| {
            let bent = WornFeature {
                kind: FeatureKind::Journal, run_out_tir: Some(nm(run_out)), ..worn.clone()
            };
            step(&answered(&bent, &policy))
        };
        match (of(run_out), of(run_out + more)) {
            (None, found) => prop_assert_eq!(found, None),
            (Some(before), Some(after)) => prop_assert!(after >= before),
            (Some(_), None) => {}
        }
    }

    #[test]
    fn something_is_always_possible_and_scrap_has_its_reason(
        worn in any_worn(), policy in any_policy(),
    ) {
        let answer = answered(&worn, &policy);
        prop_assert!(answer.best().is_some());
        let kept = answer.options.iter().any(|one| one.is_feasible() && one.repair.keeps_part());
        let scrap = answer.options.iter().find(|one| one.repair == Repair::Scrap).unwrap();
        prop_assert_eq!(scrap.scrap_reason.is_none(), kept);
    }

    /// Possible first, known costs before unknown, the lower first; and the order is the same
    /// however often it is asked.
    #[test]
    fn the_ranking_is_as_documented(worn in any_worn(), policy in any_policy()) {
        let answer = answered(&worn, &policy);
        let keep = |option: &&tenths_domain::options::RepairOption| {
            option.is_feasible() && option.repair != Repair::Scrap
        };
        let costs: Vec<i64> = answer.options.iter().filter(keep)
            .map(|option| option.cost.known().map_or(i64::MAX, |money| money.minor)).collect();
        prop_assert!(costs.is_sorted(), "{costs:?}");
        prop_assert!(answer.options.iter().map(|option| !option.is_feasible()).is_sorted());
        prop_assert_eq!(answered(&worn, &policy), answer);
    }
}
