//! The first half of an import: rows come in, are checked by themselves, and are spooled.

use super::apply::{Job, Outcome, Rollback};
use super::cell::Cells;
use super::columns::Columns;
use super::spool::{SpoolWriter, encode};
use super::{
    BATCH_ROWS_MAX, BadRow, REPORTED_MAX, ROWS_MAX, Row, SPOOL_BYTES_MAX, Summary, Table, items,
    lots, pieces,
};
use crate::app::App;
use crate::app::act::Request;
use crate::app::error::Error;
use sha2::{Digest, Sha256};
use std::sync::Arc;
use std::sync::atomic::AtomicI64;

/// Numbers beyond this are somebody's own scheme, not a count to go on from.
const COUNTED_MAX: i64 = 1_000_000_000;

/// What a header asks for.
#[derive(Clone, Debug)]
pub struct ImportOrder {
    /// The id that makes a repeat harmless.
    pub request_id: String,
    /// Who asks.
    pub person: String,
    /// The rpc.
    pub method: &'static str,
    /// The header without the request id, as bytes: what a repeat must have in common.
    pub header: Vec<u8>,
    /// What the rows are.
    pub table: Table,
    /// The columns, in the order of the values.
    pub columns: Vec<String>,
    /// Check everything, save nothing.
    pub dry_run: bool,
    /// Save the good rows although others are bad.
    pub skip_bad_rows: bool,
    /// Makes of a summary the answer that a repeat is given.
    pub encode: fn(&Summary) -> Vec<u8>,
}

/// An import whose rows are coming in. Dropped before [`Import::finish`], it leaves no trace.
pub struct Import {
    app: App,
    order: ImportOrder,
    columns: Columns,
    spool: SpoolWriter,
    digest: Sha256,
    received: i64,
    bad: i64,
    reported: usize,
    highest: i64,
    bytes: Vec<u8>,
}

/// How an import ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Finished {
    /// It had been done before: the answer that was kept.
    Before(Vec<u8>),
    /// It was done now.
    Now {
        /// How it ended.
        summary: Summary,
        /// Problems that only the shop could tell, beside those that [`Import::take`] answered.
        bad_rows: Vec<BadRow>,
    },
}

impl Import {
    /// Reads a header.
    ///
    /// # Errors
    /// [`Error::Invalid`] with every column that is unknown, missing or given twice.
    pub async fn begin(app: App, order: ImportOrder) -> Result<Import, Error> {
        let columns = Columns::read(order.table, &order.columns)?;
        let mut digest = Sha256::new();
        digest.update(order.method);
        digest.update((order.header.len() as u64).to_le_bytes());
        digest.update(&order.header);
        Ok(Import {
            app,
            columns,
            spool: SpoolWriter::create().await?,
            digest,
            received: 0,
            bad: 0,
            reported: 0,
            highest: 0,
            bytes: Vec::new(),
            order,
        })
    }

    /// How many rows came in.
    pub fn received(&self) -> i64 {
        self.received
    }

    /// Takes rows in; answers with what is wrong with them by themselves, as far as that is
    /// reported.
    ///
    /// # Errors
    /// [`Error::Invalid`] for more rows than are allowed; [`Error::Io`] from the temporary file.
    pub async fn take(&mut self, rows: Vec<Row>) -> Result<Vec<BadRow>, Error> {
        self.check_size(rows.len())?;
        let mut found = Vec::new();
        for row in &rows {
            self.received += 1;
            encode(row, &mut self.bytes);
            self.digest.update(&self.bytes);
            match self.check(row) {
                Ok(number) => {
                    self.highest = self.highest.max(number);
                    self.spool.put(&self.bytes).await?;
                }
                Err(problems) => {
                    self.bad += 1;
                    found.extend(
                        problems.into_iter().take(REPORTED_MAX - self.reported - found.len()),
                    );
                }
            }
        }
        self.reported += found.len();
        Ok(found)
    }

    fn check_size(&self, more: usize) -> Result<(), Error> {
        if more > BATCH_ROWS_MAX {
            let problem =
                format!("it has {more} rows; at most {BATCH_ROWS_MAX} are allowed in one batch");
            return Err(Error::invalid("batch.rows", problem));
        }
        if self.received + more as i64 > ROWS_MAX {
            let problem = format!("the file has more than {ROWS_MAX} rows: import it in parts");
            return Err(Error::invalid("batch.rows", problem));
        }
        if self.spool.bytes() > SPOOL_BYTES_MAX {
            let problem =
                format!("the file has more than {SPOOL_BYTES_MAX} bytes: import it in parts");
            return Err(Error::invalid("batch.rows", problem));
        }
        Ok(())
    }

    /// Checks a row by itself; answers with the number in its tag, or 0.
    fn check(&self, row: &Row) -> Result<i64, Vec<BadRow>> {
        let cells = Cells::of(&self.columns, row);
        match self.order.table {
            Table::Items => items::read(cells, row.line).map(|_| 0),
            Table::Lots => lots::read(cells, row.line).map(|read| self.number_of(read.tag())),
            Table::Pieces => pieces::read(cells, row.line).map(|read| self.number_of(read.tag())),
        }
    }

    fn number_of(&self, tag: Option<&str>) -> i64 {
        let digits = tag
            .zip(self.order.table.prefix())
            .and_then(|(tag, prefix)| tag.strip_prefix(prefix)?.strip_prefix('-'));
        let number = digits.and_then(|digits| digits.parse().ok());
        number.filter(|number| (1..=COUNTED_MAX).contains(number)).unwrap_or(0)
    }

    /// All rows are in: looks them up and writes them in one transaction, which goes on even if the
    /// caller stops waiting for it. `applied` follows how many rows it has come to.
    ///
    /// # Errors
    /// [`Error::Invalid`] if the id was used for another request; a database that does not answer.
    /// Nothing is saved then.
    pub async fn finish(self, applied: Arc<AtomicI64>) -> Result<Finished, Error> {
        let ImportOrder { request_id, person, method, .. } = self.order;
        let fingerprint = self.digest.finalize().into();
        let job = Arc::new(Job {
            request: Request { request_id, person, method, fingerprint },
            now: self.app.now(),
            table: self.order.table,
            columns: self.columns,
            dry_run: self.order.dry_run,
            skip_bad_rows: self.order.skip_bad_rows,
            spool: self.spool.finish().await?,
            received: self.received,
            bad: self.bad,
            room: REPORTED_MAX - self.reported,
            highest: self.highest,
            applied,
            encode: self.order.encode,
        });
        let done = self.app.store().write(move |tx| {
            let job = Arc::clone(&job);
            Box::pin(async move { job.run(tx).await })
        });
        match done.await {
            Ok(outcome) | Err(Rollback::OnPurpose(outcome)) => Ok(match outcome {
                Outcome::Before(answer) => Finished::Before(answer),
                Outcome::Now(summary, bad_rows) => Finished::Now { summary, bad_rows },
            }),
            Err(Rollback::Failed(error)) => Err(error),
        }
    }
}
