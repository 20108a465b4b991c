//! A CSV file as batches of rows, read as it streams: the file is never held.

use anyhow::{Context, Result, anyhow, bail};
use std::cell::Cell;
use std::io::{self, Read};
use std::rc::Rc;
use tenths_proto::v1::Row;

/// Most rows in a batch; the contract takes 1,000.
const BATCH_ROWS_MAX: usize = 500;
/// A batch is sent once it is this large, well below the 4 MiB that a message may have.
const BATCH_BYTES_MAX: usize = 256 * 1024;
/// A row larger than this is a missing quote that swallows the rest of the file.
const ROW_BYTES_MAX: u64 = 1024 * 1024;

/// What a file is made of.
#[derive(Debug, PartialEq)]
pub(crate) enum Part {
    /// The names in the first line.
    Columns(Vec<String>),
    /// Rows, in order.
    Rows(Vec<Row>),
}

/// A file without a single line.
#[derive(Debug)]
pub(crate) struct EmptyFile;

impl std::fmt::Display for EmptyFile {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("the file is empty; its first line names the columns")
    }
}

impl std::error::Error for EmptyFile {}

/// Reads `source` and hands over its parts; ends early, without an error, once `take` says false.
pub(crate) fn read(source: impl Read, take: impl FnMut(Part) -> bool) -> Result<()> {
    let left = Rc::new(Cell::new(ROW_BYTES_MAX));
    let limited = RowLimit { source, left: Rc::clone(&left) };
    // Rows of any width pass: that a row is too short is the server's to say, by line. Lines are
    // ended by \n alone, here and below, because the library miscounts them at \r\n.
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .has_headers(false)
        .terminator(csv::Terminator::Any(b'\n'))
        .from_reader(limited.chain("\n".as_bytes()));
    let mut taken = Taken { take, columns_taken: false, batch: Vec::new(), bytes: 0 };
    let mut record = csv::StringRecord::new();
    loop {
        left.set(ROW_BYTES_MAX);
        let line = reader.position().line();
        let more = reader.read_record(&mut record).map_err(plain);
        if !more.with_context(|| format!("line {line}"))? {
            return taken.rest();
        }
        if !taken.row(row_of(&record, reader.position().line())) {
            return Ok(());
        }
    }
}

/// Rows on their way out: the columns first, then batches.
struct Taken<F> {
    take: F,
    columns_taken: bool,
    batch: Vec<Row>,
    bytes: usize,
}

impl<F: FnMut(Part) -> bool> Taken<F> {
    /// Takes one row; false once nobody wants more. An empty line is no row.
    fn row(&mut self, row: Row) -> bool {
        if row.values == [""] {
            return true;
        }
        if !self.columns_taken {
            self.columns_taken = true;
            let columns = row.values.iter().map(|name| name.trim().to_owned()).collect();
            return (self.take)(Part::Columns(columns));
        }
        self.bytes += row.values.iter().map(String::len).sum::<usize>();
        self.batch.push(row);
        if self.batch.len() < BATCH_ROWS_MAX && self.bytes < BATCH_BYTES_MAX {
            return true;
        }
        self.bytes = 0;
        (self.take)(Part::Rows(std::mem::take(&mut self.batch)))
    }

    /// The last batch, which may be short.
    fn rest(mut self) -> Result<()> {
        if !self.columns_taken {
            bail!(EmptyFile);
        }
        if !self.batch.is_empty() {
            (self.take)(Part::Rows(self.batch));
        }
        Ok(())
    }
}

/// The row, with the line it starts on: the one after its end, less its own lines.
fn row_of(record: &csv::StringRecord, line_after: u64) -> Row {
    let mut values: Vec<String> = record.iter().map(str::to_owned).collect();
    if let Some(last) = values.last_mut()
        && last.ends_with('\r')
    {
        last.pop();
    }
    let within = record.as_slice().matches('\n').count() as u64;
    let line = line_after.saturating_sub(within + 1);
    Row { line: i64::try_from(line).unwrap_or(i64::MAX), values }
}

