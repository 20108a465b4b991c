//! The only mapping of errors to the wire.
//!
//! Details travel in an HTTP/2 header, and common clients refuse headers over 8 KiB: texts are cut
//! so that the whole stays below, and what was cut is counted.

use crate::app::{Error, Obstacle, Violation};
use std::collections::HashMap;
use std::time::Duration;
use tenths_storage::StorageError;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};

/// The domain of every `ErrorInfo`.
pub const ERROR_DOMAIN: &str = "tenths.v1";
/// How long to wait before asking a busy server again.
const RETRY_AFTER: Duration = Duration::from_millis(500);
/// Most bytes of violations in one answer.
const DETAIL_BYTES_MAX: usize = 3_000;
/// Most bytes of the message of one answer.
const MESSAGE_BYTES_MAX: usize = 900;

impl From<Error> for Status {
    fn from(error: Error) -> Self {
        let message = shortened(&error.to_string(), MESSAGE_BYTES_MAX);
        match error {
            Error::Invalid(violations) => invalid(&message, violations),
            Error::NotFound { kind, name } => {
                named(Code::NotFound, &message, "NOT_FOUND", kind, &name)
            }
            Error::AlreadyExists { kind, name } => {
                named(Code::AlreadyExists, &message, "ALREADY_EXISTS", kind, &name)
            }
            Error::Stale { kind, name, revision } => {
                let metadata =
                    [("kind", kind.to_owned()), ("name", name), ("etag", format!("r{revision}"))];
                let details = info("STALE_ETAG", metadata);
                Status::with_error_details(Code::Aborted, message, details)
            }
            Error::Forbidden(obstacles) => forbidden(&message, obstacles),
            Error::Unavailable { reason, .. } => {
                let mut details = info(reason, []);
                details.set_retry_info(Some(RETRY_AFTER));
                Status::with_error_details(Code::Unavailable, message, details)
            }
            Error::Storage(error) => storage(&error),
            Error::Io { .. } => internal(&error),
        }
    }
}

fn info<const N: usize>(reason: &str, metadata: [(&str, String); N]) -> ErrorDetails {
    let metadata: HashMap<String, String> =
        metadata.into_iter().map(|(key, value)| (key.to_owned(), shortened(&value, 200))).collect();
    ErrorDetails::with_error_info(reason, ERROR_DOMAIN, metadata)
}

fn invalid(message: &str, violations: Vec<Violation>) -> Status {
    let mut details = info("INVALID_REQUEST", []);
    let (kept, cut) = fitting(violations, |one| one.field.len() + one.problem.len());
    for Violation { field, problem } in kept {
        details.add_bad_request_violation(field, shortened(&problem, 600));
    }
    if cut > 0 {
        details.add_bad_request_violation("", format!("and {cut} more violations"));
    }
    Status::with_error_details(Code::InvalidArgument, message, details)
}

fn forbidden(message: &str, obstacles: Vec<Obstacle>) -> Status {
    let reason = obstacles.first().map_or("FORBIDDEN", |first| first.kind);
    let mut details = info(reason, []);
    let (kept, cut) = fitting(obstacles, |one| one.subject.len() + one.description.len());
    for Obstacle { kind, subject, description } in kept {
        details.add_precondition_failure_violation(kind, subject, shortened(&description, 600));
    }
    if cut > 0 {
        details.add_precondition_failure_violation("MORE", "", format!("and {cut} more obstacles"));
    }
    Status::with_error_details(Code::FailedPrecondition, message, details)
}

fn named(code: Code, message: &str, reason: &str, kind: &str, name: &str) -> Status {
    let mut details = info(reason, [("kind", kind.to_owned()), ("name", name.to_owned())]);
    details.set_resource_info(kind, shortened(name, 200), "", message);
    Status::with_error_details(code, message, details)
}

