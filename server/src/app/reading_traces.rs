//! The values behind recorded readings: temperatures, coefficients, corrections and uncertainties.

use super::error::Error;
use super::measuring::{COVERED_DOUBT_MK, Entered};
use super::trace::{Trace, fine};
use tenths_domain::measure::{Bodies, ReadingBudget, budget};
use tenths_domain::temperature::{Material, Temperature};
use tenths_domain::units::{Length, Unit};

/// How a value is brought to 20 C.
const CORRECTION: &str = "D20 = D (1 + ag (Tg - 20) - ap (Tp - 20)), ISO 1:2022";

/// The values behind readings that are about to be recorded, or were.
///
/// # Errors
/// [`Error::Internal`] never: a budget of checked sources has a sum.
pub(crate) fn of(entered: &Entered<'_>) -> Result<Vec<Trace>, Error> {
    let bodies = &entered.bodies;
    let mut traces = vec![
        temperature("part temperature", bodies.part, "the gauge", bodies.gauge),
        temperature("gauge temperature", bodies.gauge, "the part", bodies.part),
    ];
    if bodies.temperatures().is_some() {
        traces.push(expansion("expansion of the part", bodies.part_material));
        traces.push(expansion("expansion of the gauge", Some(bodies.gauge_material)));
    }
    traces.push(gauge(entered));
    traces.push(doubt(bodies));
    for index in 0..entered.new.readings.len() {
        traces.extend(reading(entered, index)?);
    }
    Ok(traces)
}

/// What was assumed of a temperature that was not given, in a sentence; nothing where none was
/// taken, since then nothing is corrected, or both were.
pub(crate) fn assumption(bodies: &Bodies) -> Option<String> {
    let (body, other, temperature) = match (bodies.part, bodies.gauge) {
        (Some(part), None) => ("gauge", "part", part),
        (None, Some(gauge)) => ("part", "gauge", gauge),
        _ => return None,
    };
    Some(format!(
        "the {body} was taken to be as warm as the {other}, {temperature}: give its temperature too \
         if it was not"
    ))
}

fn temperature(
    what: &str,
    taken: Option<Temperature>,
    other: &str,
    others: Option<Temperature>,
) -> Trace {
    let (value, source) = match (taken, others) {
        (Some(own), _) => (own.to_string(), "as entered".to_owned()),
        (None, Some(others)) => {
            (others.to_string(), format!("not given: taken to be that of {other}"))
        }
        (None, None) => ("not taken".to_owned(), "nothing is corrected".to_owned()),
    };
    Trace::table(what, value, &source, false)
}

fn expansion(what: &str, material: Option<Material>) -> Trace {
    let Some(material) = material else {
        let source = "the part's material is not known: nothing is corrected, and the doubt counts \
                      with the material that expands most";
        return Trace::table(what, "not known", source, false);
    };
    let (source, is_confirmed) = material.expansion_source();
    let source = format!("{}, {source}", material.as_str().replace('_', " "));
    Trace::table(what, ppm_per_k(material), &source, !is_confirmed)
}

fn ppm_per_k(material: Material) -> String {
    let ppb = material.expansion_ppb_per_k();
    format!("{}.{} ppm/K", ppb / 1_000, ppb % 1_000 / 100)
}

fn gauge(entered: &Entered<'_>) -> Trace {
    let gauge = entered.gauge;
    let source = format!(
        "gauge register: {} set by {}, smallest division {}; covers {} of doubt between part and \
         gauge (common practice, no published source), and counts as no less than that makes alone",
        gauge.tag,
        gauge.setting_method.as_str().replace('_', " "),
        gauge.resolution,
        kelvin(COVERED_DOUBT_MK),
    );
    Trace::table("U (k=2) of the gauge", gauge.uncertainty.to_string(), &source, false)
}

fn kelvin(millikelvin: i64) -> String {
    format!("{}.{} K", millikelvin / 1_000, millikelvin % 1_000 / 100)
}

fn doubt(bodies: &Bodies) -> Trace {
    let why = match (bodies.part, bodies.gauge) {
        (Some(_), Some(_)) if bodies.part_material.is_none() => {
            "nothing was corrected: the distance of the temperatures from 20 C and from each other"
        }
        (Some(_), Some(_)) => {
            "a tenth of each body's distance from 20 C, for its coefficient (common practice, no \
             published source)"
        }
        (Some(_), None) | (None, Some(_)) => {
            "the distance of the one temperature from 20 C, 3 K at least, since the other body may \
             have been elsewhere"
        }
        (None, None) => {
            "3 K, where no temperature was taken (common practice, no published source)"
        }
    };
    let source = format!("{why}; only what the gauge's U does not cover adds to it");
    Trace::table(
        "doubt about the correction, half-width",
        kelvin(bodies.doubt_mk()),
        &source,
        false,
    )
}

fn reading(entered: &Entered<'_>, index: usize) -> Result<[Trace; 2], Error> {
    let read = &entered.new.readings[index];
    let place = format!("{}{}", read.station, read.orientation_deg);
    let unit = read.entry.unit;
    let at_20c = entered.bodies.to_20c(read.entry.length);
    let correction = fine(at_20c - read.entry.length, unit);
    let value = format!("{} (correction {correction})", at_20c.display_in(unit));
    let source = format!("{} as read; {CORRECTION}", read.entry);
    let sources = entered.sources[index];
    let whole = ReadingBudget { sources, setting: None, unread_form: Length::ZERO };
    let (combined, terms) =
        budget(&whole).map_err(|error| Error::invalid("readings", error.to_string()))?;
    // Setting is in the gauge's own; form is what the readings themselves show.
    let counted = terms.iter().filter(|term| term.standard_nm > 0.0);
    let counted: Vec<String> = counted
        .map(|term| {
            let standard = Length::from_nm(term.standard_nm.round_ties_even() as i64);
            format!("{} {}", term.what, small(standard, unit))
        })
        .collect();
    let budget_source = format!(
        "twice the root sum of squares of the standard uncertainties: {}; JCGM 100:2008, 4.3.7, \
         5.1.2, 6.2.1",
        counted.join(", ")
    );
    let uncertainty = small(combined.length(), unit);
    Ok([
        Trace::table(&format!("{place} at 20 C"), value, &source, false),
        Trace::table(&format!("{place} U (k=2)"), uncertainty, &budget_source, false),
    ])
}

/// A part of an uncertainty, to one place more than [`fine`] has.
fn small(length: Length, unit: Unit) -> String {
    match unit {
        Unit::Inch | Unit::Thou => length.display(Unit::Thou, 3),
        Unit::Millimetre | Unit::Micrometre => length.display(Unit::Micrometre, 2),
    }
}
