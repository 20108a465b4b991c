//! An assessment as a person reads it: the proposal, the figures, the profile, the findings and
//! the reasons, all as the server gave them.

use crate::lines::hanging;
use crate::output::cell::{length_text, range_text};
use crate::output::table::Rows;
use crate::profile;
use crate::words::word;
use std::fmt::Write;
use tenths_domain::units::Unit;
use tenths_proto::v1::{
    AssessPieceResponse, DecisionRule, Disposition, FeatureAssessment, FeatureKind, Finding,
    Length, WearBasis,
};

/// The report on every feature of a piece, and what is proposed for the whole.
pub(crate) fn of_piece(answer: &AssessPieceResponse, unit: Option<Unit>, columns: usize) -> String {
    let mut text = String::new();
    for assessment in &answer.assessments {
        text.push_str(&of_feature(assessment, unit, columns));
        text.push('\n');
    }
    let tag = answer.assessments.first().map_or("piece", |assessment| &assessment.piece_tag);
    push(&mut text, &format!("{tag}: proposed {}", disposition(answer.disposition())));
    if !answer.unmeasured_features.is_empty() {
        let features = answer.unmeasured_features.join(", ");
        text.push_str(&hanging("not measured: ", &features, 2, columns));
    }
    text
}

/// The report on one feature.
pub(crate) fn of_feature(
    assessment: &FeatureAssessment,
    unit: Option<Unit>,
    columns: usize,
) -> String {
    let kind = word(assessment.kind().as_str_name(), "FEATURE_KIND_");
    let kind = if assessment.kind() == FeatureKind::Unspecified {
        String::new()
    } else {
        format!(" ({kind})")
    };
    let mut text = String::new();
    push(
        &mut text,
        &format!(
            "{} {}{kind}: proposed {}",
            assessment.piece_tag,
            assessment.feature,
            disposition(assessment.disposition())
        ),
    );
    for (name, figure) in figures(assessment, unit) {
        let label = format!("  {name:<13} ");
        text.push_str(&hanging(&label, &figure, label.len(), columns));
    }
    let drawing = profile::drawn(assessment, unit);
    if !drawing.is_empty() {
        let _ = write!(text, "\n{drawing}");
    }
    if !assessment.findings.is_empty() {
        let _ = write!(text, "\n{}", findings(&assessment.findings, unit).aligned(columns));
    }
    // The reasons hold the findings' sentences; in the table they would only make it too wide.
    for reason in &assessment.reasons {
        text.push_str(&hanging("- ", reason, 2, columns));
    }
    text
}

/// The figures that the server gave, by name; absent ones are left out.
fn figures(assessment: &FeatureAssessment, unit: Option<Unit>) -> Vec<(&'static str, String)> {
    let shown = |length: &Option<Length>| {
        length.as_ref().map(|length| length_text(length, unit)).unwrap_or_default()
    };
    let range = |lower, upper| range_text(&shown(lower), &shown(upper));
    let against = match assessment.wear_basis() {
        WearBasis::Unspecified => "",
        WearBasis::ReferenceStation => "against the reference station",
        WearBasis::Nominal => "against nominal",
    };
    let limits = range(&assessment.limit_lower, &assessment.limit_upper);
    let figures = [
        ("nominal", with(shown(&assessment.nominal), &assessment.nominal_source)),
        ("limits", with(limits, &assessment.limit_source)),
        ("measured", with(range(&assessment.min, &assessment.max), "at 20 C")),
        ("mean", shown(&assessment.mean)),
        ("out-of-round", shown(&assessment.out_of_round)),
        ("taper", shown(&assessment.taper)),
        ("wear", with(shown(&assessment.wear), against)),
        ("wear limit", shown(&assessment.wear_limit)),
        ("uncertainty", with(shown(&assessment.expanded_uncertainty), "k=2")),
        ("gauges", assessment.gauge_tags.join(", ")),
        ("judged by", rule(assessment.rule())),
    ];
    figures.into_iter().filter(|(_, figure)| !figure.is_empty()).collect()
}

fn with(figure: String, source: &str) -> String {
    if figure.is_empty() || source.is_empty() { figure } else { format!("{figure} ({source})") }
}

