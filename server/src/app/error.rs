//! The one error of the use cases; `grpc::status` maps it to the wire.

use tenths_storage::{AsConflict, StorageError};

/// Something that was asked and has no meaning.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Violation {
    /// The field of the request.
    pub field: String,
    /// What was wrong and what is allowed.
    pub problem: String,
}

impl Violation {
    /// A violation of `field`.
    pub fn new(field: impl Into<String>, problem: impl Into<String>) -> Self {
        Violation { field: field.into(), problem: problem.into() }
    }
}

/// Something in the present state of the shop that stands in the way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Obstacle {
    /// The kind, in upper snake case, for programs.
    pub kind: &'static str,
    /// What it is about: a tag, or a field of the request.
    pub subject: String,
    /// What stands in the way and what would help.
    pub description: String,
}

impl Obstacle {
    /// An obstacle about `subject`.
    pub fn new(
        kind: &'static str,
        subject: impl Into<String>,
        description: impl Into<String>,
    ) -> Self {
        Obstacle { kind, subject: subject.into(), description: description.into() }
    }
}

/// Why a use case did nothing.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The request has no meaning; every violation at once.
    #[error("the request is not valid: {}", .0.iter().map(|v| format!("{}: {}", v.field, v.problem)).collect::<Vec<_>>().join("; "))]
    Invalid(Vec<Violation>),
    /// Something that was named is not there.
    #[error("there is no {kind} {name:?}")]
    NotFound {
        /// The kind of thing.
        kind: &'static str,
        /// What it was called.
        name: String,
    },
    /// Something by that name is there already.
    #[error("there is a {kind} {name:?} already; tags and codes are never used twice")]
    AlreadyExists {
        /// The kind of thing.
        kind: &'static str,
        /// What it was called.
        name: String,
    },
    /// It was changed since the caller last read it.
    #[error("{kind} {name:?} was changed meanwhile: read it again, then decide again")]
    Stale {
        /// The kind of thing.
        kind: &'static str,
        /// What it is called.
        name: String,
        /// Its version now.
        revision: i64,
    },
    /// The present state of the shop forbids it; every obstacle at once.
    #[error("{}", .0.iter().map(|o| o.description.as_str()).collect::<Vec<_>>().join("; "))]
    Forbidden(Vec<Obstacle>),
    /// It cannot be answered now, but may be soon.
    #[error("{description}")]
    Unavailable {
        /// The kind, in upper snake case, for programs.
        reason: &'static str,
        /// What is not there yet.
        description: String,
    },
    /// The database.
    #[error(transparent)]
    Storage(#[from] StorageError),
    /// A file or stream of the server's own failed.
    #[error("{what} failed")]
    Io {
        /// What was being done.
        what: &'static str,
        /// Why it failed.
        #[source]
        source: std::io::Error,
    },
}

impl Error {
    /// One violation.
    pub fn invalid(field: impl Into<String>, problem: impl Into<String>) -> Self {
        Error::Invalid(vec![Violation::new(field, problem)])
    }

    /// One obstacle.
    pub fn forbidden(
        kind: &'static str,
        subject: impl Into<String>,
        description: impl Into<String>,
    ) -> Self {
        Error::Forbidden(vec![Obstacle::new(kind, subject, description)])
    }
}

impl AsConflict for Error {
    fn is_conflict(&self) -> bool {
        // A key that was taken between the look and the insert: the replay sees it and says so.
        matches!(self, Error::Storage(StorageError::Conflict(_) | StorageError::Duplicate(_)))
    }
}

/// Refuses a change of something that was changed since the caller last read it.
pub(crate) fn check_etag(
    kind: &'static str,
    name: &str,
    revision: i64,
    etag: Option<i64>,
) -> Result<(), Error> {
    match etag {
        Some(etag) if etag != revision => {
            Err(Error::Stale { kind, name: name.to_owned(), revision })
        }
        _ => Ok(()),
    }
}
