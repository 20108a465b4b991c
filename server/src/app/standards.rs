//! Standards: what the published tables say, each value traced.

use super::error::Error;
use super::trace::{Trace, fine, range};
use tenths_domain::b41::{self, B41Fit, FitClass};
use tenths_domain::bearings::boundary::{self, Found};
use tenths_domain::bearings::designation::{self, ClearanceGroup, Designation};
use tenths_domain::bearings::iso492::{self, RingTolerances, ToleranceClass};
use tenths_domain::bearings::iso5753::{self, InternalClearance};
use tenths_domain::iso286::{self, Class};
use tenths_domain::item::Limits;
use tenths_domain::keys::{self, Key, KeyStandard, KeyseatFit, KeyseatJudgement, WidthLimits};
use tenths_domain::retaining_rings::{self, Groove, RingKind};
use tenths_domain::seats::{self, Duty, Extension, FormLimits, Recommendation, RunningDemand};
use tenths_domain::units::{Entry, Length, Unit};

/// The unit that an answer is spoken of in.
pub const fn spoken(unit: Unit) -> Unit {
    match unit {
        Unit::Inch | Unit::Thou => Unit::Inch,
        Unit::Millimetre | Unit::Micrometre => Unit::Millimetre,
    }
}

/// The values behind the limits of a class.
///
/// # Errors
/// [`Error::Invalid`] if the class does not exist at that size.
pub fn limits_traces(size: &Entry, class: &Class) -> Result<Vec<Trace>, Error> {
    class_traces(size.length, size.unit, class)
        .map_err(|error| Error::invalid("tolerance_class", error.to_string()))
}

/// The values behind the limits of a class at a nominal size.
///
/// # Errors
/// If the class does not exist at that size.
pub(crate) fn class_traces(
    nominal: Length,
    unit: Unit,
    class: &Class,
) -> Result<Vec<Trace>, iso286::Iso286Error> {
    let explanation = iso286::explain(nominal, class)?;
    let steps = explanation.steps.iter().map(|step| {
        let what = step.what.as_str().replace('_', " ");
        Trace::table(&what, fine(step.value, unit), &step.source, step.unconfirmed)
    });
    Ok(steps.collect())
}

/// An inch fit with the values behind it.
///
/// # Errors
/// [`Error::Invalid`] if the class has no values at that size.
pub fn inch_fit(size: &Entry, class: FitClass) -> Result<(B41Fit, Vec<Trace>), Error> {
    let fit =
        b41::fit(size.length, class).map_err(|error| Error::invalid("size", error.to_string()))?;
    let steps = fit.explain();
    let traces = steps.iter().map(|step| {
        let what = step.what.as_str().replace('_', " ");
        Trace::table(&what, step.value.display(Unit::Thou, 2), &step.source, step.unconfirmed)
    });
    Ok((fit, traces.collect()))
}

/// A bearing, taken apart.
#[derive(Clone, Debug)]
pub struct Bearing {
    /// Its number and boundary dimensions.
    pub designation: Designation,
    /// The clearance group; CN if nothing is said, none if what is said is no group of ISO 5753-1.
    pub group: Option<ClearanceGroup>,
    /// The internal clearance of the group; none if the standard has none at that bore.
    pub clearance: Option<InternalClearance>,
    /// What the class says of its rings.
    pub rings: RingTolerances,
    /// The values behind the answer.
    pub traces: Vec<Trace>,
}

/// A bearing by its number.
///
/// # Errors
/// [`Error::Invalid`] with the nearest known number, or if the class has no such ring.
pub fn bearing(number: &str, class: ToleranceClass) -> Result<Bearing, Error> {
    let designation = designation::parse(number)
        .map_err(|error| Error::invalid("designation", error.to_string()))?;
    let sizes = designation.dimensions;
    let rings = iso492::ring_tolerances(&sizes, class)
        .map_err(|error| Error::invalid("ring_class", error.to_string()))?;
    let group = match designation.unknown_group {
        Some(_) => None,
        None => Some(designation.clearance.unwrap_or(ClearanceGroup::Cn)),
    };
    let clearance =
        group.and_then(|group| iso5753::radial_internal_clearance(sizes.bore, group).ok());
    let mut traces = vec![Trace::table(
        "bore, outside diameter, width",
        format!(
            "{} x {} x {}",
            sizes.bore.display(Unit::Millimetre, 1),
            sizes.outside_diameter.display(Unit::Millimetre, 1),
            sizes.width.display(Unit::Millimetre, 1)
        ),
        designation.source,
        designation.is_unconfirmed,
    )];
    let ring = |what: &str, deviations: iso286::Deviations| {
        let value = format!(
            "{}..{}",
            deviations.lower.number(Unit::Micrometre, 1),
            deviations.upper.display(Unit::Micrometre, 1)
        );
        Trace::table(what, value, rings.source, rings.is_unconfirmed)
    };
    traces.push(ring("mean bore deviations", rings.bore));
    traces.push(ring("mean outside diameter deviations", rings.outside_diameter));
    traces.push(ring("ring width deviations", rings.width));
    traces.extend(clearance.zip(group).map(|(found, group)| {
        let value = format!(
            "{}: {}..{}",
            group,
            found.min.number(Unit::Micrometre, 1),
            found.max.display(Unit::Micrometre, 1)
        );
        Trace::table("radial internal clearance", value, found.source, found.is_unconfirmed)
    }));
    Ok(Bearing { designation, group, clearance, rings, traces })
}

