//! Running a mutation once: request id and payload digest in, stored answer out.

use super::check::{Check, NAME_MAX};
use crate::app::{Error, Request};
use prost::Message;
use sha2::{Digest, Sha256};

/// The id, person and digest of a mutation; violations are noted in `check`.
pub(crate) fn meta(
    check: &mut Check,
    method: &'static str,
    request_id: &str,
    person: &str,
    payload: &impl Message,
) -> Request {
    let person = check.text("person", person, NAME_MAX);
    if !is_uuid(request_id) {
        let shown: String = request_id.chars().take(40).collect();
        check.refuse(
            "request_id",
            format!("{shown:?} is no UUID; give each request one of its own, such as 1f0e6a2c-5d0b-4c8e-9a57-3a1f6f1e2b3c"),
        );
    }
    let mut hash = Sha256::new();
    hash.update(method);
    hash.update(in_one_case(payload.encode_to_vec(), request_id));
    let mut fingerprint = [0; 32];
    fingerprint.copy_from_slice(&hash.finalize());
    Request { request_id: request_id.to_ascii_lowercase(), person, method, fingerprint }
}

/// The encoded payload with its request id in small letters: a UUID is the same in either case.
/// The id is field 1 of every mutation, so it stands first.
fn in_one_case(mut payload: Vec<u8>, request_id: &str) -> Vec<u8> {
    const KEY_AND_LENGTH: usize = 2;
    let end = KEY_AND_LENGTH + request_id.len();
    if payload.get(KEY_AND_LENGTH..end) == Some(request_id.as_bytes()) {
        payload[KEY_AND_LENGTH..end].make_ascii_lowercase();
    }
    payload
}

/// 8-4-4-4-12 hexadecimal digits.
pub(crate) fn is_uuid(text: &str) -> bool {
    let dash = |index: usize| matches!(index, 8 | 13 | 18 | 23);
    text.len() == 36
        && text
            .bytes()
            .enumerate()
            .all(|(index, byte)| if dash(index) { byte == b'-' } else { byte.is_ascii_hexdigit() })
}

/// A stored answer back as a message. Only this server wrote it, so it can be read.
pub(crate) fn decoded<R: Message + Default>(answer: &[u8]) -> Result<R, Error> {
    R::decode(answer).map_err(|error| Error::Io {
        what: "reading a stored answer",
        source: std::io::Error::new(std::io::ErrorKind::InvalidData, error),
    })
}

/// The response metadata that tells the revision of the stock that a mutation made: a question that
/// names it as `min_revision` sees the effect.
pub(crate) const REVISION: &str = "tenths-revision";

/// Tells the revision beside an answer.
pub(crate) fn tell_revision(metadata: &mut tonic::metadata::MetadataMap, revision: i64) {
    metadata.insert(REVISION, revision.into());
}

/// Runs a use case once and answers with its rendering: `once!(self.app, parsed, use_case, render)`
/// where `parsed` is a request's meta data and command.
macro_rules! once {
    ($app:expr, $parsed:expr, $use_case:path, $render:expr) => {{
        let (request, command) = $parsed?;
        let command = std::sync::Arc::new(command);
        let done = $app
            .once(request, move |act| {
                let command = std::sync::Arc::clone(&command);
                Box::pin(async move {
                    let done = $use_case(act, &command).await?;
                    Ok(prost::Message::encode_to_vec(&$render(done)))
                })
            })
            .await?;
        // The handler's return type says what the answer is.
        let mut response = tonic::Response::new($crate::grpc::once::decoded(&done.answer)?);
        $crate::grpc::once::tell_revision(response.metadata_mut(), done.revision);
        Ok(response)
    }};
}
pub(crate) use once;

#[cfg(test)]
mod tests {
    use super::is_uuid;

    #[test]
    fn a_uuid_is_told_from_other_texts() {
        assert!(is_uuid("1f0e6a2c-5d0b-4c8e-9a57-3a1f6f1e2b3c"));
        for wrong in [
            "",
            "1f0e6a2c5d0b4c8e9a573a1f6f1e2b3c",
            "1f0e6a2c-5d0b-4c8e-9a57-3a1f6f1e2b3",
            "zf0e6a2c-5d0b-4c8e-9a57-3a1f6f1e2b3c",
        ] {
            assert!(!is_uuid(wrong), "{wrong}");
        }
    }
}
