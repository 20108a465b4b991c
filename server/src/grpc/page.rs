//! Page tokens: where to go on, and a digest of what was asked, so that a token cannot be used with
//! another question.

use crate::app::policies::PolicyView;
use crate::app::repairs::DecisionView;
use crate::app::views::{
    AssessmentView, CoreView, JobView, LedgerView, LotView, PieceView, ReadingView, RebuildView,
    ReservationView, SendOutView,
};
use crate::app::{App, Error, View};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};
use tenths_storage::{Gauge, Item, Location, Page, Work};

/// Rows of a page when nothing is said.
const PAGE_SIZE_DEFAULT: i32 = 50;
/// Most rows of a page; more is taken as this.
const PAGE_SIZE_MAX: i32 = 500;

/// Something that is listed, with the number that a page goes on from.
pub trait Listed {
    /// Its row number.
    fn number(&self) -> i64;
}

macro_rules! listed {
    ($($type:ty: $($field:ident).+;)*) => {$(
        impl Listed for $type {
            fn number(&self) -> i64 {
                self.$($field).+.0
            }
        }
    )*};
}

listed! {
    Item: id;
    Location: id;
    Gauge: id;
    CoreView: core.id;
    PieceView: piece.id;
    LotView: lot.id;
    ReadingView: reading.id;
    AssessmentView: assessment.id;
    JobView: job.id;
    RebuildView: rebuild.id;
    ReservationView: reservation.id;
    SendOutView: send_out.id;
}

impl Listed for DecisionView {
    fn number(&self) -> i64 {
        self.decision.id
    }
}

impl Listed for PolicyView {
    fn number(&self) -> i64 {
        self.kept.as_ref().map_or(0, |kept| kept.id)
    }
}

impl Listed for LedgerView {
    fn number(&self) -> i64 {
        self.entry.id
    }
}

/// A page that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pager {
    question: [u8; 8],
    after: i64,
    size: i32,
}

impl Pager {
    /// Reads size and token; `question` is whatever else the list depends on.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative size, or a token that is not one, or of another question.
    pub fn new(method: &str, size: i32, token: &str, question: &[&str]) -> Result<Self, Error> {
        if size < 0 {
            return Err(Error::invalid(
                "page_size",
                format!("it is {size}; 0 (the default) or more is allowed"),
            ));
        }
        let size = if size == 0 { PAGE_SIZE_DEFAULT } else { size.min(PAGE_SIZE_MAX) };
        let question = digest(method, question);
        let after = if token.is_empty() { 0 } else { read(token, question)? };
        Ok(Pager { question, after, size })
    }

    /// Runs a list and answers with its rows and the token of the next page, empty at the end.
    ///
    /// # Errors
    /// What the list answers.
    pub async fn run<T, F>(self, app: &App, list: F) -> Result<(Vec<T>, String), Error>
    where
        T: Listed + Send + 'static,
        F: for<'a> FnOnce(View<'a>, Page) -> Work<'a, Vec<T>, Error> + Send + 'static,
    {
        // One row more than shown tells whether there is a next page.
        let limit = u64::from(self.size.unsigned_abs()) + 1;
        let page = Page { after: self.after, limit };
        let mut rows = app.read(move |view| list(view, page)).await?;
        let shown = self.size.unsigned_abs() as usize;
        if rows.len() <= shown {
            return Ok((rows, String::new()));
        }
        rows.truncate(shown);
        let last = rows.last().map_or(self.after, Listed::number);
        Ok((rows, write(last, self.question)))
    }
}

fn digest(method: &str, question: &[&str]) -> [u8; 8] {
    let parts: Vec<&[u8]> = question.iter().map(|part| part.as_bytes()).collect();
    digest_of(method, &parts)
}

/// A short digest of a method and whatever its answer depends on.
pub(crate) fn digest_of(method: &str, question: &[&[u8]]) -> [u8; 8] {
    let mut hash = Sha256::new();
    hash.update(method);
    for part in question {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    let whole = hash.finalize();
    let mut short = [0; 8];
    short.copy_from_slice(&whole[..8]);
    short
}

fn write(after: i64, question: [u8; 8]) -> String {
    let mut bytes = question.to_vec();
    bytes.extend(after.to_be_bytes());
    URL_SAFE_NO_PAD.encode(bytes)
}

fn read(token: &str, question: [u8; 8]) -> Result<i64, Error> {
    let bytes = URL_SAFE_NO_PAD.decode(token).unwrap_or_default();
    let number = bytes.get(8..).and_then(|rest| <[u8; 8]>::try_from(rest).ok());
    match number.map(i64::from_be_bytes) {
        Some(after) if after >= 0 && bytes[..8] == question => Ok(after),
        Some(_) => Err(Error::invalid(
            "page_token",
            "it is of another question; ask from the first page on",
        )),
        None => Err(Error::invalid(
            "page_token",
            "it is no token of this server; ask from the first page on",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_goes_on_where_it_was_given() {
        let token = write(41, digest("ListItems", &["shaft"]));
        let pager = Pager::new("ListItems", 10, &token, &["shaft"]).unwrap();
        assert_eq!((pager.after, pager.size), (41, 10));
    }

    /// Goal: a token is worth nothing with another question; method: another list, another filter,
    /// and texts that are no tokens.
    #[test]
    fn a_token_of_another_question_is_refused() {
        let token = write(41, digest("ListItems", &["shaft"]));
        assert!(Pager::new("ListItems", 10, &token, &["seal"]).is_err());
        assert!(Pager::new("ListPieces", 10, &token, &["shaft"]).is_err());
        for wrong in ["x", "AAAA", "é", &token[1..]] {
            assert!(Pager::new("ListItems", 10, wrong, &["shaft"]).is_err(), "{wrong}");
        }
    }

    #[test]
    fn sizes_are_capped_and_negative_ones_refused() {
        assert_eq!(Pager::new("ListItems", 0, "", &[]).unwrap().size, PAGE_SIZE_DEFAULT);
        assert_eq!(Pager::new("ListItems", 9_999, "", &[]).unwrap().size, PAGE_SIZE_MAX);
        assert!(Pager::new("ListItems", -1, "", &[]).is_err());
    }
}
