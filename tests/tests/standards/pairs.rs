//! The fit of two parts: how sure it is, by which rule, and what to measure next.

use super::traced;
use prost_types::Timestamp;
use tenths_proto::v1::fit_requirement::Kind as Required;
use tenths_proto::v1::size_knowledge::Kind;
use tenths_proto::v1::*;
use tenths_tests::{Bench, DatabaseKind, Shop, done, inch, length, micrometer, mm, nm};
use tonic_types::StatusExt;

/// A size that was read, good to so many micrometres.
pub(crate) fn measured(min: &str, max: &str, uncertainty_um: &str) -> Option<SizeKnowledge> {
    let size = MeasuredSize {
        min: mm(min),
        max: mm(max),
        expanded_uncertainty: length(uncertainty_um, LengthUnit::Um),
        gauge_tag: String::new(),
    };
    Some(SizeKnowledge { kind: Some(Kind::Measured(size)) })
}

/// A size that is anywhere within limits.
pub(crate) fn within(lower: &str, upper: &str) -> Option<SizeKnowledge> {
    Some(SizeKnowledge {
        kind: Some(Kind::Limits(SizeRange { lower: mm(lower), upper: mm(upper) })),
    })
}

/// A size that fixed gauges bound.
fn bounded(at_least: Option<&str>, at_most: Option<&str>) -> Option<SizeKnowledge> {
    let bound = BoundedSize { at_least: at_least.and_then(mm), at_most: at_most.and_then(mm) };
    Some(SizeKnowledge { kind: Some(Kind::Bound(bound)) })
}

/// The bore of a ring of the normal class.
pub(crate) fn normal_ring() -> Option<SizeKnowledge> {
    Some(SizeKnowledge { kind: Some(Kind::RingClass("normal".to_owned())) })
}

/// Explicit limits of clearance.
pub(crate) fn clearance(min: &str, max: &str) -> Option<FitRequirement> {
    let limits = ClearanceLimits { min: mm(min), max: mm(max) };
    Some(FitRequirement { kind: Some(Required::Clearance(limits)) })
}

/// A bearing's seat of 30 mm, class k5, on a ring that was not measured.
pub(crate) fn seat_under_ring(external: Option<SizeKnowledge>) -> JudgeFitRequest {
    let pair = ClassPair { hole_class: String::new(), shaft_class: "k5".to_owned() };
    JudgeFitRequest {
        nominal: mm("30"),
        internal: normal_ring(),
        external,
        requirement: Some(FitRequirement { kind: Some(Required::ClassPair(pair)) }),
        rule: DecisionRule::Unspecified.into(),
    }
}

async fn judge(shop: &Shop, what: &str, request: JudgeFitRequest) -> JudgeFitResponse {
    done(what, shop.clients().fits().judge_fit(request).await)
}

fn verdict(found: &JudgeFitResponse) -> VerdictKind {
    found.verdict.as_ref().expect("a verdict").kind()
}

fn probability(found: &JudgeFitResponse) -> f64 {
    found.verdict.as_ref().expect("a verdict").probability_in
}

/// k5 at 30 mm is +2..+11 um (ISO 286-2) and the ring +0/-10 um (ISO 492), both from memory: with
/// them, interference of 2..21 um is required. A seat read at +5..+7 um, good to 2 um, has it.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_good_seat_under_a_ring_is_proven_in() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let seat = measured("30.005", "30.007", "2");
    let found = judge(&shop, "seat", seat_under_ring(seat)).await;
    assert_eq!((nm(&found.required_min), nm(&found.required_max)), (-21_000, -2_000));
    assert_eq!((nm(&found.clearance_min), nm(&found.clearance_max)), (-17_000, -5_000));
    assert_eq!(nm(&found.expanded_uncertainty), 2_000);
    assert_eq!(found.fit_kind, "interference");
    assert_eq!(verdict(&found), VerdictKind::ProvenIn);
    assert_eq!(
        found.rule(),
        DecisionRule::Iso1425312013,
        "the full guard band, where none is named"
    );
    assert_eq!(found.measure_next, "", "nothing is left to measure");
    let traces = found.traces;
    // Every step of wear lowers the probability, and the verdict with it.
    let mut last = (VerdictKind::ProvenIn, 2.0);
    for size in ["30.006", "30.004", "30.002", "29.998", "29.990", "29.970"] {
        let found = judge(&shop, size, seat_under_ring(measured(size, size, "2"))).await;
        let now = (verdict(&found), probability(&found));
        assert!(now.0 >= last.0 && now.1 <= last.1, "{size}: {now:?} after {last:?}");
        last = now;
    }
    assert_eq!(last.0, VerdictKind::ProvenOut);
    traced(&traces, &["ISO 492", "ISO 286", "ISO 14253-1"]);
}

