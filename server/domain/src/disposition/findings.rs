//! The measured values of a feature, each beside the limit that governs it.

use super::{Criterion, Finding};
use crate::item::{Feature, FeatureKind, Limits, Side, Tolerance};
use crate::measure::{
    Assessment, ExpandedUncertainty, Extreme, LimitRange, WearBasis, judge_limit_by,
};
use crate::units::{Length, Unit};
use crate::verdict::DecisionRule;

/// How values are judged, and the unit that they are spoken of in.
#[derive(Clone, Copy)]
pub(super) struct Manner {
    pub(super) unit: Unit,
    pub(super) rule: DecisionRule,
}

/// What was compared, and what could not be.
pub(super) struct Compared {
    pub(super) findings: Vec<Finding>,
    /// Why the comparison is not complete; each names what to set or measure.
    pub(super) open: Vec<String>,
}

pub(super) fn compare(feature: &Feature, assessment: &Assessment, manner: Manner) -> Compared {
    let mut compared = Compared { findings: Vec::new(), open: Vec::new() };
    let governed_by_wear = compared.wear(feature, assessment, manner);
    let governed_by_size = compared.sizes(feature, assessment, manner);
    compared.out_of_round(feature, assessment, manner);
    compared.taper(feature, assessment, manner);
    compared.growth(assessment, manner);
    if !governed_by_size && (!governed_by_wear || is_held_by_size(feature)) {
        compared.open.push(format!(
            "no limit that governs {} is set: {}",
            feature.name,
            to_set(feature)
        ));
    }
    compared
}

/// The most worn reading against the recondition limit.
pub(super) fn recondition_limit(
    feature: &Feature,
    assessment: &Assessment,
    manner: Manner,
) -> Option<Finding> {
    let limit = feature.recondition_limit?;
    let (extreme, range, what) = match assessment.side {
        Side::External => (&assessment.min, LimitRange::AtLeast(limit), "smallest reading"),
        Side::Internal => (&assessment.max, LimitRange::AtMost(limit), "largest reading"),
    };
    let measured = Measured {
        limit_name: "recondition limit".into(),
        beyond: "past the limit; not worth reconditioning",
        ..Measured::of_extreme(Criterion::ReconditionLimit, what, extreme)
    };
    Some(measured.against(range, limit, manner))
}

const fn to_set(feature: &Feature) -> &'static str {
    if is_held_by_size(feature) {
        "set a tolerance class or limits of size, which its ring is held by"
    } else {
        "set a wear limit, or a tolerance class or limits of size"
    }
}

/// Whether the feature holds a ring by its size, worn or not.
const fn is_held_by_size(feature: &Feature) -> bool {
    matches!(feature.kind, FeatureKind::RollingSeat | FeatureKind::HousingBore)
}

/// Elsewhere a wear limit, where the shop has set one, says what is accepted.
const fn is_governed_by_size(feature: &Feature) -> bool {
    is_held_by_size(feature) || feature.wear_limit.is_none()
}

impl Compared {
    /// Whether a wear limit governs.
    fn wear(&mut self, feature: &Feature, assessment: &Assessment, manner: Manner) -> bool {
        let Some(limit) = feature.wear_limit else { return false };
        let made = feature.known_limits();
        let (Some(wear), Some(value)) = (&assessment.wear, assessment.service_wear(made)) else {
            let open = "wear has nothing to be counted from: read a reference station";
            self.open.push(open.to_owned());
            return true;
        };
        let what = match (&wear.basis, made) {
            (WearBasis::Nominal { .. }, Some(_)) => "wear past its limits of size",
            _ => "wear",
        };
        let measured = Measured {
            criterion: Criterion::Wear,
            what,
            value,
            uncertainty: wear.expanded_uncertainty,
            place: format!(" at station {}", wear.station),
            station: Some(wear.station.clone()),
            limit_name: "limit".into(),
            beyond: BEYOND,
        };
        self.findings.push(measured.against(LimitRange::AtMost(limit), limit, manner));
        true
    }

    /// Whether limits of size govern.
    fn sizes(&mut self, feature: &Feature, assessment: &Assessment, manner: Manner) -> bool {
        if !is_governed_by_size(feature) {
            return false;
        }
        match feature.limits() {
            Ok(None) => return false,
            Ok(Some((limits, source))) => {
                let sizes = if matches!(feature.tolerance, Tolerance::Iso492(_)) {
                    mean_sizes(assessment)
                } else {
                    single_sizes(assessment)
                };
                self.findings.extend(judged_sizes(sizes, limits, &source, manner));
            }
            Err(error) => {
                let open = format!("the limits of size of {} are not known: {error}", feature.name);
                self.open.push(open);
            }
        }
        true
    }

    fn out_of_round(&mut self, feature: &Feature, assessment: &Assessment, manner: Manner) {
        let Some(limit) = feature.out_of_round_limit else { return };
        let Some(form) = &assessment.out_of_round else {
            let open = "out-of-round has a limit but was not measured: read a station in two \
                        orientations, 90 degrees apart";
            self.open.push(open.to_owned());
            return;
        };
        let measured = Measured {
            criterion: Criterion::OutOfRound,
            what: "out-of-round",
            value: form.amount,
            uncertainty: form.expanded_uncertainty,
            place: format!(" at station {}", form.station),
            station: Some(form.station.clone()),
            limit_name: "limit".into(),
            beyond: BEYOND,
        };
        self.findings.push(measured.against(LimitRange::AtMost(limit), limit, manner));
    }

