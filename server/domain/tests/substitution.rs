//! Substitution has a direction: one test per rule of the trade, named after it.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use tenths_domain::bearings::designation;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::seats::Machine;
use tenths_domain::substitution::{
    Acceptance, AgeLimit, BearingTraits, BushingSize, BushingWork, DateCode, PUBLISHED_AGE_LIMIT,
    SetError, SetSize, acceptance, replace_bearing, replace_bushing,
};
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};

fn bearing(number: &str) -> BearingTraits {
    let found = designation::parse(number).unwrap();
    BearingTraits {
        dimensions: found.dimensions,
        clearance: found.clearance,
        closure: found.closure,
        precision: Some(ToleranceClass::Normal),
        set: SetSize::ONE,
        no_substitute: false,
        other: found.uninterpreted,
    }
}

fn may_replace(wanted: &str, offered: &str, machine: Machine) -> Acceptance {
    acceptance(&replace_bearing(&bearing(wanted), &bearing(offered), machine))
}

/// ISO 15: bearings of the same dimension series are interchangeable by size, others are not.
#[test]
fn only_the_same_boundary_dimensions_interchange() {
    for (wanted, offered) in [("6205", "6005"), ("6205", "6206"), ("6305", "6205")] {
        assert_eq!(may_replace(wanted, offered, Machine::General), Acceptance::Never);
    }
    // The long and the short form of a number are one bearing.
    assert_eq!(may_replace("61805", "6805", Machine::Motor), Acceptance::Same);
}

/// Common practice, no published source.
#[test]
fn c3_for_cn_is_usual_in_a_motor_and_cn_for_c3_is_not_automatic() {
    assert_eq!(may_replace("6205", "6205-C3", Machine::Motor), Acceptance::Usual);
    assert_eq!(may_replace("6205-CN", "6205-C3", Machine::Motor), Acceptance::Usual);
    assert_eq!(may_replace("6205-C3", "6205", Machine::Motor), Acceptance::Ask);
    assert_eq!(may_replace("6205", "6205-C3", Machine::Pump), Acceptance::Ask);
    assert_eq!(may_replace("6205", "6205-C4", Machine::Motor), Acceptance::Ask);
    assert_eq!(may_replace("6205-CN", "6205", Machine::Spindle), Acceptance::Same);
}

/// Common practice, no published source.
#[test]
fn a_seal_may_replace_a_shield_but_nothing_opens_a_closed_bearing() {
    let found = replace_bearing(&bearing("6205-ZZ"), &bearing("6205-2RS"), Machine::Motor);
    assert_eq!(acceptance(&found), Acceptance::Usual);
    assert!(found[0].note.contains("speed and temperature"), "{}", found[0].note);
    assert_eq!(may_replace("6205-2RS", "6205", Machine::Motor), Acceptance::Never);
    assert_eq!(may_replace("6205-2RS", "6205-ZZ", Machine::Motor), Acceptance::Never);
    assert_eq!(may_replace("6205-ZZ", "6205-Z", Machine::Motor), Acceptance::Never);
    let found = replace_bearing(&bearing("6205-Z"), &bearing("6205-ZZ"), Machine::Motor);
    assert!(found[0].note.contains("regreased"), "{}", found[0].note);
}

/// Common practice, no published source.
#[test]
fn a_finer_class_may_replace_a_coarser_one_and_never_the_reverse() {
    let normal = bearing("6205");
    let of_class = |class| BearingTraits { precision: Some(class), ..bearing("6205") };
    for class in [ToleranceClass::Class6, ToleranceClass::Class5, ToleranceClass::Class4] {
        for machine in [Machine::Motor, Machine::Spindle] {
            let finer = replace_bearing(&normal, &of_class(class), machine);
            assert_eq!(acceptance(&finer), Acceptance::Usual, "{class}");
            let coarser = replace_bearing(&of_class(class), &normal, machine);
            assert_eq!(acceptance(&coarser), Acceptance::Never, "{class}");
        }
    }
}

/// Common practice, no published source.
#[test]
fn a_spindle_takes_no_other_clearance_closure_or_suffix() {
    for offered in ["6205-C3", "6205-2RS", "6205-T9"] {
        assert_eq!(may_replace("6205", offered, Machine::Spindle), Acceptance::Never, "{offered}");
        assert_ne!(may_replace("6205", offered, Machine::Motor), Acceptance::Never, "{offered}");
    }
}

