//! What the program remembers from one run to the next: the rows of the last answer, so that
//! `hold 2` can name one, and the revision of the last change, so that a question asked right after
//! it sees it. Losing it costs nothing; a file that cannot be read or written is passed over.

use serde_json::{Value, json};
use std::cell::RefCell;
use std::path::PathBuf;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// A change is remembered for so long: by then every server has seen it, and a database that was
/// put back from a copy is not asked for a revision that it will never have.
const REMEMBERED_FOR: Duration = Duration::from_secs(60);
/// Rows that are remembered.
const ROWS_MAX: usize = 10_000;

/// One row of an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Row {
    /// A piece's tag.
    Piece(String),
    /// A lot's tag.
    Lot(String),
}

/// What is remembered.
#[derive(Debug, Default)]
pub(crate) struct Memory {
    path: Option<PathBuf>,
    kept: RefCell<Value>,
}

impl Memory {
    /// Nothing is remembered.
    #[cfg(test)]
    pub(crate) fn none() -> Memory {
        Memory::default()
    }

    /// The memory in the file that TENTHS_STATE names, else in the person's state directory.
    pub(crate) fn of_person() -> Memory {
        let var = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let in_home = || Some(PathBuf::from(var("HOME")?).join(".local/state"));
        let directory = || var("XDG_STATE_HOME").map(PathBuf::from).or_else(in_home);
        let path = match var("TENTHS_STATE") {
            Some(path) => Some(PathBuf::from(path)),
            None => directory().map(|directory| directory.join("tenths/last.json")),
        };
        let text = path.as_ref().and_then(|path| std::fs::read_to_string(path).ok());
        let kept = text.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
        Memory { path, kept: RefCell::new(kept) }
    }

    /// The revision of the last change at this server, if it was just now; else 0.
    pub(crate) fn revision(&self, server: &str) -> i64 {
        let kept = self.kept.borrow();
        let at = kept["changed_at"].as_u64().unwrap_or(0);
        let is_fresh = now().saturating_sub(at) <= REMEMBERED_FOR.as_secs();
        let is_here = kept["server"].as_str() == Some(server);
        kept["revision"].as_i64().filter(|_| is_fresh && is_here).unwrap_or(0)
    }

    /// Remembers a change.
    pub(crate) fn changed(&self, server: &str, revision: i64) {
        self.at(server, |kept| {
            kept["revision"] = json!(revision);
            kept["changed_at"] = json!(now());
        });
    }

    /// Remembers the rows of an answer, numbered from `first` on.
    pub(crate) fn answered(&self, server: &str, first: i32, rows: &[Row]) {
        let rows: Vec<Value> = rows
            .iter()
            .take(ROWS_MAX)
            .map(|row| match row {
                Row::Piece(tag) => json!({ "piece": tag }),
                Row::Lot(tag) => json!({ "lot": tag }),
            })
            .collect();
        self.at(server, |kept| {
            kept["rows"] = Value::Array(rows);
            kept["first"] = json!(first);
        });
    }

    /// The row of this number in the last answer of this server.
    pub(crate) fn row(&self, server: &str, number: i64) -> Option<Row> {
        let kept = self.kept.borrow();
        if kept["server"].as_str() != Some(server) {
            return None;
        }
        let index = usize::try_from(number - kept["first"].as_i64()?).ok()?;
        let row = &kept["rows"][index];
        let tag = |kind: &str| row[kind].as_str().map(str::to_owned);
        tag("piece").map(Row::Piece).or_else(|| tag("lot").map(Row::Lot))
    }

    fn at(&self, server: &str, change: impl FnOnce(&mut Value)) {
        let mut kept = self.kept.borrow_mut();
        if kept["server"].as_str() != Some(server) {
            *kept = json!({ "server": server });
        }
        change(&mut kept);
        let Some(path) = &self.path else { return };
        let beside = path.with_extension(format!("{}.new", std::process::id()));
        let saved = path.parent().map_or(Ok(()), std::fs::create_dir_all).and_then(|()| {
            std::fs::write(&beside, kept.to_string())?;
            std::fs::rename(&beside, path)
        });
        // It is a convenience: a full or read-only disk must not fail a command that has succeeded.
        drop(saved);
    }
}

fn now() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Goal: what one run remembers another knows, for the same server only. Method: a file, two
    /// memories.
    #[test]
    fn the_next_run_knows_the_rows_and_the_revision_of_the_same_server() {
        let directory = tempfile::tempdir().unwrap();
        let path = Some(directory.path().join("deep/last.json"));
        let first = Memory { path: path.clone(), kept: RefCell::default() };
        first.changed("http://a", 41);
        first.answered("http://a", 21, &[Row::Lot("L-1".into()), Row::Piece("P-2".into())]);
        let text = std::fs::read_to_string(path.as_ref().unwrap()).unwrap();
        let next = Memory { path, kept: RefCell::new(serde_json::from_str(&text).unwrap()) };
        assert_eq!((next.revision("http://a"), next.revision("http://b")), (41, 0));
        assert_eq!(next.row("http://a", 22), Some(Row::Piece("P-2".into())));
        for unknown in [0, 1, 20, 23, i64::MAX] {
            assert_eq!(next.row("http://a", unknown), None, "{unknown}");
        }
        assert_eq!(next.row("http://b", 21), None);
        next.answered("http://b", 1, &[]);
        assert_eq!(next.revision("http://a"), 0);
    }

    #[test]
    fn an_old_change_and_a_broken_file_are_passed_over() {
        let old = json!({ "server": "a", "revision": 9, "changed_at": now() - 61 });
        for kept in
            [old, Value::Null, json!([1]), json!({ "server": "a", "rows": 3, "first": "x" })]
        {
            let memory = Memory { path: None, kept: RefCell::new(kept) };
            assert_eq!((memory.revision("a"), memory.row("a", 1)), (0, None));
        }
    }
}
