//! Catalogue items and their features.

use crate::entities::{features, items, readings};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, length, named, named_option, one_row};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait,
    PaginatorTrait, QueryFilter, QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::bearings::iso492;
use tenths_domain::ids::{FeatureId, ItemId};
use tenths_domain::item::{Feature, ItemKind, Limits, Tolerance};
use tenths_domain::substitution::SetSize;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Length, Unit};

/// A catalogue item with its features.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Row number; 0 before it is stored.
    pub id: ItemId,
    /// The shop's code.
    pub code: String,
    /// What kind of part it is.
    pub kind: ItemKind,
    /// What it is, in words.
    pub description: String,
    /// Basic number of a rolling bearing, else empty.
    pub designation: String,
    /// What it is made of, if known.
    pub material: Option<Material>,
    /// How many make a matched set, which is never split.
    pub set: SetSize,
    /// Whether nothing else may be fitted in its place.
    pub no_substitute: bool,
    /// When it was created, in Unix microseconds.
    pub created_at: i64,
    /// Version.
    pub revision: i64,
    /// Its measurable places, in order of creation.
    pub features: Vec<ItemFeature>,
}

impl Item {
    /// The feature of this name.
    pub fn feature(&self, name: &str) -> Option<&ItemFeature> {
        self.features.iter().find(|feature| feature.feature.name == name)
    }

    /// The feature of this number.
    pub fn feature_by_id(&self, id: FeatureId) -> Option<&ItemFeature> {
        self.features.iter().find(|feature| feature.id == id)
    }
}

/// A feature as the catalogue holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemFeature {
    /// Row number; 0 before it is stored.
    pub id: FeatureId,
    /// The nominal size as it was written.
    pub nominal_text: String,
    /// The unit that it was written in; other lengths of the feature are shown in it.
    pub nominal_unit: Unit,
    /// What the domain knows of it.
    pub feature: Feature,
}

impl Tx {
    /// The item of this code.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn item_by_code(&self, code: &str) -> Result<Option<Item>, StorageError> {
        let row =
            items::Entity::find().filter(items::Column::Code.eq(code)).one(&self.inner).await?;
        Ok(self.with_features(row.into_iter().collect()).await?.pop())
    }

    /// The items of these numbers.
    ///
    /// # Errors
    /// As [`Tx::item_by_code`].
    pub async fn items_by_ids(
        &self,
        ids: impl Into<Vec<ItemId>>,
    ) -> Result<HashMap<ItemId, Item>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let rows = self.rows_in::<items::Entity>(items::Column::Id, &ids).await?;
        Ok(self.with_features(rows).await?.into_iter().map(|item| (item.id, item)).collect())
    }

    /// The features of these numbers.
    ///
    /// # Errors
    /// As [`Tx::item_by_code`].
    pub async fn features_by_ids(
        &self,
        ids: impl Into<Vec<FeatureId>>,
    ) -> Result<HashMap<FeatureId, ItemFeature>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let rows = self.rows_in::<features::Entity>(features::Column::Id, &ids).await?;
        rows.into_iter().map(|row| Ok((FeatureId(row.id), feature(row)?))).collect()
    }

    /// Items in order of creation.
    ///
    /// # Errors
    /// As [`Tx::item_by_code`].
    pub async fn items_page(
        &self,
        page: Page,
        kind: Option<ItemKind>,
    ) -> Result<Vec<Item>, StorageError> {
        let mut query = items::Entity::find().filter(items::Column::Id.gt(page.after));
        if let Some(kind) = kind {
            query = query.filter(items::Column::Kind.eq(kind.as_str()));
        }
        let rows = query.order_by_asc(items::Column::Id).limit(page.limit).all(&self.inner).await?;
        self.with_features(rows).await
    }

    /// Adds an item and its features; answers with their numbers filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the code is taken.
    pub async fn insert_item(&self, mut item: Item) -> Result<Item, StorageError> {
        item.id = ItemId(item_row(&item).insert(&self.inner).await?.id);
        for feature in &mut item.features {
            let row = feature_row(item.id, feature);
            feature.id = FeatureId(row.insert(&self.inner).await?.id);
        }
        Ok(item)
    }

    /// Saves an item's words, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_item(&self, item: &mut Item) -> Result<(), StorageError> {
        let row = items::ActiveModel {
            description: Set(item.description.clone()),
            designation: Set(item.designation.clone()),
            material: Set(item.material.map(|material| material.as_str().to_owned())),
            set_of: Set(item.set.count()),
            no_substitute: Set(i64::from(item.no_substitute)),
            revision: Set(item.revision + 1),
            ..Default::default()
        };
        let result = items::Entity::update_many()
            .set(row)
            .filter(items::Column::Id.eq(item.id.0))
            .filter(items::Column::Revision.eq(item.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        item.revision += 1;
        Ok(())
    }

    /// Adds a feature to an item, or replaces the one with its number.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the item has another feature of that name.
    pub async fn save_feature(
        &self,
        item: ItemId,
        feature: &ItemFeature,
    ) -> Result<FeatureId, StorageError> {
        let mut row = feature_row(item, feature);
        if feature.id.0 == 0 {
            return Ok(FeatureId(row.insert(&self.inner).await?.id));
        }
        row.id = Set(feature.id.0);
        Ok(FeatureId(row.update(&self.inner).await?.id))
    }

    /// Whether any reading of a feature was ever recorded.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn feature_has_readings(&self, feature: FeatureId) -> Result<bool, StorageError> {
        let query = readings::Entity::find().filter(readings::Column::FeatureId.eq(feature.0));
        Ok(query.limit(1).count(&self.inner).await? > 0)
    }

    pub(crate) async fn with_features(
        &self,
        rows: Vec<items::Model>,
    ) -> Result<Vec<Item>, StorageError> {
        let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
        let mut found = self.rows_in::<features::Entity>(features::Column::ItemId, &ids).await?;
        found.sort_by_key(|row| row.id);
        let mut by_item: HashMap<i64, Vec<ItemFeature>> = HashMap::new();
        for row in found {
            let item = row.item_id;
            by_item.entry(item).or_default().push(feature(row)?);
        }
        rows.into_iter()
            .map(|row| {
                let features = by_item.remove(&row.id).unwrap_or_default();
                item(row, features)
            })
            .collect()
    }
}

