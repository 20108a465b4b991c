//! What went before: parts that were reground, wear without a reference station, bent shafts.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod recon_support;

use recon_support::{answered, codes, inch, journal, option, seat};
use tenths_domain::disposition::{Disposition, propose};
use tenths_domain::item::{Feature, FeatureKind, Limits, Tolerance};
use tenths_domain::measure::{Basis, ExpandedUncertainty, Reading, assess};
use tenths_domain::options::{BlockCode, Repair, Replacement, WornFeature};
use tenths_domain::policy::Policy;
use tenths_domain::route::OperationKind;
use tenths_domain::units::{Length, Unit};

/// Reground to step 1 and worn again: a step less is left, but building up goes back to new.
#[test]
fn what_was_reground_is_built_up_to_the_size_that_it_had_new() {
    let now = Limits { lower: inch("0.7395"), upper: inch("0.7400") };
    let new = Limits { lower: inch("0.7495"), upper: inch("0.7500") };
    let worn = WornFeature {
        nominal: inch("0.740"),
        undersize: inch("0.010"),
        limits: Some(now),
        new_limits: Some(new),
        largest: inch("0.7398"),
        ..journal("0.7350")
    };
    let answer = answered(&worn, &Policy::common_practice());
    let target = |key: &str| option(&answer, key).target.unwrap().limits;
    assert_eq!(target("build_up_hard_chrome"), Some(new));
    assert_eq!(target("finish_to_limits"), Some(now));
    // The next step is the second, and counted from new.
    assert!(answer.options.iter().all(|option| option.repair.key() != "regrind_1"));
    assert_eq!(option(&answer, "regrind_2").target.unwrap().size, inch("0.730"));
    let per_side = option(&answer, "build_up_weld").added.unwrap().per_side;
    assert!(per_side >= inch("0.0075"), "{per_side:?} from 0.735 to 0.750 in");
}

/// One rule for wear without a reference station: what is within the limits of size is not worn, so
/// that the assessment and the options never disagree.
#[test]
fn wear_counted_from_nominal_begins_at_the_limit_of_size() {
    let feature = Feature {
        name: "disc".to_owned(),
        kind: FeatureKind::Journal,
        nominal: inch("0.750"),
        tolerance: Tolerance::Explicit(Limits { lower: inch("0.7480"), upper: inch("0.7500") }),
        wear_limit: Some(inch("0.001")),
        recondition_limit: None,
        out_of_round_limit: None,
        taper_limit: None,
        reference_station: None,
        limit_source: String::new(),
    };
    for (read, wear, disposition) in [
        ("0.7490", 0, Disposition::Reuse),
        ("0.7472", 8, Disposition::Reuse),
        ("0.7465", 15, Disposition::Recondition),
    ] {
        let reading = Reading {
            station: "A".to_owned(),
            orientation_deg: 0,
            value_at_20c: inch(read),
            expanded_uncertainty: ExpandedUncertainty::new(Length::from_nm(1)).unwrap(),
            resolution: inch("0.0001"),
        };
        let found = assess(&[reading], &Basis::of(&feature)).unwrap();
        assert_eq!(propose(&feature, &found, Unit::Inch).disposition, disposition, "{read}");
        let worn = WornFeature::of(&feature, &found).unwrap();
        assert_eq!(worn.wear, Some(Length::from_nm(wear * 2_540)), "{read}");
        let reuse = option(&answered(&worn, &Policy::common_practice()), "reuse");
        assert_eq!(reuse.is_feasible(), disposition == Disposition::Reuse, "{read}: {reuse:?}");
    }
}

/// Bent beyond what the shop straightens from (0.005 in): not used as it is, straightened where that
/// is all, and ground as if straightened where it is not.
#[test]
fn a_bent_shaft_is_straightened_first() {
    let bent = |good: WornFeature| WornFeature {
        run_out_tir: Some(inch("0.040")),
        replacement: Replacement::default(),
        ..good
    };
    for good in [journal("0.7497"), seat("30.003")] {
        let answer = answered(&bent(good), &Policy::common_practice());
        assert_eq!(codes(&option(&answer, "reuse")), [BlockCode::Form]);
        assert_eq!(answer.best().map(|best| best.repair), Some(Repair::Straighten));
        let kinds: Vec<_> =
            option(&answer, "straighten").operations.iter().map(|one| one.kind).collect();
        use OperationKind::{Clean, CrackTest, Inspect, Straighten};
        assert_eq!(kinds, [Clean, CrackTest, Straighten, CrackTest, Inspect]);
    }
    let answer = answered(&bent(journal("0.7450")), &Policy::common_practice());
    assert_eq!(codes(&option(&answer, "straighten")), [BlockCode::Worn]);
    // 0.745 - 0.005 - 0.002 in.
    assert_eq!(answer.clean_up_size, inch("0.738"));
    assert_eq!(answer.best().map(|best| best.repair.key()).as_deref(), Some("regrind_2"));
    let straight = answered(&journal("0.7450"), &Policy::common_practice());
    assert_eq!(codes(&option(&straight, "straighten"))[0], BlockCode::NotForThisPlace);
}

/// The uncertainty of a reading is no tolerance: after a stepped key the next width has the item's own,
/// and wear is still counted from the key that it had.
#[test]
fn a_keyseat_with_a_stepped_key_keeps_its_own_tolerance_and_key() {
    let limits = |lower: &str, upper: &str| Limits { lower: inch(lower), upper: inch(upper) };
    let keyseat = WornFeature {
        kind: FeatureKind::Keyseat,
        nominal: inch("0.1288"),
        new_nominal: inch("0.1250"),
        limits: Some(limits("0.1288", "0.1292")),
        new_limits: Some(limits("0.1250", "0.1270")),
        smallest: inch("0.1310"),
        largest: inch("0.1311"),
        next_key_width: Some(inch("0.1875")),
        ..journal("0.7490")
    };
    let answer = answered(&keyseat, &Policy::common_practice());
    let target = option(&answer, "next_key_width").target.unwrap();
    assert_eq!(target.limits, Some(limits("0.1875", "0.1895")));
    // 0.0061 in over its key, and a stepped key serves to 0.005 in.
    assert_eq!(codes(&option(&answer, "stepped_key")), [BlockCode::Worn]);
    let cut = WornFeature {
        nominal: inch("0.1875"),
        new_nominal: inch("0.1875"),
        limits: Some(limits("0.1875", "0.1895")),
        smallest: inch("0.1899"),
        largest: inch("0.1900"),
        next_key_width: Some(inch("0.2500")),
        ..keyseat
    };
    let answer = answered(&cut, &Policy::common_practice());
    let target = option(&answer, "next_key_width").target.unwrap();
    assert_eq!(target.limits, Some(limits("0.2500", "0.2520")));
    assert!(option(&answer, "stepped_key").is_feasible());
}
