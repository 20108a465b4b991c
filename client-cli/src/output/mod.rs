//! The one way out: an answer becomes a table, CSV or JSON on standard output.
//!
//! Notes and progress go to standard error. A write that fails because the reader has gone is
//! passed up and ends the program quietly.

pub(crate) mod cell;
mod columns;
mod explain;
mod json;
pub(crate) mod reflect;
pub(crate) mod table;

use crate::failure::Failure;
use crate::lines::{self, hanging};
use cell::{Wording, message_text, value_text};
use clap::ValueEnum;
use columns::{Column, InTable, columns_of};
pub(crate) use json::{enum_word, enum_words};
use prost_reflect::{DynamicMessage, ReflectMessage, Value as Seen};
use reflect::{Shown, seen, short_name};
use std::io::{self, Write};
use table::Rows;
use tenths_domain::units::Unit;

/// The form of the output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Aligned columns for people.
    Table,
    /// The whole answer, with the field names of the contract.
    Json,
    /// The columns of the table, for programs.
    Csv,
}

/// Writes answers.
pub(crate) struct Printer {
    pub(crate) format: Format,
    pub(crate) unit: Option<Unit>,
    /// The columns that a line for people may have.
    pub(crate) columns: usize,
    out: Box<dyn Write>,
    notes: Box<dyn Write>,
}

impl Printer {
    /// A printer on standard output and standard error.
    pub(crate) fn standard(format: Format, unit: Option<Unit>) -> Printer {
        let printer = Printer::new(format, unit, Box::new(io::stdout()), Box::new(io::stderr()));
        Printer { columns: lines::columns(), ..printer }
    }

    /// A printer on any two writers, which are no terminals.
    pub(crate) fn new(
        format: Format,
        unit: Option<Unit>,
        out: Box<dyn Write>,
        notes: Box<dyn Write>,
    ) -> Printer {
        Printer { format, unit, columns: lines::COLUMNS, out, notes }
    }

    /// An answer's resources as rows. `parts` are fields of the answer; an empty name is the
    /// answer itself. CSV takes the first part only: two tables do not fit in one file.
    pub(crate) fn rows<M: Shown>(&mut self, answer: &M, parts: &[&str]) -> Result<(), Failure> {
        self.seen_rows(&seen(answer)?, parts)
    }

    /// Like [`Printer::rows`], for an answer put together from several pages.
    pub(crate) fn seen_rows(
        &mut self,
        answer: &DynamicMessage,
        parts: &[&str],
    ) -> Result<(), Failure> {
        match self.format {
            Format::Json => self.json(&json::message(answer)),
            Format::Csv => {
                let name = parts.first().copied().unwrap_or_default();
                Ok(self.csv_of(answer, name).write_csv(&mut self.out)?)
            }
            Format::Table => {
                let tables: Vec<Rows> =
                    parts.iter().map(|part| self.rows_of(answer, part)).collect();
                self.tables(parts, &tables)
            }
        }
    }

    /// One resource with all its fields, then a table for each of its lists.
    pub(crate) fn record<M: Shown>(&mut self, answer: &M, part: &str) -> Result<(), Failure> {
        if self.format != Format::Table {
            return self.rows(answer, &[part]);
        }
        self.seen_record(&seen(answer)?, part)
    }

    /// One resource with all its fields, for people.
    fn seen_record(&mut self, answer: &DynamicMessage, part: &str) -> Result<(), Failure> {
        for message in messages_at(answer, part) {
            let mut fields = Vec::new();
            let mut lists = Vec::new();
            self.take_apart(&message, "", &mut fields, &mut lists);
            let width = fields.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
            for (name, text) in &fields {
                let label = format!("{name:width$}  ");
                write!(self.out, "{}", hanging(&label, text, label.len(), self.columns))?;
            }
            for rows in lists {
                write!(self.out, "\n{}", rows.aligned(self.columns))?;
            }
        }
        Ok(())
    }

