//! Pieces, one a row.

use super::apply::{Applying, absent, taken, unique};
use super::cell::{self, Cells, bad_row, named, shown, text};
use super::dimensions::{self, Dimension};
use super::measured::{Measured, dimensions_of};
use super::{BadRow, NAME_CHARACTERS_MAX, TEXT_CHARACTERS_MAX};
use crate::app::act::View;
use crate::app::error::Error;
use crate::app::stock::ledger_entry;
use std::collections::{HashMap, HashSet};
use tenths_domain::ids::{GaugeId, ItemId, LocationId, PieceId};
use tenths_domain::item::ItemKind;
use tenths_domain::state::{BuiltUp, LedgerReason, PieceCondition, PieceState};
use tenths_domain::temperature::Material;
use tenths_storage::{Gauge, Item, LedgerSubject, Page, Piece};

/// A row that is good by itself.
#[derive(Clone, Debug)]
pub(super) struct PieceRow {
    line: i64,
    tag: Option<String>,
    item: String,
    condition: PieceCondition,
    location: String,
    material: Option<Material>,
    hardness: String,
    built_up: BuiltUp,
    state: PieceState,
    gauge: Option<String>,
    dimensions: Vec<Dimension>,
    note: String,
}

/// Reads a row.
pub(super) fn read(mut cells: Cells<'_>, line: i64) -> Result<PieceRow, Vec<BadRow>> {
    if !cells.fit() {
        return Err(cells.misfits());
    }
    let tag = cells.optional("tag", cell::tag);
    let item = cells.required("item", "an item's code", cell::tag);
    let condition = cells.required("condition", "a condition", named::<PieceCondition>);
    let location = cells.required("location", "a location's code", cell::tag);
    let material = cells.optional("material", named);
    let hardness = cells.optional("hardness", text(NAME_CHARACTERS_MAX)).unwrap_or_default();
    let built_up = cells.optional("built_up", named).unwrap_or(BuiltUp::Unknown);
    let state = cells.optional("state", state).unwrap_or(PieceState::Inspection);
    let gauge = cells.optional("gauge", cell::tag);
    let dimensions = cells.optional("dimensions", dimensions::read).unwrap_or_default();
    let note = cells.optional("note", text(TEXT_CHARACTERS_MAX)).unwrap_or_default();
    if cells.get("gauge").is_empty() && dimensions.iter().any(|one| one.gauge.is_none()) {
        cells
            .refuse("gauge", "it is empty, but dimensions are given: name the gauge that was used");
    }
    let row = item.zip(condition).zip(location).map(|((item, condition), location)| PieceRow {
        line,
        tag,
        item,
        condition,
        location,
        material,
        hardness,
        built_up,
        state,
        gauge,
        dimensions,
        note,
    });
    cells.finish(row)?.ok_or_else(Vec::new)
}

fn state(text: &str) -> Result<PieceState, String> {
    match text.parse() {
        Ok(state @ (PieceState::Inspection | PieceState::InStock)) => Ok(state),
        _ => Err(format!(
            "{:?} is no state that a piece comes in with; allowed: inspection, in_stock",
            shown(text)
        )),
    }
}

impl PieceRow {
    /// The tag that a person gave.
    pub(super) fn tag(&self) -> Option<&str> {
        self.tag.as_deref()
    }

    /// The gauge of a reading.
    fn gauge_of<'r>(&'r self, dimension: &'r Dimension) -> Option<&'r str> {
        dimension.gauge.as_deref().or(self.gauge.as_deref())
    }

    fn piece(&self, item: ItemId, location: LocationId, now: i64) -> Piece {
        Piece {
            id: PieceId(0),
            // A piece without a tag gets its number when the batch is written.
            tag: self.tag.clone().unwrap_or_default(),
            item,
            core: None,
            state: self.state,
            condition: self.condition,
            location: Some(location),
            rebuild: None,
            material: self.material,
            hardness: self.hardness.clone(),
            built_up: self.built_up,
            note: self.note.clone(),
            created_at: now,
            revision: 1,
        }
    }
}