/// Sizes that a bearing is sought by.
#[derive(Clone, Copy, Debug)]
pub struct BearingSizes {
    /// Bore.
    pub bore: Length,
    /// Outside diameter.
    pub outside_diameter: Option<Length>,
    /// Width.
    pub width: Option<Length>,
    /// How far each size may be off.
    pub tolerance: Length,
}

/// The bearings of these sizes, or the nearest; the second says that none matched.
pub fn match_bearings(sizes: &BearingSizes) -> (Vec<Found>, bool) {
    let BearingSizes { bore, outside_diameter, width, tolerance } = *sizes;
    let found = boundary::by_dimensions_within(bore, outside_diameter, width, tolerance);
    if !found.is_empty() {
        return (found, false);
    }
    (vec![boundary::nearest_by_dimensions(bore, outside_diameter, width)], true)
}

/// A seat that a class is sought for.
#[derive(Clone, Copy, Debug)]
pub struct SeatQuestion {
    /// The bearing's bore, or its outside diameter.
    pub size: Length,
    /// Whether the seat is in a housing.
    pub housing: bool,
    /// What it has to do.
    pub duty: Duty,
    /// The class of the bearing.
    pub class: ToleranceClass,
}

/// The recommended classes of a seat, and how true it must be.
///
/// # Errors
/// [`Error::Invalid`] if no practice covers it.
pub fn seat(question: &SeatQuestion) -> Result<(Vec<Recommendation>, Option<FormLimits>), Error> {
    let found = match question.housing {
        true => seats::housing_seat(question.size, &question.duty),
        false => seats::shaft_seat(question.size, &question.duty),
    };
    let found = found.map_err(|error| Error::invalid("size", error.to_string()))?;
    let form = seats::seat_form(question.size, question.class, RunningDemand::Normal).ok();
    Ok((found, form))
}

/// The values behind the limits of the recommended classes, each class once.
pub fn seat_traces(found: &[Recommendation], size: &Entry) -> Vec<Trace> {
    let mut traces: Vec<Trace> = Vec::new();
    for one in found {
        let what = format!("limits of {}", one.class);
        if traces.iter().any(|trace| trace.what == what) {
            continue;
        }
        let steps = class_traces(size.length, size.unit, &one.class).unwrap_or_default();
        let unconfirmed = steps.iter().any(|step| step.unconfirmed);
        let limits = range(one.limits.lower, one.limits.upper, spoken(size.unit));
        traces.push(Trace::table(&what, limits, iso286::source(&one.class), unconfirmed));
        let named = |step: Trace| Trace { what: format!("{}: {}", one.class, step.what), ..step };
        traces.extend(steps.into_iter().map(named));
    }
    traces
}

/// The values behind a seat's form limits.
pub fn form_traces(form: &FormLimits, unit: Unit) -> Vec<Trace> {
    let [seat, shoulder] = form.grades;
    let of = |what: &str, value: Length, grade: String| {
        let what = format!("{what} ({grade})");
        Trace::table(&what, fine(value, unit), form.source, form.is_unconfirmed)
    };
    vec![
        of("cylindricity", form.cylindricity, format!("half of {seat}")),
        of("total radial run-out", form.total_radial_run_out, format!("half of {seat}")),
        of("shoulder squareness", form.shoulder_squareness, shoulder.to_string()),
    ]
}

/// Which standard a shaft extension is by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExtensionStandard {
    /// NEMA.
    Nema,
    /// IEC.
    Iec,
}

/// What a standard allows a shaft extension, with the values behind it.
///
/// # Errors
/// [`Error::Invalid`] if the standard does not cover the diameter.
pub fn extension(
    size: &Entry,
    standard: ExtensionStandard,
) -> Result<(Extension, Vec<Trace>), Error> {
    let found = match standard {
        ExtensionStandard::Nema => seats::nema_shaft_extension(size.length),
        ExtensionStandard::Iec => seats::iec_shaft_extension(size.length),
    };
    let found = found.map_err(|error| Error::invalid("size", error.to_string()))?;
    let unsure = |confidence| confidence == seats::Confidence::Unconfirmed;
    let unit = spoken(size.unit);
    let traces = vec![
        Trace::table(
            "limits of the diameter",
            range(found.limits.lower, found.limits.upper, unit),
            found.diameter_source,
            unsure(found.diameter_confidence),
        ),
        Trace::table(
            "run-out",
            fine(found.run_out, size.unit),
            found.run_out_source,
            unsure(found.run_out_confidence),
        ),
    ];
    Ok((found, traces))
}

