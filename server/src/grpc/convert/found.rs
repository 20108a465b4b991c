//! What was found, outward: rows, misses, why nothing fits, how fresh.

use super::common::{length, money, or_unspecified, time, verdict};
use super::finding::{PAGE_MAX, fit_question, replacement_question, size_question};
use super::standards::trace;
use crate::app::finding::{
    FitAnswer, FitRow, Freshness, MissRow, NothingFits, PlaceOf, ReplacementAnswer, ReplacementRow,
    Shown, ShownPlace, SizeAnswer, SizeRow, SmallestChange, Stand, limits_of,
};
use crate::grpc::ranked::{self, Position};
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::fit::SizeBelief;
use tenths_domain::item::Limits;
use tenths_domain::substitution::Difference;
use tenths_domain::units::{Length, Unit};
use tenths_proto::v1 as pb;
use tenths_proto::v1::fit_candidate::Stock;
use tenths_storage::StockedHold;

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
    let mut fits = numbered(answer.first, answer.fits, |row, number| fit_row(row, number, unit));
    let mut messages = Vec::new();
    while !fits.is_empty() {
        let rest = fits.split_off(fits.len().min(PAGE_MAX));
        messages.push(pb::FindAllFitsResponse { fits, ..Default::default() });
        fits = rest;
    }
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
    let [measure_next, next_other] = row.measure_next;
    let score = pb::FitScore {
        verdict: row.judgement.verdict.to_wire(),
        off_centre: shown(row.off_centre),
        is_held: row.shown.available <= 0,
        date_code: row.shown.date_code.clone(),
    };
    pb::Fit {
        candidate: Some(candidate(row.shown, unit)),
        clearance_min: shown(row.fit.clearance_min),
        clearance_max: shown(row.fit.clearance_max),
        required_min: shown(row.window.min),
        required_max: shown(row.window.max),
        verdict: Some(verdict(row.judgement)),
        requirement_source: row.source,
        other: row.other.map(|(place, other, source)| pb::OtherFit {
            feature: place.feature().feature.name.clone(),
            clearance_min: shown(other.fit.clearance_min),
            clearance_max: shown(other.fit.clearance_max),
            required_min: shown(other.window.min),
            required_max: shown(other.window.max),
            verdict: Some(verdict(other.fit.judgement)),
            requirement_source: source,
            by: shown(other.by),
            side: or_unspecified(other.side),
            act: other.act.map(|act| act.words(unit)).unwrap_or_default(),
            measure_next: next_other,
        }),
        installed_min: row.installed.and_then(|size| shown(size.smallest())),
        installed_max: row.installed.and_then(|size| shown(size.largest())),
        score: Some(score),
        traces: row.traces.into_iter().map(trace).collect(),
        row: number,
        unconfirmed: row.unconfirmed,
        measure_next,
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

fn piece_hold(hold: StockedHold) -> pb::Hold {
    pb::Hold {
        reservation_tag: hold.tag,
        rebuild_tag: hold.rebuild_tag,
        person: hold.person,
        until_time: Some(time(hold.until_at)),
    }
}

fn here(place: PlaceOf) -> pb::LotStock {
    pb::LotStock { location_code: place.code, on_hand: place.on_hand, held: place.held }
}

/// A candidate; its nominal size is spoken of in its own unit, its size in that of the question.
fn candidate(shown: Shown, unit: Unit) -> pb::FitCandidate {
    let (place, item) = (&shown.place, &shown.item);
    let size = place.belief.as_ref();
    let held = shown.lot_holds.into_iter().map(|(location_code, quantity, until)| pb::LotHold {
        location_code,
        quantity,
        until_time: Some(time(until)),
    });
    pb::FitCandidate {
        stock: Some(match shown.is_lot {
            true => Stock::LotTag(shown.tag),
            false => Stock::PieceTag(shown.tag),
        }),
        item_code: item.code.clone(),
        description: item.description.clone(),
        feature: place.feature().feature.name.clone(),
        nominal: Some(length(place.nominal, place.feature().nominal_unit)),
        measured: size.is_some_and(SizeBelief::is_measured),
        size_min: size.map(|size| length(size.smallest(), unit)),
        size_max: size.map(|size| length(size.largest(), unit)),
        stock_by_location: shown.places.into_iter().map(here).collect(),
        available: shown.available,
        hold: shown.hold.map(piece_hold),
        date_code: shown.date_code,
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
            feature: place.feature().feature.name.clone(),
            kind: place.feature().feature.kind.to_wire(),
            size_min: Some(length(lower, unit)),
            size_max: Some(length(upper, unit)),
            measured: place.belief.is_some_and(|size| size.is_measured()),
        }
    };
    pb::SizedRow {
        sizes: row.places.iter().map(size).collect(),
        candidate: Some(candidate(row.shown, unit)),
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
    let unit = row.shown.place.feature().nominal_unit;
    let difference = |one: Difference| pb::Difference {
        about: one.about.to_owned(),
        acceptance: one.acceptance.to_wire(),
        note: one.note,
        source: one.source.to_owned(),
    };
    pb::Replacement {
        candidate: Some(candidate(row.shown, unit)),
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
