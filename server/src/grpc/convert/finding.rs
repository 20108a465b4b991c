//! Questions of what fits, inward.

use super::common::requirement;
use crate::app::Error;
use crate::app::finding::{
    FindBySize, FindFit, FindReplacement, MeasuredSize, OtherEnd, PageOf, SizeWindow, StockFilter,
    ValueOf, Wanted,
};
use crate::app::fits::Doubt;
use crate::grpc::check::Check;
use crate::grpc::ranked;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::entry::EnteredTemperature;
use tenths_domain::fit::CloseIn;
use tenths_domain::item::{FeatureKind, ItemKind, Side};
use tenths_domain::named::UnknownName;
use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation};
use tenths_domain::units::{Entry, Unit};
use tenths_proto::v1 as pb;
use tenths_proto::v1::measured_part::Size;

/// Most locations, materials and the like in a filter.
const FILTER_MAX: usize = 50;
/// Most windows of a question by size.
const WINDOWS_MAX: usize = 6;
/// Most rows of a page.
pub const PAGE_MAX: usize = 200;

/// A question of what fits.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn find_fit(wire: &pb::FindFitRequest) -> Result<FindFit, Error> {
    let mut check = Check::new();
    let sought = check.required_enum("sought", wire.sought);
    let close_in = close_in(&mut check, "close_in", wire.close_in.as_ref());
    let required = match &wire.requirement {
        None => Some(None),
        some => requirement(&mut check, "requirement", some.as_ref()).map(Some),
    };
    let names_hole = matches!(&required, Some(Some((_, classes))) if classes.hole);
    let mut measured = match &wire.measured {
        Some(part) => measured(&mut check, "measured", part),
        None => {
            check.refuse("measured", "it is not given; a measured size is required");
            None
        }
    };
    // A bearing's ring has tolerances of its own: a class for the bore itself is a bushing's.
    if let Some(MeasuredSize::Value(value)) = &mut measured
        && value.kind.side() == Side::Internal
        && (names_hole || matches!(close_in, Some(Some(_))))
    {
        value.item.get_or_insert(ItemKind::Bushing);
    }
    let other = wire.other.as_ref().map(|end| other_end(&mut check, end));
    if other.is_some() && matches!(close_in, Some(Some(_))) {
        check.refuse("close_in", "it is worked out from the housing in other; only one is allowed");
    }
    let duty = duty(&mut check, wire.duty.as_ref());
    let filter = filter(&mut check, wire.filter.as_ref());
    let page = ranked::size(&mut check, wire.page_size);
    let after = ranked::read(&mut check, "FindFit", &wire.page_token, &fit_question(wire));
    let misses = cap(&mut check, "misses_max", wire.misses_max, 5, 50);
    let min_revision = min_revision(&mut check, wire.min_revision);
    let (Some(measured), Some(sought), Some(required), Some(close_in)) =
        (measured, sought, required, close_in)
    else {
        return Err(check.into_error());
    };
    check.finish()?;
    Ok(FindFit {
        measured,
        sought,
        requirement: required.map(|(requirement, _)| requirement),
        duty,
        other: other.flatten(),
        close_in,
        filter,
        page,
        after,
        misses,
        min_revision,
        explain: wire.explain,
    })
}

/// Everything that the answer depends on, without what only cuts or explains it.
pub(super) fn fit_question(wire: &pb::FindFitRequest) -> pb::FindFitRequest {
    pb::FindFitRequest {
        page_size: 0,
        page_token: String::new(),
        misses_max: 0,
        min_revision: 0,
        explain: false,
        ..wire.clone()
    }
}

pub(super) fn size_question(wire: &pb::FindBySizeRequest) -> pb::FindBySizeRequest {
    pb::FindBySizeRequest {
        page_size: 0,
        page_token: String::new(),
        min_revision: 0,
        ..wire.clone()
    }
}

pub(super) fn replacement_question(
    wire: &pb::FindReplacementRequest,
) -> pb::FindReplacementRequest {
    pb::FindReplacementRequest {
        page_size: 0,
        page_token: String::new(),
        min_revision: 0,
        ..wire.clone()
    }
}

fn min_revision(check: &mut Check, revision: i64) -> i64 {
    if revision < 0 {
        let problem =
            format!("it is {revision}; 0 (any) or a revision that a change answered with");
        check.refuse("min_revision", problem);
    }
    revision
}

fn duty(check: &mut Check, wire: Option<&pb::SeatDuty>) -> Duty {
    let wire = wire.copied().unwrap_or_default();
    Duty {
        rotation: check
            .optional_enum("duty.rotation", wire.rotation)
            .unwrap_or(RingRotation::InnerRotates),
        load: check.optional_enum("duty.load", wire.load).unwrap_or(LoadClass::Normal),
        machine: check.optional_enum("duty.machine", wire.machine).unwrap_or(Machine::Motor),
    }
}

