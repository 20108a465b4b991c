//! The feed of changes: what was touched since a reader looked last, for the index of the stock.
//!
//! Triggers write the rows (migration `m20261125_000004_changes`). On PostgreSQL a reader remembers
//! the snapshot that it read in and takes the rows of every transaction that this snapshot did not
//! see: whoever commits late is not skipped, and a long import that is still open holds nobody up.

use crate::error::StorageError;
use crate::rows::corrupt;
use crate::tx::Tx;
use sea_orm::{ConnectionTrait, Statement, Value};
use std::collections::HashSet;
use tenths_domain::ids::{LotId, PieceId};

/// How many rows of the feed are read by one statement.
const PAGE: u64 = 10_000;
/// The counter that says up to where rows were trimmed.
const TRIMMED: &str = "changes_trimmed";
/// Most rows that one call trims on SQLite, whose one writer must not be held for long.
const TRIM_MAX_SQLITE: i64 = 50_000;

/// What a change is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SubjectKind {
    /// A piece, its sizes, its readings or the hold on it.
    Piece,
    /// A lot, its stock or the holds on it.
    Lot,
    /// An item or its features.
    Item,
    /// A location.
    Location,
    /// A gauge.
    Gauge,
}

impl SubjectKind {
    const ALL: [(SubjectKind, &'static str); 5] = [
        (SubjectKind::Piece, "piece"),
        (SubjectKind::Lot, "lot"),
        (SubjectKind::Item, "item"),
        (SubjectKind::Location, "location"),
        (SubjectKind::Gauge, "gauge"),
    ];

    fn named(id: i64, name: &str) -> Result<Self, StorageError> {
        let found = SubjectKind::ALL.iter().find(|(_, one)| *one == name);
        found
            .map(|(kind, _)| *kind)
            .ok_or_else(|| corrupt("changes", id, format!("subject {name:?}")))
    }
}

/// Which transactions a reader of the feed has seen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChangeCursor(Seen);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Seen {
    /// SQLite: everything up to this row.
    Row(i64),
    /// PostgreSQL: what this snapshot sees; the oldest transaction that was running in it.
    Snapshot { text: String, oldest_running: i64 },
}

impl ChangeCursor {
    /// Every write of this revision or a lower one has ended and is seen. Never falls.
    pub fn revision(&self) -> i64 {
        match &self.0 {
            Seen::Row(id) => *id,
            Seen::Snapshot { oldest_running, .. } => oldest_running - 1,
        }
    }

    /// No write that was answered before this cursor was taken has a higher revision, though older
    /// ones may still be open ([`ChangeCursor::revision`]).
    pub fn newest(&self) -> i64 {
        match &self.0 {
            Seen::Row(id) => *id,
            // Written as xmin:xmax:running; xmax is the first that had not begun.
            Seen::Snapshot { text, oldest_running } => {
                let xmax = text.split(':').nth(1).and_then(|xmax| xmax.parse::<i64>().ok());
                xmax.unwrap_or(*oldest_running) - 1
            }
        }
    }

    /// Where the rows begin that may be unseen: their transaction and number are higher.
    fn start(&self) -> (i64, i64) {
        match &self.0 {
            Seen::Row(id) => (0, *id),
            Seen::Snapshot { oldest_running, .. } => (oldest_running - 1, i64::MAX),
        }
    }
}

/// What changed since a reader looked last.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Changes {
    /// These subjects.
    Since {
        /// In order, none twice; maybe none.
        subjects: Vec<(SubjectKind, i64)>,
        /// Where to go on from.
        cursor: ChangeCursor,
    },
    /// Rows that the reader has not seen were trimmed, or more changed than it would take singly:
    /// everything must be loaded anew, within the same read.
    Reload {
        /// Where to go on from, once everything is loaded.
        cursor: ChangeCursor,
    },
}

/// The stock that must be loaded anew after changes; each in order, none twice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TouchedStock {
    /// Pieces, in stock or no longer.
    pub pieces: Vec<PieceId>,
    /// Lots, in stock or no longer.
    pub lots: Vec<LotId>,
}

