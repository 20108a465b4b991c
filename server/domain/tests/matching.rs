//! Matching: the rules of the trade, the order of the answer, and what is said of a miss.
//!
//! Goal: every rule that design section 6 names has a test that names it. Sizes are made up; the
//! limits behind them come from ISO 286-1:2010 and ISO 492:2014.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use tenths_domain::bearings::iso492::{
    ToleranceClass, mean_bore_deviations, mean_outside_diameter_deviations,
};
use tenths_domain::fit::{ClearanceWindow, CloseIn, Requirement, SizeBelief};
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::matching::{
    Act, Answer, Candidate, Caps, Condition, MissSide, Place, Question, answer,
};
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::Verdict;

const CAPS: Caps = Caps { fits: 20, misses: 5 };

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

fn inch(text: &str) -> Length {
    Entry::parse(text, Unit::Inch).unwrap().length
}

fn measured(low: Length, high: Length, uncertainty: Length) -> SizeBelief {
    SizeBelief::measured(low, high, uncertainty).unwrap()
}

fn place(item: ItemKind, feature: FeatureKind) -> Place {
    Place { item, feature, material: None }
}

/// A rolling seat of nominal 30 mm, wanted k5.
fn seat_question(reading: &str, uncertainty: &str) -> Question {
    let size = mm(reading);
    Question {
        place: place(ItemKind::Shaft, FeatureKind::RollingSeat),
        size: measured(size, size, mm(uncertainty)),
        ring: None,
        requirement: "k5".parse().unwrap(),
        close_in: None,
        other: None,
        age: None,
    }
}

/// A lot of new Normal-class bearings with a 30 mm bore.
fn bearing(key: &str) -> Candidate<'static, &str> {
    let bore = mean_bore_deviations(mm("30"), ToleranceClass::Normal).unwrap();
    let limits = bore.about(mm("30"));
    Candidate {
        key,
        place: place(ItemKind::RollingBearing, FeatureKind::Bore),
        nominal: mm("30"),
        size: SizeBelief::toleranced(limits).unwrap(),
        ring: Some(ToleranceClass::Normal),
        condition: Condition::New,
        available: 1,
        date_code: None,
        other: None,
    }
}

/// A journal wanted with 0.0010 to 0.0020 in clearance.
fn journal_question(reading: &str) -> Question {
    let size = inch(reading);
    let window = ClearanceWindow::new(inch("0.0010"), inch("0.0020")).unwrap();
    Question {
        place: place(ItemKind::Shaft, FeatureKind::Journal),
        size: measured(size, size, inch("0.0001")),
        ring: None,
        requirement: Requirement::clearance(window),
        close_in: None,
        other: None,
        age: None,
    }
}

fn bushing(key: &'static str, bore: &str, material: Material) -> Candidate<'static, &'static str> {
    let size = inch(bore);
    Candidate {
        key,
        place: Place {
            item: ItemKind::Bushing,
            feature: FeatureKind::Bore,
            material: Some(material),
        },
        nominal: inch("0.75"),
        size: measured(size, size, inch("0.0001")),
        ring: None,
        condition: Condition::New,
        available: 1,
        date_code: None,
        other: None,
    }
}

fn fit_keys<'a>(answer: &Answer<&'a str>) -> Vec<&'a str> {
    answer.fits.iter().map(|found| found.key).collect()
}

#[test]
fn a_removed_rolling_bearing_is_never_offered() {
    let used = |key| Candidate { condition: Condition::Used, ..bearing(key) };
    // One would fit, one would be a near miss; neither is offered as either.
    for question in [seat_question("30.0065", "0.001"), seat_question("30.0115", "0.0001")] {
        let found = answer(&question, [used("A"), used("B")], CAPS);
        assert!(found.fits.is_empty() && found.misses.is_empty());
        assert_eq!(found.counts.removed_bearings, 2);
    }
    // The rule is for rolling bearings: a used shaft is what the shop lives on.
    let shaft = Candidate {
        place: place(ItemKind::Shaft, FeatureKind::RollingSeat),
        size: measured(mm("30.0065"), mm("30.0065"), mm("0.001")),
        ring: None,
        ..used("SHAFT")
    };
    let question = Question {
        place: bearing("").place,
        size: bearing("").size,
        ring: Some(ToleranceClass::Normal),
        ..seat_question("30.0065", "0.001")
    };
    assert_eq!(fit_keys(&answer(&question, [shaft], CAPS)), ["SHAFT"]);
}

