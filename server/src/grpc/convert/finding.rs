//! Finding on the wire: questions in, rows out.

use super::common::{length, money, or_unspecified, requirement, time, verdict};
use super::standards::trace;
use crate::app::Error;
use crate::app::finding::{
    FindBySize, FindFit, FindReplacement, FitAnswer, FitRow, Freshness, MeasuredSize, MissRow,
    NothingFits, OtherEnd, PageOf, PlaceOf, ReplacementAnswer, ReplacementRow, Shown, ShownPlace,
    SizeAnswer, SizeRow, SizeWindow, SmallestChange, Stand, StockFilter, ValueOf, Wanted,
    limits_of,
};
use crate::app::fits::Doubt;
use crate::grpc::check::Check;
use crate::grpc::ranked::{self, Position};
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::fit::{CloseIn, SizeBelief};
use tenths_domain::item::{FeatureKind, ItemKind, Limits, Side};
use tenths_domain::named::UnknownName;
use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation};
use tenths_domain::substitution::Difference;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_proto::v1 as pb;
use tenths_proto::v1::fit_candidate::Stock;
use tenths_proto::v1::measured_part::Size;
use tenths_storage::StockedHold;

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
    let close_in = close_in(&mut check, wire.close_in.as_ref());
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
    })
}

/// Everything that the answer depends on, without what only cuts it.
fn fit_question(wire: &pb::FindFitRequest) -> pb::FindFitRequest {
    pb::FindFitRequest {
        page_size: 0,
        page_token: String::new(),
        misses_max: 0,
        min_revision: 0,
        ..wire.clone()
    }
}

fn size_question(wire: &pb::FindBySizeRequest) -> pb::FindBySizeRequest {
    pb::FindBySizeRequest {
        page_size: 0,
        page_token: String::new(),
        min_revision: 0,
        ..wire.clone()
    }
}

