//! Questions as they are typed, and answers as they are shown.

use super::ask::{fit_request, replacement_request, size_request};
use crate::args::Command;
use crate::args::FindCommand;
use crate::args::tests::parse;
use crate::commands::reach::run_line;
use crate::context::Context;
use crate::output::Format;
use crate::shop_double::ShopDouble;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::{self, FeatureKind, ItemKind};

fn request(line: &str) -> v1::FindFitRequest {
    let Command::Find(command) = parse(line) else { panic!() };
    let (FindCommand::Bearing(arguments)
    | FindCommand::Bushing(arguments)
    | FindCommand::Shaft(arguments)
    | FindCommand::Housing(arguments)) = command
    else {
        panic!()
    };
    fit_request(ItemKind::Bushing, *arguments, &Context::of_mara()).unwrap()
}

fn length(value: &str, unit: v1::LengthUnit) -> Option<v1::Length> {
    Some(v1::Length { value: value.into(), unit: unit.into(), nm: 0 })
}

#[test]
fn a_journal_over_the_phone() {
    let request = request(
        "find bushing --journal 0.7485in --clearance 0.0011..0.0023in --close-in-min 0in \
             --close-in-max 0.0008in --uncertainty 0.0002in --fits 3",
    );
    let inch = v1::LengthUnit::In;
    let part = request.measured.unwrap();
    assert_eq!(part.size, length("0.7485", inch).map(Size::Value));
    assert_eq!((part.kind(), part.gauge_tag.as_str()), (FeatureKind::Journal, ""));
    assert_eq!(part.expanded_uncertainty, length("0.0002", inch));
    let limits = v1::ClearanceLimits { min: length("0.0011", inch), max: length("0.0023", inch) };
    assert_eq!(request.requirement.unwrap().kind, Some(Kind::Clearance(limits)));
    let close_in = v1::CloseIn { min: length("0", inch), max: length("0.0008", inch) };
    assert_eq!(request.close_in, Some(close_in));
    assert_eq!((request.page_size, request.misses_max), (3, 0));
}

#[test]
fn a_measured_piece_and_a_class() {
    let request = request("find bearing --piece P-104 --feature seat-a --class k5");
    let part = request.measured.unwrap();
    let expected = v1::PieceFeature { piece_tag: "P-104".into(), feature: "seat-a".into() };
    assert_eq!(part.size, Some(Size::PieceFeature(expected)));
    let pair = v1::ClassPair { hole_class: String::new(), shaft_class: "k5".into() };
    assert_eq!(request.requirement.unwrap().kind, Some(Kind::ClassPair(pair)));
}

#[test]
fn interference_may_stand_apart_from_its_flag() {
    let request = request("find shaft --bore 25.002mm --clearance -0.02..0.0mm");
    let Some(Kind::Clearance(limits)) = request.requirement.unwrap().kind else { panic!() };
    assert_eq!(limits.min, length("-0.02", v1::LengthUnit::Mm));
    assert_eq!(request.measured.unwrap().kind(), FeatureKind::Bore);
}

fn fit(tag: &str, required: [i64; 2], source: &str) -> v1::Fit {
    let mm =
        |nm: i64| Some(v1::Length { nm, value: String::new(), unit: v1::LengthUnit::Mm.into() });
    v1::Fit {
        candidate: Some(v1::FitCandidate {
            item_code: "BRG-6205".into(),
            feature: "bore".into(),
            size_min: mm(24_990_000),
            size_max: mm(25_000_000),
            available: 2,
            stock: Some(v1::fit_candidate::Stock::LotTag(tag.into())),
            ..Default::default()
        }),
        clearance_min: mm(-16_300),
        clearance_max: mm(-6_300),
        required_min: mm(required[0]),
        required_max: mm(required[1]),
        requirement_source: source.into(),
        verdict: Some(v1::Verdict { text: "proven in".into(), ..Default::default() }),
        row: tag.trim_start_matches("L-").parse().unwrap(),
        ..Default::default()
    }
}

