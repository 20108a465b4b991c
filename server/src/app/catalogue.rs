//! The catalogue: items and their features.

use super::act::{Act, View};
use super::error::{Error, check_etag};
use tenths_domain::bearings::designation;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::ids::{FeatureId, ItemId};
use tenths_domain::item::{Feature, FeatureKind, ItemKind, Tolerance};
use tenths_domain::substitution::SetSize;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Length, Unit};
use tenths_storage::{Item, ItemFeature, Page};

/// Adds an item.
#[derive(Clone, Debug)]
pub struct CreateItem {
    /// The shop's code.
    pub code: String,
    /// What kind of part it is.
    pub kind: ItemKind,
    /// What it is, in words.
    pub description: String,
    /// Basic number of a rolling bearing, or empty.
    pub designation: String,
    /// What it is made of.
    pub material: Option<Material>,
    /// How many make a matched set.
    pub set: SetSize,
    /// Whether nothing else may be fitted in its place.
    pub no_substitute: bool,
    /// Its measurable places.
    pub features: Vec<ItemFeature>,
}

/// Replaces an item's words.
#[derive(Clone, Debug)]
pub struct UpdateItem {
    /// The item.
    pub code: String,
    /// Its version as last read.
    pub etag: i64,
    /// The new description.
    pub description: String,
    /// The new designation.
    pub designation: String,
    /// The new material.
    pub material: Option<Material>,
    /// How many make a matched set.
    pub set: SetSize,
    /// Whether nothing else may be fitted in its place.
    pub no_substitute: bool,
}

/// Adds a feature to an item, or replaces the one of that name.
#[derive(Clone, Debug)]
pub struct SetFeature {
    /// The item.
    pub item_code: String,
    /// Its version as last read.
    pub etag: i64,
    /// The whole feature.
    pub feature: ItemFeature,
}

/// Adds an item; a rolling bearing without features gets those of its basic number.
///
/// # Errors
/// [`Error::AlreadyExists`] if the code is taken.
pub async fn create_item(act: &Act<'_>, new: &CreateItem) -> Result<Item, Error> {
    if act.tx.item_by_code(&new.code).await?.is_some() {
        return Err(Error::AlreadyExists { kind: "item", name: new.code.clone() });
    }
    let mut features = new.features.clone();
    if features.is_empty() && new.kind == ItemKind::RollingBearing && !new.designation.is_empty() {
        features = bearing_features(&new.designation)?;
    }
    let item = Item {
        id: ItemId(0),
        code: new.code.clone(),
        kind: new.kind,
        description: new.description.clone(),
        designation: new.designation.clone(),
        material: new.material,
        set: new.set,
        no_substitute: new.no_substitute,
        created_at: act.now,
        revision: 1,
        features,
    };
    Ok(act.tx.insert_item(item).await?)
}

/// Bore, outside diameter and width of a basic number, Normal class.
pub(crate) fn bearing_features(number: &str) -> Result<Vec<ItemFeature>, Error> {
    let bearing = designation::parse(number)
        .map_err(|error| Error::invalid("item.designation", error.to_string()))?;
    let ring = Tolerance::Iso492(ToleranceClass::Normal);
    let dimensions = bearing.dimensions;
    Ok([
        ("bore", FeatureKind::Bore, dimensions.bore, ring.clone()),
        ("od", FeatureKind::OutsideDiameter, dimensions.outside_diameter, ring),
        ("width", FeatureKind::Width, dimensions.width, Tolerance::None),
    ]
    .into_iter()
    .map(|(name, kind, nominal, tolerance)| standard_feature(name, kind, nominal, tolerance))
    .collect())
}

fn standard_feature(
    name: &str,
    kind: FeatureKind,
    nominal: Length,
    tolerance: Tolerance,
) -> ItemFeature {
    let text = nominal.number(Unit::Millimetre, 6);
    ItemFeature {
        id: FeatureId(0),
        nominal_text: text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        nominal_unit: Unit::Millimetre,
        feature: Feature {
            name: name.to_owned(),
            kind,
            nominal,
            tolerance,
            wear_limit: None,
            recondition_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            reference_station: None,
            limit_source: "ISO 15 boundary dimensions, ISO 492 Normal class".to_owned(),
        },
    }
}

/// Reads one item.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_item(view: View<'_>, code: &str) -> Result<Item, Error> {
    view.find_item(code).await
}

/// Lists items in order of creation.
///
/// # Errors
/// A database that does not answer.
pub async fn list_items(
    view: View<'_>,
    page: Page,
    kind: Option<ItemKind>,
) -> Result<Vec<Item>, Error> {
    Ok(view.tx.items_page(page, kind).await?)
}

/// Replaces an item's words.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`].
pub async fn update_item(act: &Act<'_>, change: &UpdateItem) -> Result<Item, Error> {
    let mut item = act.view().find_item(&change.code).await?;
    check_etag("item", &item.code, item.revision, Some(change.etag))?;
    item.description.clone_from(&change.description);
    item.designation.clone_from(&change.designation);
    item.material = change.material;
    item.set = change.set;
    item.no_substitute = change.no_substitute;
    act.tx.save_item(&mut item).await?;
    Ok(item)
}

/// Adds a feature to an item, or replaces the one of that name.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] if the kind or nominal size of a
/// feature would change under readings that were judged by it.
pub async fn set_feature(act: &Act<'_>, change: &SetFeature) -> Result<Item, Error> {
    let mut item = act.view().find_item(&change.item_code).await?;
    check_etag("item", &item.code, item.revision, Some(change.etag))?;
    let mut feature = change.feature.clone();
    if let Some(old) = item.feature(&feature.feature.name) {
        feature.id = old.id;
        let moved = old.feature.kind != feature.feature.kind
            || old.feature.nominal != feature.feature.nominal
            || old.feature.reference_station != feature.feature.reference_station;
        if moved && act.tx.feature_has_readings(old.id).await? {
            return Err(Error::forbidden(
                "FEATURE_HAS_READINGS",
                format!("{}/{}", item.code, feature.feature.name),
                "readings were taken of this feature, so its kind, nominal size and reference station stay; \
                 add a feature of another name, or another item",
            ));
        }
    }
    act.tx.save_feature(item.id, &feature).await?;
    act.tx.save_item(&mut item).await?;
    act.view().find_item(&change.item_code).await
}
