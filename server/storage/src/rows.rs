//! Reading rows: names back into domain types, lengths from nanometres, and rows in batches.

use crate::error::StorageError;
use crate::tx::Tx;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QuerySelect, UpdateResult};
use std::collections::HashMap;
use std::str::FromStr;
use tenths_domain::units::Length;

/// Most keys in one IN list: both databases allow more, this keeps statements short.
pub(crate) const BATCH_MAX: usize = 500;

/// A stored name as the domain type that it names.
pub(crate) fn named<T>(table: &'static str, id: i64, text: &str) -> Result<T, StorageError>
where
    T: FromStr,
    T::Err: std::fmt::Display,
{
    text.parse().map_err(|error: T::Err| StorageError::Corrupt {
        table,
        id: id.to_string(),
        reason: error.to_string(),
    })
}

/// The same for a name that may be absent.
pub(crate) fn named_option<T>(
    table: &'static str,
    id: i64,
    text: Option<&str>,
) -> Result<Option<T>, StorageError>
where
    T: FromStr,
    T::Err: std::fmt::Display,
{
    text.map(|text| named(table, id, text)).transpose()
}

pub(crate) fn corrupt(
    table: &'static str,
    id: i64,
    reason: impl std::fmt::Display,
) -> StorageError {
    StorageError::Corrupt { table, id: id.to_string(), reason: reason.to_string() }
}

pub(crate) fn length(nm: Option<i64>) -> Option<Length> {
    nm.map(Length::from_nm)
}

/// Lines kept in one text column.
pub(crate) fn lines(text: &str) -> Vec<String> {
    text.lines().map(str::to_owned).collect()
}

/// An update that was guarded by a revision must have met exactly one row.
pub(crate) fn one_row(result: &UpdateResult) -> Result<(), StorageError> {
    if result.rows_affected == 1 { Ok(()) } else { Err(StorageError::Conflict(None)) }
}

impl Tx {
    /// The rows whose `column` is one of `keys`, in batches.
    pub(crate) async fn rows_in<E>(
        &self,
        column: E::Column,
        keys: &[i64],
    ) -> Result<Vec<E::Model>, StorageError>
    where
        E: EntityTrait,
    {
        let mut keys: Vec<i64> = keys.to_vec();
        keys.sort_unstable();
        keys.dedup();
        let mut rows = Vec::with_capacity(keys.len());
        for batch in keys.chunks(BATCH_MAX) {
            rows.extend(
                E::find().filter(column.is_in(batch.iter().copied())).all(&self.inner).await?,
            );
        }
        Ok(rows)
    }

    /// The text in `column` for each key in `keys`, for showing a row's tag or code.
    pub(crate) async fn texts<E>(
        &self,
        key: E::Column,
        column: E::Column,
        keys: impl Into<Vec<i64>>,
    ) -> Result<HashMap<i64, String>, StorageError>
    where
        E: EntityTrait,
    {
        let mut keys: Vec<i64> = keys.into();
        keys.sort_unstable();
        keys.dedup();
        let mut texts = HashMap::with_capacity(keys.len());
        for batch in keys.chunks(BATCH_MAX) {
            let rows: Vec<(i64, String)> = E::find()
                .select_only()
                .column(key)
                .column(column)
                .filter(key.is_in(batch.iter().copied()))
                .into_tuple()
                .all(&self.inner)
                .await?;
            texts.extend(rows);
        }
        Ok(texts)
    }
}
