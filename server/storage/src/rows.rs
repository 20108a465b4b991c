//! Reading rows: names back into domain types, lengths from nanometres, and rows in batches.

use crate::error::StorageError;
use crate::tx::Tx;
use sea_orm::{
    ColumnTrait, ConnectionTrait, DatabaseBackend, EntityTrait, QueryFilter, QuerySelect,
    Statement, TryGetableMany, UpdateResult, Value,
};
use std::collections::HashMap;
use std::str::FromStr;
use tenths_domain::money::Money;
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

/// An amount in two columns that may be absent.
pub(crate) fn money(
    table: &'static str,
    id: i64,
    minor: Option<i64>,
    currency: Option<&str>,
) -> Result<Option<Money>, StorageError> {
    match (minor, currency) {
        (Some(minor), Some(currency)) => {
            Ok(Some(Money { minor, currency: named(table, id, currency)? }))
        }
        (None, None) => Ok(None),
        _ => Err(corrupt(table, id, "an amount without a currency")),
    }
}

/// Lines kept in one text column.
pub(crate) fn lines(text: &str) -> Vec<String> {
    text.lines().map(str::to_owned).collect()
}

/// An update that was guarded by a revision must have met exactly one row.
pub(crate) fn one_row(result: &UpdateResult) -> Result<(), StorageError> {
    if result.rows_affected == 1 { Ok(()) } else { Err(StorageError::Conflict(None)) }
}

/// Which numbers a statement asks for.
#[derive(Clone, Debug)]
pub(crate) enum Among {
    /// From the first to the last.
    Between(i64, i64),
    /// Those in a JSON array, on SQLite.
    Json(String),
    /// Those in an array literal, on PostgreSQL.
    Array(String),
}

impl Among {
    /// The SQL that says so of `column`, with the values of [`Among::values`].
    pub(crate) fn condition(&self, column: &str) -> String {
        match self {
            Among::Between(..) => format!("{column} BETWEEN $1 AND $2"),
            Among::Json(_) => format!("{column} IN (SELECT value FROM json_each($1))"),
            Among::Array(_) => format!("{column} = ANY($1::text::bigint[])"),
        }
    }

    pub(crate) fn values(&self) -> Vec<Value> {
        match self {
            Among::Between(first, last) => vec![(*first).into(), (*last).into()],
            Among::Json(text) | Among::Array(text) => vec![text.as_str().into()],
        }
    }
}

impl Tx {
    /// Which of the two databases this is.
    pub(crate) fn backend(&self) -> DatabaseBackend {
        self.inner.get_database_backend()
    }

    /// Whether this is SQLite.
    pub(crate) fn is_sqlite(&self) -> bool {
        self.backend() == DatabaseBackend::Sqlite
    }

    /// These numbers as one value: one text of a statement for however many there are.
    pub(crate) fn among(&self, ids: &[i64]) -> Among {
        let ids: Vec<String> = ids.iter().map(i64::to_string).collect();
        let ids = ids.join(",");
        if self.is_sqlite() {
            Among::Json(format!("[{ids}]"))
        } else {
            Among::Array(format!("{{{ids}}}"))
        }
    }

    /// The rows that a statement answers with.
    pub(crate) async fn tuples<T: TryGetableMany>(
        &self,
        sql: &str,
        values: impl IntoIterator<Item = Value>,
    ) -> Result<Vec<T>, StorageError> {
        let backend = self.inner.get_database_backend();
        let statement = Statement::from_sql_and_values(backend, sql, values);
        let rows = self.inner.query_all_raw(statement).await?;
        let tuples = rows.iter().map(|row| T::try_get_many_by_index(row).map_err(|e| e.into()));
        tuples.collect::<Result<_, sea_orm::DbErr>>().map_err(StorageError::from)
    }

    /// The one number that a statement answers with.
    pub(crate) async fn number(
        &self,
        sql: &str,
        values: impl IntoIterator<Item = Value>,
    ) -> Result<i64, StorageError> {
        let rows: Vec<(i64,)> = self.tuples(sql, values).await?;
        Ok(rows.first().map_or(0, |(number,)| *number))
    }

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