    /// Sentences beside the data; in JSON they are part of the answer already.
    pub(crate) fn notes(&mut self, label: &str, sentences: &[String]) -> Result<(), Failure> {
        if self.format != Format::Json {
            for sentence in sentences {
                let lines = hanging(&format!("{label}: "), sentence, 2, self.columns);
                write!(self.notes, "{lines}")?;
            }
        }
        Ok(())
    }

    /// A line on standard error, whatever the format.
    pub(crate) fn aside(&mut self, line: &str) -> Result<(), Failure> {
        Ok(writeln!(self.notes, "{line}")?)
    }

    /// Text for people, already laid out.
    pub(crate) fn text(&mut self, text: &str) -> Result<(), Failure> {
        Ok(self.out.write_all(text.as_bytes())?)
    }

    /// A JSON value.
    pub(crate) fn json(&mut self, value: &serde_json::Value) -> Result<(), Failure> {
        Ok(writeln!(self.out, "{value:#}")?)
    }

    /// Rows that no message of the contract holds.
    pub(crate) fn plain_rows(&mut self, rows: &Rows) -> Result<(), Failure> {
        match self.format {
            Format::Csv => Ok(rows.write_csv(&mut self.out)?),
            Format::Table | Format::Json => self.text(&rows.aligned(self.columns)),
        }
    }

    /// Where data goes, for a command that streams it.
    pub(crate) fn out(&mut self) -> &mut dyn Write {
        &mut self.out
    }

    /// Hands everything to the operating system.
    pub(crate) fn flush(&mut self) -> Result<(), Failure> {
        Ok(self.out.flush()?)
    }

    fn tables(&mut self, parts: &[&str], tables: &[Rows]) -> Result<(), Failure> {
        let filled = || parts.iter().zip(tables).filter(|(_, rows)| !rows.rows.is_empty());
        if filled().count() == 0 {
            return self.aside("nothing found");
        }
        let headed = parts.len() > 1;
        for (number, (part, rows)) in filled().enumerate() {
            let gap = if number > 0 { "\n" } else { "" };
            let title =
                if headed { format!("{}:\n", part.replace('_', " ")) } else { String::new() };
            write!(self.out, "{gap}{title}{}", rows.aligned(self.columns))?;
        }
        Ok(())
    }

    /// A part's rows for programs: every column, and times in RFC 3339.
    fn csv_of(&self, answer: &DynamicMessage, part: &str) -> Rows {
        let columns = columns_of(&row_name(answer, part)).unwrap_or_default();
        let columns: Vec<&Column> = columns.iter().filter(|column| column.in_csv).collect();
        let wording = Wording { unit: self.unit, for_programs: true };
        rows_in(&columns, &messages_at(answer, part), wording)
    }

    /// A part's rows for people.
    fn rows_of(&self, answer: &DynamicMessage, part: &str) -> Rows {
        let columns = columns_of(&row_name(answer, part)).unwrap_or_default();
        let in_place = |places: &[InTable]| -> Vec<&Column> {
            columns.iter().filter(|column| places.contains(&column.in_table)).collect()
        };
        let messages = messages_at(answer, part);
        let shown = in_place(&[InTable::Whole, InTable::Cut]);
        let beneath = rows_in(&in_place(&[InTable::Beneath]), &messages, self.wording());
        let foot = rows_in(&in_place(&[InTable::Foot]), &messages, self.wording());
        let rows = rows_in(&shown, &messages, self.wording());
        let cut = (0..shown.len()).filter(|place| shown[*place].in_table == InTable::Cut);
        Rows {
            cut: cut.collect(),
            beneath: beneath.rows.iter().map(|row| sayings(&beneath.headings, row)).collect(),
            foot: footnotes(&rows, &foot),
            ..rows
        }
    }

    fn wording(&self) -> Wording {
        Wording { unit: self.unit, for_programs: false }
    }