/// Common practice, no published source.
#[test]
fn a_matched_pair_is_never_split() {
    let pair = SetSize::new(2).unwrap();
    let paired = BearingTraits { set: pair, ..bearing("6205") };
    let single = bearing("6205");
    let machine = Machine::Spindle;
    assert_eq!(acceptance(&replace_bearing(&paired, &single, machine)), Acceptance::Never);
    assert_eq!(acceptance(&replace_bearing(&single, &paired, machine)), Acceptance::Ask);
    assert_eq!(pair.check(1), Err(SetError::Split { quantity: 1, set: 2 }));
    assert!(pair.check(2).is_ok() && SetSize::ONE.check(7).is_ok());
    assert_eq!((pair.whole(5), pair.whole(1), SetSize::ONE.whole(5)), (4, 0, 5));
    assert!(SetSize::new(0).is_err() && SetSize::new(13).is_err());
}

/// US Army TM 11-6125-240-34: bearings specified "do not substitute" exist.
#[test]
fn what_may_not_be_substituted_is_replaced_by_the_same_only() {
    let only = BearingTraits { no_substitute: true, ..bearing("6205") };
    let c3 = replace_bearing(&only, &bearing("6205-C3"), Machine::Motor);
    assert_eq!(acceptance(&c3), Acceptance::Never);
    assert_eq!(
        acceptance(&replace_bearing(&only, &bearing("6205"), Machine::Motor)),
        Acceptance::Same
    );
    // The other way round it is an ordinary bearing.
    let back = replace_bearing(&bearing("6205"), &only, Machine::Motor);
    assert_eq!(acceptance(&back), Acceptance::Same);
}

/// US Army TM 11-6125-240-34: none older than 3 3/4 years from the date mark. 1,800,000,000 s is
/// in January 2027.
#[test]
fn the_age_of_a_date_code_is_limited_by_policy() {
    let limit = AgeLimit::months(PUBLISHED_AGE_LIMIT).unwrap();
    let now = 1_800_000_000_000_000;
    let passed = |code| limit.is_passed(DateCode::parse(code).unwrap(), now);
    assert!(!passed("2023-04") && passed("2023-03") && passed("2022") && !passed("2027-W01"));
    assert!(AgeLimit::months(0).is_err() && AgeLimit::months(601).is_err());
}

fn inch(text: &str) -> Length {
    Entry::parse(text, Unit::Inch).unwrap().length
}

fn bushing(bore: &str, outside: &str, length: &str) -> BushingSize {
    BushingSize { bore: inch(bore), outside_diameter: inch(outside), length: Some(inch(length)) }
}

/// Common practice, no published source.
#[test]
fn a_bushing_is_cut_the_housing_bored_and_a_solid_bore_bored_and_never_the_reverse() {
    let wanted = bushing("0.750", "0.875", "1.000");
    let work = |offered: BushingSize, material| replace_bushing(&wanted, &offered, material);
    let bronze = Some(Material::Bronze);
    let (found, done) = work(bushing("0.740", "0.900", "1.250"), bronze);
    assert_eq!(acceptance(&found), Acceptance::Usual);
    assert_eq!(
        done,
        [
            BushingWork::Cut { amount: inch("0.250") },
            BushingWork::BoreHousing { amount: inch("0.025") },
            BushingWork::BoreOut { amount: inch("0.010") },
        ]
    );
    assert_eq!(done[2].words(Unit::Inch), "bore it out by 0.0100 in, on diameter, once pressed");
    for never in [
        bushing("0.750", "0.875", "0.875"),
        bushing("0.750", "0.870", "1.000"),
        bushing("0.752", "0.875", "1.000"),
        bushing("0.700", "0.875", "1.000"),
        bushing("0.750", "1.250", "1.000"),
    ] {
        assert_eq!(acceptance(&work(never, bronze).0), Acceptance::Never, "{never:?}");
    }
    assert_eq!(acceptance(&work(wanted, None).0), Acceptance::Same);
}

/// US Army TM 9-6115-604-34: the pores close.
#[test]
fn porous_bronze_is_never_bored_and_an_unknown_bushing_is_taken_as_porous() {
    let (wanted, small) = (bushing("0.750", "0.875", "1.000"), bushing("0.749", "0.875", "1.000"));
    for material in [None, Some(Material::PorousBronze)] {
        let (found, work) = replace_bushing(&wanted, &small, material);
        assert_eq!((acceptance(&found), work.len()), (Acceptance::Never, 0), "{material:?}");
    }
}
