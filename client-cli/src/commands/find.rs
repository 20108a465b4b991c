//! `tenths find ...`: what in stock fits a measured part.

use crate::args::{FindCommand, FindMate, Mate, Requirement};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::entry::lengths;
use crate::failure::Failure;
use crate::lines::hanging;
use crate::output::Format;
use crate::output::cell::{length_text, range_text};
use tenths_domain::units::Unit;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::fits_service_client::FitsServiceClient;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::{self, FeatureKind, ItemKind};

pub(crate) async fn run(session: &mut Session, command: FindCommand) -> Result<(), Failure> {
    let (sought, arguments) = match command {
        FindCommand::Bearing(arguments) => (ItemKind::RollingBearing, arguments),
        FindCommand::Bushing(arguments) => (ItemKind::Bushing, arguments),
        FindCommand::Shaft(arguments) => (ItemKind::Shaft, arguments),
        FindCommand::Housing(arguments) => (ItemKind::Housing, arguments),
    };
    let request = find_request(sought, arguments, &session.context)?;
    let mut answer = rpc!(session, FitsServiceClient.find_fit(request))?;
    session.printer.notes("note", &answer.notes)?;
    let shown = i64::try_from(answer.fits.len()).unwrap_or(i64::MAX);
    if answer.fits_total > shown {
        let more = format!("{} fit in all; see more with --fits", answer.fits_total);
        session.printer.notes("note", &[more])?;
    }
    if session.printer.format == Format::Table {
        let headline = headline(&mut answer, session.context.unit, session.printer.columns);
        session.printer.text(&headline)?;
    }
    session.printer.rows(&answer, &["fits", "misses"])
}

/// What was judged, and what it had to be of the first listed. That requirement is taken out of
/// the answer wherever it stands, so that a row has one only where it differs.
fn headline(answer: &mut v1::FindFitResponse, unit: Option<Unit>, columns: usize) -> String {
    let misses = answer.misses.iter_mut().filter_map(|miss| miss.fit.as_mut());
    let mut listed: Vec<&mut v1::Fit> = answer.fits.iter_mut().chain(misses).collect();
    let requirement = |fit: &v1::Fit| {
        (fit.required_min.clone(), fit.required_max.clone(), fit.requirement_source.clone())
    };
    let Some(common) = listed.first().map(|fit| requirement(fit)) else { return String::new() };
    for fit in listed.iter_mut().filter(|fit| requirement(fit) == common) {
        (fit.required_min, fit.required_max) = (None, None);
        fit.requirement_source.clear();
    }
    let (least, most, source) = common;
    let mut lines = String::new();
    let mut line = |label: &str, range: String, beside: String| {
        if !range.is_empty() {
            let beside = if beside.is_empty() { beside } else { format!(" ({beside})") };
            lines += &hanging(&format!("{label}: "), &format!("{range}{beside}"), 2, columns);
        }
    };
    let shown = |length: Option<&v1::Length>| {
        length.map(|length| length_text(length, unit)).unwrap_or_default()
    };
    let uncertainty = shown(answer.expanded_uncertainty.as_ref());
    let doubt = if uncertainty.is_empty() { uncertainty } else { format!("U {uncertainty}, k=2") };
    let (smallest, largest) = (answer.measured_min.as_ref(), answer.measured_max.as_ref());
    let size = if smallest == largest {
        shown(smallest)
    } else {
        range_text(&shown(smallest), &shown(largest))
    };
    line("measured", size, doubt);
    line("required", range_text(&shown(least.as_ref()), &shown(most.as_ref())), source);
    lines
}

fn find_request(
    sought: ItemKind,
    arguments: FindMate,
    context: &Context,
) -> Result<v1::FindFitRequest, Failure> {
    let (size, kind) = measured(arguments.part, context)?;
    let uncertainty = arguments.uncertainty.as_deref();
    Ok(v1::FindFitRequest {
        measured: Some(v1::MeasuredPart {
            size: Some(size),
            kind: kind.into(),
            gauge_tag: arguments.gauge.unwrap_or_default(),
            expanded_uncertainty: context.size_if_given("--uncertainty", uncertainty)?,
        }),
        sought: sought.into(),
        requirement: Some(requirement(arguments.requirement, context)?),
        close_in: close_in(
            arguments.close_in_min.as_deref(),
            arguments.close_in_max.as_deref(),
            context,
        )?,
        fits_max: arguments.fits,
        misses_max: arguments.misses,
    })
}

