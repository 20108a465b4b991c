//! What a use case is given: the transaction, the time, who asks and under which request.

use super::error::{Error, Violation};
use tenths_storage::Tx;

/// A mutation as it was asked for.
#[derive(Clone, Debug)]
pub struct Request {
    /// The id that makes a repeat harmless.
    pub request_id: String,
    /// Who asks.
    pub person: String,
    /// The rpc.
    pub method: &'static str,
    /// A digest of everything that was asked.
    pub fingerprint: [u8; 32],
}

/// A change under way.
#[derive(Clone, Copy, Debug)]
pub struct Act<'a> {
    /// The transaction.
    pub tx: &'a Tx,
    /// The time, in Unix microseconds.
    pub now: i64,
    /// Who asks.
    pub person: &'a str,
    /// The request.
    pub request_id: &'a str,
}

impl<'a> Act<'a> {
    /// The same transaction, to read in.
    pub fn view(&self) -> View<'a> {
        View { tx: self.tx, now: self.now }
    }

    /// The next free tag with this prefix, for example `P-105`.
    pub(crate) async fn next_tag(&self, prefix: &str) -> Result<String, Error> {
        Ok(format!("{prefix}-{}", self.tx.next_number(prefix).await?))
    }

    /// The label of a new core, piece or lot: the one given, or the next free one with this prefix.
    pub(crate) async fn label(&self, prefix: &str, given: Option<&str>) -> Result<String, Error> {
        if let Some(tag) = given {
            if let Some(kind) = self.view().tagged_kind(tag).await? {
                return Err(Error::AlreadyExists { kind, name: tag.to_owned() });
            }
            self.note_tag(prefix, tag).await?;
            return Ok(tag.to_owned());
        }
        loop {
            let tag = self.next_tag(prefix).await?;
            if self.view().tagged_kind(&tag).await?.is_none() {
                return Ok(tag);
            }
        }
    }

    /// Keeps the count of a prefix ahead of a tag that a person gave by hand.
    pub(crate) async fn note_tag(&self, prefix: &str, tag: &str) -> Result<(), Error> {
        let number = tag.strip_prefix(prefix).and_then(|rest| rest.strip_prefix('-'));
        // Numbers beyond this are somebody's own scheme, not a count to go on from.
        const COUNTED_MAX: i64 = 1_000_000_000;
        if let Some(number) = number.and_then(|digits| digits.parse::<i64>().ok())
            && (1..=COUNTED_MAX).contains(&number)
        {
            self.tx.raise_number(prefix, number).await?;
        }
        Ok(())
    }
}

/// A snapshot to read in.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The transaction.
    pub tx: &'a Tx,
    /// The time, in Unix microseconds.
    pub now: i64,
}

/// The answer to an earlier request of the same id and payload, if there was one.
pub(crate) async fn earlier_answer(tx: &Tx, request: &Request) -> Result<Option<Vec<u8>>, Error> {
    let Some(earlier) = tx.earlier_request(&request.request_id).await? else { return Ok(None) };
    if earlier.method == request.method && earlier.fingerprint == request.fingerprint {
        return Ok(Some(earlier.answer));
    }
    Err(Error::Invalid(vec![Violation::new(
        "request_id",
        format!(
            "{:?} was used for another request ({}): give every request an id of its own",
            request.request_id, earlier.method
        ),
    )]))
}