/// The decision rule; nothing where the server named none.
fn rule(rule: DecisionRule) -> String {
    match rule {
        DecisionRule::Unspecified => String::new(),
        known => word(known.as_str_name(), "DECISION_RULE_"),
    }
}

fn findings(findings: &[Finding], unit: Option<Unit>) -> Rows {
    let shown = |length: &Option<Length>| {
        length.as_ref().map(|length| length_text(length, unit)).unwrap_or_default()
    };
    let row = |finding: &Finding| {
        vec![
            finding.criterion.clone(),
            shown(&finding.measured),
            shown(&finding.limit),
            if finding.within { "yes" } else { "no" }.to_owned(),
            finding.verdict.as_ref().map(|verdict| verdict.text.clone()).unwrap_or_default(),
        ]
    };
    let headings = ["compared", "measured", "limit", "within", "verdict"];
    Rows {
        headings: headings.map(str::to_owned).to_vec(),
        rows: findings.iter().map(row).collect(),
        ..Rows::default()
    }
}

fn disposition(disposition: Disposition) -> String {
    match disposition {
        Disposition::Unspecified => "nothing".to_owned(),
        known => word(known.as_str_name(), "DISPOSITION_").replace('_', " "),
    }
}

fn push(text: &mut String, line: &str) {
    text.push_str(line.trim_end());
    text.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;
    use tenths_proto::v1::{LengthUnit, StationSummary, Verdict};

    fn inch(value: &str, nm: i64) -> Option<Length> {
        Some(Length { value: value.into(), unit: LengthUnit::In.into(), nm })
    }

    fn assessment() -> FeatureAssessment {
        let station = |name: &str, value: &str, nm| StationSummary {
            station: name.into(),
            min: inch(value, nm),
            max: inch(value, nm),
            mean: inch(value, nm),
            reference: name == "R",
        };
        FeatureAssessment {
            piece_tag: "P-7".into(),
            feature: "journal-c".into(),
            kind: FeatureKind::Journal.into(),
            nominal: inch("0.9380", 23_825_200),
            nominal_source: "reference station R".into(),
            wear: inch("0.0030", 76_200),
            wear_basis: WearBasis::ReferenceStation.into(),
            wear_limit: inch("0.0020", 50_800),
            stations: vec![station("R", "0.938", 23_825_200), station("C", "0.935", 23_749_000)],
            findings: vec![Finding {
                criterion: "wear".into(),
                measured: inch("0.0030", 76_200),
                limit: inch("0.0020", 50_800),
                within: false,
                verdict: Some(Verdict { text: "proven out".into(), ..Default::default() }),
                text: "worn past the limit".into(),
            }],
            disposition: Disposition::Recondition.into(),
            reasons: vec!["wear is past the limit".into()],
            rule: DecisionRule::Iso1425312013.into(),
            ..Default::default()
        }
    }

    #[test]
    fn a_report_reads_from_the_proposal_to_its_reasons() {
        let answer = AssessPieceResponse {
            assessments: vec![assessment()],
            disposition: Disposition::HoldForDecision.into(),
            unmeasured_features: vec!["seat-a".into()],
            ..Default::default()
        };
        let expected = "\
P-7 journal-c (journal): proposed recondition
  nominal       0.9380 in (reference station R)
  wear          0.0030 in (against the reference station)
  wear limit    0.0020 in
  judged by     iso_14253_1_2013

  R*                                                  o 0.9380
  C  o                                                | 0.9350
     0.9350                                      0.9380 in
     o smallest, largest   | nominal   * does not wear

compared  measured   limit      within  verdict
wear      0.0030 in  0.0020 in  no      proven out
- wear is past the limit

P-7: proposed hold for decision
not measured: seat-a
";
        assert_eq!(of_piece(&answer, None, 100), expected);
    }

    #[test]
    fn another_unit_changes_the_numbers_only() {
        let report = of_feature(&assessment(), Some(Unit::Millimetre), 100);
        assert!(report.contains("wear          0.0762 mm (against"), "{report}");
        assert!(!report.contains(" in\n"), "{report}");
    }
}