/// The library's own messages repeat the position and speak of records and bytes.
fn plain(error: csv::Error) -> anyhow::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error.into(),
        csv::ErrorKind::Utf8 { .. } => anyhow!("not UTF-8 text; save the file as UTF-8"),
        other => anyhow!("not CSV: {other:?}"),
    }
}

/// Refuses to read on when one row has no end.
struct RowLimit<R> {
    source: R,
    left: Rc<Cell<u64>>,
}

impl<R: Read> Read for RowLimit<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let left = usize::try_from(self.left.get()).unwrap_or(usize::MAX);
        if left == 0 {
            let message = "a row of more than 1 MiB; is a closing quote missing?";
            return Err(io::Error::other(message));
        }
        let most = buffer.len().min(left);
        let count = self.source.read(&mut buffer[..most])?;
        self.left.set(self.left.get().saturating_sub(count as u64));
        Ok(count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(text: &[u8]) -> (Vec<Part>, Option<String>) {
        let mut parts = Vec::new();
        let outcome = read(text, |part| {
            parts.push(part);
            true
        });
        (parts, outcome.err().map(|error| format!("{error:#}")))
    }

    fn row(line: i64, values: &[&str]) -> Row {
        Row { line, values: values.iter().map(|value| (*value).to_owned()).collect() }
    }

    #[test]
    fn rows_keep_their_line_past_quotes_and_empty_lines() {
        let text = "\u{feff}code, note\nA,\"two\nlines\"\n\nB,x,too 3\" many\nC";
        let rows =
            vec![row(2, &["A", "two\nlines"]), row(5, &["B", "x", "too 3\" many"]), row(6, &["C"])];
        let columns = Part::Columns(vec!["code".into(), "note".into()]);
        assert_eq!(parts(text.as_bytes()), (vec![columns, Part::Rows(rows)], None));

        let windows = text.replace('\n', "\r\n") + "\r\nD,\"q\"\r\n";
        let rows = vec![
            row(2, &["A", "two\r\nlines"]),
            row(5, &["B", "x", "too 3\" many"]),
            row(6, &["C"]),
            row(7, &["D", "q"]),
        ];
        assert_eq!(parts(windows.as_bytes()).0[1], Part::Rows(rows));
    }

    #[test]
    fn batches_are_bounded_in_rows_and_in_bytes() {
        let mut text = "a\n".to_owned() + &"1\n".repeat(1_201);
        let sizes = |text: &str| -> Vec<usize> {
            let (parts, _) = parts(text.as_bytes());
            let sizes = parts.iter().filter_map(|part| match part {
                Part::Rows(rows) => Some(rows.len()),
                Part::Columns(_) => None,
            });
            sizes.collect()
        };
        assert_eq!(sizes(&text), [500, 500, 201]);
        text = "a\n".to_owned() + &("x".repeat(200_000) + "\n").repeat(3);
        assert_eq!(sizes(&text), [2, 1]);
    }

    #[test]
    fn a_missing_quote_does_not_swallow_the_file() {
        let text = "a,b\n1,\"never closed\n".to_owned() + &"2,x\n".repeat(1_000_000);
        let (parts, error) = parts(text.as_bytes());
        assert_eq!(parts.len(), 1);
        let error = error.unwrap();
        assert!(error.starts_with("line 2: a row of more than 1 MiB"), "{error}");
    }

    #[test]
    fn an_empty_file_has_no_columns() {
        let (parts, error) = parts(b"\r\n\n");
        assert!(parts.is_empty() && error.unwrap().contains("names the columns"));
    }

    #[test]
    fn bytes_that_are_no_text_are_told_by_line() {
        let (_, error) = parts(b"a\nfine\n\xff\n");
        assert_eq!(error.as_deref(), Some("line 3: not UTF-8 text; save the file as UTF-8"));
    }

    #[test]
    fn reading_ends_when_nobody_takes_more() {
        let mut taken = 0;
        let endless = Read::chain("a\n".as_bytes(), io::repeat(b'\n').take(10));
        read(endless, |_| {
            taken += 1;
            false
        })
        .unwrap();
        assert_eq!(taken, 1);
    }
}
