//! Bad input, one bad thing each: the field is named, and where something near is valid, that too.

use super::pairs::{clearance, measured, normal_ring, seat_under_ring, within};
use std::fmt::Debug;
use tenths_proto::v1::size_knowledge::Kind;
use tenths_proto::v1::*;
use tenths_tests::{DatabaseKind, Expected, Outcomes, Shop, inch, length, mm};
use tonic::{Code, Response, Status};
use tonic_types::StatusExt;

/// Cases that must be refused by the field, in words.
#[derive(Default)]
struct Cases(Outcomes);

impl Cases {
    /// Notes one: INVALID_ARGUMENT that names the field, whose description holds every word.
    fn bad<T: Debug>(
        &mut self,
        name: &str,
        field: &str,
        words: &[&str],
        result: Result<Response<T>, Status>,
    ) {
        let said = result.as_ref().err().map(|status| status.get_error_details());
        let expected =
            Expected { code: Code::InvalidArgument, fields: &[field], ..Expected::default() };
        self.0.refused(name, expected, result);
        let violations = said.as_ref().and_then(|said| said.bad_request());
        let text: Vec<String> = violations
            .iter()
            .flat_map(|bad| &bad.field_violations)
            .map(|violation| violation.description.clone())
            .collect();
        for word in words {
            let there = text.iter().any(|text| text.contains(word)).then_some(());
            self.0.note(name, there.ok_or_else(|| format!("{word:?} is not said in {text:?}")));
        }
    }
}

fn of(kind: Kind) -> Option<SizeKnowledge> {
    Some(SizeKnowledge { kind: Some(kind) })
}

/// `j` is for grades 5 to 8, of which 8 only to 3 mm, and `cd` for sizes to 50 mm (ISO 286-1:2010,
/// from memory).
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn classes_that_a_size_does_not_have() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut cases = Cases::default();
    for (size, class, words) in [
        (mm("25"), "j9", vec!["j9", "25 mm", "the nearest that does is j7"]),
        (mm("60"), "cd6", vec!["cd6", "60 mm", "nearest"]),
        (mm("25"), "k99", vec!["k99", "the nearest is k18"]),
        (mm("25"), "i6", vec!["i6", "the nearest is h6"]),
        (mm("25"), "q6", vec!["q6", "the nearest is p6"]),
        (mm("25"), "H7/g6", vec!["it is a pair", "H7 or g6"]),
        (mm("25"), "RC4", vec!["ANSI B4.1"]),
        // IT7 over 18 to 30 mm is 21 um (ISO 286-1:2010, Table 1).
        (mm("25"), "IT7", vec!["21.0 um wide", "h7, H7 or js7"]),
        (mm("25"), "", vec![]),
        (mm("25"), "5k", vec!["5k"]),
    ] {
        let request = GetLimitsRequest { size, tolerance_class: class.to_owned() };
        let result = shop.clients().fits().get_limits(request).await;
        cases.bad(&format!("limits {class:?}"), "tolerance_class", &words, result);
    }
    for size in
        [mm("3151"), mm("0"), mm("-25"), None, length("25", LengthUnit::Unspecified), inch("25 mm")]
    {
        let name = format!("size {size:?}");
        let request = GetLimitsRequest { size, tolerance_class: "h6".to_owned() };
        cases.bad(&name, "size", &[], shop.clients().fits().get_limits(request).await);
    }
    let mut standards = shop.clients().standards();
    for class in ["RC10", "RC0", "LC12", "LT7", "LN4", "FN6", "XX1", "RC", ""] {
        let request = GetInchFitRequest { size: inch("1"), fit_class: class.to_owned() };
        let result = standards.get_inch_fit(request).await;
        cases.bad(&format!("inch fit {class:?}"), "fit_class", &[], result);
    }
    // The tables end at 19.69 in (ANSI B4.1, from memory).
    for size in [inch("19.7"), inch("0"), None] {
        let name = format!("inch fit at {size:?}");
        let request = GetInchFitRequest { size, fit_class: "RC4".to_owned() };
        cases.bad(&name, "size", &[], standards.get_inch_fit(request).await);
    }
    cases.0.finish();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn bearings_that_are_none() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut standards = shop.clients().standards();
    let mut cases = Cases::default();
    for (number, words) in [
        ("", vec![]),
        ("banana", vec!["banana", "nearest"]),
        ("62", vec!["nearest"]),
        ("6299", vec!["6299", "nearest", "62"]),
        ("6205-\u{0}", vec![]),
    ] {
        let request =
            GetBearingRequest { designation: number.to_owned(), ring_class: String::new() };
        let result = standards.get_bearing(request).await;
        cases.bad(&format!("number {number:?}"), "designation", &words, result);
    }
    let long = GetBearingRequest { designation: "6205".repeat(1_000), ring_class: String::new() };
    cases.bad("a long number", "designation", &[], standards.get_bearing(long).await);
    let class =
        GetBearingRequest { designation: "6205".to_owned(), ring_class: "superb".to_owned() };
    cases.bad("ring class", "ring_class", &["normal"], standards.get_bearing(class).await);
    let none = MatchBearingsRequest { outside_diameter: mm("52"), ..Default::default() };
    cases.bad("no bore", "bore", &[], standards.match_bearings(none).await);
    let below = MatchBearingsRequest { bore: mm("25"), tolerance: mm("-1"), ..Default::default() };
    cases.bad("tolerance", "tolerance", &[], standards.match_bearings(below).await);
    cases.0.finish();
}