/// What was taken because nobody said it, and what looks like a slip of unit, stands beside the answer.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn sizes_without_a_gauge_or_in_another_unit_are_told() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let of = |min: Option<Length>, max: Option<Length>| {
        let size = MeasuredSize { min, max, ..MeasuredSize::default() };
        Some(SizeKnowledge { kind: Some(Kind::Measured(size)) })
    };
    let good = of(mm("30.005"), mm("30.007"));
    let notes = judge(&shop, "no gauge", seat_under_ring(good)).await.notes;
    assert!(notes.iter().any(|note| note.contains("known to ±0.0010 mm")), "{notes:?}");
    assert!(!notes.iter().any(|note| note.contains("was the unit")), "{notes:?}");
    for (what, min, max, unit) in [
        ("inch for millimetre", inch("30.005"), inch("30.005"), "was the unit mm?"),
        ("one end in inches", mm("1.1813"), mm("30.005"), "was the unit in?"),
    ] {
        let notes = judge(&shop, what, seat_under_ring(of(min, max))).await.notes;
        assert!(notes.iter().any(|note| note.contains(unit)), "{what}: {notes:?}");
    }
    let named = judge(&shop, "with U", seat_under_ring(measured("30.005", "30.007", "2"))).await;
    assert!(!named.notes.iter().any(|note| note.contains("no gauge")), "{:?}", named.notes);
}

/// A gauge for outside diameters from 25 to 50 mm.
fn outside_gauge(tag: &str, uncertainty_um: &str) -> Gauge {
    Gauge {
        description: "25-50 mm micrometer".to_owned(),
        resolution: length("0.1", LengthUnit::Um),
        expanded_uncertainty: length(uncertainty_um, LengthUnit::Um),
        side: GaugeSide::External.into(),
        size_min: mm("25"),
        size_max: mm("50"),
        ..micrometer(tag)
    }
}

/// A seat 1 um inside its class, read to 4 um, is not proven. Of the gauges that reach a 30 mm shaft
/// and are fit for use only one is better than 1 um.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_to_measure_next_names_the_gauge_that_can_prove_it() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let bench = Bench::bare(shop.clients());
    let seat = || seat_under_ring(measured("30.003", "30.003", "4"));
    let found = judge(&shop, "empty register", seat()).await;
    assert!(
        !matches!(verdict(&found), VerdictKind::ProvenIn | VerdictKind::ProvenOut),
        "{found:?}"
    );
    assert!(found.measure_next.contains("no gauge in the register"), "{}", found.measure_next);

    bench.gauge(outside_gauge("M-COARSE", "3")).await;
    let mut small = outside_gauge("M-SMALL", "0.2");
    (small.size_min, small.size_max) = (mm("1"), mm("25"));
    bench.gauge(small).await;
    let mut bore = outside_gauge("B-LARGE", "0.2");
    (bore.side, bore.size_min, bore.size_max) = (GaugeSide::Internal.into(), mm("50"), mm("75"));
    bench.gauge(bore).await;
    let mut overdue = outside_gauge("M-OVERDUE", "0.2");
    overdue.calibration_due_time = Some(Timestamp { seconds: 1_600_000_000, nanos: 0 });
    bench.gauge(overdue).await;
    let found = judge(&shop, "none can", seat()).await;
    let next = &found.measure_next;
    assert!(next.contains("no gauge in the register can prove it"), "{next}");
    assert!(!next.contains("M-") && !next.contains("B-"), "no gauge is named: {next}");

    bench.gauge(outside_gauge("M-FINE", "0.5")).await;
    let found = judge(&shop, "one can", seat()).await;
    let next = &found.measure_next;
    assert!(next.contains("shaft") && next.contains("M-FINE"), "{next}");
    for other in ["M-COARSE", "M-SMALL", "M-OVERDUE", "B-LARGE"] {
        assert!(!next.contains(other), "{other} cannot: {next}");
    }
    // And it is so: read with that gauge, it is proven.
    let with = MeasuredSize {
        min: mm("30.003"),
        gauge_tag: "M-FINE".to_owned(),
        ..MeasuredSize::default()
    };
    let with = Some(SizeKnowledge { kind: Some(Kind::Measured(with)) });
    let found = judge(&shop, "with M-FINE", seat_under_ring(with)).await;
    assert_eq!((verdict(&found), nm(&found.expanded_uncertainty)), (VerdictKind::ProvenIn, 500));
}

