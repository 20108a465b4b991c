//! The values behind an assessment: its limits, its readings, what they come to, and the verdicts.

use super::standards::class_traces;
use super::trace::{Trace, fine, range};
use super::views::AssessmentView;
use std::collections::HashMap;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::GaugeId;
use tenths_domain::item::{Feature, Tolerance};
use tenths_domain::temperature::TemperatureScale;
use tenths_domain::units::{Length, Unit};
use tenths_domain::verdict::{Judgement, Verdict};
use tenths_storage::{AssessmentFinding, NewAssessment, Reading};

/// Where the probability of a finding comes from.
const PROBABILITY: &str =
    "P of the normal distribution about the value, standard deviation U / 2 (JCGM 106:2012, 7)";

/// Every value behind an assessment of one feature, each named with the feature.
pub(crate) fn of(
    view: &AssessmentView,
    judged: &Feature,
    readings: &[Reading],
    gauges: &HashMap<GaugeId, String>,
) -> Vec<Trace> {
    let record = &view.assessment.record;
    let unit = record.text_unit;
    let mut traces = limits(record, judged, unit);
    traces.extend(readings.iter().map(|one| reading(one, gauges, unit)));
    traces.extend(figures(record, unit));
    traces.extend(record.findings.iter().map(|one| finding(one, unit)));
    let guard_band = record.rule.guard_band(record.uncertainty);
    let rule = format!("{}, guard band {}", record.rule, fine(guard_band, unit));
    traces.push(Trace::table("decision rule", rule, record.rule.source(), false));
    for trace in &mut traces {
        trace.what = format!("{}: {}", view.feature, trace.what);
    }
    traces
}

/// What is proposed for the whole piece.
pub(crate) fn of_piece(disposition: Disposition) -> Trace {
    let source = "the worst over its features; of a feature: within its limits as it reads reuse, \
                  beyond one recondition, beyond the recondition limit too scrap, a limit missing \
                  hold for decision (rule of this program)";
    Trace::table("proposed", disposition.as_str().replace('_', " "), source, false)
}

/// The nominal size, the limits that it was judged by, and the table values behind those.
fn limits(record: &NewAssessment, judged: &Feature, unit: Unit) -> Vec<Trace> {
    let nominal = record.nominal.display_in(unit);
    let mut traces = vec![Trace::table("nominal", nominal, &record.nominal_source, false)];
    if let Tolerance::Class(class) = &judged.tolerance {
        traces.extend(class_traces(record.nominal, unit, class).unwrap_or_default());
    }
    let unconfirmed = traces.iter().any(|trace| trace.unconfirmed);
    if let (Some(lower), Some(upper)) = (record.limit_lower, record.limit_upper) {
        let value = range(lower, upper, unit);
        traces.push(Trace::table("limits of size", value, &record.limit_source, unconfirmed));
    }
    let source = match judged.limit_source.as_str() {
        "" => "set for the item; no source is named there",
        source => source,
    };
    for (what, limit) in [
        ("wear limit", record.wear_limit),
        ("out-of-round limit", judged.out_of_round_limit),
        ("taper limit", judged.taper_limit),
        ("recondition limit", judged.recondition_limit),
    ] {
        traces.extend(limit.map(|limit| Trace::table(what, limit.display_in(unit), source, false)));
    }
    traces
}

fn reading(reading: &Reading, gauges: &HashMap<GaugeId, String>, unit: Unit) -> Trace {
    let gauge = gauges.get(&reading.gauge).map_or("", String::as_str);
    let warmth = |what: &str, taken: &Option<(String, TemperatureScale)>| match taken {
        Some((text, scale)) => format!(", {what} at {text} {}", scale.letter()),
        None => String::new(),
    };
    let source = format!(
        "reading {}: {} {} with gauge {gauge}, correction to 20 C {}{}{}; U (k=2) {}",
        reading.id.0,
        reading.value_text,
        reading.value_unit,
        fine(reading.at_20c - reading.value, reading.value_unit),
        warmth("part", &reading.temperature),
        warmth("gauge", &reading.gauge_temperature),
        fine(reading.uncertainty, unit),
    );
    let what = format!("{}{} at 20 C", reading.station, reading.orientation_deg);
    Trace::table(&what, reading.at_20c.display_in(unit), &source, false)
}

/// What the readings come to.
fn figures(record: &NewAssessment, unit: Unit) -> Vec<Trace> {
    let wear = match record.wear_basis.as_str() {
        "reference_station" => {
            "the mean of the reference station and the most worn reading, their difference"
        }
        _ => {
            "the nominal size and the most worn reading, their difference: the making tolerance \
              counts too"
        }
    };
    let but = "of its readings, the reference station left out";
    let form =
        "two-point diameters, repeats of a place averaged (common practice in engine manuals)";
    let figures = [
        ("smallest", Some(record.min), format!("the smallest {but}")),
        ("largest", Some(record.max), format!("the largest {but}")),
        ("mean", Some(record.mean), format!("the mean {but}, rounded to the nanometre")),
        (
            "out-of-round",
            record.out_of_round,
            format!("the greatest difference within one station: {form}"),
        ),
        ("taper", record.taper, format!("the greatest difference along one orientation: {form}")),
        ("wear", record.wear, format!("on diameter: {wear}")),
        (
            "U (k=2) of a size",
            Some(record.uncertainty),
            format!(
                "the largest {but}; each a root sum of squares, k = 2 (JCGM 100:2008, 5.1.2, 6.2.1)"
            ),
        ),
    ];
    let shown = |(what, value, source): (&str, Option<Length>, String)| {
        value.map(|value| Trace::table(what, value.display_in(unit), &source, false))
    };
    figures.into_iter().filter_map(shown).collect()
}

fn finding(finding: &AssessmentFinding, unit: Unit) -> Trace {
    let probability_in = finding.probability_in_ppb as f64 / 1e9;
    let verdict = match finding.verdict.parse::<Verdict>() {
        Ok(verdict) => Judgement { verdict, probability_in }.to_string(),
        Err(_) => finding.verdict.clone(),
    };
    let source = format!(
        "{} against {}; {PROBABILITY}: P {probability_in:.6}",
        finding.measured.display_in(unit),
        finding.limit.display_in(unit)
    );
    let what = format!("verdict on {}", finding.criterion.replace('_', " "));
    Trace::table(&what, verdict, &source, false)
}