impl Tx {
    /// Where a reader goes on from that loads the whole stock within this same read.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn change_cursor(&self) -> Result<ChangeCursor, StorageError> {
        Ok(self.cursor_and_trimmed().await?.0)
    }

    /// The subjects of every change that `cursor` has not seen; [`Changes::Reload`] if they are more
    /// than `limit` or no longer known. Ask in a read, and load the subjects in the same one.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn changes_after(
        &self,
        cursor: &ChangeCursor,
        limit: usize,
    ) -> Result<Changes, StorageError> {
        let (now, trimmed) = self.cursor_and_trimmed().await?;
        if trimmed > cursor.revision() {
            return Ok(Changes::Reload { cursor: now });
        }
        let mut subjects = HashSet::new();
        let (mut xid, mut id) = cursor.start();
        loop {
            let rows = self.change_rows(cursor, &now, (xid, id)).await?;
            let is_last = (rows.len() as u64) < PAGE;
            for (row_xid, row_id, subject, subject_id) in rows {
                subjects.insert((SubjectKind::named(row_id, &subject)?, subject_id));
                (xid, id) = (row_xid, row_id);
            }
            if subjects.len() > limit {
                return Ok(Changes::Reload { cursor: now });
            }
            if is_last {
                break;
            }
        }
        let mut subjects: Vec<_> = subjects.into_iter().collect();
        subjects.sort_unstable();
        Ok(Changes::Since { subjects, cursor: now })
    }

    /// The revision of this write, asked after its last change: a reader whose cursor has reached it
    /// has seen this write. It never falls from one write of the shop to a later one.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn revision(&self) -> Result<i64, StorageError> {
        let sql = if self.is_sqlite() {
            "SELECT COALESCE((SELECT seq FROM sqlite_sequence WHERE name = 'changes'), 0)"
        } else {
            "SELECT pg_current_xact_id()::text::bigint"
        };
        self.number(sql, []).await
    }

    /// Removes old rows of the feed but the newest `keep`, and keeps in mind up to where, so that a
    /// reader that has not seen them is told; answers with how many went. SQLite removes at most
    /// 50,000 at a time.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn trim_changes(&self, keep: u64) -> Result<u64, StorageError> {
        let keep = i64::try_from(keep).unwrap_or(i64::MAX);
        let (through, delete) = if self.is_sqlite() {
            (TRIM_THROUGH_SQLITE, "DELETE FROM changes WHERE id <= $1")
        } else {
            (TRIM_THROUGH_POSTGRES, "DELETE FROM changes WHERE xid <= $1")
        };
        let most = self.is_sqlite().then_some(Value::from(TRIM_MAX_SQLITE));
        let found: Vec<(i64,)> =
            self.tuples(through, [Value::from(keep)].into_iter().chain(most)).await?;
        let Some((through,)) = found.first().copied() else { return Ok(0) };
        let backend = self.inner.get_database_backend();
        let delete = Statement::from_sql_and_values(backend, delete, [Value::from(through)]);
        let gone = self.inner.execute_raw(delete).await?.rows_affected();
        if gone > 0 {
            self.raise_number(TRIMMED, through).await?;
        }
        Ok(gone)
    }

    /// The stock that changes of these subjects touch: pieces and lots themselves, the pieces and
    /// lots of items, the pieces measured with gauges. A location touches none: stock names its
    /// number.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn stock_touched_by(
        &self,
        subjects: &[(SubjectKind, i64)],
    ) -> Result<TouchedStock, StorageError> {
        let of = |kind: SubjectKind| -> Vec<i64> {
            subjects.iter().filter(|(one, _)| *one == kind).map(|(_, id)| *id).collect()
        };
        let (mut pieces, mut lots) = (of(SubjectKind::Piece), of(SubjectKind::Lot));
        let items = of(SubjectKind::Item);
        pieces.extend(self.numbers_by(PIECES_OF_ITEMS, "item_id", &items).await?);
        lots.extend(self.numbers_by("SELECT id FROM lots WHERE ", "item_id", &items).await?);
        let gauges = of(SubjectKind::Gauge);
        pieces.extend(self.numbers_by(PIECES_BY_GAUGES, "r.gauge_id", &gauges).await?);
        for ids in [&mut pieces, &mut lots] {
            ids.sort_unstable();
            ids.dedup();
        }
        Ok(TouchedStock {
            pieces: pieces.into_iter().map(PieceId).collect(),
            lots: lots.into_iter().map(LotId).collect(),
        })
    }

    async fn cursor_and_trimmed(&self) -> Result<(ChangeCursor, i64), StorageError> {
        if self.is_sqlite() {
            let rows: Vec<(i64, i64)> = self.tuples(CURSOR_SQLITE, [TRIMMED.into()]).await?;
            let (id, trimmed) = rows.first().copied().unwrap_or((0, 0));
            return Ok((ChangeCursor(Seen::Row(id)), trimmed));
        }
        let rows: Vec<(String, i64, i64)> = self.tuples(CURSOR_POSTGRES, [TRIMMED.into()]).await?;
        let (text, oldest_running, trimmed) = rows.into_iter().next().unwrap_or_default();
        Ok((ChangeCursor(Seen::Snapshot { text, oldest_running }), trimmed))
    }

    /// A page of rows that `now` sees and `cursor` did not, after this transaction and number.
    async fn change_rows(
        &self,
        cursor: &ChangeCursor,
        now: &ChangeCursor,
        (xid, id): (i64, i64),
    ) -> Result<Vec<(i64, i64, String, i64)>, StorageError> {
        match (&cursor.0, &now.0) {
            (Seen::Snapshot { text: seen, .. }, Seen::Snapshot { text: now, .. }) => {
                let values = [xid.into(), id.into(), seen.as_str().into(), now.as_str().into()];
                self.tuples(ROWS_POSTGRES, values).await
            }
            (_, now) => {
                let upto = if let Seen::Row(upto) = now { *upto } else { 0 };
                self.tuples(ROWS_SQLITE, [id.into(), upto.into()]).await
            }
        }
    }

    /// What `select` finds for these keys in `column`.
    async fn numbers_by(
        &self,
        select: &str,
        column: &str,
        ids: &[i64],
    ) -> Result<Vec<i64>, StorageError> {
        if ids.is_empty() {
            return Ok(Vec::new());
        }
        let among = self.among(ids);
        let rows: Vec<(i64,)> =
            self.tuples(&format!("{select}{}", among.condition(column)), among.values()).await?;
        Ok(rows.into_iter().map(|(id,)| id).collect())
    }
}

