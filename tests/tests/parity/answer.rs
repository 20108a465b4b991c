//! Answers as text that can be compared.

use std::fmt::Debug;

use tonic::{Response, Status};
use tonic_types::StatusExt;

/// An answer as text that two servers must agree on: everything but the clock.
pub(crate) fn shown<T: Debug>(result: Result<Response<T>, Status>) -> String {
    match result {
        Ok(answer) => without_clock(&format!("answered {:?}", answer.into_inner())),
        Err(status) => {
            let details = status.get_error_details();
            let text = format!(
                "refused {:?} {:?} {:?} {:?} {:?}",
                status.code(),
                status.message(),
                details.bad_request(),
                details.precondition_failure(),
                details.resource_info()
            );
            without_clock(&text)
        }
    }
}

/// Blanks what the clock decides: timestamps of messages, and dates written out in sentences.
fn without_clock(text: &str) -> String {
    let mut kept = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("Timestamp {") {
        let end = rest[at..].find('}').map_or(rest.len(), |end| at + end + 1);
        kept += &rest[..at];
        kept += if rest[at..end].contains("4000000000") { "FAR" } else { "TIME" };
        rest = &rest[end..];
    }
    kept += rest;
    let is_date = |word: &str| word.len() > 18 && word.contains('T') && word.contains("20");
    let words = kept.split(' ').map(|word| {
        let digits = word.chars().filter(char::is_ascii_digit).count();
        if digits >= 12 && is_date(word) { "DATE" } else { word }
    });
    words.collect::<Vec<_>>().join(" ")
}
