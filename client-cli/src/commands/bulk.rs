//! Questions from a CSV file, many to a call; every row is answered in its place, in CSV or JSON.
//!
//! Only the form of a row is judged here. A row that makes no question, or that the server cannot
//! answer, says why in its last column.

use crate::connect::Session;
use crate::entry::rows::{self, EmptyFile, Part};
use crate::failure::{Failure, broken_answer};
use crate::output::Format;
use crate::output::table::Rows;
use anyhow::Context as _;
use serde_json::{Map, Value};
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use tenths_domain::units::{Entry, Unit};
use tenths_proto::v1::{self, Row};

/// Most questions in a call; of bearings, keys and fits the contract takes no more.
pub(crate) const QUESTIONS_MAX: usize = 2_000;
/// A call is made once its rows are this large, well below the 4 MiB that a message may have.
const QUESTIONS_BYTES_MAX: usize = 1024 * 1024;

/// The file's rows, seen by the names of their columns.
#[derive(Debug)]
pub(crate) struct Questions {
    /// Where each known column stands in a row; nothing for an optional one that is absent.
    places: Vec<(&'static str, Option<usize>)>,
    width: usize,
    rows: Vec<Row>,
}

/// One row of the file.
#[derive(Clone, Copy)]
pub(crate) struct Asked<'a> {
    questions: &'a Questions,
    row: &'a Row,
}

impl Questions {
    /// Reads `path`, or standard input for `-`. Of `columns`, in the order of the output, a file
    /// may leave out those that are `optional`.
    pub(crate) fn read(
        path: &Path,
        columns: &[&'static str],
        optional: &[&str],
    ) -> Result<Questions, Failure> {
        let name = || path.display().to_string();
        let source: Box<dyn Read> = if path == Path::new("-") {
            Box::new(io::stdin())
        } else {
            Box::new(File::open(path).with_context(|| format!("cannot read {}", name()))?)
        };
        Questions::from(source, &name(), columns, optional)
    }

    fn from(
        source: impl Read,
        name: &str,
        columns: &[&'static str],
        optional: &[&str],
    ) -> Result<Questions, Failure> {
        let (mut names, mut all) = (Vec::new(), Vec::new());
        let read = rows::read(source, |part| {
            match part {
                Part::Columns(columns) => names = columns,
                Part::Rows(rows) => all.extend(rows),
            }
            true
        });
        match read {
            Err(error) if error.is::<EmptyFile>() => {
                let known = columns.join(", ");
                return Err(Failure::File(format!(
                    "{name} is empty; its first line names {known}"
                )));
            }
            read => read.with_context(|| format!("cannot read {name}"))?,
        }
        let refused = |what: String| {
            let known = columns.join(", ");
            Err(Failure::Usage(format!("{name}: {what}; the first line names {known}")))
        };
        for (place, column) in names.iter().enumerate() {
            if !columns.contains(&column.as_str()) {
                return refused(format!("column {column:?} is not known"));
            }
            if names[..place].contains(column) {
                return refused(format!("column {column:?} stands twice"));
            }
        }
        let place = |column: &str| names.iter().position(|name| name == column);
        let mut needed = columns.iter().filter(|column| !optional.contains(*column));
        if let Some(missing) = needed.find(|column| place(column).is_none()) {
            return refused(format!("column {missing:?} is missing"));
        }
        let places = columns.iter().map(|column| (*column, place(column))).collect();
        Ok(Questions { places, width: names.len(), rows: all })
    }

    /// The rows in order.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Asked<'_>> {
        self.rows.iter().map(|row| Asked { questions: self, row })
    }
}

impl Asked<'_> {
    /// What stands in a column; nothing where it or the row's end is short of it.
    pub(crate) fn at(&self, column: &str) -> &str {
        let place = self.questions.places.iter().find(|(name, _)| *name == column);
        let value = place.and_then(|(_, place)| self.row.values.get((*place)?));
        value.map_or("", |text| text.trim())
    }

