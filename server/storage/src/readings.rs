//! Readings, and the later rows that void wrong ones.

use crate::entities::{reading_voids, readings};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, named};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{FeatureId, GaugeId, PieceId, ReadingId};
use tenths_domain::temperature::TemperatureScale;
use tenths_domain::units::{Length, Unit};

/// One number at a station and an orientation, as recorded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// Row number; 0 before it is stored.
    pub id: ReadingId,
    /// The piece measured.
    pub piece: PieceId,
    /// The feature measured.
    pub feature: FeatureId,
    /// The gauge used.
    pub gauge: GaugeId,
    /// How often the feature had been reconditioned.
    pub round: i64,
    /// The place along the axis.
    pub station: String,
    /// The direction across the axis, 0 to 359.
    pub orientation_deg: u16,
    /// The value as written.
    pub value_text: String,
    /// The unit that it was written in.
    pub value_unit: Unit,
    /// The value.
    pub value: Length,
    /// The value at 20 C.
    pub at_20c: Length,
    /// Expanded uncertainty (k=2).
    pub uncertainty: Length,
    /// The part's temperature as written, if it was taken.
    pub temperature: Option<(String, TemperatureScale)>,
    /// The gauge's temperature as written, if it was taken.
    pub gauge_temperature: Option<(String, TemperatureScale)>,
    /// Whether the gauge was past its calibration date.
    pub gauge_overdue: bool,
    /// What was asked about it, or empty.
    pub trap: String,
    /// Why it was kept all the same, or empty.
    pub override_reason: String,
    /// Who measured.
    pub person: String,
    /// When it was recorded, in Unix microseconds.
    pub created_at: i64,
    /// The request that recorded it.
    pub request_id: String,
    /// The void that names it.
    pub void: Option<ReadingVoid>,
}

/// A later row that voids a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadingVoid {
    /// Why.
    pub reason: String,
    /// Who voided it.
    pub person: String,
    /// When, in Unix microseconds.
    pub created_at: i64,
}

/// Which readings are asked for; nothing means any.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ReadingsFilter {
    /// Of this piece.
    pub piece: Option<PieceId>,
    /// With this gauge.
    pub gauge: Option<GaugeId>,
}

impl Tx {
    /// The reading of this number.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn reading_by_id(&self, id: ReadingId) -> Result<Option<Reading>, StorageError> {
        let row = readings::Entity::find_by_id(id.0).one(&self.inner).await?;
        Ok(self.with_voids(row.into_iter().collect()).await?.pop())
    }

    /// The readings of these numbers, lowest first.
    ///
    /// # Errors
    /// As [`Tx::reading_by_id`].
    pub async fn readings_by_ids(&self, ids: &[i64]) -> Result<Vec<Reading>, StorageError> {
        let mut rows = self.rows_in::<readings::Entity>(readings::Column::Id, ids).await?;
        rows.sort_by_key(|row| row.id);
        self.with_voids(rows).await
    }

    /// Every reading of a feature of a piece, voided ones too, in order of recording.
    ///
    /// # Errors
    /// As [`Tx::reading_by_id`].
    pub async fn readings_of(
        &self,
        piece: PieceId,
        feature: FeatureId,
    ) -> Result<Vec<Reading>, StorageError> {
        let rows = readings::Entity::find()
            .filter(readings::Column::PieceId.eq(piece.0))
            .filter(readings::Column::FeatureId.eq(feature.0))
            .order_by_asc(readings::Column::Id)
            .all(&self.inner)
            .await?;
        self.with_voids(rows).await
    }

    /// Readings in order of recording, voided ones too. `features` narrows to these, if any.
    ///
    /// # Errors
    /// As [`Tx::reading_by_id`].
    pub async fn readings_page(
        &self,
        page: Page,
        filter: ReadingsFilter,
        features: Option<&[FeatureId]>,
    ) -> Result<Vec<Reading>, StorageError> {
        let mut query = readings::Entity::find().filter(readings::Column::Id.gt(page.after));
        if let Some(piece) = filter.piece {
            query = query.filter(readings::Column::PieceId.eq(piece.0));
        }
        if let Some(gauge) = filter.gauge {
            query = query.filter(readings::Column::GaugeId.eq(gauge.0));
        }
        if let Some(features) = features {
            query = query.filter(readings::Column::FeatureId.is_in(features.iter().map(|id| id.0)));
        }
        let rows =
            query.order_by_asc(readings::Column::Id).limit(page.limit).all(&self.inner).await?;
        self.with_voids(rows).await
    }

    /// Records readings in the order given; answers with their numbers filled in.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn insert_readings(
        &self,
        mut new: Vec<Reading>,
    ) -> Result<Vec<Reading>, StorageError> {
        for reading in &mut new {
            let row = readings::Entity::insert(reading_row(reading))
                .exec_with_returning(&self.inner)
                .await?;
            reading.id = ReadingId(row.id);
        }
        Ok(new)
    }

    /// Voids a reading.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if it is void already.
    pub async fn void_reading(
        &self,
        id: ReadingId,
        void: &ReadingVoid,
    ) -> Result<(), StorageError> {
        let row = reading_voids::ActiveModel {
            id: NotSet,
            reading_id: Set(id.0),
            reason: Set(void.reason.clone()),
            person: Set(void.person.clone()),
            created_at: Set(void.created_at),
        };
        row.insert(&self.inner).await?;
        Ok(())
    }

    pub(crate) async fn with_voids(
        &self,
        rows: Vec<readings::Model>,
    ) -> Result<Vec<Reading>, StorageError> {
        let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
        let voids =
            self.rows_in::<reading_voids::Entity>(reading_voids::Column::ReadingId, &ids).await?;
        let mut voids: HashMap<i64, ReadingVoid> = voids
            .into_iter()
            .map(|row| {
                let void = ReadingVoid {
                    reason: row.reason,
                    person: row.person,
                    created_at: row.created_at,
                };
                (row.reading_id, void)
            })
            .collect();
        rows.into_iter()
            .map(|row| {
                let void = voids.remove(&row.id);
                reading(row, void)
            })
            .collect()
    }
}

