//! Items, one feature a row.

use super::apply::{Applying, unique};
use super::cell::{self, Cells, bad_row, named, text};
use super::lengths::{exact_text, size, tolerance, tolerance_text};
use super::{BadRow, FEATURES_MAX, TEXT_CHARACTERS_MAX};
use crate::app::act::View;
use crate::app::catalogue::bearing_features;
use crate::app::error::Error;
use std::collections::HashMap;
use tenths_domain::ids::{FeatureId, ItemId};
use tenths_domain::item::{Feature, FeatureKind, ItemKind, Tolerance};
use tenths_domain::substitution::SetSize;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Length, Unit};
use tenths_storage::{Item, ItemFeature, Page};

/// The columns that say something of the feature that a row names.
const OF_THE_FEATURE: [&str; 9] = [
    "feature_kind",
    "nominal",
    "tolerance",
    "wear_limit",
    "recondition_limit",
    "out_of_round_limit",
    "taper_limit",
    "reference_station",
    "limit_source",
];

/// A row that is good by itself.
#[derive(Clone, Debug)]
pub(super) struct ItemRow {
    line: i64,
    code: String,
    kind: ItemKind,
    description: String,
    designation: String,
    material: Option<Material>,
    set: SetSize,
    no_substitute: bool,
    feature: Option<ItemFeature>,
}

/// Reads a row.
pub(super) fn read(mut cells: Cells<'_>, line: i64) -> Result<ItemRow, Vec<BadRow>> {
    if !cells.fit() {
        return Err(cells.misfits());
    }
    let code = cells.required("code", "a code", cell::tag);
    let kind = cells.required("kind", "a kind", named::<ItemKind>);
    let description = cells.required("description", "a description", text(TEXT_CHARACTERS_MAX));
    let designation = cells.optional("designation", cell::tag);
    let material = cells.optional("material", named);
    let set = cells.optional("set_of", set_size);
    let no_substitute = cells.optional("no_substitute", yes);
    let feature =
        if cells.get("feature").is_empty() { no_feature(&mut cells) } else { feature(&mut cells) };
    let row = code.zip(kind).map(|(code, kind)| ItemRow {
        line,
        code,
        kind,
        description: description.unwrap_or_default(),
        designation: designation.unwrap_or_default(),
        material,
        set: set.unwrap_or(SetSize::ONE),
        no_substitute: no_substitute.is_some(),
        feature,
    });
    cells.finish(row)?.ok_or_else(Vec::new)
}

fn no_feature(cells: &mut Cells<'_>) -> Option<ItemFeature> {
    if let Some(column) = OF_THE_FEATURE.iter().find(|column| !cells.get(column).is_empty()) {
        cells.refuse("feature", format!("it is empty, but {column} is given: name the feature"));
    }
    None
}

fn feature(cells: &mut Cells<'_>) -> Option<ItemFeature> {
    let name = cells.required("feature", "a name", cell::feature_name);
    let kind = cells.required("feature_kind", "a kind of feature", named::<FeatureKind>);
    let nominal = cells.required("nominal", "a nominal size", size);
    let tolerance = cells.optional("tolerance", tolerance);
    let mut limit = |column| cells.optional(column, size).map(|entry| entry.length);
    let wear_limit = limit("wear_limit");
    let recondition_limit = limit("recondition_limit");
    let out_of_round_limit = limit("out_of_round_limit");
    let taper_limit = limit("taper_limit");
    let reference_station = cells.optional("reference_station", cell::station);
    let limit_source = cells.optional("limit_source", text(TEXT_CHARACTERS_MAX));
    let nominal = nominal?;
    let feature = Feature {
        name: name?,
        kind: kind?,
        nominal: nominal.length,
        tolerance: tolerance.unwrap_or(Tolerance::None),
        wear_limit,
        recondition_limit,
        out_of_round_limit,
        taper_limit,
        reference_station,
        limit_source: limit_source.unwrap_or_default(),
    };
    if let Err(error) = feature.limits() {
        cells.refuse("tolerance", error.to_string());
    }
    Some(ItemFeature {
        id: FeatureId(0),
        nominal_text: nominal.text,
        nominal_unit: nominal.unit,
        feature,
    })
}

