//! The part of the tour that needs no stock: standards, fits of two parts, assembly.

use tenths_proto::v1::*;
use tenths_tests::{Clients, done, inch, mm, nm};

/// Calls every rpc of standards and assembly, and the fits of two parts.
pub(crate) async fn tour(c: &Clients) {
    tour_standards(c).await;
    tour_many(c).await;
    tour_assembly(c).await;
}

fn size(kind: size_knowledge::Kind) -> Option<SizeKnowledge> {
    Some(SizeKnowledge { kind: Some(kind) })
}

fn read(value: &str) -> Option<SizeKnowledge> {
    size(size_knowledge::Kind::Measured(MeasuredSize { min: mm(value), ..Default::default() }))
}

fn seat() -> JudgeFitRequest {
    let pair = ClassPair { hole_class: String::new(), shaft_class: "k5".to_owned() };
    JudgeFitRequest {
        nominal: mm("25"),
        internal: size(size_knowledge::Kind::RingClass("normal".to_owned())),
        external: read("25.006"),
        requirement: Some(FitRequirement { kind: Some(fit_requirement::Kind::ClassPair(pair)) }),
        ..Default::default()
    }
}

async fn tour_standards(c: &Clients) {
    let mut standards = c.standards();
    let request = GetInchFitRequest { size: inch("1"), fit_class: "RC4".to_owned() };
    assert!(!done("get_inch_fit", standards.get_inch_fit(request).await).traces.is_empty());
    let request = GetBearingRequest { designation: "6205".to_owned(), ..Default::default() };
    let bearing = done("get_bearing", standards.get_bearing(request).await);
    let request = MatchBearingsRequest {
        bore: bearing.bore,
        outside_diameter: bearing.outside_diameter,
        width: bearing.width,
        ..Default::default()
    };
    let found = done("match_bearings", standards.match_bearings(request).await);
    assert_eq!(found.matches[0].basic_number, "6205", "there and back");
    let request = RecommendSeatRequest {
        size: mm("25"),
        rotation: RingRotation::InnerRotates.into(),
        load: LoadClass::Normal.into(),
        ..Default::default()
    };
    let found = done("recommend_seat", standards.recommend_seat(request).await);
    assert!(!found.recommendations.is_empty());
    let request =
        GetShaftExtensionRequest { size: inch("0.875"), standard: ExtensionStandard::Nema.into() };
    let found = done("get_shaft_extension", standards.get_shaft_extension(request).await);
    assert!(nm(&found.run_out) > 0);
    let request = GetKeyRequest { shaft: mm("25"), ..Default::default() };
    let key = done("get_key", standards.get_key(request).await);
    let request =
        JudgeKeyseatRequest { measured_width: key.width, shaft: mm("25"), ..Default::default() };
    let found = done("judge_keyseat", standards.judge_keyseat(request).await);
    assert_eq!(found.verdict(), KeyseatVerdict::Fits);
    let request = GetRetainingRingRequest { size: mm("25"), kind: RingKind::Shaft.into() };
    let found = done("get_retaining_ring", standards.get_retaining_ring(request).await);
    assert!(nm(&found.groove_diameter) < 25_000_000, "a groove is cut into the shaft");
}

async fn tour_many(c: &Clients) {
    let question = LimitsQuestion { size: mm("25"), tolerance_class: "k5".to_owned() };
    let request = BatchGetLimitsRequest { questions: vec![question; 2] };
    let found = done("batch_get_limits", c.standards().batch_get_limits(request).await);
    assert_eq!(found.answers.len(), 2);
    let question = GetBearingRequest { designation: "6205".to_owned(), ..Default::default() };
    let request = BatchGetBearingsRequest { questions: vec![question; 3] };
    let found = done("batch_get_bearings", c.standards().batch_get_bearings(request).await);
    assert_eq!(found.answers.len(), 3);
    let question = GetKeyRequest { shaft: mm("25"), ..Default::default() };
    let request = BatchGetKeysRequest { questions: vec![question] };
    let found = done("batch_get_keys", c.standards().batch_get_keys(request).await);
    assert_eq!(found.answers.len(), 1);
    let found = done("judge_fit", c.fits().judge_fit(seat()).await);
    assert!(found.verdict.is_some());
    let request = BatchJudgeFitsRequest { questions: vec![seat(); 2] };
    let many = done("batch_judge_fits", c.fits().batch_judge_fits(request).await).answers;
    assert!(many.iter().all(|answer| answer.fit.as_ref() == Some(&found)), "{many:?}");
}

async fn tour_assembly(c: &Clients) {
    let mut assembly = c.assembly();
    let request = GetCloseInRequest {
        bore: read("20.000"),
        outside_diameter: read("26.040"),
        bushing_material: Material::Bronze.into(),
        housing_bore: read("26.000"),
        housing_outside_diameter: mm("52"),
        housing_material: Material::CastIron.into(),
    };
    let found = done("get_close_in", assembly.get_close_in(request).await);
    assert!(nm(&found.installed_max) < 20_000_000, "it closes in");
    let request = GetRunningClearanceRequest {
        journal: inch("0.750"),
        rule: RunningRule::OneThouAndOnePerInch.into(),
    };
    let found = done("get_running_clearance", assembly.get_running_clearance(request).await);
    assert_eq!(nm(&found.clearance), 44_450);
    let request = GetAssemblyAdviceRequest {
        internal: read("25.000"),
        external: read("25.010"),
        outer_diameter: mm("40"),
        length: mm("20"),
        inner_material: Material::Steel.into(),
        outer_material: Material::Steel.into(),
        heated: HeatedPart::PlainHub.into(),
        ..Default::default()
    };
    let found = done("get_assembly_advice", assembly.get_assembly_advice(request).await);
    assert!(!found.cautions.is_empty());
    let request = GetShaftStrengthRequest {
        power: "2".to_owned(),
        power_unit: "hp".to_owned(),
        speed_rpm: "1725".to_owned(),
        ..Default::default()
    };
    let found = done("get_shaft_strength", assembly.get_shaft_strength(request).await);
    assert!(found.torque_nm > 0.0);
}
