//! Statuses that the layers answer by themselves.

use std::collections::HashMap;
use std::time::Duration;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};

const DOMAIN: &str = "tenths.v1";

/// A status with `google.rpc.ErrorInfo`, whose metadata repeats what varies in the message, and
/// with `google.rpc.RetryInfo` where the same call may succeed soon.
pub(super) fn refusal<const N: usize>(
    code: Code,
    reason: &'static str,
    message: impl Into<String>,
    metadata: [(&'static str, String); N],
    retry_after: Option<Duration>,
) -> Status {
    let metadata: HashMap<String, String> =
        metadata.into_iter().map(|(key, value)| (key.to_owned(), value)).collect();
    let mut details = ErrorDetails::with_error_info(reason, DOMAIN, metadata);
    if retry_after.is_some() {
        details.set_retry_info(retry_after);
    }
    Status::with_error_details(code, message, details)
}