/// An item that rows of a batch name, as it will be.
struct Draft {
    item: Item,
    /// How many of its features are in the database; the rest are new.
    stored_features: usize,
}

/// Looks up and writes rows.
pub(super) async fn apply(applying: &mut Applying<'_>, rows: Vec<ItemRow>) -> Result<(), Error> {
    let tx = applying.act.tx;
    let codes = unique(rows.iter().map(|row| row.code.as_str()));
    let stored = tx.items_by_codes(&codes).await?;
    let draft = |item: Item| Draft { stored_features: item.features.len(), item };
    let mut drafts: HashMap<String, Draft> =
        stored.into_iter().map(|(code, item)| (code, draft(item))).collect();
    let mut new_codes = Vec::new();
    for row in rows {
        let line = row.line;
        let found = match drafts.get_mut(&row.code) {
            Some(draft) => add_to(draft, row),
            None => new_item(row, applying.act.now).map(|draft| {
                new_codes.push(draft.item.code.clone());
                drafts.insert(draft.item.code.clone(), draft);
            }),
        };
        applying.note(line, found);
    }
    let new: Vec<&Item> =
        new_codes.iter().filter_map(|code| drafts.get(code)).map(|d| &d.item).collect();
    tx.insert_items(&new).await?;
    let grown: Vec<&Draft> = drafts
        .values()
        .filter(|d| d.item.id.0 != 0 && d.item.features.len() > d.stored_features)
        .collect();
    let features: Vec<(ItemId, &ItemFeature)> = grown
        .iter()
        .flat_map(|d| {
            d.item.features[d.stored_features..].iter().map(|feature| (d.item.id, feature))
        })
        .collect();
    tx.insert_features(&features).await?;
    let ids: Vec<ItemId> = grown.iter().map(|draft| draft.item.id).collect();
    Ok(tx.touch_items(&ids).await?)
}

fn new_item(row: ItemRow, now: i64) -> Result<Draft, Vec<BadRow>> {
    let features = match row.feature {
        Some(feature) => vec![feature],
        None if row.kind == ItemKind::RollingBearing && !row.designation.is_empty() => {
            bearing_features(&row.designation)
                .map_err(|error| vec![bad_row(row.line, "designation", problem(&error))])?
        }
        None => Vec::new(),
    };
    let item = Item {
        id: ItemId(0),
        code: row.code,
        kind: row.kind,
        description: row.description,
        designation: row.designation,
        material: row.material,
        set: row.set,
        no_substitute: row.no_substitute,
        created_at: now,
        revision: 1,
        features,
    };
    Ok(Draft { item, stored_features: 0 })
}

/// What an error says, without the field of a request that it names.
fn problem(error: &Error) -> String {
    match error {
        Error::Invalid(violations) => violations
            .iter()
            .map(|violation| violation.problem.as_str())
            .collect::<Vec<_>>()
            .join("; "),
        other => other.to_string(),
    }
}