/// What was measured, and what kind of place it is.
fn measured(part: Mate, context: &Context) -> Result<(Size, FeatureKind), Failure> {
    if let (Some(piece_tag), Some(feature)) = (part.piece, part.feature) {
        let piece_feature = v1::PieceFeature { piece_tag, feature };
        return Ok((Size::PieceFeature(piece_feature), FeatureKind::Unspecified));
    }
    let sizes = [
        ("--seat", part.seat, FeatureKind::RollingSeat),
        ("--journal", part.journal, FeatureKind::Journal),
        ("--extension", part.extension, FeatureKind::ShaftExtension),
        ("--seal-land", part.seal_land, FeatureKind::SealLand),
        ("--housing", part.housing, FeatureKind::HousingBore),
        ("--bore", part.bore, FeatureKind::Bore),
        ("--size", part.size, part.kind.unwrap_or_default()),
    ];
    let given = sizes.into_iter().find_map(|(flag, text, kind)| Some((flag, text?, kind)));
    let (flag, text, kind) = given.ok_or_else(|| {
        Failure::Usage("say what was measured: --seat, --journal, --piece, ...".to_owned())
    })?;
    Ok((Size::Value(context.size(flag, &text)?), kind))
}

fn requirement(requirement: Requirement, context: &Context) -> Result<v1::FitRequirement, Failure> {
    let kind = match requirement.clearance {
        Some(text) => {
            let (min, max) = lengths::range("--clearance", &text, context.unit)?;
            Kind::Clearance(v1::ClearanceLimits { min: Some(min), max: Some(max) })
        }
        None => Kind::ClassPair(v1::ClassPair {
            hole_class: requirement.hole_class.unwrap_or_default(),
            shaft_class: requirement.class.unwrap_or_default(),
        }),
    };
    Ok(v1::FitRequirement { kind: Some(kind) })
}

fn close_in(
    min: Option<&str>,
    max: Option<&str>,
    context: &Context,
) -> Result<Option<v1::CloseIn>, Failure> {
    let (Some(min), Some(max)) = (min, max) else { return Ok(None) };
    // Nothing at all is a close-in too, so these are read like differences.
    Ok(Some(v1::CloseIn {
        min: Some(lengths::signed("--close-in-min", min, context.unit)?),
        max: Some(lengths::signed("--close-in-max", max, context.unit)?),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;
    use crate::commands::reach::run_line;
    use crate::shop_double::ShopDouble;

    fn request(line: &str) -> v1::FindFitRequest {
        let Command::Find(command) = parse(line) else { panic!() };
        let (FindCommand::Bearing(arguments)
        | FindCommand::Bushing(arguments)
        | FindCommand::Shaft(arguments)
        | FindCommand::Housing(arguments)) = command;
        find_request(ItemKind::Bushing, arguments, &Context::of_mara()).unwrap()
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
        let limits =
            v1::ClearanceLimits { min: length("0.0011", inch), max: length("0.0023", inch) };
        assert_eq!(request.requirement.unwrap().kind, Some(Kind::Clearance(limits)));
        let close_in = v1::CloseIn { min: length("0", inch), max: length("0.0008", inch) };
        assert_eq!(request.close_in, Some(close_in));
        assert_eq!((request.fits_max, request.misses_max), (3, 0));
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
        let mm = |nm: i64| {
            Some(v1::Length { nm, value: String::new(), unit: v1::LengthUnit::Mm.into() })
        };
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
            fits_total: 2,
            measured_min: Some(v1::Length { nm: 25_006_300, ..Default::default() }),
            measured_max: Some(v1::Length { nm: 25_006_300, ..Default::default() }),
            expanded_uncertainty: Some(v1::Length { nm: 4_600, ..Default::default() }),
            ..Default::default()
        };
        double.answer("FitsService/FindFit", &answer);
        let server = double.serve().await;
        let line = "find bearing --piece P-1 --feature seat-a --class k5";
        let (_, table, _) = run_line(&server, Format::Table, line).await;
        assert_eq!(
            table,
            "\
measured: 25.0063 mm (U 0.0046 mm, k=2)
required: -0.0210..-0.0020 mm (k5)
fits:
what  item      clearance            verdict
L-1   BRG-6205  -0.0163..-0.0063 mm  proven in
    bore 24.9900..25.0000 mm; free: 2
L-2   BRG-6205  -0.0163..-0.0063 mm  proven in
    bore 24.9900..25.0000 mm; required: -0.0250..-0.0020 mm; by: k5 over 30 mm; free: 2

misses:
what  item      clearance            misses_by  side
L-3   BRG-6205  -0.0163..-0.0063 mm  0.0040 mm  too_loose
    bore 24.9900..25.0000 mm; free: 2; act: build the shaft up by 0.0040 mm or more, on diameter,
    and grind to size
"
        );
        let (_, csv, _) = run_line(&server, Format::Csv, line).await;
        assert!(csv.contains(",-0.0210..-0.0020 mm,proven in,2,"), "{csv}");
        let (_, json, _) = run_line(&server, Format::Json, line).await;
        assert!(json.contains("\"requirement_source\": \"k5\""), "{json}");
    }
}
