//! The gauge register.

use crate::entities::{assessment_readings, gauges, readings};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, named, named_option, one_row};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::GaugeId;
use tenths_domain::item::Side;
use tenths_domain::measure::SettingMethod;
use tenths_domain::state::GaugeState;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length};

/// A measuring instrument of the shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gauge {
    /// Row number; 0 before it is stored.
    pub id: GaugeId,
    /// The tag.
    pub tag: String,
    /// What it is, in words.
    pub description: String,
    /// The value of its smallest division.
    pub resolution: Entry,
    /// Expanded uncertainty (k=2) of a reading.
    pub uncertainty: Entry,
    /// How it is set.
    pub setting_method: SettingMethod,
    /// When its calibration ends, in Unix microseconds.
    pub calibration_due_at: i64,
    /// Whether it may be used.
    pub state: GaugeState,
    /// What it can reach; none for either.
    pub side: Option<Side>,
    /// The smallest size that it measures.
    pub size_min: Option<Entry>,
    /// The largest size that it measures.
    pub size_max: Option<Entry>,
    /// What it is made of; none is taken as steel.
    pub material: Option<Material>,
    /// When it was registered, in Unix microseconds.
    pub created_at: i64,
    /// Version.
    pub revision: i64,
}

impl Tx {
    /// The gauge of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn gauge_by_tag(&self, tag: &str) -> Result<Option<Gauge>, StorageError> {
        let query = self.locked(gauges::Entity::find().filter(gauges::Column::Tag.eq(tag)));
        query.one(&self.inner).await?.map(gauge).transpose()
    }

    /// Gauges in order of registration.
    ///
    /// # Errors
    /// As [`Tx::gauge_by_tag`].
    pub async fn gauges_page(&self, page: Page) -> Result<Vec<Gauge>, StorageError> {
        let query = gauges::Entity::find()
            .filter(gauges::Column::Id.gt(page.after))
            .order_by_asc(gauges::Column::Id)
            .limit(page.limit);
        query.all(&self.inner).await?.into_iter().map(gauge).collect()
    }

    /// The tags of these gauges.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn gauge_tags(
        &self,
        ids: impl Into<Vec<GaugeId>>,
    ) -> Result<HashMap<GaugeId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let tags =
            self.texts::<gauges::Entity>(gauges::Column::Id, gauges::Column::Tag, ids).await?;
        Ok(tags.into_iter().map(|(id, tag)| (GaugeId(id), tag)).collect())
    }

    /// The gauges that were found wrong, with their tags: few, and what was read with them is in
    /// doubt.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn gauges_found_wrong(&self) -> Result<HashMap<GaugeId, String>, StorageError> {
        let rows: Vec<(i64, String)> = gauges::Entity::find()
            .select_only()
            .columns([gauges::Column::Id, gauges::Column::Tag])
            .filter(gauges::Column::State.eq(GaugeState::FoundWrong.as_str()))
            .into_tuple()
            .all(&self.inner)
            .await?;
        Ok(rows.into_iter().map(|(id, tag)| (GaugeId(id), tag)).collect())
    }

    /// Adds a gauge; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the tag was ever used.
    pub async fn insert_gauge(&self, mut new: Gauge) -> Result<Gauge, StorageError> {
        let mut row = gauge_row(&new);
        row.id = NotSet;
        new.id = GaugeId(row.insert(&self.inner).await?.id);
        Ok(new)
    }

    /// Saves a gauge, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_gauge(&self, gauge: &mut Gauge) -> Result<(), StorageError> {
        let mut row = gauge_row(gauge);
        row.revision = Set(gauge.revision + 1);
        let result = gauges::Entity::update_many()
            .set(row)
            .filter(gauges::Column::Id.eq(gauge.id.0))
            .filter(gauges::Column::Revision.eq(gauge.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        gauge.revision += 1;
        Ok(())
    }

    /// The numbers of the assessments that rest on a reading of this gauge, lowest first.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn assessments_on_gauge(&self, gauge: GaugeId) -> Result<Vec<i64>, StorageError> {
        let on_gauge = readings::Entity::find()
            .select_only()
            .column(readings::Column::Id)
            .filter(readings::Column::GaugeId.eq(gauge.0));
        let ids: Vec<i64> = assessment_readings::Entity::find()
            .select_only()
            .column(assessment_readings::Column::AssessmentId)
            .distinct()
            .filter(
                assessment_readings::Column::ReadingId
                    .in_subquery(sea_orm::QueryTrait::into_query(on_gauge)),
            )
            .order_by_asc(assessment_readings::Column::AssessmentId)
            .into_tuple()
            .all(&self.inner)
            .await?;
        Ok(ids)
    }
}

