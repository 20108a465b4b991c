//! `tenths fit`: the fit of two parts.

use super::bulk::{self, Asked, Questions, um, yes_or_no};
use crate::args::{Fit, FitRequired, Known};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::entry::lengths;
use crate::failure::Failure;
use std::path::Path;
use tenths_domain::units::Unit;
use tenths_proto::v1;
use tenths_proto::v1::fit_requirement::Kind as Required;
use tenths_proto::v1::fits_service_client::FitsServiceClient;
use tenths_proto::v1::size_knowledge::Kind;

pub(crate) async fn run(session: &mut Session, arguments: Fit) -> Result<(), Failure> {
    if let Some(path) = &arguments.from {
        return bulk_fits(session, path, arguments.rule.unwrap_or_default()).await;
    }
    let explain = arguments.explain;
    let request = fit_request(arguments, &session.context)?;
    let answer = rpc!(session, FitsServiceClient.judge_fit(request))?;
    session.printer.traced(&answer, explain)
}

fn fit_request(arguments: Fit, context: &Context) -> Result<v1::JudgeFitRequest, Failure> {
    let required = requirement(arguments.required, context)?;
    let side = |known: Known, unmeasured: Option<Kind>| {
        let flag = known.flag;
        let kind = knowledge(known, context)?.or(unmeasured);
        let kind = kind.ok_or_else(|| {
            Failure::Usage(format!(
                "say what is known of the {flag}: --{flag}, --{flag}-limits, --{flag}-class, ..."
            ))
        })?;
        Ok::<_, Failure>(v1::SizeKnowledge { kind: Some(kind) })
    };
    let (bore, shaft) = unmeasured(&required).unzip();
    Ok(v1::JudgeFitRequest {
        nominal: context.size_if_given("--nominal", arguments.nominal.as_deref())?,
        internal: Some(side(arguments.bore.into(), bore)?),
        external: Some(side(arguments.shaft.into(), shaft)?),
        requirement: Some(v1::FitRequirement { kind: Some(required) }),
        rule: arguments.rule.unwrap_or_default().into(),
    })
}

/// What the fit must be, as its flags say it.
fn requirement(required: FitRequired, context: &Context) -> Result<Required, Failure> {
    if let Some(text) = &required.clearance {
        let (min, max) = lengths::range("--clearance", text, context.unit)?;
        return Ok(Required::Clearance(v1::ClearanceLimits { min: Some(min), max: Some(max) }));
    }
    if let Some(rule) = required.running {
        let tolerance = required.running_tolerance.as_deref();
        return Ok(Required::Running(v1::RunningRequirement {
            rule: rule.into(),
            tolerance: context.size_if_given("--running-tolerance", tolerance)?,
        }));
    }
    let class = required.class.unwrap_or_default();
    by_class(&class, required.hole_class.unwrap_or_default()).map_err(Failure::Usage)
}

/// What a class names: an inch fit, or a pair. No letters of the one are letters of the other.
fn by_class(class: &str, hole_class: String) -> Result<Required, String> {
    if !is_inch_fit(class) {
        return pair(class, hole_class).map(Required::ClassPair);
    }
    if hole_class.is_empty() {
        return Ok(Required::InchFitClass(class.to_owned()));
    }
    Err(format!("--class {class} sets both sides; leave out --hole-class {hole_class}"))
}

/// Whether a class is written as one of ANSI B4.1; the server knows which there are.
pub(crate) fn is_inch_fit(class: &str) -> bool {
    let families = ["RC", "LC", "LT", "LN", "FN"];
    class
        .get(..2)
        .is_some_and(|start| families.iter().any(|family| family.eq_ignore_ascii_case(start)))
}

/// The kind of knowledge that a side's class is.
fn known_class(class: String) -> Kind {
    if is_inch_fit(&class) { Kind::InchFitClass(class) } else { Kind::ToleranceClass(class) }
}

