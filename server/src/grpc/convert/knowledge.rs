//! What is known of sizes, and the fit of two parts.

use super::common::{class, fit_class, length, requirement};
use super::standards::{problem, ring_class, trace};
use crate::app::fits::Doubt;
use crate::app::pair::{self, JudgeFit, JudgedFit, Register, SizeKnowledge};
use crate::app::{Error, View};
use crate::grpc::check::Check;
use crate::grpc::wire_enum::WireEnum;

use tenths_domain::verdict::DecisionRule;
use tenths_proto::v1 as pb;
use tenths_proto::v1::fit_requirement::Kind as Required;
use tenths_proto::v1::size_knowledge::Kind;

/// What is known of one size; none only if refused.
pub fn knowledge(
    check: &mut Check,
    field: &str,
    wire: Option<&pb::SizeKnowledge>,
) -> Option<SizeKnowledge> {
    match wire.and_then(|wire| wire.kind.as_ref()) {
        Some(Kind::Measured(measured)) => read(check, &format!("{field}.measured"), measured),
        Some(Kind::Limits(limits)) => {
            let at = format!("{field}.limits.");
            let (limits, _) =
                super::common::limits(check, &at, limits.lower.as_ref(), limits.upper.as_ref())?;
            Some(SizeKnowledge::Limits(limits))
        }
        Some(Kind::Bound(bound)) => {
            let at = |name: &str| format!("{field}.bound.{name}");
            let at_least = check.optional_length(&at("at_least"), bound.at_least.as_ref());
            let at_most = check.optional_length(&at("at_most"), bound.at_most.as_ref());
            Some(SizeKnowledge::Bound {
                at_least: at_least.map(|entry| entry.length),
                at_most: at_most.map(|entry| entry.length),
            })
        }
        Some(Kind::PieceFeature(place)) => Some(SizeKnowledge::Piece {
            tag: check.tag(&format!("{field}.piece_feature.piece_tag"), &place.piece_tag),
            feature: check.feature_name(&format!("{field}.piece_feature.feature"), &place.feature),
        }),
        Some(Kind::ToleranceClass(text)) => {
            let field = format!("{field}.tolerance_class");
            if text.is_empty() {
                check.refuse(&field, "it is empty; a class such as k5 or H7 is required");
            }
            class(check, &field, text)?.map(SizeKnowledge::Class)
        }
        Some(Kind::RingClass(text)) => {
            Some(SizeKnowledge::Ring(ring_class(check, &format!("{field}.ring_class"), text)))
        }
        Some(Kind::InchFitClass(text)) => {
            let class = fit_class(check, &format!("{field}.inch_fit_class"), text)?;
            Some(SizeKnowledge::InchFit(class))
        }
        None => {
            check.refuse(field, "it is not given; say how the size is known");
            None
        }
    }
}

fn read(check: &mut Check, field: &str, wire: &pb::MeasuredSize) -> Option<SizeKnowledge> {
    let min = check.length(&format!("{field}.min"), wire.min.as_ref());
    let max = match &wire.max {
        Some(max) => check.length(&format!("{field}.max"), Some(max)),
        None => min.clone(),
    };
    let gauge = check.optional_tag(&format!("{field}.gauge_tag"), &wire.gauge_tag);
    let given = wire.expanded_uncertainty.as_ref();
    let uncertainty = check.optional_length(&format!("{field}.expanded_uncertainty"), given);
    let doubt = match (gauge, uncertainty) {
        (Some(_), Some(_)) => {
            let problem = "a gauge and an uncertainty are both given; only one is allowed";
            check.refuse(&format!("{field}.gauge_tag"), problem);
            return None;
        }
        (Some(gauge), None) => Doubt::Gauge(gauge),
        (None, Some(uncertainty)) => Doubt::Uncertainty(uncertainty.length),
        (None, None) if given.is_some() => return None,
        (None, None) => Doubt::LastPlace,
    };
    let (min, max) = (min?, max?);
    if min.length > max.length {
        check.refuse(&format!("{field}.min"), format!("{min} is above the largest reading, {max}"));
        return None;
    }
    Some(SizeKnowledge::Measured { min, max, doubt })
}