/// Adds a row's feature to an item that is there, whose own columns must agree.
fn add_to(draft: &mut Draft, row: ItemRow) -> Result<(), Vec<BadRow>> {
    let item = &mut draft.item;
    let sets = [set_text(item.set), set_text(row.set)];
    let own = [
        ("kind", item.kind.as_str(), row.kind.as_str()),
        ("description", &item.description, &row.description),
        ("designation", &item.designation, &row.designation),
        ("material", material_text(item.material), material_text(row.material)),
        ("set_of", &sets[0], &sets[1]),
        ("no_substitute", yes_text(item.no_substitute), yes_text(row.no_substitute)),
    ];
    let differs = |(column, stored, given): &(&str, &str, &str)| {
        (stored != given).then(|| {
            let reason = format!("it is {given:?}, but item {} is there with {stored:?}", row.code);
            bad_row(row.line, column, reason)
        })
    };
    let mut bad: Vec<BadRow> = own.iter().filter_map(differs).collect();
    match row.feature {
        None => {
            let reason =
                format!("item {} is there already and the row names no feature to add", row.code);
            bad.push(bad_row(row.line, "code", reason));
        }
        Some(feature) if item.feature(&feature.feature.name).is_some() => {
            let name = &feature.feature.name;
            let reason = format!("item {} has a feature {name} already", row.code);
            bad.push(bad_row(row.line, "feature", reason));
        }
        Some(_) if item.features.len() >= FEATURES_MAX => {
            let reason =
                format!("item {} has {FEATURES_MAX} features; more are not allowed", row.code);
            bad.push(bad_row(row.line, "feature", reason));
        }
        Some(feature) if bad.is_empty() => item.features.push(feature),
        Some(_) => {}
    }
    if bad.is_empty() { Ok(()) } else { Err(bad) }
}

/// A set of one is not written.
fn set_text(set: SetSize) -> String {
    if set == SetSize::ONE { String::new() } else { set.count().to_string() }
}

fn yes_text(said: bool) -> &'static str {
    if said { "yes" } else { "" }
}

fn set_size(text: &str) -> Result<SetSize, String> {
    let count = text.parse().map_err(|_| format!("{text:?} is no number; allowed: 1 to 12"))?;
    SetSize::new(count).map_err(|error| error.to_string())
}

fn yes(text: &str) -> Result<(), String> {
    if text == "yes" {
        Ok(())
    } else {
        Err(format!("{text:?} is not allowed; allowed: yes, or empty"))
    }
}

fn material_text(material: Option<Material>) -> &'static str {
    material.map_or("", Material::as_str)
}

/// A page of items as rows, and the last item's number.
pub(super) async fn export(
    view: View<'_>,
    page: Page,
) -> Result<(Vec<Vec<String>>, Option<i64>), Error> {
    let items = view.tx.items_page(page, None).await?;
    let last = items.last().map(|item| item.id.0);
    let rows = items.iter().flat_map(|item| {
        let features = item.features.iter().map(Some);
        // An item without features is one row without a feature.
        let alone = item.features.is_empty().then_some(None);
        features.chain(alone).map(|feature| row_of(item, feature))
    });
    Ok((rows.collect(), last))
}

fn row_of(item: &Item, feature: Option<&ItemFeature>) -> Vec<String> {
    let mut row = vec![
        item.code.clone(),
        item.kind.to_string(),
        item.description.clone(),
        item.designation.clone(),
        material_text(item.material).to_owned(),
    ];
    match feature {
        Some(feature) => row.extend(feature_cells(feature)),
        None => row.extend((0..=OF_THE_FEATURE.len()).map(|_| String::new())),
    }
    row.extend([set_text(item.set), yes_text(item.no_substitute).to_owned()]);
    row
}

fn feature_cells(stored: &ItemFeature) -> [String; 10] {
    let (feature, unit) = (&stored.feature, stored.nominal_unit);
    [
        feature.name.clone(),
        feature.kind.to_string(),
        format!("{} {unit}", stored.nominal_text),
        tolerance_text(&feature.tolerance, unit),
        limit_text(feature.wear_limit, unit),
        limit_text(feature.recondition_limit, unit),
        limit_text(feature.out_of_round_limit, unit),
        limit_text(feature.taper_limit, unit),
        feature.reference_station.clone().unwrap_or_default(),
        feature.limit_source.clone(),
    ]
}

fn limit_text(limit: Option<Length>, unit: Unit) -> String {
    limit.map(|limit| exact_text(limit, unit)).unwrap_or_default()
}