/// What a side is that nobody measured: within its class, or a bearing's ring where it has none.
fn unmeasured(required: &Required) -> Option<(Kind, Kind)> {
    let pair = match required {
        Required::ClassPair(pair) => pair,
        Required::InchFitClass(class) => {
            let side = || Kind::InchFitClass(class.clone());
            return Some((side(), side()));
        }
        Required::Clearance(_) | Required::Running(_) => return None,
    };
    let within = |class: &str| match class {
        "" => Kind::RingClass("normal".to_owned()),
        class => Kind::ToleranceClass(class.to_owned()),
    };
    Some((within(&pair.hole_class), within(&pair.shaft_class)))
}

/// The pair that `H7/k6`, `k5` or `H7` names; a hole's class is written in capitals.
fn pair(class: &str, hole_class: String) -> Result<v1::ClassPair, String> {
    let (hole, shaft) = match class.split_once('/') {
        Some((hole, shaft)) => (hole.trim(), shaft.trim()),
        None if class.starts_with(|first: char| first.is_ascii_uppercase()) => (class, ""),
        None => ("", class),
    };
    if !hole.is_empty() && !hole_class.is_empty() {
        return Err(format!("--class {class} and --hole-class {hole_class} both name the hole's"));
    }
    let hole_class = if hole.is_empty() { hole_class } else { hole.to_owned() };
    Ok(v1::ClassPair { hole_class, shaft_class: shaft.to_owned() })
}

/// What is known of a size, as its flags say it; nothing if none is given.
pub(crate) fn knowledge(known: Known, context: &Context) -> Result<Option<Kind>, Failure> {
    let flag = |suffix: &str| format!("--{}{suffix}", known.flag);
    if let Some(text) = &known.size {
        let (min, max) = readings(&flag(""), text, context)?;
        let uncertainty = known.uncertainty.as_deref();
        return Ok(Some(Kind::Measured(v1::MeasuredSize {
            min: Some(min),
            max,
            expanded_uncertainty: context.size_if_given(&flag("-uncertainty"), uncertainty)?,
            gauge_tag: known.gauge.unwrap_or_default(),
        })));
    }
    if let Some(text) = &known.limits {
        let (lower, upper) = lengths::range(&flag("-limits"), text, context.unit)?;
        let range = v1::SizeRange { lower: Some(lower), upper: Some(upper) };
        return Ok(Some(Kind::Limits(range)));
    }
    if known.at_least.is_some() || known.at_most.is_some() {
        return Ok(Some(Kind::Bound(v1::BoundedSize {
            at_least: context.size_if_given(&flag("-at-least"), known.at_least.as_deref())?,
            at_most: context.size_if_given(&flag("-at-most"), known.at_most.as_deref())?,
        })));
    }
    if let Some(text) = &known.piece {
        let Some((piece_tag, feature)) = text.split_once('/') else {
            let flag = flag("-piece");
            return Err(Failure::Usage(format!(
                "{flag}: write TAG/FEATURE, such as P-104/seat-a, instead of {text:?}"
            )));
        };
        let (piece_tag, feature) = (piece_tag.to_owned(), feature.to_owned());
        return Ok(Some(Kind::PieceFeature(v1::PieceFeature { piece_tag, feature })));
    }
    let class = known.class.map(known_class);
    Ok(class.or_else(|| known.ring.map(Kind::RingClass)))
}

/// One reading, or the smallest and the largest of several.
fn readings(
    flag: &str,
    text: &str,
    context: &Context,
) -> Result<(v1::Length, Option<v1::Length>), Failure> {
    if text.contains("..") {
        let (min, max) = lengths::range(flag, text, context.unit)?;
        return Ok((min, Some(max)));
    }
    Ok((context.size(flag, text)?, None))
}

const ASKED: [&str; 7] =
    ["nominal", "unit", "bore", "bore_uncertainty", "shaft", "shaft_uncertainty", "class"];

const COLUMNS: [&str; 14] = [
    "clearance_min",
    "clearance_max",
    "required_min",
    "required_max",
    "fit_kind",
    "uncertainty",
    "verdict",
    "probability_in",
    "measure_next",
    "unconfirmed",
    "decision",
    "probability_is_at_most",
    "bore_is",
    "shaft_is",
];