/// A temperature as it was written and its scale; nothing where none was taken.
fn temperature_of(
    id: i64,
    text: Option<String>,
    unit: Option<String>,
) -> Result<Option<(String, TemperatureScale)>, StorageError> {
    match (text, unit) {
        (Some(text), Some(unit)) => Ok(Some((text, named("readings", id, &unit)?))),
        (None, None) => Ok(None),
        _ => Err(corrupt("readings", id, "half a temperature")),
    }
}

fn reading(row: readings::Model, void: Option<ReadingVoid>) -> Result<Reading, StorageError> {
    let id = row.id;
    let temperature = temperature_of(id, row.temperature_text, row.temperature_unit)?;
    let gauge_temperature =
        temperature_of(id, row.gauge_temperature_text, row.gauge_temperature_unit)?;
    Ok(Reading {
        id: ReadingId(id),
        piece: PieceId(row.piece_id),
        feature: FeatureId(row.feature_id),
        gauge: GaugeId(row.gauge_id),
        round: row.round,
        station: row.station,
        orientation_deg: u16::try_from(row.orientation_deg)
            .map_err(|error| corrupt("readings", id, error))?,
        value_unit: named("readings", id, &row.value_unit)?,
        value_text: row.value_text,
        value: Length::from_nm(row.value_nm),
        at_20c: Length::from_nm(row.at_20c_nm),
        uncertainty: Length::from_nm(row.uncertainty_nm),
        temperature,
        gauge_temperature,
        gauge_overdue: row.gauge_overdue,
        trap: row.trap,
        override_reason: row.override_reason,
        person: row.person,
        created_at: row.created_at,
        request_id: row.request_id,
        void,
    })
}

pub(crate) fn reading_row(reading: &Reading) -> readings::ActiveModel {
    let written = |temperature: &Option<(String, TemperatureScale)>| {
        temperature.clone().map(|(text, scale)| (text, scale.as_str().to_owned())).unzip()
    };
    let (temperature_text, temperature_unit) = written(&reading.temperature);
    let (gauge_temperature_text, gauge_temperature_unit) = written(&reading.gauge_temperature);
    readings::ActiveModel {
        id: NotSet,
        piece_id: Set(reading.piece.0),
        feature_id: Set(reading.feature.0),
        gauge_id: Set(reading.gauge.0),
        round: Set(reading.round),
        station: Set(reading.station.clone()),
        orientation_deg: Set(i64::from(reading.orientation_deg)),
        value_nm: Set(reading.value.nm()),
        value_text: Set(reading.value_text.clone()),
        value_unit: Set(reading.value_unit.as_str().to_owned()),
        at_20c_nm: Set(reading.at_20c.nm()),
        uncertainty_nm: Set(reading.uncertainty.nm()),
        temperature_text: Set(temperature_text),
        temperature_unit: Set(temperature_unit),
        gauge_temperature_text: Set(gauge_temperature_text),
        gauge_temperature_unit: Set(gauge_temperature_unit),
        gauge_overdue: Set(reading.gauge_overdue),
        trap: Set(reading.trap.clone()),
        override_reason: Set(reading.override_reason.clone()),
        person: Set(reading.person.clone()),
        created_at: Set(reading.created_at),
        request_id: Set(reading.request_id.clone()),
    }
}
