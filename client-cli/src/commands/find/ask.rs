//! Arguments of `tenths find` as requests.

use crate::args::{Duty, Filter, FindMate, FindReplacement, FindSize, Mate, Requirement, Windows};
use crate::context::Context;
use crate::entry::lengths;
use crate::failure::Failure;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::{self, FeatureKind, ItemKind};

pub(super) fn fit_request(
    sought: ItemKind,
    arguments: FindMate,
    context: &Context,
) -> Result<v1::FindFitRequest, Failure> {
    let uncertainty = context.size_if_given("--uncertainty", arguments.uncertainty.as_deref())?;
    let (part, housing) = ends(arguments.part);
    let (requirement, in_housing) =
        requirements(arguments.requirement, housing.is_some(), context)?;
    let gauge = arguments.gauge.unwrap_or_default();
    let of_housing = housing_part(
        housing.as_deref(),
        arguments.housing_gauge.unwrap_or_else(|| gauge.clone()),
        uncertainty.clone(),
        arguments.housing_material,
        temperature("--housing-temperature", arguments.housing_temperature.as_deref())?,
        context,
    )?;
    let outside = context.size_if_given("--housing-od", arguments.housing_od.as_deref())?;
    let at = temperature("--temperature", arguments.temperature.as_deref())?;
    let (measured, other) = match (measured(part, context)?, of_housing) {
        (Some((size, kind)), housing) => {
            let measured = v1::MeasuredPart {
                size: Some(size),
                kind: kind.into(),
                gauge_tag: gauge,
                expanded_uncertainty: uncertainty,
                temperature: at,
                ..Default::default()
            };
            let other = housing.map(|housing| v1::OtherEnd {
                measured: Some(housing),
                requirement: in_housing.clone(),
                outside_diameter: outside,
            });
            (measured, other)
        }
        (None, Some(housing)) => {
            (v1::MeasuredPart { temperature: housing.temperature.or(at), ..housing }, None)
        }
        (None, None) => {
            let message = "say what was measured: --seat, --journal, --piece, ...";
            return Err(Failure::Usage(message.to_owned()));
        }
    };
    Ok(v1::FindFitRequest {
        measured: Some(measured),
        sought: sought.into(),
        requirement: if other.is_some() { requirement } else { requirement.or(in_housing) },
        other,
        close_in: close_in(
            arguments.close_in_min.as_deref(),
            arguments.close_in_max.as_deref(),
            context,
        )?,
        filter: filter(arguments.filter),
        page_size: arguments.fits,
        page_token: arguments.page_token,
        misses_max: arguments.misses,
        min_revision: 0,
        duty: duty(&arguments.duty),
        explain: arguments.explain.is_some(),
    })
}

/// The housing bore apart from the other measured places.
fn ends(mut part: Mate) -> (Mate, Option<String>) {
    let housing = part.housing.take();
    (part, housing)
}

fn housing_part(
    housing: Option<&str>,
    gauge_tag: String,
    expanded_uncertainty: Option<v1::Length>,
    material: Option<v1::Material>,
    temperature: Option<v1::Temperature>,
    context: &Context,
) -> Result<Option<v1::MeasuredPart>, Failure> {
    let Some(text) = housing else { return Ok(None) };
    Ok(Some(v1::MeasuredPart {
        size: Some(Size::Value(context.size("--housing", text)?)),
        kind: FeatureKind::HousingBore.into(),
        gauge_tag,
        expanded_uncertainty,
        material: material.unwrap_or_default().into(),
        temperature,
        ..Default::default()
    }))
}

fn temperature(flag: &str, text: Option<&str>) -> Result<Option<v1::Temperature>, Failure> {
    text.map(|text| {
        lengths::temperature(text).map_err(|error| Failure::Usage(format!("{flag}: {error}")))
    })
    .transpose()
}

/// What was measured, and what kind of place it is; nothing where only a housing was.
fn measured(part: Mate, context: &Context) -> Result<Option<(Size, FeatureKind)>, Failure> {
    if let (Some(piece_tag), Some(feature)) = (part.piece, part.feature) {
        let piece_feature = v1::PieceFeature { piece_tag, feature };
        return Ok(Some((Size::PieceFeature(piece_feature), FeatureKind::Unspecified)));
    }
    let sizes = [
        ("--seat", part.seat, FeatureKind::RollingSeat),
        ("--journal", part.journal, FeatureKind::Journal),
        ("--extension", part.extension, FeatureKind::ShaftExtension),
        ("--seal-land", part.seal_land, FeatureKind::SealLand),
        ("--bore", part.bore, FeatureKind::Bore),
        ("--size", part.size, part.kind.unwrap_or_default()),
    ];
    let given = sizes.into_iter().find_map(|(flag, text, kind)| Some((flag, text?, kind)));
    given.map(|(flag, text, kind)| Ok((Size::Value(context.size(flag, &text)?), kind))).transpose()
}