/// What the shop knows of the things that a batch names, and the pieces that come of it.
struct Batch {
    items: HashMap<String, Item>,
    locations: HashMap<String, LocationId>,
    gauges: HashMap<String, Gauge>,
    taken: HashSet<String>,
    new: Vec<(Piece, Measured)>,
}

/// Looks up and writes rows.
pub(super) async fn apply(applying: &mut Applying<'_>, rows: Vec<PieceRow>) -> Result<(), Error> {
    let mut batch = Batch::look_up(applying, &rows).await?;
    for row in &rows {
        let found = batch.take(row, applying.act.now);
        applying.note(row.line, found);
    }
    batch.write(applying).await
}

impl Batch {
    async fn look_up(applying: &Applying<'_>, rows: &[PieceRow]) -> Result<Batch, Error> {
        let tx = applying.act.tx;
        let items = unique(rows.iter().map(|row| row.item.as_str()));
        let locations = unique(rows.iter().map(|row| row.location.as_str()));
        let tags = unique(rows.iter().filter_map(PieceRow::tag));
        let of_row = rows.iter().filter_map(|row| row.gauge.as_deref());
        let of_readings =
            rows.iter().flat_map(|row| &row.dimensions).filter_map(|one| one.gauge.as_deref());
        let gauges = unique(of_row.chain(of_readings));
        Ok(Batch {
            items: tx.items_by_codes(&items).await?,
            locations: tx.location_ids(&locations).await?,
            gauges: tx.gauges_by_tags(&gauges).await?,
            taken: tx.piece_tags_taken(&tags).await?,
            new: Vec::new(),
        })
    }

    fn take(&mut self, row: &PieceRow, now: i64) -> Result<(), Vec<BadRow>> {
        let mut bad = Vec::new();
        if let Some(tag) = row.tag()
            && self.taken.contains(tag)
        {
            bad.push(taken(row.line, "piece", tag));
        }
        let location = self.locations.get(&row.location).copied();
        if location.is_none() {
            bad.push(absent(row.line, "location", "location", &row.location));
        }
        bad.extend(self.gauge_faults(row));
        let Some(item) = self.items.get(&row.item) else {
            bad.push(absent(row.line, "item", "item", &row.item));
            return Err(bad);
        };
        if item.kind == ItemKind::RollingBearing && row.condition != PieceCondition::New {
            let reason = "a used rolling bearing is not taken into stock: a removed bearing is never offered \
                          for reuse; allowed for rolling bearings: new";
            bad.push(bad_row(row.line, "condition", reason));
        }
        if let Err(reason) = Measured::check(item, &row.dimensions) {
            bad.push(bad_row(row.line, "dimensions", reason));
        }
        let (Some(location), true) = (location, bad.is_empty()) else { return Err(bad) };
        let gauge = |dimension: &Dimension| self.gauges.get(row.gauge_of(dimension)?);
        let measured = Measured::of(item, row.material, &row.dimensions, gauge)
            .map_err(|reason| vec![bad_row(row.line, "gauge", reason)])?;
        self.new.push((row.piece(item.id, location, now), measured));
        self.taken.extend(row.tag.clone());
        Ok(())
    }

    /// Gauges that are not there or may not be used, one problem a row.
    fn gauge_faults(&self, row: &PieceRow) -> Option<BadRow> {
        let named = row.dimensions.iter().filter_map(|one| one.gauge.as_deref());
        named.chain(row.gauge.as_deref()).find_map(|tag| {
            // The row's own gauge has a column; the gauge of one reading stands in its cell.
            let column = if row.gauge.as_deref() == Some(tag) { "gauge" } else { "dimensions" };
            let Some(gauge) = self.gauges.get(tag) else {
                return Some(absent(row.line, column, "gauge", tag));
            };
            let reason = Measured::unusable(gauge)?;
            Some(bad_row(row.line, column, reason))
        })
    }