async fn bulk_fits(
    session: &mut Session,
    path: &Path,
    rule: v1::DecisionRule,
) -> Result<(), Failure> {
    let optional = ["bore_uncertainty", "shaft_uncertainty"];
    let questions = Questions::read(path, &ASKED, &optional)?;
    bulk::run(
        session,
        &questions,
        &COLUMNS,
        |row, unit| row_request(row, unit, rule),
        async |session, questions| {
            let request = v1::BatchJudgeFitsRequest { questions };
            let answer = rpc!(session, FitsServiceClient.batch_judge_fits(request))?;
            Ok(answer.answers.into_iter().map(fit_columns).collect())
        },
    )
    .await
}

fn row_request(
    row: &Asked<'_>,
    unit: Option<Unit>,
    rule: v1::DecisionRule,
) -> Result<v1::JudgeFitRequest, String> {
    let required = by_class(row.at("class"), String::new())?;
    let side = |column: &str, uncertainty: &str, unmeasured: Option<Kind>| {
        let text = row.at(column);
        let expanded_uncertainty = row.size_if_given(uncertainty, unit)?;
        if text.is_empty() {
            return match expanded_uncertainty {
                Some(_) => Err(format!("{uncertainty} is given, but no {column}")),
                None => Ok(v1::SizeKnowledge { kind: unmeasured }),
            };
        }
        let (min, max) = match text.split_once("..") {
            Some((min, max)) => {
                (row.length(column, min, unit)?, Some(row.length(column, max, unit)?))
            }
            None => (row.length(column, text, unit)?, None),
        };
        let measured =
            v1::MeasuredSize { min: Some(min), max, expanded_uncertainty, ..Default::default() };
        Ok(v1::SizeKnowledge { kind: Some(Kind::Measured(measured)) })
    };
    if row.at("class").is_empty() {
        return Err("class is empty".to_owned());
    }
    let (bore, shaft) = unmeasured(&required).unzip();
    Ok(v1::JudgeFitRequest {
        nominal: Some(row.size("nominal", unit)?),
        internal: Some(side("bore", "bore_uncertainty", bore)?),
        external: Some(side("shaft", "shaft_uncertainty", shaft)?),
        requirement: Some(v1::FitRequirement { kind: Some(required) }),
        rule: rule.into(),
    })
}

fn fit_columns(answer: v1::FitAnswer) -> bulk::Answered {
    let fit = answer.fit.unwrap_or_default();
    let (bore, shaft) = (basis(fit.internal_basis()), basis(fit.external_basis()));
    let verdict = fit.verdict.unwrap_or_default();
    bulk::answered(answer.problem, || {
        let decision = fit.decision_text.clone();
        let sizes = [&fit.clearance_min, &fit.clearance_max, &fit.required_min, &fit.required_max];
        let mut columns: Vec<String> = sizes.iter().map(|size| um(size.as_ref())).collect();
        columns.extend([
            fit.fit_kind,
            um(fit.expanded_uncertainty.as_ref()),
            verdict.text,
            verdict.probability_in.to_string(),
            fit.measure_next,
            yes_or_no(fit.traces.iter().any(|trace| trace.unconfirmed)),
            decision,
            yes_or_no(fit.probability_is_at_most),
            bore.to_owned(),
            shaft.to_owned(),
        ]);
        columns
    })
}