/// The requirement stands once above all, and again only where it is another one; CSV has it
/// in every row.
#[tokio::test]
async fn a_requirement_is_said_once() {
    let double = ShopDouble::default();
    let miss = v1::Miss {
        fit: Some(fit("L-3", [-21_000, -2_000], "k5")),
        by: Some(v1::Length { nm: 4_000, ..Default::default() }),
        side: v1::MissSide::TooLoose.into(),
        act: "build the shaft up by 0.0040 mm or more, on diameter, and grind to size".into(),
    };
    let answer = v1::FindFitResponse {
        fits: vec![
            fit("L-1", [-21_000, -2_000], "k5"),
            fit("L-2", [-25_000, -2_000], "k5 over 30 mm"),
        ],
        misses: vec![miss],
        fits_seen: 2,
        measured_min: Some(v1::Length { nm: 25_006_300, ..Default::default() }),
        measured_max: Some(v1::Length { nm: 25_006_300, ..Default::default() }),
        expanded_uncertainty: Some(v1::Length { nm: 4_600, ..Default::default() }),
        ..Default::default()
    };
    double.answer("FindingService/FindFit", &answer);
    let server = double.serve().await;
    let line = "find bearing --piece P-1 --feature seat-a --class k5";
    let (_, table, _) = run_line(&server, Format::Table, line).await;
    assert_eq!(
        table,
        "\
measured: 25.0063 mm (U 0.0046 mm, k=2)
required: -0.0210..-0.0020 mm (k5)
fits:
row  what  item      clearance            verdict
1    L-1   BRG-6205  -0.0163..-0.0063 mm  proven in
    bore 24.9900..25.0000 mm; free: 2
2    L-2   BRG-6205  -0.0163..-0.0063 mm  proven in
    bore 24.9900..25.0000 mm; required: -0.0250..-0.0020 mm; by: k5 over 30 mm; free: 2

misses:
what  item      clearance            misses_by  side
L-3   BRG-6205  -0.0163..-0.0063 mm  0.0040 mm  too_loose
    bore 24.9900..25.0000 mm; free: 2; act: build the shaft up by 0.0040 mm or more, on diameter,
    and grind to size
"
    );
    let (_, csv, _) = run_line(&server, Format::Csv, line).await;
    assert!(csv.contains(",-0.0210..-0.0020 mm,proven in,,,,,,,2,"), "{csv}");
    let (_, json, _) = run_line(&server, Format::Json, line).await;
    assert!(json.contains("\"requirement_source\": \"k5\""), "{json}");
}

#[test]
fn a_bearing_between_shaft_and_housing() {
    let request = request(
        "find bearing --seat 0.9845in --gauge M-07 --housing 52.008mm --housing-gauge B-2 \
         --housing-temperature 24C --hole-class H7 --machine pump",
    );
    let other = request.other.unwrap();
    let housing = other.measured.unwrap();
    assert_eq!((housing.kind(), housing.gauge_tag.as_str()), (FeatureKind::HousingBore, "B-2"));
    assert_eq!(housing.temperature.unwrap().value, "24");
    let pair = v1::ClassPair { hole_class: "H7".into(), shaft_class: String::new() };
    assert_eq!(other.requirement.unwrap().kind, Some(Kind::ClassPair(pair)));
    assert_eq!(request.requirement, None);
    assert_eq!(request.duty.unwrap().machine(), v1::Machine::Pump);
    assert_eq!(request.measured.unwrap().gauge_tag, "M-07");
}

#[test]
fn a_housing_alone_is_what_was_measured() {
    let request = request("find bearing --housing 52.01mm --hole-class H6 --free --group c3");
    assert_eq!(request.measured.unwrap().kind(), FeatureKind::HousingBore);
    assert!(request.other.is_none() && request.requirement.is_some());
    let filter = request.filter.unwrap();
    assert!(filter.free_only && filter.clearance_groups == ["C3"]);
}

#[test]
fn windows_may_be_open_and_a_unit_counts_for_both_ends() {
    let Command::Find(FindCommand::Size(arguments)) =
        parse("find size --bore 24.9..25.1mm --width ..20mm --od 40mm..")
    else {
        panic!()
    };
    let request = size_request(*arguments, &Context::of_mara()).unwrap();
    let mm = v1::LengthUnit::Mm;
    let window =
        |kind: FeatureKind, lower, upper| v1::SizeWindow { kind: kind.into(), lower, upper };
    let expected = [
        window(FeatureKind::Bore, length("24.9", mm), length("25.1", mm)),
        window(FeatureKind::OutsideDiameter, length("40", mm), None),
        window(FeatureKind::Width, None, length("20", mm)),
    ];
    assert_eq!(request.windows, expected);
}

#[test]
fn a_number_is_a_bearing_and_anything_else_an_item() {
    use v1::find_replacement_request::Wanted;
    for (line, wanted) in [
        ("find replacement 6205-2RS", Wanted::Designation("6205-2RS".into())),
        ("find replacement BRG-6205", Wanted::ItemCode("BRG-6205".into())),
    ] {
        let Command::Find(FindCommand::Replacement(arguments)) = parse(line) else { panic!() };
        assert_eq!(replacement_request(*arguments).wanted, Some(wanted));
    }
}