#[test]
fn a_rolling_seat_is_never_ground_undersize() {
    // 20 um over its class: too tight, and nothing but another part helps.
    for feature in [FeatureKind::RollingSeat, FeatureKind::Journal] {
        let mut question = seat_question("30.031", "0.001");
        question.place.feature = feature;
        let found = answer(&question, [bearing("A")], CAPS);
        let miss = &found.misses[0];
        assert_eq!((miss.side, miss.by), (MissSide::TooTight, mm("0.02")));
        // A journal that takes a rolling bearing is a rolling seat.
        assert_eq!(miss.act, None, "{feature}");
    }
}

#[test]
fn a_worn_rolling_seat_is_built_up_or_sleeved() {
    // Below 30.002 mm by 0.030 mm, by 0.6 mm, and by more than any sleeve.
    for (reading, act) in [
        ("29.972", Some(Act::BuildUp { amount: mm("0.03") })),
        ("29.402", Some(Act::SleeveShaft)),
        ("23.002", None),
    ] {
        let found = answer(&seat_question(reading, "0.001"), [bearing("A")], CAPS);
        assert_eq!(found.misses[0].side, MissSide::TooLoose);
        assert_eq!(found.misses[0].act, act, "{reading}");
        assert_eq!(found.misses[0].fit.judgement.verdict, Verdict::ProvenOut);
    }
}

#[test]
fn porous_bronze_is_never_reamed_and_an_unknown_bushing_is_taken_as_porous() {
    // Bore 0.7504 on a journal of 0.7500: 0.0006 in too tight.
    let act = |material: Option<Material>, feature| {
        let mut question = journal_question("0.7500");
        question.place.feature = feature;
        let mut candidate = bushing("A", "0.7504", Material::Bronze);
        candidate.place.material = material;
        answer(&question, [candidate], CAPS).misses[0].act
    };
    let by = inch("0.0006");
    let grind = Some(Act::GrindShaft { amount: by });
    let hone = Some(Act::HoneBore { amount: by });
    assert_eq!(act(Some(Material::Bronze), FeatureKind::Journal), hone);
    assert_eq!(act(Some(Material::PorousBronze), FeatureKind::Journal), grind);
    assert_eq!(act(None, FeatureKind::Journal), grind);
    assert_eq!(act(Some(Material::PorousBronze), FeatureKind::ShaftExtension), None);
}

#[test]
fn the_cheapest_act_grows_with_the_amount() {
    let act = |bore: &str, material| {
        answer(&journal_question("0.7500"), [bushing("A", bore, material)], CAPS).misses[0].act
    };
    let ream = Some(Act::ReamBore { amount: inch("0.0100") });
    assert_eq!(act("0.7410", Material::Bronze), ream);
    let grind = Some(Act::GrindShaft { amount: inch("0.0100") });
    assert_eq!(act("0.7410", Material::Steel), grind);
    assert_eq!(act("0.7110", Material::Bronze), None);
    let build_up = Some(Act::BuildUp { amount: inch("0.0010") });
    assert_eq!(act("0.7530", Material::Bronze), build_up);
    assert_eq!(act("0.8000", Material::Bronze), Some(Act::SleeveShaft));
}

#[test]
fn a_worn_housing_is_sleeved_and_a_tight_one_honed_and_the_ring_left_alone() {
    let outside = mean_outside_diameter_deviations(mm("62"), ToleranceClass::Normal).unwrap();
    let limits = outside.about(mm("62"));
    let candidate = Candidate {
        place: place(ItemKind::RollingBearing, FeatureKind::OutsideDiameter),
        nominal: mm("62"),
        size: SizeBelief::toleranced(limits).unwrap(),
        ..bearing("A")
    };
    let act = |reading: &str| {
        let question = Question {
            place: place(ItemKind::Housing, FeatureKind::HousingBore),
            requirement: "H6".parse().unwrap(),
            ..seat_question(reading, "0.001")
        };
        answer(&question, [candidate.clone()], CAPS).misses[0].act
    };
    assert_eq!(act("62.060"), Some(Act::SleeveBore));
    assert_eq!(act("61.980"), Some(Act::HoneBore { amount: mm("0.02") }));
}