/// What is behind a size, in words.
const fn basis(basis: v1::SizeBasis) -> &'static str {
    match basis {
        v1::SizeBasis::Unspecified => "",
        v1::SizeBasis::Measured => "measured",
        v1::SizeBasis::Toleranced => "unmeasured, taken within its limits",
        v1::SizeBasis::Bound => "bounded by a fixed gauge",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;

    fn request(line: &str) -> Result<v1::JudgeFitRequest, Failure> {
        let Command::Fit(arguments) = parse(line) else { panic!() };
        fit_request(*arguments, &Context::of_mara())
    }

    fn sides(line: &str) -> [Kind; 2] {
        let request = request(line).unwrap();
        [request.internal, request.external].map(|side| side.unwrap().kind.unwrap())
    }

    fn mm(value: &str) -> Option<v1::Length> {
        Some(v1::Length { value: value.into(), unit: v1::LengthUnit::Mm.into(), nm: 0 })
    }

    #[test]
    fn both_sides_measured_and_a_pair() {
        let line = "fit --nominal 25mm --bore 25.003mm --bore-gauge M-07 --shaft \
                    25.008..25.010mm --shaft-uncertainty 0.003mm --class H7/k6 --rule \
                    iso_14253_1_2017";
        let bore =
            v1::MeasuredSize { min: mm("25.003"), gauge_tag: "M-07".into(), ..Default::default() };
        let shaft = v1::MeasuredSize {
            min: mm("25.008"),
            max: mm("25.010"),
            expanded_uncertainty: mm("0.003"),
            ..Default::default()
        };
        assert_eq!(sides(line), [Kind::Measured(bore), Kind::Measured(shaft)]);
        let request = request(line).unwrap();
        assert_eq!(
            (request.nominal.clone(), request.rule()),
            (mm("25"), v1::DecisionRule::Iso1425312017)
        );
        let pair = v1::ClassPair { hole_class: "H7".into(), shaft_class: "k6".into() };
        assert_eq!(request.requirement.unwrap().kind, Some(Required::ClassPair(pair)));
    }

    /// Every way to say what is known of a size.
    #[test]
    fn a_side_is_known_in_many_ways() {
        let bound = |at_least: &str, at_most: Option<&str>| {
            let at_most = at_most.and_then(mm);
            Kind::Bound(v1::BoundedSize { at_least: mm(at_least), at_most })
        };
        for (flags, expected) in [
            ("--bore-at-least 25mm", bound("25", None)),
            ("--bore-at-least 25mm --bore-at-most 25.021mm", bound("25", Some("25.021"))),
            (
                "--bore-limits 25.000..25.021mm",
                Kind::Limits(v1::SizeRange { lower: mm("25.000"), upper: mm("25.021") }),
            ),
            ("--bore-class H7", Kind::ToleranceClass("H7".into())),
            ("--bore-ring 6", Kind::RingClass("6".into())),
            (
                "--bore-piece P-104/bore-a",
                Kind::PieceFeature(v1::PieceFeature {
                    piece_tag: "P-104".into(),
                    feature: "bore-a".into(),
                }),
            ),
        ] {
            let line =
                format!("fit --nominal 25mm {flags} --shaft-class k6 --clearance -0.02..0mm");
            assert_eq!(sides(&line), [expected, Kind::ToleranceClass("k6".into())], "{line}");
        }
    }

    #[test]
    fn a_side_without_a_word_is_within_its_class_or_a_ring() {
        let class = |class: &str| Kind::ToleranceClass(class.into());
        let ring = || Kind::RingClass("normal".into());
        let inch = |class: &str| Kind::InchFitClass(class.into());
        for (flags, expected) in [
            ("--class H7/k6", [class("H7"), class("k6")]),
            ("--class k5", [ring(), class("k5")]),
            ("--class H6", [class("H6"), ring()]),
            ("--hole-class J7", [class("J7"), ring()]),
            ("--hole-class H7 --class g6", [class("H7"), class("g6")]),
            ("--class RC4", [inch("RC4"), inch("RC4")]),
            ("--class fn2 --bore-class H7", [class("H7"), inch("fn2")]),
            ("--bore-class LC5 --shaft-class LC5 --clearance 0..0.1mm", [inch("LC5"), inch("LC5")]),
        ] {
            assert_eq!(sides(&format!("fit --nominal 25mm {flags}")), expected, "{flags}");
        }
    }

    #[test]
    fn what_nothing_says_is_asked_for() {
        for (line, part) in [
            ("fit --clearance 0..0.02mm --bore 25.003mm", "known of the shaft"),
            ("fit --class H7/k6 --hole-class H8 --nominal 25mm", "both name"),
            ("fit --class RC4 --hole-class H8 --nominal 1in", "sets both sides"),
            ("fit --class H7/k6 --nominal 25mm --bore-piece P-104", "TAG/FEATURE"),
            ("fit --class H7/k6 --nominal 25mm --bore 25.003", "--bore: "),
        ] {
            let Err(Failure::Usage(message)) = request(line) else { panic!("{line}") };
            assert!(message.contains(part), "{line}: {message}");
        }
    }
}