    fn taper(&mut self, feature: &Feature, assessment: &Assessment, manner: Manner) {
        let Some(limit) = feature.taper_limit else { return };
        let Some(form) = &assessment.taper else {
            let open = "taper has a limit but was not measured: read two stations in one \
                        orientation";
            self.open.push(open.to_owned());
            return;
        };
        let measured = Measured {
            criterion: Criterion::Taper,
            what: "taper",
            value: form.amount,
            uncertainty: form.expanded_uncertainty,
            place: format!(" at {} degrees", form.orientation_deg),
            station: None,
            limit_name: "limit".into(),
            beyond: BEYOND,
        };
        self.findings.push(measured.against(LimitRange::AtMost(limit), limit, manner));
    }

    /// A reference that is more worn than what it should be the measure of measures nothing.
    fn growth(&mut self, assessment: &Assessment, manner: Manner) {
        let Some(wear) = &assessment.wear else { return };
        if wear.growth <= wear.expanded_uncertainty.length() {
            return;
        }
        let word = match assessment.side {
            Side::External => "larger",
            Side::Internal => "smaller",
        };
        self.open.push(format!(
            "a station is {} {word} than the reference station: built up before, or the reference \
             is worn; confirm the nominal size",
            wear.growth.display_in(manner.unit),
        ));
    }
}

const BEYOND: &str = "beyond the limit; not for reuse as it is";

/// A measured value in words.
struct Measured {
    criterion: Criterion,
    what: &'static str,
    value: Length,
    uncertainty: ExpandedUncertainty,
    place: String,
    station: Option<String>,
    limit_name: String,
    beyond: &'static str,
}

impl Measured {
    fn of_extreme(criterion: Criterion, what: &'static str, extreme: &Extreme) -> Measured {
        Measured {
            criterion,
            what,
            value: extreme.value,
            uncertainty: extreme.expanded_uncertainty,
            place: format!(" at station {}", extreme.station),
            station: Some(extreme.station.clone()),
            limit_name: "limit".into(),
            beyond: BEYOND,
        }
    }

    fn against(self, range: LimitRange, limit: Length, manner: Manner) -> Finding {
        let within = range.contains(self.value);
        let [value, limit_text] = told_apart(self.value, limit, manner.unit);
        let text = format!(
            "{} {value}{}, {} {limit_text}: {}",
            self.what,
            self.place,
            self.limit_name,
            if within { "within the limit" } else { self.beyond },
        );
        Finding {
            criterion: self.criterion,
            station: self.station,
            measured: self.value,
            limit,
            judgement: judge_limit_by(self.value, self.uncertainty, range, manner.rule).judgement,
            within,
            text,
        }
    }
}

/// Two lengths in words, with as many places beyond the usual as it takes to tell them apart: a
/// value beyond its limit must not be written like the limit.
fn told_apart(one: Length, other: Length, unit: Unit) -> [String; 2] {
    let mut places = one.places_in(unit).max(other.places_in(unit));
    while one != other && one.number(unit, places) == other.number(unit, places) {
        places += 1;
    }
    let shown = |length: Length| {
        if places > one.places_in(unit).max(other.places_in(unit)) {
            length.display(unit, places)
        } else {
            length.display_in(unit)
        }
    };
    [shown(one), shown(other)]
}

/// The smallest and the largest reading.
fn single_sizes(assessment: &Assessment) -> [Measured; 2] {
    [
        Measured::of_extreme(Criterion::SmallestSize, "smallest reading", &assessment.min),
        Measured::of_extreme(Criterion::LargestSize, "largest reading", &assessment.max),
    ]
}

/// The smallest and the largest mean size, each the middle of the extremes in one plane: what
/// ISO 492:2014 gives the limits of (mean bore and mean outside diameter in a single plane).
fn mean_sizes(assessment: &Assessment) -> [Measured; 2] {
    let [mut smallest, mut largest] = single_sizes(assessment);
    let planes = assessment.stations.iter().filter(|station| !station.is_reference);
    let means: Vec<(Length, &str)> = planes
        .filter_map(|plane| Some((Length::mean(&[plane.min, plane.max])?, plane.station.as_str())))
        .collect();
    let extremes = [means.iter().min(), means.iter().max()];
    for (measured, extreme) in [&mut smallest, &mut largest].into_iter().zip(extremes) {
        if let Some((value, station)) = extreme {
            measured.value = *value;
            measured.uncertainty = assessment.expanded_uncertainty;
            measured.place = format!(" at station {station}");
            measured.station = Some((*station).to_owned());
        }
    }
    smallest.what = "smallest mean";
    largest.what = "largest mean";
    [smallest, largest]
}

fn judged_sizes(
    [smallest, largest]: [Measured; 2],
    limits: Limits,
    source: &str,
    manner: Manner,
) -> [Finding; 2] {
    let named = |name: &str| match source {
        "" => name.to_owned(),
        source => format!("{name} ({source})"),
    };
    let smallest = Measured { limit_name: named("lower limit"), ..smallest };
    let largest = Measured { limit_name: named("upper limit"), ..largest };
    [
        smallest.against(LimitRange::AtLeast(limits.lower), limits.lower, manner),
        largest.against(LimitRange::AtMost(limits.upper), limits.upper, manner),
    ]
}