/// A seat of 30 mm with this on the shaft, refused at this field.
async fn seats(shop: &Shop, cases: &mut Cases) {
    let read = |min: &str, max: Option<Length>, uncertainty: Option<Length>, gauge: &str| {
        let gauge_tag = gauge.to_owned();
        of(Kind::Measured(MeasuredSize {
            min: mm(min),
            max,
            expanded_uncertainty: uncertainty,
            gauge_tag,
        }))
    };
    let um = |text: &str| length(text, LengthUnit::Um);
    let no_unit = MeasuredSize { min: length("30", LengthUnit::Unspecified), ..Default::default() };
    let no_size = MeasuredSize { expanded_uncertainty: um("2"), ..Default::default() };
    for (name, external, field) in [
        ("nothing", None, "external"),
        ("no kind", Some(SizeKnowledge { kind: None }), "external"),
        ("U of zero", read("30.005", None, um("0"), ""), "external.measured.expanded_uncertainty"),
        (
            "U below zero",
            read("30.005", None, um("-2"), ""),
            "external.measured.expanded_uncertainty",
        ),
        ("U and a gauge", read("30.005", None, um("2"), "M-07"), "external.measured.gauge_tag"),
        ("readings reversed", read("30.005", mm("30.004"), um("2"), ""), "external.measured.min"),
        ("inch below mm", read("30.005", inch("1.18"), um("2"), ""), "external.measured.min"),
        ("two units in one", read("30.005 in", None, um("2"), ""), "external.measured.min"),
        ("no unit", of(Kind::Measured(no_unit)), "external.measured.min"),
        ("no reading", of(Kind::Measured(no_size)), "external.measured.min"),
        ("limits reversed", within("30.010", "30.000"), "external.limits.lower"),
        (
            "a limit missing",
            of(Kind::Limits(SizeRange { lower: mm("30"), upper: None })),
            "external.limits.upper",
        ),
        ("a bound without end", of(Kind::Bound(BoundedSize::default())), "external"),
        (
            "bounds reversed",
            of(Kind::Bound(BoundedSize { at_least: mm("30.01"), at_most: mm("30") })),
            "external",
        ),
        ("a hole class", of(Kind::ToleranceClass("H7".to_owned())), "external"),
        ("no such class", of(Kind::ToleranceClass("j9".to_owned())), "external"),
        ("an empty class", of(Kind::ToleranceClass(String::new())), "external.tolerance_class"),
        ("a ring class", of(Kind::RingClass("superb".to_owned())), "external.ring_class"),
    ] {
        let result = shop.clients().fits().judge_fit(seat_under_ring(external)).await;
        cases.bad(name, field, &[], result);
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn fits_that_mean_nothing() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut cases = Cases::default();
    seats(&shop, &mut cases).await;
    let seat = || seat_under_ring(measured("30.005", "30.005", "2"));
    let class = |hole: &str, shaft: &str| {
        let pair = ClassPair { hole_class: hole.to_owned(), shaft_class: shaft.to_owned() };
        Some(FitRequirement { kind: Some(fit_requirement::Kind::ClassPair(pair)) })
    };
    for (name, request, field) in [
        ("no requirement", JudgeFitRequest { requirement: None, ..seat() }, "requirement"),
        ("no classes", JudgeFitRequest { requirement: class("", ""), ..seat() }, "requirement"),
        (
            "classes swapped",
            JudgeFitRequest { requirement: class("k5", "H7"), ..seat() },
            "requirement",
        ),
        (
            "no such class",
            JudgeFitRequest { requirement: class("", "j9"), ..seat() },
            "requirement",
        ),
        (
            "lower above upper",
            JudgeFitRequest { requirement: clearance("2", "1"), ..seat() },
            "requirement",
        ),
        ("no nominal", JudgeFitRequest { nominal: None, ..seat() }, "nominal"),
        ("no bore", JudgeFitRequest { internal: None, ..seat() }, "internal"),
        ("rule 99", JudgeFitRequest { rule: 99, ..seat() }, "rule"),
    ] {
        cases.bad(name, field, &[], shop.clients().fits().judge_fit(request).await);
    }
    // Everything at once.
    for field in ["internal", "external", "requirement"] {
        let result = shop.clients().fits().judge_fit(JudgeFitRequest::default()).await;
        cases.bad("all at once", field, &[], result);
    }
    // A gauge that nobody registered is not found rather than made up.
    let unknown =
        MeasuredSize { min: mm("30"), gauge_tag: "X-404".to_owned(), ..Default::default() };
    let result =
        shop.clients().fits().judge_fit(seat_under_ring(of(Kind::Measured(unknown)))).await;
    let expected = Expected { code: Code::NotFound, resource: "X-404", ..Expected::default() };
    cases.0.refused("gauge X-404", expected, result);
    cases.0.finish();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn keys_rings_and_seats_that_no_table_has() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut standards = shop.clients().standards();
    let mut cases = Cases::default();
    let seat = RecommendSeatRequest { size: mm("30"), ..Default::default() };
    for field in ["rotation", "load"] {
        cases.bad("seat", field, &[], standards.recommend_seat(seat.clone()).await);
    }
    let rotation = RingRotation::InnerRotates.into();
    let seat = RecommendSeatRequest { rotation, load: LoadClass::Normal.into(), ..seat };
    let huge = RecommendSeatRequest { size: mm("3000"), ..seat };
    cases.bad("seat of 3 m", "size", &[], standards.recommend_seat(huge).await);
    let extension = |size, standard: ExtensionStandard| GetShaftExtensionRequest {
        size,
        standard: standard.into(),
    };
    let none = extension(inch("1"), ExtensionStandard::Unspecified);
    cases.bad("extension", "standard", &["nema", "iec"], standards.get_shaft_extension(none).await);
    let thin = extension(inch("0.1"), ExtensionStandard::Nema);
    cases.bad("thin extension", "size", &["allowed"], standards.get_shaft_extension(thin).await);
    let key = GetKeyRequest { shaft: mm("1"), ..Default::default() };
    cases.bad("key of 1 mm", "shaft", &[], standards.get_key(key.clone()).await);
    let inch_fit = GetKeyRequest { shaft: mm("25"), fit: KeyseatFit::Class1.into(), ..key };
    cases.bad("inch fit, metric key", "fit", &[], standards.get_key(inch_fit).await);
    let unsaid = GetKeyRequest { shaft: mm("25"), standard: 99, ..Default::default() };
    cases.bad("key standard 99", "standard", &[], standards.get_key(unsaid).await);
    let zero =
        JudgeKeyseatRequest { measured_width: mm("0"), shaft: mm("25"), ..Default::default() };
    cases.bad("keyseat of 0", "measured_width", &[], standards.judge_keyseat(zero).await);
    let ring = |size, kind: RingKind| GetRetainingRingRequest { size, kind: kind.into() };
    let unsaid = standards.get_retaining_ring(ring(mm("25"), RingKind::Unspecified)).await;
    cases.bad("ring", "kind", &[], unsaid);
    let between = standards.get_retaining_ring(ring(mm("25.5"), RingKind::Shaft)).await;
    cases.bad("ring between two sizes", "size", &["25 mm", "26 mm"], between);
    cases.0.finish();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn rules_and_loads_that_are_none() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut assembly = shop.clients().assembly();
    let mut cases = Cases::default();
    let journal = GetRunningClearanceRequest { journal: inch("0.75"), rule: 0 };
    cases.bad("no rule", "rule", &[], assembly.get_running_clearance(journal).await);
    let power = |power: &str, unit: &str, speed: &str| GetShaftStrengthRequest {
        power: power.to_owned(),
        power_unit: unit.to_owned(),
        speed_rpm: speed.to_owned(),
        ..Default::default()
    };
    for bad in ["", "0", "-2", "1e3", "NaN", "inf", "two", "2 hp"] {
        let result = assembly.get_shaft_strength(power(bad, "hp", "1725")).await;
        cases.bad(&format!("power {bad:?}"), "power", &[], result);
        let result = assembly.get_shaft_strength(power("2", "hp", bad)).await;
        cases.bad(&format!("speed {bad:?}"), "speed_rpm", &[], result);
    }
    for bad in ["", "watts", "PS"] {
        let result = assembly.get_shaft_strength(power("2", bad, "1725")).await;
        cases.bad(&format!("power unit {bad:?}"), "power_unit", &["hp", "kw"], result);
    }
    cases.0.finish();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn parts_that_do_not_go_together() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut assembly = shop.clients().assembly();
    let mut cases = Cases::default();
    let bushing = GetCloseInRequest {
        bore: measured("20", "20", "2"),
        outside_diameter: measured("25.990", "25.990", "2"),
        bushing_material: Material::Bronze.into(),
        housing_bore: measured("26", "26", "2"),
        housing_outside_diameter: mm("52"),
        housing_material: Material::Steel.into(),
    };
    cases.bad(
        "loose bushing",
        "outside_diameter",
        &[],
        assembly.get_close_in(bushing.clone()).await,
    );
    let tight = measured("26.04", "26.04", "2");
    let bushing = GetCloseInRequest { outside_diameter: tight, ..bushing };
    let unknown = GetCloseInRequest { bushing_material: 0, ..bushing.clone() };
    cases.bad("bushing of what", "bushing_material", &[], assembly.get_close_in(unknown).await);
    let reversed = GetCloseInRequest { housing_bore: within("26.1", "26"), ..bushing };
    cases.bad(
        "housing reversed",
        "housing_bore.limits.lower",
        &[],
        assembly.get_close_in(reversed).await,
    );
    let joint = GetAssemblyAdviceRequest {
        internal: within("24.99", "25"),
        external: measured("25.002", "25.002", "1"),
        outer_diameter: mm("30"),
        length: mm("15"),
        inner_material: Material::Steel.into(),
        outer_material: Material::Steel.into(),
        ..Default::default()
    };
    cases.bad("heated what", "heated", &[], assembly.get_assembly_advice(joint.clone()).await);
    let joint = GetAssemblyAdviceRequest { heated: HeatedPart::PlainHub.into(), ..joint };
    let swapped = GetAssemblyAdviceRequest {
        internal: of(Kind::ToleranceClass("k5".into())),
        ..joint.clone()
    };
    cases.bad(
        "shaft class in a bore",
        "internal",
        &[],
        assembly.get_assembly_advice(swapped).await,
    );
    let nominal = GetAssemblyAdviceRequest { internal: normal_ring(), ..joint.clone() };
    cases.bad("ring without nominal", "nominal", &[], assembly.get_assembly_advice(nominal).await);
    let thin = GetAssemblyAdviceRequest { outer_diameter: mm("24"), ..joint };
    cases.bad(
        "hub thinner than its bore",
        "outer_diameter",
        &[],
        assembly.get_assembly_advice(thin).await,
    );
    cases.0.finish();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn too_few_and_too_many_questions() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let (mut standards, mut fits) = (shop.clients().standards(), shop.clients().fits());
    let mut cases = Cases::default();
    for count in [0, 10_001] {
        let one = LimitsQuestion { size: mm("25"), tolerance_class: "k5".to_owned() };
        let request = BatchGetLimitsRequest { questions: vec![one; count] };
        let result = standards.batch_get_limits(request).await;
        cases.bad(&format!("{count} limits"), "questions", &["10000"], result);
    }
    for count in [0, 2_001] {
        let questions = vec![GetBearingRequest::default(); count];
        let result = standards.batch_get_bearings(BatchGetBearingsRequest { questions }).await;
        cases.bad(&format!("{count} bearings"), "questions", &["2000"], result);
        let questions = vec![GetKeyRequest::default(); count];
        let result = standards.batch_get_keys(BatchGetKeysRequest { questions }).await;
        cases.bad(&format!("{count} keys"), "questions", &["2000"], result);
        let questions = vec![JudgeFitRequest::default(); count];
        let result = fits.batch_judge_fits(BatchJudgeFitsRequest { questions }).await;
        cases.bad(&format!("{count} fits"), "questions", &["2000"], result);
    }
    cases.0.finish();
}