const CURSOR_SQLITE: &str = "
SELECT COALESCE((SELECT seq FROM sqlite_sequence WHERE name = 'changes'), 0),
    COALESCE((SELECT next FROM counters WHERE name = $1), 0)";

const CURSOR_POSTGRES: &str = "
SELECT pg_current_snapshot()::text, pg_snapshot_xmin(pg_current_snapshot())::text::bigint,
    COALESCE((SELECT next FROM counters WHERE name = $1), 0)";

const ROWS_SQLITE: &str = "
SELECT xid, id, subject, subject_id FROM changes
WHERE id > $1 AND id <= $2 ORDER BY id LIMIT 10000";

const ROWS_POSTGRES: &str = "
SELECT xid, id, subject, subject_id FROM changes
WHERE (xid, id) > ($1, $2)
    AND NOT pg_visible_in_snapshot(xid::text::xid8, $3::text::pg_snapshot)
    AND pg_visible_in_snapshot(xid::text::xid8, $4::text::pg_snapshot)
ORDER BY xid, id LIMIT 10000";

/// The newest row that may go: past the newest `$1`, and not more than `$2` rows at a time.
const TRIM_THROUGH_SQLITE: &str = "
SELECT MIN(id, (SELECT MIN(id) FROM changes) + $2 - 1) FROM
    (SELECT id FROM changes ORDER BY id DESC LIMIT 1 OFFSET $1)";

/// The newest transaction that may go with all of its rows: one below the transaction of the row
/// past the newest `$1` of those that no transaction still running could precede.
const TRIM_THROUGH_POSTGRES: &str = "
SELECT xid - 1 FROM changes
WHERE xid < pg_snapshot_xmin(pg_current_snapshot())::text::bigint
ORDER BY xid DESC, id DESC LIMIT 1 OFFSET $1";

const PIECES_OF_ITEMS: &str = "SELECT id FROM pieces WHERE state = 'in_stock' AND ";

const PIECES_BY_GAUGES: &str = "
SELECT DISTINCT r.piece_id FROM readings r
JOIN pieces p ON p.id = r.piece_id AND p.state = 'in_stock' WHERE ";
