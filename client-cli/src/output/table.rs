//! Rows laid out for people (aligned, no frame, no colour) or for programs (CSV).

use crate::lines::{self, hanging, width};
use comfy_table::{Table, presets};
use std::io::{self, Write};

/// Blanks between two columns.
const GAP: usize = 2;
/// A column that is cut keeps this much of its texts, or is left out.
const CUT_COLUMNS_MIN: usize = 12;
/// How far a line beneath its row is set in.
const BENEATH_INDENT: usize = 4;

/// Headings and rows, as text.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    pub(crate) headings: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
    /// Columns that may be shortened, or left out, to fit a line.
    pub(crate) cut: Vec<usize>,
    /// For each row what stands in a line beneath it, if anything.
    pub(crate) beneath: Vec<String>,
    /// Sentences that stand below all rows.
    pub(crate) foot: Vec<String>,
}

impl Rows {
    /// Aligned columns in lines of `columns`, if they can be; a column in which no row says
    /// anything is left out.
    pub(crate) fn aligned(&self, columns: usize) -> String {
        let fitted = self.fitted(columns);
        let pick = |texts: &[String]| -> Vec<String> {
            let text = |(column, columns): &(usize, usize)| {
                lines::cut(&one_line(texts.get(*column).map_or("", String::as_str)), *columns)
            };
            fitted.iter().map(text).collect()
        };
        let mut table = Table::new();
        table.load_style(presets::NOTHING).set_header(pick(&self.headings));
        table.add_rows(self.rows.iter().map(|row| pick(row)));
        for column in table.column_iter_mut() {
            column.set_padding((0, 2));
        }
        let mut text = String::new();
        for (number, line) in table.lines().enumerate() {
            text.push_str(line.trim_end());
            text.push('\n');
            // The first line has the headings.
            let beneath = number.checked_sub(1).and_then(|row| self.beneath.get(row));
            if let Some(beneath) = beneath.filter(|beneath| !beneath.is_empty()) {
                let label = " ".repeat(BENEATH_INDENT);
                text.push_str(&hanging(&label, &one_line(beneath), BENEATH_INDENT, columns));
            }
        }
        text.extend(self.foot.iter().map(|said| hanging("", &one_line(said), 2, columns)));
        text
    }

    /// The columns shown, each with the width that it is cut to.
    fn fitted(&self, columns: usize) -> Vec<(usize, usize)> {
        let natural = |column: usize| {
            let texts = self.rows.iter().filter_map(|row| row.get(column));
            let widest = texts.map(|text| width(text)).max().filter(|widest| *widest > 0)?;
            Some((column, widest.max(width(&self.headings[column]))))
        };
        let mut kept: Vec<(usize, usize)> = (0..self.headings.len()).filter_map(natural).collect();
        loop {
            if let Some(fitted) = self.shortened(&kept, columns) {
                return fitted;
            }
            // What is cut to nothing says nothing.
            match kept.iter().rposition(|(column, _)| self.cut.contains(column)) {
                Some(last) => kept.remove(last),
                None => return kept,
            };
        }
    }

    /// The columns, those that may be cut narrowed, the widest first, until they fit; nothing if
    /// they cannot.
    fn shortened(&self, kept: &[(usize, usize)], columns: usize) -> Option<Vec<(usize, usize)>> {
        let mut kept = kept.to_vec();
        loop {
            let total: usize = kept.iter().map(|(_, width)| width + GAP).sum();
            if total <= columns + GAP {
                return Some(kept);
            }
            let may_be_cut = |(column, width): &&mut (usize, usize)| {
                let least = CUT_COLUMNS_MIN.max(lines::width(&self.headings[*column]));
                self.cut.contains(column) && *width > least
            };
            kept.iter_mut().filter(may_be_cut).max_by_key(|(_, width)| *width)?.1 -= 1;
        }
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

    fn texts(row: [&str; 3]) -> Vec<String> {
        row.map(str::to_owned).to_vec()
    }

    fn rows() -> Rows {
        Rows {
            headings: texts(["tag", "held_by", "note"]),
            rows: vec![texts(["P-104", "", "scored,\nDE side"]), texts(["P-7", "", ""])],
            ..Default::default()
        }
    }

    #[test]
    fn tables_are_aligned_and_leave_out_silent_columns() {
        assert_eq!(rows().aligned(80), "tag    note\nP-104  scored, DE side\nP-7\n");
    }

    #[test]
    fn csv_keeps_every_column_and_quotes() {
        let mut out = Vec::new();
        Rows { cut: vec![2], ..rows() }.write_csv(&mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert_eq!(text, "tag,held_by,note\nP-104,,\"scored,\nDE side\"\nP-7,,\n");
    }

    /// What may be cut is cut, the widest first, and left out where too little would remain; a
    /// column that may not be cut stays whole, whatever the line.
    #[test]
    fn columns_that_may_be_cut_make_the_table_fit() {
        let rows = Rows {
            headings: texts(["tag", "reason", "note"]),
            rows: vec![texts(["P-104", "worn past its limit", "a nick at B, felt twice"])],
            cut: vec![1, 2],
            ..Default::default()
        };
        for (columns, expected) in [
            (
                51,
                "tag    reason               note\nP-104  worn past its limit  a nick at B, felt twice\n",
            ),
            (
                49,
                "tag    reason               note\nP-104  worn past its limit  a nick at B, felt tw…\n",
            ),
            (33, "tag    reason        note\nP-104  worn past i…  a nick at B…\n"),
            (32, "tag    reason\nP-104  worn past its limit\n"),
            (4, "tag\nP-104\n"),
        ] {
            assert_eq!(rows.aligned(columns), expected, "{columns} columns");
        }
    }

    #[test]
    fn lines_beneath_a_row_and_below_all_of_them_are_wrapped() {
        let rows = Rows {
            beneath: vec!["free 2; location A-1".to_owned(), String::new()],
            foot: vec!["P-7 asked: are two digits swapped?".to_owned()],
            ..rows()
        };
        let expected = "\
tag    note
P-104  scored, DE side
    free 2; location A-1
P-7
P-7 asked: are two
  digits swapped?
";
        assert_eq!(rows.aligned(24), expected);
    }
}