fn other_end(check: &mut Check, wire: &pb::OtherEnd) -> Option<OtherEnd> {
    let found = match &wire.measured {
        Some(part) => measured(check, "other.measured", part),
        None => {
            check.refuse("other.measured", "it is not given; a measured housing bore is required");
            None
        }
    };
    let required = match &wire.requirement {
        None => None,
        some => Some(requirement(check, "other.requirement", some.as_ref())?.0),
    };
    let outside = check.optional_length("other.outside_diameter", wire.outside_diameter.as_ref());
    Some(OtherEnd {
        measured: found?,
        requirement: required,
        outside_diameter: outside.map(|entry| entry.length),
    })
}

fn cap(check: &mut Check, field: &str, number: i32, default: usize, most: usize) -> usize {
    match usize::try_from(number) {
        Ok(0) => default,
        Ok(number) => number.min(most),
        Err(_) => {
            check.refuse(field, format!("it is {number}; 0 (the default) to {most} is allowed"));
            default
        }
    }
}

/// How much a bushing closes in, if that is said; none only if refused.
pub(super) fn close_in(
    check: &mut Check,
    field: &str,
    wire: Option<&pb::CloseIn>,
) -> Option<Option<CloseIn>> {
    let Some(wire) = wire else { return Some(None) };
    let least = check.signed_length(&format!("{field}.min"), wire.min.as_ref());
    let most = check.signed_length(&format!("{field}.max"), wire.max.as_ref());
    match CloseIn::new(least?.length, most?.length) {
        Ok(close_in) => Some(Some(close_in)),
        Err(error) => {
            check.refuse(field, error.to_string());
            None
        }
    }
}

fn measured(check: &mut Check, field: &str, wire: &pb::MeasuredPart) -> Option<MeasuredSize> {
    let at = |name: &str| format!("{field}.{name}");
    match &wire.size {
        Some(Size::PieceFeature(place)) => Some(MeasuredSize::Piece {
            tag: check.tag(&at("piece_feature.piece_tag"), &place.piece_tag),
            feature: check.feature_name(&at("piece_feature.feature"), &place.feature),
        }),
        Some(Size::Value(value)) => {
            let entry = check.length(&at("value"), Some(value));
            let kind = check.required_enum::<FeatureKind>(&at("kind"), wire.kind);
            let doubt = doubt(check, field, wire);
            let item = check.optional_enum::<ItemKind>(&at("item"), wire.item);
            if item.is_some_and(|one| !matches!(one, ItemKind::RollingBearing | ItemKind::Bushing))
            {
                check.refuse(&at("item"), "only rolling_bearing or bushing is allowed");
            }
            let material = check.optional_enum(&at("material"), wire.material);
            let temperature =
                check.optional_temperature(&at("temperature"), wire.temperature.as_ref());
            let temperature = temperature.map(|(entered, text)| {
                ask_fahrenheit(check, &at("temperature.value"), entered, &text);
                entered.temperature
            });
            Some(MeasuredSize::Value(Box::new(ValueOf {
                entry: entry?,
                kind: kind?,
                item,
                doubt: doubt?,
                material,
                temperature,
            })))
        }
        None => {
            check.refuse(
                &at("value"),
                "it is not given; a size, or a feature of a piece, is required",
            );
            None
        }
    }
}

/// Asks about a Celsius temperature that may be Fahrenheit. Who did measure so hot a part says so in
/// Fahrenheit, about which nothing is asked.
fn ask_fahrenheit(check: &mut Check, field: &str, entered: EnteredTemperature, text: &str) {
    if entered.temperature.looks_fahrenheit(entered.scale) {
        let as_it_is = entered.temperature.fahrenheit();
        let problem = format!(
            "{text} C is above 60 C: was it Fahrenheit? then it is {text} F; a part that is so hot \
             is at {as_it_is} F"
        );
        check.refuse(field, problem);
    }
}

fn doubt(check: &mut Check, field: &str, wire: &pb::MeasuredPart) -> Option<Doubt> {
    let gauge_field = format!("{field}.gauge_tag");
    let gauge = check.optional_tag(&gauge_field, &wire.gauge_tag);
    let given = wire.expanded_uncertainty.as_ref();
    let uncertainty: Option<Entry> =
        check.optional_length(&format!("{field}.expanded_uncertainty"), given);
    match (gauge, uncertainty) {
        (Some(_), Some(_)) => {
            check.refuse(
                &gauge_field,
                "a gauge and an uncertainty are both given; only one is allowed",
            );
            None
        }
        (Some(gauge), None) => Some(Doubt::Gauge(gauge)),
        (None, Some(uncertainty)) => Some(Doubt::Uncertainty(uncertainty.length)),
        (None, None) => given.is_none().then_some(Doubt::LastPlace),
    }
}