fn replacement_question(wire: &pb::FindReplacementRequest) -> pb::FindReplacementRequest {
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

fn close_in(check: &mut Check, wire: Option<&pb::CloseIn>) -> Option<Option<CloseIn>> {
    let Some(wire) = wire else { return Some(None) };
    let least = check.signed_length("close_in.min", wire.min.as_ref());
    let most = check.signed_length("close_in.max", wire.max.as_ref());
    match CloseIn::new(least?.length, most?.length) {
        Ok(close_in) => Some(Some(close_in)),
        Err(error) => {
            check.refuse("close_in", error.to_string());
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
            let temperature = temperature.map(|(entered, _)| entered.temperature);
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

fn total(count: impl TryInto<i64>) -> i64 {
    count.try_into().unwrap_or(i64::MAX)
}

fn next_token<M: prost::Message, P: Position>(
    method: &str,
    question: &M,
    next: Option<&P>,
) -> String {
    next.map(|position| ranked::token(method, question, position)).unwrap_or_default()
}

/// How fresh, outward.
pub fn freshness(fresh: Freshness) -> pb::Freshness {
    pb::Freshness { revision: fresh.revision, age: prost_types::Duration::try_from(fresh.age).ok() }
}

/// What fits, outward.
pub fn fit_answer(question: &pb::FindFitRequest, answer: FitAnswer) -> pb::FindFitResponse {
    let unit = answer.unit;
    let next_page_token = next_token("FindFit", &fit_question(question), answer.next.as_ref());
    pb::FindFitResponse {
        fits: numbered(answer.first, answer.fits, |row, number| fit_row(row, number, unit)),
        misses: answer.misses.into_iter().map(|miss| miss_row(miss, unit)).collect(),
        fits_seen: total(answer.fits_seen),
        measured_min: Some(length(answer.measured.smallest(), unit)),
        measured_max: Some(length(answer.measured.largest(), unit)),
        expanded_uncertainty: Some(length(answer.measured.expanded_uncertainty(), unit)),
        notes: answer.notes,
        next_page_token,
        nothing_fits: answer.nothing.map(|nothing| nothing_fits(nothing, unit)),
        freshness: Some(freshness(answer.freshness)),
    }
}

/// Everything that fits, outward, in messages of at most [`PAGE_MAX`] rows; at least one.
pub fn all_fits(answer: FitAnswer) -> Vec<pb::FindAllFitsResponse> {
    let unit = answer.unit;
    let fits = numbered(answer.first, answer.fits, |row, number| fit_row(row, number, unit));
    let mut messages: Vec<pb::FindAllFitsResponse> = fits
        .chunks(PAGE_MAX)
        .map(|fits| pb::FindAllFitsResponse { fits: fits.to_vec(), ..Default::default() })
        .collect();
    if messages.is_empty() {
        messages.push(pb::FindAllFitsResponse::default());
    }
    if let Some(first) = messages.first_mut() {
        first.fits_total = total(answer.fits_seen);
        first.notes = answer.notes;
        first.freshness = Some(freshness(answer.freshness));
    }
    messages
}

/// Rows with their places in the whole answer.
fn numbered<T, R>(first: usize, rows: Vec<T>, render: impl Fn(T, i32) -> R) -> Vec<R> {
    let number = |at: usize| i32::try_from(first + at).unwrap_or(i32::MAX);
    rows.into_iter().enumerate().map(|(at, row)| render(row, number(at))).collect()
}

fn fit_row(row: FitRow, number: i32, unit: Unit) -> pb::Fit {
    let shown = |value: Length| Some(length(value, unit));
    let score = pb::FitScore {
        verdict: row.judgement.verdict.to_wire(),
        off_centre: shown(row.off_centre),
        is_held: row.shown.available <= 0,
        date_code: row.shown.date_code.clone(),
    };
    pb::Fit {
        candidate: Some(candidate(&row.shown, unit)),
        clearance_min: shown(row.fit.clearance_min),
        clearance_max: shown(row.fit.clearance_max),
        required_min: shown(row.window.min),
        required_max: shown(row.window.max),
        verdict: Some(verdict(row.judgement)),
        requirement_source: row.source,
        other: row.other.map(|(place, other, source)| pb::OtherFit {
            feature: place.feature.feature.name,
            clearance_min: shown(other.fit.clearance_min),
            clearance_max: shown(other.fit.clearance_max),
            required_min: shown(other.window.min),
            required_max: shown(other.window.max),
            verdict: Some(verdict(other.fit.judgement)),
            requirement_source: source,
            by: shown(other.by),
            side: or_unspecified(other.side),
            act: other.act.map(|act| act.words(unit)).unwrap_or_default(),
        }),
        installed_min: row.installed.and_then(|size| shown(size.smallest())),
        installed_max: row.installed.and_then(|size| shown(size.largest())),
        score: Some(score),
        traces: row.traces.into_iter().map(trace).collect(),
        row: number,
    }
}

fn miss_row(miss: MissRow, unit: Unit) -> pb::Miss {
    pb::Miss {
        fit: Some(fit_row(miss.row, 0, unit)),
        by: Some(length(miss.by, unit)),
        side: or_unspecified(miss.side),
        act: miss.act,
    }
}

fn nothing_fits(nothing: NothingFits, unit: Unit) -> pb::NothingFits {
    let change = |change: SmallestChange| match change {
        SmallestChange::Relax { tag, by, text } => pb::SmallestChange {
            kind: pb::ChangeKind::Relax.into(),
            tag,
            text,
            by: Some(length(by, unit)),
        },
        SmallestChange::Work { tag, text } => {
            pb::SmallestChange { kind: pb::ChangeKind::Work.into(), tag, text, by: None }
        }
        SmallestChange::Buy(text) => pb::SmallestChange {
            kind: pb::ChangeKind::Buy.into(),
            tag: String::new(),
            text,
            by: None,
        },
    };
    pb::NothingFits { why: nothing.why, changes: nothing.changes.into_iter().map(change).collect() }
}

fn piece_hold(hold: &StockedHold) -> pb::Hold {
    pb::Hold {
        reservation_tag: hold.tag.clone(),
        rebuild_tag: hold.rebuild_tag.clone(),
        person: hold.person.clone(),
        until_time: Some(time(hold.until_at)),
    }
}

fn stock_of(shown: &Shown) -> Stock {
    let tag = shown.tag.clone();
    if shown.is_lot { Stock::LotTag(tag) } else { Stock::PieceTag(tag) }
}

fn here(place: &PlaceOf) -> pb::LotStock {
    pb::LotStock { location_code: place.code.clone(), on_hand: place.on_hand, held: place.held }
}

/// A candidate; its nominal size is spoken of in its own unit, its size in that of the question.
fn candidate(shown: &Shown, unit: Unit) -> pb::FitCandidate {
    let (place, item) = (&shown.place, &shown.item);
    let size = place.belief.as_ref();
    let held = shown.lot_holds.iter().map(|(code, quantity, until)| pb::LotHold {
        location_code: code.clone(),
        quantity: *quantity,
        until_time: Some(time(*until)),
    });
    pb::FitCandidate {
        stock: Some(stock_of(shown)),
        item_code: item.code.clone(),
        description: item.description.clone(),
        feature: place.feature.feature.name.clone(),
        nominal: Some(length(place.nominal, place.feature.nominal_unit)),
        measured: size.is_some_and(SizeBelief::is_measured),
        size_min: size.map(|size| length(size.smallest(), unit)),
        size_max: size.map(|size| length(size.largest(), unit)),
        stock_by_location: shown.places.iter().map(here).collect(),
        available: shown.available,
        hold: shown.hold.as_ref().map(piece_hold),
        date_code: shown.date_code.clone(),
        unit_cost: shown.unit_cost.map(money),
        receive_time: Some(time(shown.created_at)),
        designation: item.designation.clone(),
        condition: shown.condition.to_wire(),
        material: or_unspecified(shown.material),
        set_of: i32::try_from(item.set.count()).unwrap_or(1),
        lot_holds: held.collect(),
    }
}

/// What has the sizes, outward.
pub fn size_answer(
    question: &pb::FindBySizeRequest,
    unit: Unit,
    answer: SizeAnswer,
) -> pb::FindBySizeResponse {
    let count = answer.rows.len();
    pb::FindBySizeResponse {
        next_page_token: next_token("FindBySize", &size_question(question), answer.next.as_ref()),
        rows: numbered(answer.first, answer.rows, |row, number| size_row(row, number, unit)),
        rows_seen: total(answer.first - 1 + count),
        notes: answer.notes,
        freshness: Some(freshness(answer.freshness)),
    }
}

fn size_row(row: SizeRow, number: i32, unit: Unit) -> pb::SizedRow {
    let size = |place: &ShownPlace| {
        let Limits { lower, upper } = limits_of(place);
        pb::FoundSize {
            feature: place.feature.feature.name.clone(),
            kind: place.feature.feature.kind.to_wire(),
            size_min: Some(length(lower, unit)),
            size_max: Some(length(upper, unit)),
            measured: place.belief.is_some_and(|size| size.is_measured()),
        }
    };
    pb::SizedRow {
        sizes: row.places.iter().map(size).collect(),
        candidate: Some(candidate(&row.shown, unit)),
        row: number,
    }
}

/// What may stand in, outward.
pub fn replacement_answer(
    question: &pb::FindReplacementRequest,
    answer: ReplacementAnswer,
) -> pb::FindReplacementResponse {
    let asked = replacement_question(question);
    pb::FindReplacementResponse {
        next_page_token: next_token("FindReplacement", &asked, answer.next.as_ref()),
        replacements: numbered(answer.first, answer.rows, replacement),
        replacements_seen: total(answer.total),
        notes: answer.notes,
        freshness: Some(freshness(answer.freshness)),
    }
}

fn replacement(row: ReplacementRow, number: i32) -> pb::Replacement {
    let unit = row.shown.place.feature.nominal_unit;
    let difference = |one: Difference| pb::Difference {
        about: one.about.to_owned(),
        acceptance: one.acceptance.to_wire(),
        note: one.note,
        source: one.source.to_owned(),
    };
    pb::Replacement {
        candidate: Some(candidate(&row.shown, unit)),
        acceptance: row.acceptance.to_wire(),
        differences: row.differences.into_iter().map(difference).collect(),
        work: row.work,
        row: number,
    }
}

/// Where the shelf stands, outward.
pub fn index_status(stand: &Stand) -> pb::GetIndexStatusResponse {
    let fresh = stand.age().map(|age| Freshness { revision: stand.revision, age });
    pb::GetIndexStatusResponse {
        ready: stand.is_ready,
        rows: total(stand.rows),
        rows_expected: total(stand.expected.max(stand.rows)),
        freshness: fresh.map(freshness),
        reloads: total(stand.reloads),
    }
}