#[test]
fn a_bushing_is_matched_on_its_installed_bore() {
    // Journal 0.7485, wanted 0.0010 to 0.0020 in; bores close in by 0.0005 to 0.0009 in.
    let mut question = journal_question("0.7485");
    question.close_in = Some(CloseIn::new(inch("0.0005"), inch("0.0009")).unwrap());
    let bores = [("FREE-FIT", "0.7500"), ("PRESSED-FIT", "0.7507"), ("LARGE", "0.7512")];
    let stock = bores.map(|(key, bore)| bushing(key, bore, Material::Bronze));
    let found = answer(&question, stock.clone(), CAPS);
    assert_eq!(fit_keys(&found), ["PRESSED-FIT"]);
    let misses: Vec<_> = found.misses.iter().map(|miss| (miss.key, miss.side)).collect();
    assert_eq!(misses, [("LARGE", MissSide::TooLoose), ("FREE-FIT", MissSide::TooTight)]);
    // The same sizes as they will run: the free bore is the one that fits.
    question.close_in = None;
    assert_eq!(fit_keys(&answer(&question, stock, CAPS)), ["FREE-FIT"]);
    // A housing's bore does not close in.
    let mut housing = bushing("H", "0.7500", Material::CastIron);
    housing.place = place(ItemKind::Housing, FeatureKind::HousingBore);
    question.close_in = Some(CloseIn::new(inch("0.0005"), inch("0.0009")).unwrap());
    assert_eq!(fit_keys(&answer(&question, [housing], CAPS)), ["H"]);
}

#[test]
fn fits_come_surest_first_then_centred_then_free_then_oldest_then_by_key() {
    let lot = |key, bore: &str, coarse: bool, available, date_code| {
        let uncertainty = inch(if coarse { "0.0006" } else { "0.0001" });
        let size = measured(inch(bore), inch(bore), uncertainty);
        Candidate { size, available, date_code, ..bushing(key, bore, Material::Bronze) }
    };
    // Clearance 0.0015 is the middle.
    let stock = [
        lot("Z-COARSE", "0.7515", true, 5, Some("2020-01")),
        lot("OFF-CENTRE", "0.7517", false, 5, Some("2020-01")),
        lot("HELD", "0.7515", false, 0, Some("2020-01")),
        lot("NO-DATE", "0.7515", false, 2, None),
        lot("YOUNG", "0.7515", false, 2, Some("2024-11")),
        lot("OLD-B", "0.7515", false, 2, Some("2023-02")),
        lot("OLD-A", "0.7515", false, 2, Some("2023-02")),
    ];
    let wanted = ["OLD-A", "OLD-B", "YOUNG", "NO-DATE", "HELD", "OFF-CENTRE", "Z-COARSE"];
    let mut shuffled = stock.to_vec();
    for _ in 0..stock.len() {
        shuffled.rotate_left(1);
        let found = answer(&journal_question("0.7500"), shuffled.clone(), CAPS);
        assert_eq!(fit_keys(&found), wanted);
        let few =
            answer(&journal_question("0.7500"), shuffled.clone(), Caps { fits: 3, misses: 0 });
        assert_eq!(fit_keys(&few), wanted[..3]);
        assert_eq!(few.counts.fits, 7);
    }
}

#[test]
fn misses_come_nearest_first_then_by_key() {
    let stock = ["0.7600", "0.7505", "0.7530", "0.7505", "0.7560"];
    let keys = ["E", "C", "D", "B", "A"];
    let stock = keys.into_iter().zip(stock).map(|(key, bore)| bushing(key, bore, Material::Bronze));
    let found = answer(&journal_question("0.7500"), stock, Caps { fits: 9, misses: 4 });
    let misses: Vec<_> = found.misses.iter().map(|miss| (miss.key, miss.by)).collect();
    let by = ["0.0005", "0.0005", "0.0010", "0.0040"].map(inch);
    assert_eq!(misses, ["B", "C", "D", "A"].into_iter().zip(by).collect::<Vec<_>>());
    assert_eq!((found.counts.fits, found.counts.misses), (0, 5));
}

#[test]
fn a_seat_a_little_outside_its_class_is_a_miss_that_a_chosen_ring_may_save() {
    // 0.4 um over k5: probable on a ring taken blindly, but the class is not met.
    let found = answer(&seat_question("30.0114", "0.0002"), [bearing("A")], CAPS);
    let miss = &found.misses[0];
    assert_eq!((miss.by, miss.side), (mm("0.0004"), MissSide::TooTight));
    assert_eq!(miss.fit.judgement.verdict, Verdict::ProbableIn);
    assert_eq!(miss.act, Some(Act::MeasureAndChoose));
    // 9.9 um over: one ring in a hundred would do, which is no advice.
    let found = answer(&seat_question("30.0209", "0.0002"), [bearing("A")], CAPS);
    assert_eq!(found.misses[0].act, None);
}

#[test]
fn a_fit_that_only_better_gauges_can_show_is_a_miss_to_remeasure() {
    // Dead centre, but read to +-1 mm against a window of 19 um.
    let found = answer(&seat_question("30.0065", "1"), [bearing("A")], CAPS);
    let miss = &found.misses[0];
    assert_eq!((miss.by, miss.side), (Length::ZERO, MissSide::Both));
    assert_eq!(miss.act, Some(Act::Remeasure));
}

