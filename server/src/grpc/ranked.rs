//! Page tokens of ranked answers: where the last row shown stands in the order, and a digest of the
//! question, so that a token cannot be used with another.

use super::check::Check;
use crate::app::finding::Cursor;
use crate::app::index::{DateRank, Rank, SizeRank};
use crate::grpc::page::digest_of;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use prost::Message;
use serde_json::{Value, json};
use tenths_domain::units::Length;

/// Rows of a page when nothing is said.
const SIZE_DEFAULT: usize = 20;
/// Most rows of a page; more is taken as this.
const SIZE_MAX: usize = 200;
/// Bytes of the digest.
const HEAD: usize = 8;
/// Most rows that a token can stand behind.
const SHOWN_MAX: u64 = 10_000_000;

/// Where a page goes on.
pub(crate) trait Position: Sized {
    /// As it is written into a token.
    fn write(&self) -> Value;
    /// Read back; nothing for what was never written.
    fn read(value: &Value) -> Option<Self>;
}

/// Most rows of a page.
pub(crate) fn size(check: &mut Check, size: i32) -> usize {
    match usize::try_from(size) {
        Ok(0) => SIZE_DEFAULT,
        Ok(size) => size.min(SIZE_MAX),
        Err(_) => {
            check.refuse("page_size", format!("it is {size}; 0 (the default) or more is allowed"));
            SIZE_DEFAULT
        }
    }
}

/// Where a page goes on; nothing for the first page. Violations are noted.
pub(crate) fn read<M: Message, P: Position>(
    check: &mut Check,
    method: &str,
    token: &str,
    question: &M,
) -> Option<P> {
    if token.is_empty() {
        return None;
    }
    let bytes = URL_SAFE_NO_PAD.decode(token).unwrap_or_default();
    let (head, text) = bytes.split_at_checked(HEAD).unwrap_or_default();
    let position = serde_json::from_slice(text).ok().and_then(|value| P::read(&value));
    if position.is_none() {
        check.refuse("page_token", "it is no token of this server; ask from the first page on");
    } else if *head != digest(method, question) {
        check.refuse("page_token", "it is of another question; ask from the first page on");
    }
    position
}

/// The token of the page that goes on at a position.
pub(crate) fn token<M: Message, P: Position>(method: &str, question: &M, at: &P) -> String {
    let mut bytes = digest(method, question).to_vec();
    bytes.extend(at.write().to_string().into_bytes());
    URL_SAFE_NO_PAD.encode(bytes)
}

fn digest<M: Message>(method: &str, question: &M) -> [u8; HEAD] {
    digest_of(method, &[&question.encode_to_vec()])
}

fn shown(value: &Value) -> Option<usize> {
    let shown = value.as_u64().filter(|shown| *shown <= SHOWN_MAX)?;
    usize::try_from(shown).ok()
}

fn date(code: &DateRank) -> Value {
    match code {
        DateRank::Dated(code) => json!(code),
        DateRank::Undated => Value::Null,
    }
}

fn read_date(value: &Value) -> Option<DateRank> {
    match value {
        Value::Null => Some(DateRank::Undated),
        value => value.as_str().map(|code| DateRank::Dated(code.to_owned())),
    }
}

fn text(value: &Value) -> Option<String> {
    value.as_str().map(str::to_owned)
}

impl Position for Rank {
    fn write(&self) -> Value {
        json!([
            self.verdict.as_str(),
            self.off_centre.nm(),
            self.is_held,
            date(&self.date_code),
            self.is_lot,
            self.tag,
            self.feature,
            self.shown
        ])
    }

    fn read(value: &Value) -> Option<Self> {
        Some(Rank {
            verdict: value[0].as_str()?.parse().ok()?,
            off_centre: Length::from_nm(value[1].as_i64()?),
            is_held: value[2].as_bool()?,
            date_code: read_date(value.get(3)?)?,
            is_lot: value[4].as_bool()?,
            tag: text(&value[5])?,
            feature: text(&value[6])?,
            shown: shown(&value[7])?,
        })
    }
}

impl Position for (SizeRank, usize) {
    fn write(&self) -> Value {
        let (rank, shown) = self;
        json!([
            rank.size.nm(),
            rank.is_held,
            date(&rank.date_code),
            rank.is_lot,
            rank.tag,
            rank.feature,
            shown
        ])
    }

    fn read(value: &Value) -> Option<Self> {
        let rank = SizeRank {
            size: Length::from_nm(value[0].as_i64()?),
            is_held: value[1].as_bool()?,
            date_code: read_date(value.get(2)?)?,
            is_lot: value[3].as_bool()?,
            tag: text(&value[4])?,
            feature: text(&value[5])?,
        };
        Some((rank, shown(&value[6])?))
    }
}

impl Position for Cursor {
    fn write(&self) -> Value {
        json!([self.seen, self.last])
    }

    fn read(value: &Value) -> Option<Self> {
        let seen = shown(&value[0]).filter(|seen| *seen > 0)?;
        Some(Cursor { seen, last: text(&value[1])? })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tenths_domain::verdict::Verdict;
    use tenths_proto::v1;

    fn question(value: &str) -> v1::Length {
        v1::Length { value: value.to_owned(), ..Default::default() }
    }

    fn rank() -> Rank {
        Rank {
            verdict: Verdict::ProbableIn,
            off_centre: Length::from_nm(-1_200),
            is_held: true,
            date_code: DateRank::Undated,
            is_lot: true,
            tag: "L-22".to_owned(),
            feature: "bore".to_owned(),
            shown: 40,
        }
    }

    /// Goal: a token comes back as it went out, and is worth nothing with another question.
    #[test]
    fn a_token_goes_on_where_it_was_given_and_nowhere_else() {
        let dated = Rank { date_code: DateRank::Dated("2026-03".to_owned()), ..rank() };
        for at in [rank(), dated] {
            let text = token("FindFit", &question("1"), &at);
            let mut check = Check::new();
            assert_eq!(read(&mut check, "FindFit", &text, &question("1")), Some(at));
            check.finish().unwrap();
        }
        let text = token("FindFit", &question("1"), &rank());
        for (method, other, token) in [
            ("FindFit", "2", text.as_str()),
            ("FindBySize", "1", text.as_str()),
            ("FindFit", "1", "x"),
            ("FindFit", "1", "AAAA"),
            ("FindFit", "1", &text[1..]),
        ] {
            let mut check = Check::new();
            let _: Option<Rank> = read(&mut check, method, token, &question(other));
            assert!(check.into_error().to_string().contains("page_token"), "{token}");
        }
        let size = (
            SizeRank {
                size: Length::from_nm(5),
                is_held: false,
                date_code: DateRank::Undated,
                is_lot: false,
                tag: "P-1".into(),
                feature: "seat".into(),
            },
            7,
        );
        assert_eq!(Position::read(&size.write()), Some(size));
        let cursor = Cursor { seen: 3, last: "L-1".into() };
        assert_eq!(Position::read(&cursor.write()), Some(cursor));
    }
}
