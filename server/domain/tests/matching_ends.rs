//! Questions with two ends, shelf age, and the smallest changes where nothing fits.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use tenths_domain::bearings::iso492::{
    ToleranceClass, mean_bore_deviations, mean_outside_diameter_deviations,
};
use tenths_domain::fit::{ClearanceWindow, Requirement, SizeBelief};
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::matching::{
    Act, AgePolicy, Answer, Candidate, Caps, Change, Condition, End, MissSide, OtherEnd,
    OtherFeature, Place, Question, answer, smallest_changes,
};
use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation};
use tenths_domain::substitution::{AgeLimit, PUBLISHED_AGE_LIMIT};
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};

const CAPS: Caps = Caps { fits: 20, misses: 20 };
const MOTOR: Duty =
    Duty { rotation: RingRotation::InnerRotates, load: LoadClass::Normal, machine: Machine::Motor };

fn inch(text: &str) -> Length {
    Entry::parse(text, Unit::Inch).unwrap().length
}

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

fn place(item: ItemKind, feature: FeatureKind, material: Option<Material>) -> Place {
    Place { item, feature, material }
}

fn exact(size: Length) -> SizeBelief {
    SizeBelief::measured(size, size, Length::from_nm(1)).unwrap()
}

fn ring(nominal: Length, is_bore: bool) -> SizeBelief {
    let class = ToleranceClass::Normal;
    let found = if is_bore {
        mean_bore_deviations(nominal, class)
    } else {
        mean_outside_diameter_deviations(nominal, class)
    };
    SizeBelief::toleranced(found.unwrap().about(nominal)).unwrap()
}

/// A new bearing of Normal class, seen from its bore.
fn bearing(bore: &str, outside: &str) -> Candidate<'static, &'static str> {
    let class = Some(ToleranceClass::Normal);
    Candidate {
        key: "L-1",
        place: place(ItemKind::RollingBearing, FeatureKind::Bore, None),
        nominal: mm(bore),
        size: ring(mm(bore), true),
        ring: class,
        condition: Condition::New,
        available: 1,
        date_code: None,
        other: Some(OtherFeature {
            feature: FeatureKind::OutsideDiameter,
            nominal: mm(outside),
            size: ring(mm(outside), false),
            ring: class,
        }),
    }
}

fn on_seat(size: Length) -> Question {
    Question {
        place: place(ItemKind::Shaft, FeatureKind::RollingSeat, None),
        size: exact(size),
        ring: None,
        requirement: Requirement::shaft_by_duty(MOTOR),
        close_in: None,
        other: None,
        age: None,
    }
}

fn ask(question: &Question, stock: Vec<Candidate<'static, &'static str>>) -> Answer<&'static str> {
    answer(question, stock, CAPS)
}

/// Trade: motor repair practice, AR100 Table 2-13 as printed in inches (bore j5/k5: from memory;
/// the interference in micrometres beside it is computed). Every printed limit of the table, to the
/// tenth of a thou, lies in the class to within the printing's rounding, and a seat at either
/// exact limit of the class fits; one micrometre outside is a miss of one micrometre.
#[test]
fn seats_of_the_motor_table_fit_and_one_micrometre_outside_misses_by_one() {
    let printed = [
        ("12", "28", "0.4723", "0.4726", "j5"),
        ("15", "32", "0.5904", "0.5907", "j5"),
        ("17", "40", "0.6692", "0.6695", "j5"),
        ("20", "47", "0.7875", "0.7878", "k5"),
        ("25", "52", "0.9843", "0.9847", "k5"),
        ("30", "62", "1.1812", "1.1815", "k5"),
        ("35", "72", "1.3780", "1.3785", "k5"),
        ("40", "80", "1.5749", "1.5753", "k5"),
        ("50", "90", "1.9686", "1.9690", "k5"),
    ];
    let um = Length::from_nm(1_000);
    let rounding = Length::from_nm(1_270 + 1);
    for (bore, outside, low, high, class) in printed {
        let found = Requirement::shaft_by_duty(MOTOR).recommended(mm(bore)).unwrap().unwrap();
        assert_eq!(found.class.to_string(), class, "{bore}");
        let Limits { lower, upper } = found.limits;
        assert!((inch(low) - lower).abs() <= rounding, "{bore}: {low}");
        assert!((inch(high) - upper).abs() <= rounding, "{bore}: {high}");
        for inside in [lower, upper] {
            let found = ask(&on_seat(inside), vec![bearing(bore, outside)]);
            assert_eq!((found.fits.len(), found.misses.len()), (1, 0), "{bore} at {inside:?}");
        }
        for (outside_by_one, side) in
            [(lower - um, MissSide::TooLoose), (upper + um, MissSide::TooTight)]
        {
            let found = ask(&on_seat(outside_by_one), vec![bearing(bore, outside)]);
            assert_eq!((found.fits.len(), found.misses[0].by), (0, um), "{bore}");
            assert_eq!(found.misses[0].side, side);
        }
    }
}