    /// A row that is too short or too long answers another question than the one meant.
    fn check(&self) -> Result<(), String> {
        let (has, wanted) = (self.row.values.len(), self.questions.width);
        if has == wanted {
            return Ok(());
        }
        Err(format!("line {} has {has} values; the first line names {wanted}", self.row.line))
    }

    fn bytes(&self) -> usize {
        self.row.values.iter().map(String::len).sum()
    }

    /// The member of an enumeration that a column names; nothing if it is empty.
    pub(crate) fn member<E>(
        &self,
        column: &str,
        prefix: &str,
        of_name: fn(&str) -> Option<E>,
        of_number: fn(i32) -> Option<&'static str>,
    ) -> Result<Option<E>, String> {
        let text = self.at(column);
        if text.is_empty() {
            return Ok(None);
        }
        let name = format!("{prefix}{}", text.replace('-', "_").to_ascii_uppercase());
        let refused = || {
            let names = (1..)
                .map_while(of_number)
                .map(|name| name.strip_prefix(prefix).unwrap_or(name).to_ascii_lowercase());
            let names = names.collect::<Vec<_>>().join(", ");
            format!("{column} {text:?} is not known; allowed: {names}")
        };
        of_name(&name).map(Some).ok_or_else(refused)
    }

    /// The size in a column, in the unit that the row names; nothing if it is empty.
    pub(crate) fn size_if_given(
        &self,
        column: &str,
        default: Option<Unit>,
    ) -> Result<Option<v1::Length>, String> {
        match self.at(column) {
            "" => Ok(None),
            text => self.length(column, text, default).map(Some),
        }
    }

    /// The size in a column, in the unit that the row names.
    pub(crate) fn size(&self, column: &str, default: Option<Unit>) -> Result<v1::Length, String> {
        let length = self.size_if_given(column, default)?;
        length.ok_or_else(|| format!("{column} is empty"))
    }

    /// A text of a column as a size, in the unit that the row names.
    pub(crate) fn length(
        &self,
        column: &str,
        text: &str,
        default: Option<Unit>,
    ) -> Result<v1::Length, String> {
        let entry = match self.at("unit") {
            "" => Entry::parse_with_suffix(text, default),
            unit => {
                let known = Unit::from_suffix(unit);
                let unit = known.ok_or_else(|| {
                    format!("unit {unit:?} is not known; allowed: mm, in, um, thou")
                })?;
                Entry::parse(text, unit)
            }
        };
        let entry = entry.map_err(|error| format!("{column}: {error}"))?;
        let unit = crate::entry::lengths::wire_unit(entry.unit).into();
        Ok(v1::Length { value: entry.text, unit, nm: 0 })
    }
}

/// The answer to one row: what stands in its columns, or why nothing does.
pub(crate) type Answered = Result<Vec<String>, String>;