/// Inside by 1.75 um with a standard uncertainty of 1 um: more than the 1.65 of ISO 14253-1:2017,
/// less than the 2 of the 2013 edition (both from memory); taken as it reads nothing is proven.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_decision_rules_differ_between_their_guard_bands() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let request = |rule: DecisionRule| JudgeFitRequest {
        internal: measured("20.010", "20.010", "2"),
        external: measured("19.98825", "19.98825", "0.001"),
        requirement: clearance("0.020", "0.041"),
        rule: rule.into(),
        ..JudgeFitRequest::default()
    };
    let mut chances = Vec::new();
    for (rule, expected, decision, words) in [
        (
            DecisionRule::Iso1425312017,
            VerdictKind::ProvenIn,
            Decision::Accept,
            "accepted (ISO 14253-1:2017",
        ),
        (
            DecisionRule::Iso1425312013,
            VerdictKind::ProbableIn,
            Decision::Undecided,
            "undecided (ISO 14253-1:2013",
        ),
        (
            DecisionRule::SimpleAcceptance,
            VerdictKind::ProbableIn,
            Decision::Accept,
            "accepted as it reads (simple acceptance); nothing is proven by it",
        ),
    ] {
        let found = judge(&shop, rule.as_str_name(), request(rule)).await;
        assert_eq!((verdict(&found), found.rule()), (expected, rule), "{found:?}");
        assert_eq!(found.decision(), decision, "{found:?}");
        assert!(found.decision_text.starts_with(words), "{}", found.decision_text);
        // What the other rules come to stands beside it.
        for named in ["iso_14253_1_2017", "iso_14253_1_2013", "simple_acceptance"] {
            assert!(found.traces.iter().any(|trace| trace.what.ends_with(named)), "{named}");
        }
        chances.push(probability(&found));
    }
    // Phi(1.75) = 0.95994 (standard normal table).
    assert!((chances[0] - 0.95994).abs() < 1e-5, "{chances:?}");
    assert!(
        chances.iter().all(|chance| chance == &chances[0]),
        "a rule is no evidence: {chances:?}"
    );
}

/// A go gauge that enters says "at least"; how much more is open, so a fit is never better than not
/// proven. A misfit can be proven on the closed side, and a go with a no-go bounds both.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_fixed_gauge_bounds_and_does_not_measure() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let on_shaft = |internal, shaft: &str| JudgeFitRequest {
        internal,
        external: measured(shaft, shaft, "1"),
        requirement: clearance("0.007", "0.060"),
        ..JudgeFitRequest::default()
    };
    let go = || bounded(Some("30.000"), None);
    let found = judge(&shop, "go alone", on_shaft(go(), "29.980")).await;
    assert_eq!(verdict(&found), VerdictKind::NotProven, "{found:?}");
    assert!(!found.measure_next.is_empty(), "it says what would help");
    // Neither the size nor the probability is more than a bound, and both say so.
    assert_eq!(found.internal_basis(), SizeBasis::Bound);
    assert!(found.probability_is_at_most, "{found:?}");
    let text = &found.verdict.as_ref().expect("a verdict").text;
    assert!(text.contains("P at most"), "{text}");
    let bore = found.traces.iter().find(|trace| trace.what == "internal").expect("the bore");
    assert_eq!(bore.value, "at least 30.0000 mm");
    assert_eq!((found.clearance_max, found.decision), (None, Decision::Undecided.into()));
    let both = bounded(Some("30.000"), Some("30.021"));
    let found = judge(&shop, "go and no-go", on_shaft(both, "29.980")).await;
    assert_eq!(verdict(&found), VerdictKind::ProvenIn, "{found:?}");
    assert_eq!((nm(&found.clearance_min), nm(&found.clearance_max)), (20_000, 41_000));
    assert!(!found.probability_is_at_most, "{found:?}");
    // At least 30.000 on a shaft 0.070 smaller: too loose whatever it is.
    let found = judge(&shop, "too loose", on_shaft(go(), "29.930")).await;
    assert_eq!(verdict(&found), VerdictKind::ProvenOut, "{found:?}");
    // At most 30.000 on a larger shaft: too tight whatever it is.
    let no_go = bounded(None, Some("30.000"));
    let found = judge(&shop, "too tight", on_shaft(no_go, "30.010")).await;
    assert_eq!(verdict(&found), VerdictKind::ProvenOut, "{found:?}");
    for shaft in ["29.970", "29.990", "29.995", "29.9995", "30.005", "30.020"] {
        let found = judge(&shop, shaft, on_shaft(go(), shaft)).await;
        assert!(verdict(&found) >= VerdictKind::NotProven, "{shaft}: {found:?}");
    }
}

/// A fit of an inch class at 1 in, of which this is known.
fn inch_fit(
    class: &str,
    internal: Option<SizeKnowledge>,
    external: Option<SizeKnowledge>,
) -> JudgeFitRequest {
    let within = || Some(SizeKnowledge { kind: Some(Kind::InchFitClass(class.to_owned())) });
    JudgeFitRequest {
        nominal: inch("1"),
        internal: internal.or_else(within),
        external: external.or_else(within),
        requirement: Some(FitRequirement { kind: Some(Required::InchFitClass(class.to_owned())) }),
        ..JudgeFitRequest::default()
    }
}

