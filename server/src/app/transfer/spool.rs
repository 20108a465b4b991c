//! Rows kept in a temporary file without a name until they are applied.
//!
//! The file is gone when it is closed, however the process ends.

use super::Row;
use crate::app::error::Error;
use std::fs::File;
use std::io::{self, Seek, SeekFrom};
use tokio::io::{AsyncReadExt, AsyncWriteExt, BufReader, BufWriter};

const BUFFER_BYTES: usize = 64 << 10;
/// About how many bytes of rows are held at once while they are applied.
const BATCH_BYTES: usize = 256 << 10;

/// A row as bytes: its line, the number of its cells, and each cell after its length.
pub(super) fn encode(row: &Row, into: &mut Vec<u8>) {
    into.clear();
    into.extend(row.line.to_le_bytes());
    into.extend((row.values.len() as u32).to_le_bytes());
    for value in &row.values {
        into.extend((value.len() as u32).to_le_bytes());
        into.extend(value.as_bytes());
    }
}

/// The file while rows are put in.
#[derive(Debug)]
pub(super) struct SpoolWriter {
    file: BufWriter<tokio::fs::File>,
    bytes: u64,
    rows: i64,
}

impl SpoolWriter {
    pub(super) async fn create() -> Result<Self, Error> {
        let made = tokio::task::spawn_blocking(tempfile::tempfile).await;
        let file =
            made.map_err(io::Error::other).flatten().map_err(failed("making a temporary file"))?;
        let file = BufWriter::with_capacity(BUFFER_BYTES, tokio::fs::File::from_std(file));
        Ok(SpoolWriter { file, bytes: 0, rows: 0 })
    }

    /// Puts in a row as [`encode`] made it.
    pub(super) async fn put(&mut self, row: &[u8]) -> Result<(), Error> {
        self.file.write_all(row).await.map_err(failed("writing to a temporary file"))?;
        self.bytes += row.len() as u64;
        self.rows += 1;
        Ok(())
    }

    /// How many bytes are in.
    pub(super) fn bytes(&self) -> u64 {
        self.bytes
    }

    /// Nothing more is put in.
    pub(super) async fn finish(mut self) -> Result<Spool, Error> {
        self.file.flush().await.map_err(failed("writing to a temporary file"))?;
        Ok(Spool { file: self.file.into_inner().into_std().await, rows: self.rows })
    }
}

/// The file when all rows are in. It may be read again and again, but by one reader at a time: they
/// share the place at which the file is read.
#[derive(Debug)]
pub(super) struct Spool {
    file: File,
    rows: i64,
}

impl Spool {
    /// Reads from the start.
    pub(super) fn reader(&self) -> Result<SpoolReader, Error> {
        let mut file = self.file.try_clone().map_err(failed("reading a temporary file"))?;
        file.seek(SeekFrom::Start(0)).map_err(failed("reading a temporary file"))?;
        let file = BufReader::with_capacity(BUFFER_BYTES, tokio::fs::File::from_std(file));
        Ok(SpoolReader { file, rows_left: self.rows })
    }
}

/// Rows on their way out of the file.
#[derive(Debug)]
pub(super) struct SpoolReader {
    file: BufReader<tokio::fs::File>,
    rows_left: i64,
}

impl SpoolReader {
    /// The next rows, at most `rows_max` of them and fewer if they are large; none at the end.
    pub(super) async fn batch(&mut self, rows_max: usize) -> Result<Vec<Row>, Error> {
        let (mut rows, mut bytes) = (Vec::new(), 0);
        while self.rows_left > 0 && rows.len() < rows_max && bytes < BATCH_BYTES {
            let row = self.row().await.map_err(failed("reading a temporary file"))?;
            bytes += row.values.iter().map(String::len).sum::<usize>();
            rows.push(row);
            self.rows_left -= 1;
        }
        Ok(rows)
    }

    async fn row(&mut self) -> io::Result<Row> {
        let line = self.file.read_i64_le().await?;
        let cells = self.file.read_u32_le().await?;
        let mut values = Vec::with_capacity(cells as usize);
        for _ in 0..cells {
            let length = self.file.read_u32_le().await?;
            let mut value = vec![0; length as usize];
            self.file.read_exact(&mut value).await?;
            values.push(String::from_utf8(value).map_err(io::Error::other)?);
        }
        Ok(Row { line, values })
    }
}

fn failed(what: &'static str) -> impl FnOnce(io::Error) -> Error {
    move |source| Error::Io { what, source }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(line: i64, values: &[&str]) -> Row {
        Row { line, values: values.iter().map(|value| (*value).to_owned()).collect() }
    }

    async fn spool(rows: &[Row]) -> Spool {
        let (mut writer, mut bytes) = (SpoolWriter::create().await.unwrap(), Vec::new());
        for row in rows {
            encode(row, &mut bytes);
            writer.put(&bytes).await.unwrap();
        }
        writer.finish().await.unwrap()
    }

    /// A transaction that is replayed reads its rows again from the start.
    #[tokio::test]
    async fn rows_come_out_as_they_went_in_again_and_again() {
        let rows = [row(2, &["P-1", "", "ø 25"]), row(3, &[]), row(-4, &["x\n\"y\""])];
        let spool = spool(&rows).await;
        for _ in 0..2 {
            let mut reader = spool.reader().unwrap();
            assert_eq!(reader.batch(2).await.unwrap(), rows[..2]);
            assert_eq!(reader.batch(2).await.unwrap(), rows[2..]);
            assert_eq!(reader.batch(2).await.unwrap(), []);
        }
    }

    #[tokio::test]
    async fn large_rows_come_in_small_batches() {
        let large = "x".repeat(BATCH_BYTES / 2);
        let rows: Vec<Row> = (0..5).map(|line| row(line, &[&large])).collect();
        let mut reader = spool(&rows).await.reader().unwrap();
        let sizes =
            [reader.batch(500).await.unwrap().len(), reader.batch(500).await.unwrap().len()];
        assert_eq!(sizes, [2, 2]);
    }
}