/// A key that is sought.
#[derive(Clone, Debug)]
pub struct KeyQuestion {
    /// The shaft's diameter.
    pub shaft: Entry,
    /// The standard; none goes by the unit of the shaft.
    pub standard: Option<KeyStandard>,
    /// The fit; none is the usual one of the standard.
    pub fit: Option<KeyseatFit>,
}

impl KeyQuestion {
    fn standard(&self) -> KeyStandard {
        self.standard.unwrap_or(match spoken(self.shaft.unit) {
            Unit::Inch => KeyStandard::AnsiB17,
            _ => KeyStandard::Iso773,
        })
    }

    fn fit(&self) -> KeyseatFit {
        self.fit.unwrap_or(match self.standard() {
            KeyStandard::AnsiB17 => KeyseatFit::Class1,
            KeyStandard::Iso773 => KeyseatFit::Normal,
        })
    }
}

/// The key of a shaft, its limits and the values behind them.
///
/// # Errors
/// [`Error::Invalid`] if the standard has no key for the shaft, or not that fit.
pub fn key(question: &KeyQuestion) -> Result<(Key, WidthLimits, Vec<Trace>), Error> {
    let key = keys::key_for_shaft(question.shaft.length, question.standard())
        .map_err(|error| Error::invalid("shaft", error.to_string()))?;
    let limits = keys::keyseat_width_limits(&key, question.fit())
        .map_err(|error| Error::invalid("fit", error.to_string()))?;
    let unit = spoken(question.shaft.unit);
    let mut traces = width_traces(&key, &limits, unit);
    traces.push(Trace::table(
        "keyseat may be deeper by (shaft, hub)",
        format!(
            "{}, {}",
            key.shaft_depth_tolerance.display_in(unit),
            key.hub_depth_tolerance.display_in(unit)
        ),
        key.depth_source,
        key.is_depth_tolerance_unconfirmed,
    ));
    Ok((key, limits, traces))
}

/// The values behind a key's section and widths.
fn width_traces(key: &Key, limits: &WidthLimits, unit: Unit) -> Vec<Trace> {
    vec![
        Trace::table(
            "key and keyseat, nominal",
            format!("{} x {}", key.width.display_in(unit), key.height.display_in(unit)),
            key.source,
            key.is_unconfirmed,
        ),
        Trace::table(
            "limits of the key's width",
            range(limits.key.lower, limits.key.upper, unit),
            limits.source,
            limits.is_key_unconfirmed,
        ),
        Trace::table(
            "limits of the keyseat's width",
            range(limits.keyseat.lower, limits.keyseat.upper, unit),
            limits.source,
            limits.is_unconfirmed,
        ),
    ]
}

/// What a measured keyseat calls for.
///
/// # Errors
/// As [`key`]; [`Error::Invalid`] for a width without meaning.
pub fn keyseat(
    measured: Length,
    question: &KeyQuestion,
) -> Result<(KeyseatJudgement, Vec<Trace>), Error> {
    let (key, limits, _) = key(question)?;
    let mut traces = width_traces(&key, &limits, spoken(question.shaft.unit));
    let judged = keys::judge_keyseat(measured, &key, question.fit())
        .map_err(|error| Error::invalid("measured_width", error.to_string()))?;
    let unit = question.shaft.unit;
    traces.push(Trace::table(
        "over the key's nominal width",
        fine(judged.over_nominal, unit),
        judged.practice_source,
        judged.is_unconfirmed,
    ));
    Ok((judged, traces))
}

/// A retaining ring's groove with the values behind it.
///
/// # Errors
/// [`Error::Invalid`] with the sizes next to it that exist.
pub fn groove(size: &Entry, kind: RingKind) -> Result<(Groove, Vec<Trace>), Error> {
    let unit = size.unit;
    let groove = retaining_rings::groove(size.length, kind)
        .map_err(|error| Error::invalid("size", error.to_string()))?;
    let shown = |length: Length| match spoken(unit) {
        Unit::Inch => length.display(Unit::Inch, 4),
        unit => length.display(unit, 2),
    };
    let of =
        |what: &str, value: String| Trace::table(what, value, groove.source, groove.is_unconfirmed);
    let limits = |what: &str, limits: Limits, class: &Class| {
        let value = range(limits.lower, limits.upper, spoken(unit));
        let source = format!("{class}, {}", iso286::source(class));
        Trace::table(what, value, &source, groove.is_unconfirmed)
    };
    let traces = vec![
        of("ring thickness", shown(groove.ring_thickness)),
        of("groove diameter", format!("{} {}", shown(groove.diameter), groove.diameter_class)),
        of("groove width", format!("{} {}", shown(groove.width), groove.width_class)),
        limits("limits of the groove diameter", groove.diameter_limits, &groove.diameter_class),
        limits("limits of the groove width", groove.width_limits, &groove.width_class),
    ];
    Ok((groove, traces))
}