fn filter(check: &mut Check, wire: Option<&pb::StockFilter>) -> StockFilter {
    let Some(wire) = wire else { return StockFilter::default() };
    let lists = [
        ("conditions", wire.conditions.len()),
        ("location_codes", wire.location_codes.len()),
        ("materials", wire.materials.len()),
        ("clearance_groups", wire.clearance_groups.len()),
        ("closures", wire.closures.len()),
    ];
    for (name, count) in lists {
        check.list_length(&format!("filter.{name}"), count, 0, FILTER_MAX);
    }
    StockFilter {
        conditions: enums(check, "filter.conditions", &wire.conditions),
        locations: (0..)
            .zip(&wire.location_codes)
            .map(|(index, code): (usize, _)| {
                check.tag(&format!("filter.location_codes[{index}]"), code)
            })
            .collect(),
        materials: enums(check, "filter.materials", &wire.materials),
        clearances: names(check, "filter.clearance_groups", &wire.clearance_groups),
        closures: names(check, "filter.closures", &wire.closures),
        price_max: check.optional_money("filter.price_max", wire.price_max.as_ref()),
        free_only: wire.free_only,
        available_at: check.optional_time("filter.available_at", wire.available_at.as_ref()),
    }
}

fn enums<T: WireEnum>(check: &mut Check, field: &str, numbers: &[i32]) -> Vec<T> {
    let numbers = numbers.iter().enumerate();
    numbers
        .filter_map(|(index, number)| check.required_enum(&format!("{field}[{index}]"), *number))
        .collect()
}

fn names<T>(check: &mut Check, field: &str, texts: &[String]) -> Vec<T>
where
    T: std::str::FromStr<Err = UnknownName>,
{
    let mut found = Vec::new();
    for (index, text) in texts.iter().enumerate() {
        match text.parse::<T>() {
            Ok(one) => found.push(one),
            Err(error) => check.refuse(&format!("{field}[{index}]"), error.to_string()),
        }
    }
    found
}

/// A question by sizes.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn find_by_size(wire: &pb::FindBySizeRequest) -> Result<FindBySize, Error> {
    let mut check = Check::new();
    let item = check.optional_enum("item", wire.item);
    check.list_length("windows", wire.windows.len(), 1, WINDOWS_MAX);
    let mut unit = None;
    let windows: Vec<SizeWindow> = wire
        .windows
        .iter()
        .take(WINDOWS_MAX)
        .enumerate()
        .filter_map(|(index, wire)| window(&mut check, index, wire, &mut unit))
        .collect();
    let filter = filter(&mut check, wire.filter.as_ref());
    let question = size_question(wire);
    let page = ranked::size(&mut check, wire.page_size);
    let after = ranked::read(&mut check, "FindBySize", &wire.page_token, &question);
    let min_revision = min_revision(&mut check, wire.min_revision);
    check.finish()?;
    let unit = unit.unwrap_or(Unit::Millimetre);
    let order = FindBySize { item, windows, filter, page, after, unit, min_revision };
    order.narrowest_first()?;
    Ok(order)
}

fn window(
    check: &mut Check,
    index: usize,
    wire: &pb::SizeWindow,
    unit: &mut Option<Unit>,
) -> Option<SizeWindow> {
    let field = format!("windows[{index}]");
    let kind = check.required_enum(&format!("{field}.kind"), wire.kind);
    let lower = check.optional_length(&format!("{field}.lower"), wire.lower.as_ref());
    let upper = check.optional_length(&format!("{field}.upper"), wire.upper.as_ref());
    if wire.lower.is_none() && wire.upper.is_none() {
        check.refuse(&field, "neither lower nor upper is given; at least one is required");
    }
    if let (Some(lower), Some(upper)) = (&lower, &upper)
        && lower.length > upper.length
    {
        let problem = format!(
            "{} is above upper, {}; lower must not be above upper",
            lower.length.display_in(lower.unit),
            upper.length.display_in(upper.unit)
        );
        check.refuse(&format!("{field}.lower"), problem);
    }
    let written = lower.as_ref().or(upper.as_ref()).map(|entry| entry.unit);
    *unit = unit.or(written.map(crate::app::standards::spoken));
    Some(SizeWindow {
        kind: kind?,
        lower: lower.map(|entry| entry.length),
        upper: upper.map(|entry| entry.length),
    })
}

/// A question of what may stand in.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn find_replacement(wire: &pb::FindReplacementRequest) -> Result<FindReplacement, Error> {
    use pb::find_replacement_request::Wanted as Wire;
    let mut check = Check::new();
    let wanted = match &wire.wanted {
        Some(Wire::ItemCode(code)) => Some(Wanted::Item(check.tag("item_code", code))),
        Some(Wire::Designation(number)) => {
            Some(Wanted::Designation(check.text("designation", number, 40)))
        }
        None => {
            let problem = "it is not given; an item_code or a designation is required";
            check.refuse("wanted", problem);
            None
        }
    };
    let machine = check.optional_enum("machine", wire.machine).unwrap_or(Machine::General);
    let filter = filter(&mut check, wire.filter.as_ref());
    let question = replacement_question(wire);
    let size = ranked::size(&mut check, wire.page_size);
    let after = ranked::read(&mut check, "FindReplacement", &wire.page_token, &question);
    let page = PageOf { size, after };
    let min_revision = min_revision(&mut check, wire.min_revision);
    let Some(wanted) = wanted else { return Err(check.into_error()) };
    check.finish()?;
    Ok(FindReplacement { wanted, machine, filter, page, min_revision })
}