fn storage(error: &StorageError) -> Status {
    match error {
        StorageError::Conflict(_) => {
            let text = "others changed the same things again and again: read anew and try again";
            Status::with_error_details(Code::Aborted, text, info("CONFLICT", []))
        }
        StorageError::Duplicate(_) => {
            let text = "a row with the same key is there already";
            Status::with_error_details(Code::AlreadyExists, text, info("ALREADY_EXISTS", []))
        }
        StorageError::Unavailable(_) => {
            log(error);
            let mut details = info("DATABASE_BUSY", []);
            details.set_retry_info(Some(RETRY_AFTER));
            let text = "the database is busy or out of reach: try again";
            Status::with_error_details(Code::Unavailable, text, details)
        }
        StorageError::Corrupt { .. } | StorageError::Url { .. } | StorageError::Database(_) => {
            internal(error)
        }
    }
}

/// A bug or a corrupt row: the caller gets a fixed text, the log the whole chain.
fn internal(error: &dyn std::error::Error) -> Status {
    log(error);
    let text = "an error of the server; its log has the details";
    Status::with_error_details(Code::Internal, text, info("INTERNAL", []))
}

fn log(error: &dyn std::error::Error) {
    let mut chain = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        chain.push_str(": ");
        chain.push_str(&cause.to_string());
        source = cause.source();
    }
    tracing::error!(error = %chain, "a request failed in the server");
}

/// As many of `all` as fit, and how many were cut.
fn fitting<T>(all: Vec<T>, bytes: impl Fn(&T) -> usize) -> (Vec<T>, usize) {
    let count = all.len();
    let mut left = DETAIL_BYTES_MAX;
    let mut kept = Vec::new();
    for one in all {
        let size = bytes(&one).min(700) + 40;
        if size > left && !kept.is_empty() {
            break;
        }
        left = left.saturating_sub(size);
        kept.push(one);
    }
    let cut = count - kept.len();
    (kept, cut)
}

fn shortened(text: &str, bytes_max: usize) -> String {
    if text.len() <= bytes_max {
        return text.to_owned();
    }
    let mut end = bytes_max;
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    format!("{}…", &text[..end])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Goal: the code of every kind of error is pinned, and every error carries an `ErrorInfo` of
    /// our domain; method: a table.
    #[test]
    fn every_error_has_its_code_and_reason() {
        let (kind, name) = ("piece", "P-1".to_owned());
        let table = [
            (Error::invalid("size", "no"), Code::InvalidArgument, "INVALID_REQUEST"),
            (Error::NotFound { kind, name: name.clone() }, Code::NotFound, "NOT_FOUND"),
            (
                Error::AlreadyExists { kind, name: name.clone() },
                Code::AlreadyExists,
                "ALREADY_EXISTS",
            ),
            (Error::Stale { kind, name, revision: 3 }, Code::Aborted, "STALE_ETAG"),
            (Error::forbidden("HELD", "P-1", "held"), Code::FailedPrecondition, "HELD"),
            (
                Error::Unavailable { reason: "INDEX_LOADING", description: "soon".into() },
                Code::Unavailable,
                "INDEX_LOADING",
            ),
            (Error::Storage(StorageError::Conflict(None)), Code::Aborted, "CONFLICT"),
            (
                Error::Storage(StorageError::Duplicate("x".into())),
                Code::AlreadyExists,
                "ALREADY_EXISTS",
            ),
            (
                Error::Storage(StorageError::Corrupt {
                    table: "t",
                    id: "1".into(),
                    reason: "r".into(),
                }),
                Code::Internal,
                "INTERNAL",
            ),
            (
                Error::Io { what: "spooling", source: std::io::Error::other("full") },
                Code::Internal,
                "INTERNAL",
            ),
        ];
        for (error, code, reason) in table {
            let status = Status::from(error);
            let info = status.get_details_error_info().expect("every error carries ErrorInfo");
            assert_eq!(
                (status.code(), info.reason.as_str(), info.domain.as_str()),
                (code, reason, ERROR_DOMAIN)
            );
        }
    }

    /// Goal: an answer never outgrows a client's header limit; method: far too many violations.
    #[test]
    fn many_violations_are_cut_and_counted() {
        let many =
            (0..500).map(|n| Violation::new(format!("readings[{n}]"), "é".repeat(400))).collect();
        let status = Status::from(Error::Invalid(many));
        let details = status.get_details_bad_request().expect("violations");
        let last = details.field_violations.last().expect("at least one");
        assert!(last.description.starts_with("and ") && details.field_violations.len() < 20);
        assert!(status.details().len() * 4 / 3 + status.message().len() * 3 < 8_000);
    }
}