fn read_inch(size: &str, uncertainty: &str) -> Option<SizeKnowledge> {
    let size = MeasuredSize {
        min: inch(size),
        expanded_uncertainty: inch(uncertainty),
        ..MeasuredSize::default()
    };
    Some(SizeKnowledge { kind: Some(Kind::Measured(size)) })
}

/// ANSI B4.1-1967 (R), over 0.71 to 1.19 in, in thou (`golden/b41_fits.csv`): RC4 hole +1.2 0,
/// shaft -0.8 -1.6; FN2 hole +0.8 0, shaft +1.9 +1.4 over 0.95.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_inch_class_is_a_requirement_and_the_limits_of_what_is_not_measured() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let rc4 = inch_fit("RC4", None, read_inch("0.9988", "0.0001"));
    let found = judge(&shop, "RC4", rc4.clone()).await;
    assert_eq!((nm(&found.required_min), nm(&found.required_max)), (20_320, 71_120));
    assert_eq!((nm(&found.clearance_min), nm(&found.clearance_max)), (30_480, 60_960));
    assert_eq!(verdict(&found), VerdictKind::ProvenIn);
    assert_eq!(found.required_min.as_ref().expect("a length").unit(), LengthUnit::In);
    assert_eq!(
        (found.internal_basis(), found.external_basis()),
        (SizeBasis::Toleranced, SizeBasis::Measured)
    );
    traced(&found.traces, &["ANSI B4.1-1967"]);
    let shaft = inch_fit("FN2", read_inch("1.0004", "0.0001"), None);
    let found = judge(&shop, "FN2", shaft.clone()).await;
    assert_eq!((nm(&found.clearance_min), nm(&found.clearance_max)), (-38_100, -25_400));
    assert_eq!(found.fit_kind, "interference");
    let request =
        BatchJudgeFitsRequest { questions: vec![rc4, shaft, inch_fit("RC10", None, None)] };
    let many = done("many", shop.clients().fits().batch_judge_fits(request).await).answers;
    assert_eq!(many[1].fit.as_ref(), Some(&found));
    assert!(many[0].fit.is_some() && many[2].problem.contains("RC10"), "{many:?}");
}

/// Nothing measured is said plainly, whatever the verdict.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_not_measured_is_said_beside_the_verdict() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let found = judge(&shop, "RC4", inch_fit("RC4", None, None)).await;
    assert_eq!(verdict(&found), VerdictKind::ProvenIn);
    assert_eq!(
        (found.internal_basis(), found.external_basis()),
        (SizeBasis::Toleranced, SizeBasis::Toleranced)
    );
    assert!(found.notes[0].starts_with("neither side is measured"), "{:?}", found.notes);
    // One class alone stands against a ring; of which class is an assumption where both are read.
    let seat = JudgeFitRequest {
        internal: measured("29.995", "29.995", "1"),
        ..seat_under_ring(measured("30.005", "30.007", "2"))
    };
    let found = judge(&shop, "seat", seat).await;
    assert_eq!((nm(&found.required_min), nm(&found.required_max)), (-21_000, -2_000));
    assert!(found.notes[0].contains("class normal is assumed"), "{:?}", found.notes);
}

/// Two thou per inch of a 0.750 in journal is 1.5 thou (one of the four rules in use): the rule's
/// number is the least, and the shop says how much more is right.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_running_clearance_rule_needs_the_shops_tolerance() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let of = |tolerance: Option<Length>| {
        let running = RunningRequirement { rule: RunningRule::TwoThouPerInch.into(), tolerance };
        JudgeFitRequest {
            nominal: inch("0.750"),
            internal: read_inch("0.7518", "0.0001"),
            external: read_inch("0.7500", "0.0001"),
            requirement: Some(FitRequirement { kind: Some(Required::Running(running)) }),
            ..JudgeFitRequest::default()
        }
    };
    let found = judge(&shop, "running", of(inch("0.0005"))).await;
    assert_eq!((nm(&found.required_min), nm(&found.required_max)), (38_100, 50_800));
    assert_eq!(verdict(&found), VerdictKind::ProvenIn);
    let refused =
        shop.clients().fits().judge_fit(of(None)).await.expect_err("no range is invented");
    let details = refused.get_error_details();
    let violations = &details.bad_request().expect("violations").field_violations;
    assert_eq!(violations[0].field, "requirement.running.tolerance");
    assert!(violations[0].description.contains("gives one number"), "{violations:?}");
}