/// Two parts and their fit.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn judge_fit(wire: &pb::JudgeFitRequest) -> Result<JudgeFit, Error> {
    let mut check = Check::new();
    let nominal = check.optional_length("nominal", wire.nominal.as_ref());
    let internal = knowledge(&mut check, "internal", wire.internal.as_ref());
    let external = knowledge(&mut check, "external", wire.external.as_ref());
    let requirement = requirement(&mut check, "requirement", wire.requirement.as_ref());
    let rule = check.optional_enum("rule", wire.rule).unwrap_or(DecisionRule::FullGuardBand);
    let required = wire.requirement.as_ref().and_then(|one| one.kind.as_ref());
    if let (Some(by), None) = (required.and_then(by_nominal), &wire.nominal) {
        check.refuse("nominal", format!("it is not given; {by} needs the nominal size"));
    }
    let (Some(internal), Some(external), Some((requirement, _))) =
        (internal, external, requirement)
    else {
        return Err(check.into_error());
    };
    check.finish()?;
    Ok(JudgeFit { nominal, internal, external, requirement, rule })
}

/// What of a requirement needs the nominal size.
const fn by_nominal(kind: &Required) -> Option<&'static str> {
    match kind {
        Required::ClassPair(_) => Some("a class pair"),
        Required::InchFitClass(_) => Some("an inch fit class"),
        Required::Running(_) => Some("a running clearance rule"),
        Required::Clearance(_) => None,
    }
}

/// A judged fit, outward.
pub fn judged_fit(fit: JudgedFit) -> pb::JudgeFitResponse {
    let unit = fit.unit;
    pb::JudgeFitResponse {
        // An end that a one-sided bound leaves open is no number.
        clearance_min: (!fit.found.open.below).then(|| length(fit.found.clearance_min, unit)),
        clearance_max: (!fit.found.open.above).then(|| length(fit.found.clearance_max, unit)),
        required_min: Some(length(fit.window.min, unit)),
        required_max: Some(length(fit.window.max, unit)),
        fit_kind: fit.window.kind().as_str().to_owned(),
        expanded_uncertainty: Some(length(fit.found.expanded_uncertainty, unit)),
        verdict: Some(pb::Verdict {
            text: fit.found.words(),
            ..super::common::verdict(fit.found.judgement)
        }),
        rule: fit.found.rule.to_wire(),
        measure_next: fit.measure_next,
        traces: fit.traces.into_iter().map(trace).collect(),
        decision: fit.found.decision.to_wire(),
        decision_text: fit.found.rule.words(fit.found.decision),
        probability_is_at_most: fit.found.is_probability_at_most(),
        internal_basis: fit.internal.to_wire(),
        external_basis: fit.external.to_wire(),
        notes: fit.notes,
    }
}

/// The fits of many questions, each with its own answer or problem.
///
/// # Errors
/// A database that does not answer.
pub async fn fit_answers(
    view: View<'_>,
    questions: Vec<pb::JudgeFitRequest>,
) -> Result<Vec<pb::FitAnswer>, Error> {
    let register = Register::of(view).await?;
    let mut answers = Vec::with_capacity(questions.len());
    for question in &questions {
        let judged = match judge_fit(question) {
            Ok(order) => pair::judge_fit(view, &order, &register).await,
            Err(error) => Err(error),
        };
        answers.push(match judged {
            Ok(fit) => pb::FitAnswer { fit: Some(judged_fit(fit)), problem: String::new() },
            Err(error @ (Error::Storage(_) | Error::Io { .. })) => return Err(error),
            Err(error) => pb::FitAnswer { fit: None, problem: problem(&error) },
        });
    }
    Ok(answers)
}