/// Asks every row that makes a question, in as few calls as the contract allows, and prints all
/// rows: the columns that were asked, those of the answer, and the problem.
pub(crate) async fn run<Q: Clone>(
    session: &mut Session,
    questions: &Questions,
    answer_columns: &[&str],
    question: impl Fn(&Asked<'_>, Option<Unit>) -> Result<Q, String>,
    ask: impl AsyncFn(&Session, Vec<Q>) -> Result<Vec<Answered>, Failure>,
) -> Result<(), Failure> {
    let unit = session.context.unit;
    let mut answered: Vec<Answered> = Vec::with_capacity(questions.rows.len());
    let mut waiting: Vec<(usize, Q)> = Vec::new();
    let mut bytes = 0;
    let last = questions.rows.len().saturating_sub(1);
    for (number, row) in questions.rows().enumerate() {
        // A place for the answer; what is asked gets it below.
        answered.push(Err(String::new()));
        match row.check().and_then(|()| question(&row, unit)) {
            Ok(asked) => waiting.push((number, asked)),
            Err(problem) => answered[number] = Err(problem),
        }
        bytes += row.bytes();
        let is_full = waiting.len() == QUESTIONS_MAX || bytes >= QUESTIONS_BYTES_MAX;
        if !waiting.is_empty() && (is_full || number == last) {
            let (numbers, asked): (Vec<usize>, Vec<Q>) =
                std::mem::take(&mut waiting).into_iter().unzip();
            bytes = 0;
            let answers = ask(session, asked).await?;
            if answers.len() != numbers.len() {
                return Err(broken_answer("answer for every question"));
            }
            for (number, answer) in numbers.into_iter().zip(answers) {
                answered[number] = answer;
            }
        }
    }
    tell(session, questions, answer_columns, &answered)?;
    match answered.iter().filter(|answer| answer.is_err()).count() {
        0 => Ok(()),
        bad => Err(Failure::RowProblems { bad }),
    }
}

fn tell(
    session: &mut Session,
    questions: &Questions,
    answer_columns: &[&str],
    answered: &[Answered],
) -> Result<(), Failure> {
    let asked = questions.places.iter().map(|(name, _)| *name);
    let headings: Vec<String> =
        asked.chain(answer_columns.iter().copied()).chain(["problem"]).map(str::to_owned).collect();
    let row = |(row, answer): (Asked<'_>, &Answered)| -> Vec<String> {
        let asked = questions.places.iter().map(|(name, _)| row.at(name).to_owned());
        let mut values: Vec<String> = asked.collect();
        match answer {
            Ok(answer) => {
                values.extend(answer.iter().cloned());
                values.push(String::new());
            }
            Err(problem) => {
                values.resize(headings.len() - 1, String::new());
                values.push(problem.clone());
            }
        }
        values
    };
    let rows: Vec<Vec<String>> = questions.rows().zip(answered).map(row).collect();
    if session.printer.format == Format::Json {
        let object = |row: &Vec<String>| {
            let fields =
                headings.iter().cloned().zip(row.iter().map(|text| Value::from(text.as_str())));
            Value::Object(fields.collect::<Map<_, _>>())
        };
        return session.printer.json(&Value::Array(rows.iter().map(object).collect()));
    }
    Ok(Rows { headings, rows, ..Rows::default() }.write_csv(session.printer.out())?)
}

/// A problem that the server told, or the answer's columns.
pub(crate) fn answered(problem: String, columns: impl FnOnce() -> Vec<String>) -> Answered {
    if problem.is_empty() { Ok(columns()) } else { Err(problem) }
}

/// Nanometres as exact micrometres: `-2`, `0.5`.
pub(crate) fn micrometres(nm: i64) -> String {
    exact(nm, 3)
}

/// Nanometres as exact millimetres: `25.011`.
pub(crate) fn millimetres(nm: i64) -> String {
    exact(nm, 6)
}

/// A length as exact millimetres; nothing if it is absent.
pub(crate) fn mm(length: Option<&v1::Length>) -> String {
    length.map(|length| millimetres(length.nm)).unwrap_or_default()
}

/// A length as exact micrometres; nothing if it is absent.
pub(crate) fn um(length: Option<&v1::Length>) -> String {
    length.map(|length| micrometres(length.nm)).unwrap_or_default()
}

/// Both ends of a range as exact millimetres.
pub(crate) fn mm_ends(range: Option<&v1::SizeRange>) -> [String; 2] {
    let end = |end: fn(&v1::SizeRange) -> Option<&v1::Length>| mm(range.and_then(end));
    [end(|range| range.lower.as_ref()), end(|range| range.upper.as_ref())]
}

/// `yes` or `no`.
pub(crate) fn yes_or_no(is_so: bool) -> String {
    if is_so { "yes" } else { "no" }.to_owned()
}

/// A whole number over a power of ten, without idle zeros.
fn exact(number: i64, places: u32) -> String {
    let power = 10_u64.pow(places);
    let (whole, rest) = (number.unsigned_abs() / power, number.unsigned_abs() % power);
    let sign = if number < 0 { "-" } else { "" };
    if rest == 0 {
        return format!("{sign}{whole}");
    }
    let rest = format!("{rest:0width$}", width = places as usize);
    format!("{sign}{whole}.{}", rest.trim_end_matches('0'))
}

#[cfg(test)]
mod tests;