fn between(seat: &str, housing: &str) -> Question {
    let other = OtherEnd {
        place: place(ItemKind::Housing, FeatureKind::HousingBore, None),
        size: exact(mm(housing)),
        requirement: Requirement::hole_by_duty(MOTOR),
        housing_outside: None,
    };
    Question { other: Some(other), ..on_seat(mm(seat)) }
}

/// H6 at 52 mm is 0 to +19 um (ISO 286-1:2010).
#[test]
fn a_bearing_between_shaft_and_housing_fits_only_if_both_ends_do() {
    let found = ask(&between("25.006", "52.010"), vec![bearing("25", "52")]);
    let fit = &found.fits[0];
    let other = fit.other.as_ref().unwrap();
    assert_eq!((other.by, other.side, other.act), (Length::ZERO, None, None));
    let product = fit.fit.judgement.probability_in * other.fit.judgement.probability_in;
    assert!((fit.judgement().probability_in - product).abs() < 1e-12);

    let found = ask(&between("25.006", "52.050"), vec![bearing("25", "52")]);
    let miss = &found.misses[0];
    let other = miss.other.as_ref().unwrap();
    assert_eq!((miss.by, miss.act), (Length::ZERO, None));
    assert_eq!((other.by, other.side), (mm("0.031"), Some(MissSide::TooLoose)));
    assert_eq!((miss.worst(), other.act), (mm("0.031"), Some(Act::SleeveBore)));

    // The same bore in another series does not fill the housing; one without an outside diameter
    // cannot be judged.
    let bare = Candidate { other: None, ..bearing("25", "52") };
    let found = ask(&between("25.006", "52.010"), vec![bearing("25", "47"), bare]);
    assert_eq!((found.fits.len(), found.misses.len(), found.counts.not_judged), (0, 1, 1));
}

fn bushing(key: &'static str, bore: &str, outside: &str) -> Candidate<'static, &'static str> {
    Candidate {
        key,
        place: place(ItemKind::Bushing, FeatureKind::Bore, Some(Material::Bronze)),
        nominal: inch("0.750"),
        size: exact(inch(bore)),
        ring: None,
        condition: Condition::New,
        available: 3,
        date_code: None,
        other: Some(OtherFeature {
            feature: FeatureKind::OutsideDiameter,
            nominal: inch("0.875"),
            size: exact(inch(outside)),
            ring: None,
        }),
    }
}

/// The counter's question of a journal of 0.7485 in and a housing of 0.8745 in: the installed bore
/// must land at 0.7496 to 0.7508 in. Close-in by thick cylinders: a 1/16 in bronze wall in a steel
/// housing of twice the diameter closes in by 0.90 of the interference.
fn bushing_between(outside: Option<Length>) -> Question {
    let window = ClearanceWindow::new(inch("0.0011"), inch("0.0023")).unwrap();
    let other = OtherEnd {
        place: place(ItemKind::Housing, FeatureKind::HousingBore, Some(Material::Steel)),
        size: exact(inch("0.8745")),
        requirement: Requirement::press(),
        housing_outside: outside,
    };
    Question {
        place: place(ItemKind::Shaft, FeatureKind::Journal, None),
        size: exact(inch("0.7485")),
        ring: None,
        requirement: Requirement::clearance(window),
        close_in: None,
        other: Some(other),
        age: None,
    }
}

#[test]
fn a_bushing_between_journal_and_housing_is_judged_as_pressed() {
    let stock = || {
        vec![
            bushing("fits", "0.7515", "0.8760"),
            bushing("ream", "0.7500", "0.8760"),
            bushing("loose", "0.7503", "0.8745"),
        ]
    };
    let found = ask(&bushing_between(Some(inch("1.7490"))), stock());
    assert_eq!(found.fits.len(), 1);
    let fit = &found.fits[0];
    assert_eq!(fit.key, "fits");
    let installed = fit.installed.unwrap();
    let closed = inch("0.7515") - installed.smallest();
    let share = closed.nm() as f64 / inch("0.0015").nm() as f64;
    assert!((0.88..0.95).contains(&share), "{share}");
    let ream = found.misses.iter().find(|miss| miss.key == "ream").unwrap();
    assert!(matches!(ream.act, Some(Act::HoneBore { .. } | Act::ReamBore { .. })), "{ream:?}");
    let loose = found.misses.iter().find(|miss| miss.key == "loose").unwrap();
    assert_eq!(loose.other.as_ref().unwrap().side, Some(MissSide::TooLoose));
    assert_eq!(loose.installed, None);
    // Free, it would have been the other way round.
    let found = ask(&bushing_between(None), stock());
    assert!(found.fits.iter().all(|fit| fit.key == "ream"), "{:?}", found.fits);
}

