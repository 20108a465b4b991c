//! One transaction; the methods that read and change each resource stand in that resource's file.

use crate::entities::{counters, requests};
use crate::error::StorageError;
use sea_orm::sea_query::OnConflict;
use sea_orm::{
    ActiveValue::Set, ColumnTrait, ConnectionTrait, DatabaseBackend, DatabaseTransaction,
    EntityTrait, ExprTrait, QueryFilter, QuerySelect, Statement, sea_query::Expr,
};

/// A transaction under way. It is ended by the store that began it.
#[derive(Debug)]
pub struct Tx {
    pub(crate) inner: DatabaseTransaction,
    /// Whether rows that are read are locked until the end: only in a write on PostgreSQL. SQLite
    /// has one writer anyway.
    may_lock: bool,
}

/// What an earlier request with the same id was and answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EarlierRequest {
    /// The rpc.
    pub method: String,
    /// A digest of what was asked.
    pub fingerprint: Vec<u8>,
    /// The answer as it was sent.
    pub answer: Vec<u8>,
}

/// A request that is being answered, to be kept with its answer.
#[derive(Clone, Debug)]
pub struct NewRequest {
    /// The id that makes a repeat harmless.
    pub request_id: String,
    /// The rpc.
    pub method: String,
    /// Who asked.
    pub person: String,
    /// A digest of what was asked.
    pub fingerprint: Vec<u8>,
    /// The answer.
    pub answer: Vec<u8>,
    /// When, in Unix microseconds.
    pub created_at: i64,
}

impl Tx {
    pub(crate) fn for_read(inner: DatabaseTransaction) -> Self {
        Tx { inner, may_lock: false }
    }

    pub(crate) fn for_write(inner: DatabaseTransaction) -> Self {
        let may_lock = inner.get_database_backend() == DatabaseBackend::Postgres;
        Tx { inner, may_lock }
    }

    /// Locks the rows that `query` finds, where that is possible and of use.
    pub(crate) fn locked<Q: QuerySelect>(&self, query: Q) -> Q {
        if self.may_lock { query.lock_exclusive() } else { query }
    }

    pub(crate) async fn commit(self) -> Result<(), StorageError> {
        Ok(self.inner.commit().await?)
    }

    pub(crate) async fn rollback(self) -> Result<(), StorageError> {
        Ok(self.inner.rollback().await?)
    }

    /// The earlier request of this id, if there was one. In a write on PostgreSQL a twin that is
    /// under way is waited for: only then can its answer be seen.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn earlier_request(
        &self,
        request_id: &str,
    ) -> Result<Option<EarlierRequest>, StorageError> {
        if self.may_lock {
            let lock = "SELECT pg_advisory_xact_lock(hashtextextended($1, 0))";
            let lock = Statement::from_sql_and_values(
                DatabaseBackend::Postgres,
                lock,
                [request_id.into()],
            );
            self.inner.execute_raw(lock).await?;
        }
        let row = requests::Entity::find_by_id(request_id).one(&self.inner).await?;
        Ok(row.map(|row| EarlierRequest {
            method: row.method,
            fingerprint: row.fingerprint,
            answer: row.answer,
        }))
    }

    /// Keeps a request with its answer, in the transaction of its effect.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if the same id was kept meanwhile: the replay finds its answer.
    pub async fn keep_request(&self, request: NewRequest) -> Result<(), StorageError> {
        let row = requests::ActiveModel {
            request_id: Set(request.request_id),
            method: Set(request.method),
            person: Set(request.person),
            fingerprint: Set(request.fingerprint),
            answer: Set(request.answer),
            created_at: Set(request.created_at),
        };
        match requests::Entity::insert(row)
            .exec_without_returning(&self.inner)
            .await
            .map_err(StorageError::from)
        {
            Ok(_) => Ok(()),
            Err(StorageError::Duplicate(_)) => Err(StorageError::Conflict(None)),
            Err(error) => Err(error),
        }
    }

    /// The next number of a kind of tag. Not a sequence: both databases count alike, and a
    /// transaction that is rolled back gives its number back.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn next_number(&self, name: &str) -> Result<i64, StorageError> {
        let first = counters::ActiveModel { name: Set(name.to_owned()), next: Set(1) };
        // An i64, as in `next_numbers`: a prepared statement is known by its text alone, and a value
        // of another width would be refused by the one that the connection has.
        let row = counters::Entity::insert(first)
            .on_conflict(
                OnConflict::column(counters::Column::Name)
                    .value(
                        counters::Column::Next,
                        Expr::col((counters::Entity, counters::Column::Next)).add(1_i64),
                    )
                    .to_owned(),
            )
            .exec_with_returning(&self.inner)
            .await?;
        Ok(row.next)
    }

    /// Sets a counter at least to `used`, after a person gave that number by hand.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn raise_number(&self, name: &str, used: i64) -> Result<(), StorageError> {
        let first = counters::ActiveModel { name: Set(name.to_owned()), next: Set(0) };
        counters::Entity::insert(first)
            .on_conflict_do_nothing_on([counters::Column::Name])
            .exec_without_returning(&self.inner)
            .await?;
        counters::Entity::update_many()
            .col_expr(counters::Column::Next, Expr::value(used))
            .filter(counters::Column::Name.eq(name))
            .filter(counters::Column::Next.lt(used))
            .exec(&self.inner)
            .await?;
        Ok(())
    }
}