    /// Splits a resource into lines `field  text` and lists that are tables of their own.
    fn take_apart(
        &self,
        message: &DynamicMessage,
        prefix: &str,
        fields: &mut Vec<(String, String)>,
        lists: &mut Vec<Rows>,
    ) {
        for field in message.descriptor().fields().filter(|field| message.has_field(field)) {
            let value = message.get_field(&field);
            let name = format!("{prefix}{}", field.name());
            match &*value {
                Seen::Message(inner) if message_text(inner, self.wording()).is_none() => {
                    self.take_apart(inner, &format!("{name}."), fields, lists);
                }
                Seen::List(_) if columns_of(&row_name(message, field.name())).is_some() => {
                    lists.push(self.rows_of(message, field.name()));
                }
                value => fields.push((name, value_text(value, &field, self.wording()))),
            }
        }
    }
}

/// A message as JSON, to be put into a larger value.
pub(crate) fn json_of<M: Shown>(message: &M) -> Result<serde_json::Value, Failure> {
    Ok(json::message(&seen(message)?))
}

/// The messages as rows of these columns.
fn rows_in(columns: &[&Column], messages: &[DynamicMessage], wording: Wording) -> Rows {
    let row = |message: &DynamicMessage| {
        columns.iter().map(|column| column.cell.text(message, wording)).collect()
    };
    Rows {
        headings: columns.iter().map(|column| column.heading.to_owned()).collect(),
        rows: messages.iter().map(row).collect(),
        ..Rows::default()
    }
}

/// What a row says in one line: `free: 2; location: A-1`. A text without a heading speaks for
/// itself.
fn sayings(headings: &[String], row: &[String]) -> String {
    let said = headings.iter().zip(row).filter(|(_, text)| !text.is_empty());
    let said = said.map(|(heading, text)| match heading.as_str() {
        "" => text.clone(),
        heading => format!("{heading}: {text}"),
    });
    said.collect::<Vec<_>>().join("; ")
}

/// What stands below a table, behind the first text of the rows that say it.
fn footnotes(rows: &Rows, foot: &Rows) -> Vec<String> {
    let mut notes: Vec<(&str, &str, Vec<&str>)> = Vec::new();
    for (row, said) in rows.rows.iter().zip(&foot.rows) {
        let name = row.first().map_or("", String::as_str);
        for (heading, text) in foot.headings.iter().zip(said).filter(|(_, text)| !text.is_empty()) {
            match notes.iter_mut().find(|note| (note.0, note.1) == (heading, text)) {
                Some(note) => note.2.push(name),
                None => notes.push((heading, text, vec![name])),
            }
        }
    }
    let sentence = |(heading, text, names): (&str, &str, Vec<&str>)| {
        format!("{} {heading}: {text}", names.join(", "))
    };
    notes.into_iter().map(sentence).collect()
}

/// The name of the message that a part's rows are.
fn row_name(answer: &DynamicMessage, part: &str) -> String {
    if part.is_empty() {
        return short_name(answer);
    }
    let field = answer.descriptor().get_field_by_name(part);
    match field.map(|field| field.kind()) {
        Some(prost_reflect::Kind::Message(message)) => message.name().to_owned(),
        _ => String::new(),
    }
}

/// The messages in a part of an answer: one, several, or none if it is absent.
fn messages_at(answer: &DynamicMessage, part: &str) -> Vec<DynamicMessage> {
    if part.is_empty() {
        return vec![answer.clone()];
    }
    if !answer.has_field_by_name(part) {
        return Vec::new();
    }
    let value = answer.get_field_by_name(part);
    let values = match value.as_deref() {
        Some(Seen::List(values)) => values.as_slice(),
        Some(single) => std::slice::from_ref(single),
        None => &[],
    };
    values.iter().filter_map(|value| value.as_message().cloned()).collect()
}

#[cfg(test)]
pub(crate) mod tests;
