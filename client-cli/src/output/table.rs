//! Rows laid out for people (aligned, no frame, no colour) or for programs (CSV).

use comfy_table::{Table, presets};
use std::io::{self, Write};

/// Headings and rows, as text.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    pub(crate) headings: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
}

impl Rows {
    /// Aligned columns; a column in which no row says anything is left out.
    pub(crate) fn aligned(&self) -> String {
        let says_something = |column: usize| {
            self.rows.iter().any(|row| row.get(column).is_some_and(|t| !t.is_empty()))
        };
        let kept: Vec<usize> = (0..self.headings.len()).filter(|c| says_something(*c)).collect();
        let pick = |texts: &[String]| -> Vec<String> {
            kept.iter().filter_map(|column| texts.get(*column)).map(|text| one_line(text)).collect()
        };
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_header(pick(&self.headings));
        table.add_rows(self.rows.iter().map(|row| pick(row)));
        for column in table.column_iter_mut() {
            column.set_padding((0, 2));
        }
        table.lines().map(|line| format!("{}\n", line.trim_end())).collect()
    }

    /// RFC 4180 rows under one header; every column is there, whether it says something or not.
    pub(crate) fn write_csv(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut writer = csv::Writer::from_writer(out);
        writer.write_record(&self.headings).map_err(csv_error)?;
        for row in &self.rows {
            writer.write_record(row).map_err(csv_error)?;
        }
        writer.flush()
    }
}

/// A csv error as the I/O error behind it, so that a closed pipe is known for what it is.
pub(crate) fn csv_error(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}

/// Line breaks would tear a row apart.
fn one_line(text: &str) -> String {
    text.split(['\n', '\r']).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows() -> Rows {
        let texts = |row: [&str; 3]| row.map(str::to_owned).to_vec();
        Rows {
            headings: texts(["tag", "held_by", "note"]),
            rows: vec![texts(["P-104", "", "scored,\nDE side"]), texts(["P-7", "", ""])],
        }
    }

    #[test]
    fn tables_are_aligned_and_leave_out_silent_columns() {
        assert_eq!(rows().aligned(), "tag    note\nP-104  scored, DE side\nP-7\n");
    }

    #[test]
    fn csv_keeps_every_column_and_quotes() {
        let mut out = Vec::new();
        rows().write_csv(&mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert_eq!(text, "tag,held_by,note\nP-104,,\"scored,\nDE side\"\nP-7,,\n");
    }
}