#[test]
fn a_bushing_of_unknown_material_is_not_judged_as_pressed() {
    let mut unknown = bushing("unknown", "0.7515", "0.8760");
    unknown.place.material = None;
    let found = ask(&bushing_between(Some(inch("1.7490"))), vec![unknown]);
    assert_eq!((found.fits.len(), found.counts.not_judged), (0, 1));
}

/// US Army TM 11-6125-240-34: none older than 3 3/4 years. The shop's clock says January 2027.
#[test]
fn a_bearing_past_the_shops_age_limit_is_not_offered() {
    let dated = |key, date_code| Candidate { key, date_code, ..bearing("25", "52") };
    let stock = || {
        vec![dated("old", Some("2023-03")), dated("young", Some("2023-04")), dated("none", None)]
    };
    let limit = AgeLimit::months(PUBLISHED_AGE_LIMIT).unwrap();
    let policy = AgePolicy { limit, now: 1_800_000_000_000_000 };
    let question = Question { age: Some(policy), ..on_seat(mm("25.006")) };
    let found = ask(&question, stock());
    let keys: Vec<&str> = found.fits.iter().map(|fit| fit.key).collect();
    assert_eq!(keys, ["young", "none"]);
    assert_eq!((found.counts.too_old, found.counts.age_unknown), (1, 1));
    assert_eq!(ask(&on_seat(mm("25.006")), stock()).fits.len(), 3);
    // Only rolling bearings age: a bushing of any date is offered.
    let aged = Candidate { date_code: Some("1999"), ..bushing("fits", "0.7515", "0.8760") };
    let question = Question { age: Some(policy), ..bushing_between(Some(inch("1.7490"))) };
    assert_eq!(ask(&question, vec![aged]).fits.len(), 1);
}

#[test]
fn where_nothing_fits_the_smallest_changes_are_named() {
    let sought = place(ItemKind::RollingBearing, FeatureKind::Bore, None);
    // 3 um under k5 at 25 mm: a bearing of Normal class is too loose by that.
    let question = on_seat(mm("24.999"));
    let changes = smallest_changes(&question, sought, &ask(&question, vec![bearing("25", "52")]));
    let Change::Relax { key, end, side, by, window } = &changes[0] else { panic!("{changes:?}") };
    assert_eq!((*key, *end, *side, *by), ("L-1", End::First, MissSide::TooLoose, mm("0.003")));
    assert_eq!(window.max, Length::from_nm(1_000));
    assert!(matches!(changes[1], Change::Work { key: "L-1", .. }), "{changes:?}");

    // An empty shelf: what to buy.
    let question = on_seat(mm("25.006"));
    let changes = smallest_changes(&question, sought, &ask(&question, vec![]));
    let [Change::BuyRing { nominal, class, numbers }] = &changes[..] else { panic!("{changes:?}") };
    assert_eq!((*nominal, *class), (mm("25"), ToleranceClass::Normal));
    assert!(numbers.contains(&"6205".to_owned()), "{numbers:?}");

    // A bushing to be made: the journal and the clearance.
    let question = bushing_between(None);
    let sought = place(ItemKind::Bushing, FeatureKind::Bore, None);
    let changes = smallest_changes(&question, sought, &ask(&question, vec![]));
    let [Change::BuySize { limits }] = &changes[..] else { panic!("{changes:?}") };
    assert_eq!(*limits, Limits { lower: inch("0.7496"), upper: inch("0.7508") });

    // Both ends miss: no one change of the requirement or of the part would do.
    let question = between("24.999", "52.030");
    let sought = place(ItemKind::RollingBearing, FeatureKind::Bore, None);
    let changes = smallest_changes(&question, sought, &ask(&question, vec![bearing("25", "52")]));
    assert!(
        changes.iter().all(|change| !matches!(change, Change::Relax { .. } | Change::Work { .. }))
    );
}