/// The requirement of the measured part and that of the housing, where there are two ends.
fn requirements(
    given: Requirement,
    with_housing: bool,
    context: &Context,
) -> Result<(Option<v1::FitRequirement>, Option<v1::FitRequirement>), Failure> {
    let required = |kind| Some(v1::FitRequirement { kind: Some(kind) });
    let clearance = |flag: &str, text: Option<String>| -> Result<_, Failure> {
        let Some(text) = text else { return Ok(None) };
        let (min, max) = lengths::range(flag, &text, context.unit)?;
        Ok(required(Kind::Clearance(v1::ClearanceLimits { min: Some(min), max: Some(max) })))
    };
    let pair = |hole: Option<String>, shaft: Option<String>| {
        (hole.is_some() || shaft.is_some()).then(|| v1::FitRequirement {
            kind: Some(Kind::ClassPair(v1::ClassPair {
                hole_class: hole.unwrap_or_default(),
                shaft_class: shaft.unwrap_or_default(),
            })),
        })
    };
    let explicit = clearance("--clearance", given.clearance)?;
    let in_housing = clearance("--housing-clearance", given.housing_clearance)?;
    if with_housing {
        let first = explicit.or_else(|| pair(None, given.class));
        return Ok((first, in_housing.or_else(|| pair(given.hole_class, None))));
    }
    if explicit.is_some() && given.hole_class.is_some() {
        let message = "--clearance and --hole-class: only one may be given, unless --housing is";
        return Err(Failure::Usage(message.to_owned()));
    }
    Ok((explicit.or_else(|| pair(given.hole_class, given.class)), None))
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

fn duty(given: &Duty) -> Option<v1::SeatDuty> {
    let said = given.machine.is_some() || given.rotation.is_some() || given.load.is_some();
    said.then(|| v1::SeatDuty {
        rotation: given.rotation.unwrap_or_default().into(),
        load: given.load.unwrap_or_default().into(),
        machine: given.machine.unwrap_or_default().into(),
    })
}

fn filter(given: Filter) -> Option<v1::StockFilter> {
    let filter = v1::StockFilter {
        conditions: given.condition.into_iter().map(i32::from).collect(),
        location_codes: given.locations,
        materials: given.material.into_iter().map(i32::from).collect(),
        clearance_groups: given.groups.iter().map(|group| group.to_uppercase()).collect(),
        closures: given.closures.iter().map(|closure| closure.replace('-', "_")).collect(),
        price_max: given.price_max,
        free_only: given.free,
        available_at: given.available_at,
    };
    (filter != v1::StockFilter::default()).then_some(filter)
}

pub(super) fn size_request(
    arguments: FindSize,
    context: &Context,
) -> Result<v1::FindBySizeRequest, Failure> {
    Ok(v1::FindBySizeRequest {
        item: arguments.item.unwrap_or_default().into(),
        windows: windows(arguments.windows, context)?,
        filter: filter(arguments.filter),
        page_size: arguments.rows,
        page_token: arguments.page_token,
        min_revision: 0,
    })
}

fn windows(given: Windows, context: &Context) -> Result<Vec<v1::SizeWindow>, Failure> {
    let given = [
        ("--bore", given.bore, FeatureKind::Bore),
        ("--od", given.od, FeatureKind::OutsideDiameter),
        ("--seat", given.seat, FeatureKind::RollingSeat),
        ("--journal", given.journal, FeatureKind::Journal),
        ("--extension", given.extension, FeatureKind::ShaftExtension),
        ("--seal-land", given.seal_land, FeatureKind::SealLand),
        ("--housing", given.housing, FeatureKind::HousingBore),
        ("--keyseat", given.keyseat, FeatureKind::Keyseat),
        ("--width", given.width, FeatureKind::Width),
    ];
    let given = given.into_iter().filter_map(|(flag, text, kind)| Some((flag, text?, kind)));
    given.map(|(flag, text, kind)| window(flag, &text, kind, context)).collect()
}

/// `24.9..25.1mm`, `..20mm` or `6in..`: a unit behind either end counts for both.
fn window(
    flag: &str,
    text: &str,
    kind: FeatureKind,
    context: &Context,
) -> Result<v1::SizeWindow, Failure> {
    let Some((lower, upper)) = text.split_once("..") else {
        let message = format!("{flag}: {text:?} is no window; write LEAST..MOST with a unit");
        return Err(Failure::Usage(message));
    };
    let end = |text: &str, unit| {
        let text = text.trim();
        (!text.is_empty()).then(|| lengths::size(flag, text, unit)).transpose()
    };
    let upper = end(upper, context.unit)?;
    let unit = upper.as_ref().and_then(lengths::unit_of).or(context.unit);
    Ok(v1::SizeWindow { kind: kind.into(), lower: end(lower, unit)?, upper })
}

pub(super) fn replacement_request(arguments: FindReplacement) -> v1::FindReplacementRequest {
    use v1::find_replacement_request::Wanted;
    // What begins like a bearing's number is one; codes of items are the shop's own words.
    let is_number = arguments.wanted.starts_with(|c: char| c.is_ascii_digit());
    let wanted = if is_number {
        Wanted::Designation(arguments.wanted)
    } else {
        Wanted::ItemCode(arguments.wanted)
    };
    v1::FindReplacementRequest {
        wanted: Some(wanted),
        machine: arguments.machine.unwrap_or_default().into(),
        filter: filter(arguments.filter),
        page_size: arguments.rows,
        page_token: arguments.page_token,
        min_revision: 0,
    }
}