    async fn write(self, applying: &Applying<'_>) -> Result<(), Error> {
        let act = &applying.act;
        let (mut pieces, measured): (Vec<Piece>, Vec<Measured>) = self.new.into_iter().unzip();
        number(applying, &mut pieces).await?;
        let ids = act.tx.insert_pieces(&pieces).await?;
        let (mut ledger, mut readings, mut sizes) = (Vec::new(), Vec::new(), Vec::new());
        for (piece, measured) in pieces.iter().zip(measured) {
            let (Some(id), Some(location)) = (ids.get(&piece.tag), piece.location) else {
                continue;
            };
            let subject = LedgerSubject::Piece(*id);
            ledger.push(ledger_entry(act, LedgerReason::Receive, subject, location, 1));
            measured.record(act, *id, &mut readings, &mut sizes);
        }
        act.tx.write_ledger_bulk(&ledger).await?;
        act.tx.insert_readings_bulk(&readings).await?;
        Ok(act.tx.insert_piece_sizes(&sizes).await?)
    }
}

/// Gives tags to the pieces that have none.
async fn number(applying: &Applying<'_>, pieces: &mut [Piece]) -> Result<(), Error> {
    let untagged: Vec<&mut Piece> =
        pieces.iter_mut().filter(|piece| piece.tag.is_empty()).collect();
    let mut tags = Vec::new();
    while tags.len() < untagged.len() {
        let more = applying.numbers("P", untagged.len() - tags.len()).await?;
        let names: Vec<&str> = more.iter().map(String::as_str).collect();
        let taken = applying.act.tx.piece_tags_taken(&names).await?;
        tags.extend(more.into_iter().filter(|tag| !taken.contains(tag)));
    }
    for (piece, tag) in untagged.into_iter().zip(tags) {
        piece.tag = tag;
    }
    Ok(())
}

/// A page of pieces as rows, and the last piece's number. What is no longer in the shop is left out,
/// and so are used rolling bearings, which cannot be taken in again.
pub(super) async fn export(
    view: View<'_>,
    page: Page,
) -> Result<(Vec<Vec<String>>, Option<i64>), Error> {
    let pieces = view.tx.pieces_page(page, None, None, None).await?;
    let last = pieces.last().map(|piece| piece.id.0);
    let here: Vec<Piece> = pieces.into_iter().filter(|piece| piece.state.is_in_shop()).collect();
    let ids: Vec<PieceId> = here.iter().map(|piece| piece.id).collect();
    let mut readings = view.tx.readings_of_pieces(&ids).await?;
    let used: HashSet<GaugeId> = readings.values().flatten().map(|reading| reading.gauge).collect();
    let gauges = view.tx.gauge_tags(used.into_iter().collect::<Vec<_>>()).await?;
    let mut rows = Vec::new();
    for shown in view.pieces(here).await? {
        let piece = &shown.piece;
        if shown.item.kind == ItemKind::RollingBearing && piece.condition != PieceCondition::New {
            continue;
        }
        let readings = readings.remove(&piece.id).unwrap_or_default();
        let (gauge, dimensions) = dimensions_of(&shown.sizes, &readings, &gauges);
        rows.push(vec![
            piece.tag.clone(),
            shown.item.code.clone(),
            piece.condition.to_string(),
            shown.location_code.clone(),
            piece.material.map_or("", Material::as_str).to_owned(),
            piece.hardness.clone(),
            piece.built_up.to_string(),
            state_text(piece.state).to_owned(),
            gauge,
            dimensions::write(&dimensions),
            piece.note.clone(),
        ]);
    }
    Ok((rows, last))
}

/// A piece under repair comes into another shop to be inspected there.
fn state_text(state: PieceState) -> &'static str {
    match state {
        PieceState::InStock => PieceState::InStock.as_str(),
        PieceState::Inspection
        | PieceState::Reconditioning
        | PieceState::Consumed
        | PieceState::Scrapped => PieceState::Inspection.as_str(),
    }
}