fn item(row: items::Model, features: Vec<ItemFeature>) -> Result<Item, StorageError> {
    Ok(Item {
        id: ItemId(row.id),
        kind: named("items", row.id, &row.kind)?,
        material: named_option("items", row.id, row.material.as_deref())?,
        code: row.code,
        description: row.description,
        designation: row.designation,
        set: SetSize::new(row.set_of)
            .map_err(|error| corrupt("items", row.id, error.to_string()))?,
        no_substitute: row.no_substitute != 0,
        created_at: row.created_at,
        revision: row.revision,
        features,
    })
}

fn feature(row: features::Model) -> Result<ItemFeature, StorageError> {
    let tolerance = match row.tolerance_kind.as_str() {
        "none" => Tolerance::None,
        "class" => Tolerance::Class(named("features", row.id, &row.tolerance_class)?),
        "ring" => Tolerance::Iso492(named::<iso492::ToleranceClass>(
            "features",
            row.id,
            &row.tolerance_class,
        )?),
        "limits" => match (row.lower_nm, row.upper_nm) {
            (Some(lower), Some(upper)) if lower <= upper => Tolerance::Explicit(Limits {
                lower: Length::from_nm(lower),
                upper: Length::from_nm(upper),
            }),
            _ => return Err(corrupt("features", row.id, "limits are missing or crossed")),
        },
        other => return Err(corrupt("features", row.id, format!("tolerance kind {other:?}"))),
    };
    Ok(ItemFeature {
        id: FeatureId(row.id),
        nominal_unit: named("features", row.id, &row.nominal_unit)?,
        nominal_text: row.nominal_text,
        feature: Feature {
            kind: named("features", row.id, &row.kind)?,
            name: row.name,
            nominal: Length::from_nm(row.nominal_nm),
            tolerance,
            wear_limit: length(row.wear_limit_nm),
            recondition_limit: length(row.recondition_limit_nm),
            out_of_round_limit: length(row.out_of_round_limit_nm),
            taper_limit: length(row.taper_limit_nm),
            reference_station: Some(row.reference_station).filter(|station| !station.is_empty()),
            limit_source: row.limit_source,
        },
    })
}

pub(crate) fn item_row(item: &Item) -> items::ActiveModel {
    items::ActiveModel {
        id: NotSet,
        code: Set(item.code.clone()),
        kind: Set(item.kind.as_str().to_owned()),
        description: Set(item.description.clone()),
        designation: Set(item.designation.clone()),
        material: Set(item.material.map(|material| material.as_str().to_owned())),
        created_at: Set(item.created_at),
        revision: Set(item.revision),
        set_of: Set(item.set.count()),
        no_substitute: Set(i64::from(item.no_substitute)),
    }
}

pub(crate) fn feature_row(item: ItemId, stored: &ItemFeature) -> features::ActiveModel {
    let feature = &stored.feature;
    let (kind, class, limits) = match &feature.tolerance {
        Tolerance::None => ("none", String::new(), None),
        Tolerance::Class(class) => ("class", class.to_string(), None),
        Tolerance::Iso492(class) => ("ring", class.to_string(), None),
        Tolerance::Explicit(limits) => ("limits", String::new(), Some(*limits)),
    };
    features::ActiveModel {
        id: NotSet,
        item_id: Set(item.0),
        name: Set(feature.name.clone()),
        kind: Set(feature.kind.as_str().to_owned()),
        nominal_nm: Set(feature.nominal.nm()),
        nominal_text: Set(stored.nominal_text.clone()),
        nominal_unit: Set(stored.nominal_unit.as_str().to_owned()),
        tolerance_kind: Set(kind.to_owned()),
        tolerance_class: Set(class),
        lower_nm: Set(limits.map(|limits| limits.lower.nm())),
        upper_nm: Set(limits.map(|limits| limits.upper.nm())),
        wear_limit_nm: Set(feature.wear_limit.map(Length::nm)),
        recondition_limit_nm: Set(feature.recondition_limit.map(Length::nm)),
        out_of_round_limit_nm: Set(feature.out_of_round_limit.map(Length::nm)),
        taper_limit_nm: Set(feature.taper_limit.map(Length::nm)),
        reference_station: Set(feature.reference_station.clone().unwrap_or_default()),
        limit_source: Set(feature.limit_source.clone()),
    }
}
