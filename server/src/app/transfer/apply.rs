//! The second half of an import: one transaction that looks up and writes what was spooled.

use super::cell::{Cells, bad_row};
use super::columns::Columns;
use super::spool::Spool;
use super::{BadRow, Row, Summary, Table, items, lots, pieces};
use crate::app::act::{Act, Request, earlier_answer};
use crate::app::error::Error;
use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use tenths_storage::{AsConflict, NewRequest, StorageError, Tx};

/// How many rows are looked up and written at once.
const ROWS_AT_ONCE: usize = 500;

/// An import whose rows are all in.
#[derive(Debug)]
pub(super) struct Job {
    pub(super) request: Request,
    pub(super) now: i64,
    pub(super) table: Table,
    pub(super) columns: Columns,
    pub(super) dry_run: bool,
    pub(super) skip_bad_rows: bool,
    pub(super) spool: Spool,
    pub(super) received: i64,
    /// Rows that are bad by themselves; they are not in the spool.
    pub(super) bad: i64,
    /// How many more problems may be reported.
    pub(super) room: usize,
    /// The highest number that a person gave a tag of this table, or 0.
    pub(super) highest: i64,
    /// How many rows were applied, for whoever watches.
    pub(super) applied: Arc<AtomicI64>,
    /// The answer to keep.
    pub(super) encode: fn(&Summary) -> Vec<u8>,
}

/// What came of it.
#[derive(Debug)]
pub(super) enum Outcome {
    /// The same import was answered before.
    Before(Vec<u8>),
    /// It was done now.
    Now(Summary, Vec<BadRow>),
}

/// Why the transaction is rolled back.
#[derive(Debug)]
pub(super) enum Rollback {
    /// It failed.
    Failed(Error),
    /// On purpose: a dry run, a file with bad rows, or nothing to save.
    OnPurpose(Outcome),
}

impl From<Error> for Rollback {
    fn from(error: Error) -> Self {
        Rollback::Failed(error)
    }
}

impl From<StorageError> for Rollback {
    fn from(error: StorageError) -> Self {
        Rollback::Failed(error.into())
    }
}

impl AsConflict for Rollback {
    fn is_conflict(&self) -> bool {
        match self {
            Rollback::Failed(error) => error.is_conflict(),
            Rollback::OnPurpose(_) => false,
        }
    }
}

/// A transaction under way.
pub(super) struct Applying<'a> {
    pub(super) act: Act<'a>,
    job: &'a Job,
    reported: Vec<BadRow>,
    bad: i64,
    good: i64,
}

impl Applying<'_> {
    /// Counts a row as good or bad.
    pub(super) fn note(&mut self, line: i64, found: Result<(), Vec<BadRow>>) {
        match found {
            Ok(()) => self.good += 1,
            Err(problems) => {
                debug_assert!(problems.iter().all(|bad| bad.line == line) && !problems.is_empty());
                self.bad += 1;
                let room = self.job.room - self.reported.len();
                self.reported.extend(problems.into_iter().take(room));
            }
        }
    }

    /// The next `count` tags of this prefix.
    pub(super) async fn numbers(&self, prefix: &str, count: usize) -> Result<Vec<String>, Error> {
        let count = count as i64;
        let first = self.act.tx.next_numbers(prefix, count).await?;
        Ok((first..first + count).map(|number| format!("{prefix}-{number}")).collect())
    }
}

/// Each name once, for looking it up.
pub(super) fn unique<'n>(names: impl Iterator<Item = &'n str>) -> Vec<&'n str> {
    let names: BTreeSet<&str> = names.collect();
    names.into_iter().collect()
}

/// Something that a row names and that is not there.
pub(super) fn absent(line: i64, column: &str, kind: &str, name: &str) -> BadRow {
    bad_row(line, column, format!("there is no {kind} {name:?}"))
}

/// A tag that a row gives and that is taken.
pub(super) fn taken(line: i64, kind: &str, tag: &str) -> BadRow {
    bad_row(line, "tag", format!("there is a {kind} {tag:?} already; tags are never used twice"))
}

impl Job {
    /// All of it, within a transaction that the caller commits or rolls back.
    pub(super) async fn run(&self, tx: &Tx) -> Result<Outcome, Rollback> {
        if let Some(answer) = earlier_answer(tx, &self.request).await? {
            return Err(Rollback::OnPurpose(Outcome::Before(answer)));
        }
        let act = Act {
            tx,
            now: self.now,
            person: &self.request.person,
            request_id: &self.request.request_id,
        };
        let mut applying =
            Applying { act, job: self, reported: Vec::new(), bad: self.bad, good: 0 };
        self.raise_numbers(tx).await?;
        let (mut spooled, mut seen) = (self.spool.reader()?, self.bad);
        loop {
            let rows = spooled.batch(ROWS_AT_ONCE).await?;
            if rows.is_empty() {
                break;
            }
            seen += rows.len() as i64;
            self.apply(&mut applying, rows).await?;
            self.applied.store(seen, Ordering::Relaxed);
        }
        let Applying { reported, bad, good, .. } = applying;
        let commit = !self.dry_run && good > 0 && (bad == 0 || self.skip_bad_rows);
        let saved = if commit { good } else { 0 };
        let summary = Summary { received: self.received, saved, bad, committed: commit };
        let outcome = Outcome::Now(summary, reported);
        if !commit {
            return Err(Rollback::OnPurpose(outcome));
        }
        self.keep(tx, &summary).await?;
        Ok(outcome)
    }

    /// Counts on from the highest number given by hand, so that a number given to a row without a
    /// tag is not the tag of a later row.
    async fn raise_numbers(&self, tx: &Tx) -> Result<(), Error> {
        if let (Some(prefix), 1..) = (self.table.prefix(), self.highest) {
            tx.raise_number(prefix, self.highest).await?;
        }
        Ok(())
    }

    async fn apply(&self, applying: &mut Applying<'_>, rows: Vec<Row>) -> Result<(), Error> {
        match self.table {
            Table::Items => {
                let rows = self.read(applying, &rows, items::read);
                items::apply(applying, rows).await
            }
            Table::Lots => {
                let rows = self.read(applying, &rows, lots::read);
                lots::apply(applying, rows).await
            }
            Table::Pieces => {
                let rows = self.read(applying, &rows, pieces::read);
                pieces::apply(applying, rows).await
            }
        }
    }

    /// Reads rows once more, since only their text was kept.
    fn read<T>(
        &self,
        applying: &mut Applying<'_>,
        rows: &[Row],
        read: fn(Cells<'_>, i64) -> Result<T, Vec<BadRow>>,
    ) -> Vec<T> {
        let mut good = Vec::with_capacity(rows.len());
        for row in rows {
            match read(Cells::of(&self.columns, row), row.line) {
                Ok(row) => good.push(row),
                Err(problems) => applying.note(row.line, Err(problems)),
            }
        }
        good
    }

    async fn keep(&self, tx: &Tx, summary: &Summary) -> Result<(), Error> {
        let request = NewRequest {
            request_id: self.request.request_id.clone(),
            method: self.request.method.to_owned(),
            person: self.request.person.clone(),
            fingerprint: self.request.fingerprint.to_vec(),
            answer: (self.encode)(summary),
            created_at: self.now,
        };
        Ok(tx.keep_request(request).await?)
    }
}

impl Table {
    /// What stands before the number of a tag of this table; items have codes instead.
    pub(super) const fn prefix(self) -> Option<&'static str> {
        match self {
            Table::Items => None,
            Table::Lots => Some("L"),
            Table::Pieces => Some("P"),
        }
    }
}