fn entry(id: i64, nm: i64, text: String, unit: &str) -> Result<Entry, StorageError> {
    let unit = named("gauges", id, unit)?;
    let entry = Entry::parse(&text, unit).map_err(|error| corrupt("gauges", id, error))?;
    if entry.length != Length::from_nm(nm) {
        return Err(corrupt("gauges", id, format!("{entry} is not {nm} nm")));
    }
    Ok(entry)
}

fn reach(id: i64, text: Option<String>, unit: Option<&str>) -> Result<Option<Entry>, StorageError> {
    match (text, unit) {
        (Some(text), Some(unit)) => {
            let unit = named("gauges", id, unit)?;
            Entry::parse(&text, unit).map(Some).map_err(|error| corrupt("gauges", id, error))
        }
        (None, None) => Ok(None),
        _ => Err(corrupt("gauges", id, "half a size")),
    }
}

pub(crate) fn gauge(row: gauges::Model) -> Result<Gauge, StorageError> {
    let id = row.id;
    Ok(Gauge {
        id: GaugeId(id),
        resolution: entry(id, row.resolution_nm, row.resolution_text, &row.resolution_unit)?,
        uncertainty: entry(id, row.uncertainty_nm, row.uncertainty_text, &row.uncertainty_unit)?,
        setting_method: named("gauges", id, &row.setting_method)?,
        calibration_due_at: row.calibration_due_at,
        state: named("gauges", id, &row.state)?,
        side: match row.side.as_deref() {
            None => None,
            Some("external") => Some(Side::External),
            Some("internal") => Some(Side::Internal),
            Some(other) => return Err(corrupt("gauges", id, format!("side {other:?}"))),
        },
        size_min: reach(id, row.size_min_text, row.size_min_unit.as_deref())?,
        size_max: reach(id, row.size_max_text, row.size_max_unit.as_deref())?,
        material: named_option("gauges", id, row.material.as_deref())?,
        tag: row.tag,
        description: row.description,
        created_at: row.created_at,
        revision: row.revision,
    })
}

fn gauge_row(gauge: &Gauge) -> gauges::ActiveModel {
    gauges::ActiveModel {
        id: Set(gauge.id.0),
        tag: Set(gauge.tag.clone()),
        description: Set(gauge.description.clone()),
        resolution_nm: Set(gauge.resolution.length.nm()),
        resolution_text: Set(gauge.resolution.text.clone()),
        resolution_unit: Set(gauge.resolution.unit.as_str().to_owned()),
        uncertainty_nm: Set(gauge.uncertainty.length.nm()),
        uncertainty_text: Set(gauge.uncertainty.text.clone()),
        uncertainty_unit: Set(gauge.uncertainty.unit.as_str().to_owned()),
        setting_method: Set(gauge.setting_method.as_str().to_owned()),
        calibration_due_at: Set(gauge.calibration_due_at),
        state: Set(gauge.state.as_str().to_owned()),
        side: Set(gauge.side.map(|side| {
            match side {
                Side::External => "external",
                Side::Internal => "internal",
            }
            .to_owned()
        })),
        size_min_text: Set(gauge.size_min.as_ref().map(|entry| entry.text.clone())),
        size_min_unit: Set(gauge.size_min.as_ref().map(|entry| entry.unit.as_str().to_owned())),
        size_max_text: Set(gauge.size_max.as_ref().map(|entry| entry.text.clone())),
        size_max_unit: Set(gauge.size_max.as_ref().map(|entry| entry.unit.as_str().to_owned())),
        material: Set(gauge.material.map(|material| material.as_str().to_owned())),
        created_at: Set(gauge.created_at),
        revision: Set(gauge.revision),
    }
}
