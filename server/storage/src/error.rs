//! What can go wrong below the rules of the shop.

use sea_orm::{DbErr, RuntimeErr, SqlErr};

/// A failure of the database, or of what was found in it.
#[derive(Debug, thiserror::Error)]
pub enum StorageError {
    /// Two writers met: the whole transaction may be replayed.
    #[error("two writers met")]
    Conflict(#[source] Option<DbErr>),
    /// A row with this key is there already.
    #[error("a row with this key is there already: {0}")]
    Duplicate(String),
    /// The database did not answer in time, or cannot be reached.
    #[error("the database is busy or out of reach")]
    Unavailable(#[source] DbErr),
    /// A stored row that the domain rejects.
    #[error("corrupt row: {table} {id}: {reason}")]
    Corrupt {
        /// The table.
        table: &'static str,
        /// The row's key.
        id: String,
        /// What is wrong with it.
        reason: String,
    },
    /// The database URL cannot be used.
    #[error("database URL {url:?} cannot be used: {reason}")]
    Url {
        /// The URL, its password taken out.
        url: String,
        /// What is wrong and what is allowed.
        reason: String,
    },
    /// Anything else that the database refuses.
    #[error("the database refused")]
    Database(#[source] DbErr),
}

impl StorageError {
    /// Whether replaying the whole transaction may succeed.
    pub fn is_conflict(&self) -> bool {
        matches!(self, StorageError::Conflict(_))
    }
}

impl From<DbErr> for StorageError {
    fn from(error: DbErr) -> Self {
        if let Some(SqlErr::UniqueConstraintViolation(what)) = error.sql_err() {
            return StorageError::Duplicate(what);
        }
        match code(&error).as_deref() {
            // PostgreSQL: serialization failure, deadlock, lock not available.
            Some("40001" | "40P01" | "55P03") => StorageError::Conflict(Some(error)),
            // SQLite: a snapshot that is too old (SQLITE_BUSY_SNAPSHOT) needs a new transaction.
            Some("517") => StorageError::Conflict(Some(error)),
            // SQLite busy and locked; PostgreSQL: no connection, shutting down, statement timeout.
            Some("5" | "6" | "261" | "57P01" | "57P02" | "57P03" | "57014" | "53300") => {
                StorageError::Unavailable(error)
            }
            _ if is_connection(&error) => StorageError::Unavailable(error),
            _ => StorageError::Database(error),
        }
    }
}

/// The driver's own error code, which sea-orm does not sort beyond unique and foreign-key errors.
fn code(error: &DbErr) -> Option<String> {
    let (DbErr::Exec(RuntimeErr::SqlxError(source))
    | DbErr::Query(RuntimeErr::SqlxError(source))
    | DbErr::Conn(RuntimeErr::SqlxError(source))) = error
    else {
        return None;
    };
    Some(source.as_database_error()?.code()?.into_owned())
}

fn is_connection(error: &DbErr) -> bool {
    match error {
        DbErr::ConnectionAcquire(_) | DbErr::Conn(_) => true,
        DbErr::Exec(RuntimeErr::SqlxError(source))
        | DbErr::Query(RuntimeErr::SqlxError(source)) => {
            use sea_orm::sqlx::Error;
            matches!(
                **source,
                Error::Io(_) | Error::PoolTimedOut | Error::PoolClosed | Error::WorkerCrashed
            )
        }
        _ => false,
    }
}