#[test]
fn a_range_wider_than_the_window_says_which_part_to_measure_or_nothing() {
    // A window of 5 um against a ring of 10 um.
    let window = ClearanceWindow { min: -mm("0.009"), max: -mm("0.004") };
    let mut question = seat_question("30.002", "0.0001");
    question.requirement = Requirement::clearance(window);
    let found = answer(&question, [bearing("A")], CAPS);
    assert_eq!(found.misses[0].side, MissSide::Both);
    assert_eq!(found.misses[0].act, Some(Act::MeasureAndChoose));
    // The same spread in the readings of the seat: no act takes it out.
    question.size = measured(mm("29.995"), mm("30.005"), mm("0.0001"));
    let ring = measured(mm("29.9935"), mm("29.9935"), mm("0.0001"));
    let found = answer(&question, [Candidate { size: ring, ..bearing("A") }], CAPS);
    assert_eq!(found.misses[0].side, MissSide::Both);
    assert_eq!(found.misses[0].act, None);
}

#[test]
fn what_cannot_mate_or_be_judged_is_counted_and_not_listed() {
    let unknown_ring = Candidate { ring: None, ..bearing("NO-CLASS") };
    let too_large = Candidate { nominal: mm("600"), ..bearing("TOO-LARGE") };
    let same_side = Candidate { place: seat_question("30", "0.001").place, ..bearing("SHAFT") };
    let stock = [unknown_ring, too_large, same_side, bearing("A")];
    let found = answer(&seat_question("30.0065", "0.001"), stock, CAPS);
    assert_eq!(fit_keys(&found), ["A"]);
    assert_eq!((found.counts.not_judged, found.counts.not_mates), (2, 1));
    assert!(found.misses.is_empty());
}

#[test]
fn a_question_from_the_bearing_finds_the_shaft() {
    // An unmeasured 30 mm bore; shafts on the shelf as read with a fine gauge.
    let question = Question {
        place: bearing("").place,
        size: bearing("").size,
        ring: Some(ToleranceClass::Normal),
        requirement: "k5".parse().unwrap(),
        close_in: None,
        other: None,
        age: None,
    };
    let shafts = [("WORN", "29.999"), ("GOOD", "30.0065"), ("EDGE", "30.0022")];
    let stock = shafts.map(|(key, reading)| Candidate {
        place: place(ItemKind::Shaft, FeatureKind::RollingSeat),
        size: measured(mm(reading), mm(reading), mm("0.0005")),
        ring: None,
        condition: Condition::Used,
        ..bearing(key)
    });
    let found = answer(&question, stock, CAPS);
    assert_eq!(fit_keys(&found), ["GOOD", "EDGE"]);
    assert_eq!(found.misses[0].key, "WORN");
    assert_eq!(found.misses[0].by, mm("0.003"));
}

#[test]
fn inch_and_millimetre_entries_get_the_same_answer() {
    let ask = |size: Length, uncertainty: Length| {
        let question =
            Question { size: measured(size, size, uncertainty), ..seat_question("30", "0.001") };
        answer(&question, [bearing("A"), bearing("B")], CAPS)
    };
    let by_inch = ask(inch("1.1813"), inch("0.0001"));
    assert_eq!(by_inch, ask(mm("30.00502"), mm("0.00254")));
    assert_eq!(by_inch.fits.len(), 2);
}

#[test]
fn explicit_limits_of_size_are_taken_as_they_are() {
    let limits = Limits { lower: inch("0.7513"), upper: inch("0.7517") };
    let size = SizeBelief::toleranced(limits).unwrap();
    let candidate = Candidate { size, ..bushing("A", "0.75", Material::Bronze) };
    let found = answer(&journal_question("0.7500"), [candidate], CAPS);
    assert_eq!(found.fits[0].fit.judgement.verdict, Verdict::ProvenIn);
    assert_eq!(found.fits[0].fit.clearance_min, inch("0.0013"));
}

#[test]
fn every_act_has_its_words() {
    let amount = inch("0.0010");
    for (act, words) in [
        (Act::Remeasure, "better gauges"),
        (Act::MeasureAndChoose, "may fit as it is"),
        (Act::HoneBore { amount }, "hone 0.0010 in out of the bore, on diameter"),
        (Act::ReamBore { amount }, "ream or bore 0.0010 in out of the bore, on diameter"),
        (Act::GrindShaft { amount }, "grind 0.0010 in off the shaft, on diameter"),
        (Act::BuildUp { amount }, "build the shaft up by 0.0010 in or more, on diameter"),
        (Act::SleeveShaft, "sleeve the shaft"),
        (Act::SleeveBore, "sleeve the housing"),
    ] {
        assert!(act.words(Unit::Inch).contains(words), "{}", act.words(Unit::Inch));
    }
}
