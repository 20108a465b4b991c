//! The values behind an answer: where each comes from, and which rest on memory alone.

use super::columns::InTable;
use super::reflect::{Shown, seen, typed};
use super::table::Rows;
use super::{Format, Printer, columns_of, messages_at, row_name, rows_in};
use crate::failure::Failure;
use crate::lines::{hanging, width};
use prost_reflect::{DynamicMessage, ReflectMessage};
use tenths_proto::v1::Trace;

/// What the trade says of a value that no second source confirms.
const UNCONFIRMED: &str = "unconfirmed value";

impl Printer {
    /// An answer with the values behind it: all of them with `explain`, else a line that names
    /// those that are unconfirmed. CSV has either the answer or, with `explain`, the values. JSON
    /// has everything.
    pub(crate) fn traced<M: Shown>(&mut self, answer: &M, explain: bool) -> Result<(), Failure> {
        let answer = seen(answer)?;
        let traces = traces_of(&answer);
        let doubt = unconfirmed_line(&traces);
        match self.format {
            Format::Json => self.seen_rows(&answer, &[""]),
            Format::Csv if explain => self.seen_rows(&answer, &["traces"]),
            Format::Csv => {
                let lists = lists_of(&answer);
                self.seen_rows(&answer, &[lists.first().map_or("", String::as_str)])?;
                doubt.map_or(Ok(()), |names| self.notes(UNCONFIRMED, &[names]))
            }
            Format::Table => {
                self.layout(&answer, doubt.is_some())?;
                if explain {
                    let text = trace_rows(&traces, self.columns).aligned(self.columns);
                    return self.text(&format!("\n{text}"));
                }
                let columns = self.columns;
                let line = |names: String| hanging(&format!("{UNCONFIRMED}: "), &names, 2, columns);
                self.text(&doubt.map(line).unwrap_or_default())
            }
        }
    }

    /// An answer's resources as rows, as [`Printer::rows`] has them, and the values behind them as
    /// [`Printer::traced`] has them: beneath, or in CSV instead.
    pub(crate) fn rows_explained<M: Shown>(
        &mut self,
        answer: &M,
        parts: &[&str],
        traces: &[Trace],
        explain: bool,
    ) -> Result<(), Failure> {
        if !(explain && self.format == Format::Csv) {
            self.rows(answer, parts)?;
        }
        self.values(traces, explain)
    }

    /// The values behind an answer that was printed already: all of them with `explain`, else the
    /// names of those that are unconfirmed, each once. JSON has had them.
    pub(crate) fn values(&mut self, traces: &[Trace], explain: bool) -> Result<(), Failure> {
        match (self.format, explain) {
            (Format::Json, _) => Ok(()),
            (Format::Csv, true) => {
                let answer = tenths_proto::v1::GetLimitsResponse {
                    traces: traces.to_vec(),
                    ..Default::default()
                };
                self.rows(&answer, &["traces"])
            }
            (Format::Table, true) => {
                let text = trace_rows(traces, self.columns).aligned(self.columns);
                self.text(&format!("\n{text}"))
            }
            (Format::Csv, false) => {
                unconfirmed_line(traces).map_or(Ok(()), |names| self.notes(UNCONFIRMED, &[names]))
            }
            (Format::Table, false) => {
                let columns = self.columns;
                let line = |names: String| hanging(&format!("{UNCONFIRMED}: "), &names, 2, columns);
                self.text(&unconfirmed_line(traces).map(line).unwrap_or_default())
            }
        }
    }

    /// The answer's lists; then the rest as lines `what  text`, by its columns.
    fn layout(&mut self, answer: &DynamicMessage, doubt_is_told: bool) -> Result<(), Failure> {
        for list in lists_of(answer) {
            let text = self.rows_of(answer, &list).aligned(self.columns);
            self.text(&format!("{text}\n"))?;
        }
        let columns = columns_of(&row_name(answer, "")).unwrap_or_default();
        let columns: Vec<_> =
            columns.iter().filter(|column| column.in_table != InTable::Nowhere).collect();
        let rows = rows_in(&columns, std::slice::from_ref(answer), self.wording());
        let said = rows.headings.iter().zip(rows.rows.iter().flatten());
        // The line of doubt says it better.
        let is_told = |heading: &str| doubt_is_told && heading == "unconfirmed";
        let said: Vec<_> =
            said.filter(|(heading, text)| !text.is_empty() && !is_told(heading)).collect();
        let widest = said.iter().map(|(heading, _)| width(heading)).max().unwrap_or(0);
        for (heading, text) in said {
            let label = format!("{:widest$}  ", heading.replace('_', " "));
            let lines = hanging(&label, text, width(&label), self.columns);
            self.text(&lines)?;
        }
        Ok(())
    }
}

/// The lists of an answer that are rows, its values apart.
fn lists_of(answer: &DynamicMessage) -> Vec<String> {
    let message = answer.descriptor();
    let lists = message
        .fields()
        .filter(|field| field.is_list() && field.name() != "traces")
        .filter(|field| columns_of(&row_name(answer, field.name())).is_some());
    lists.map(|field| field.name().to_owned()).collect()
}

fn traces_of(answer: &DynamicMessage) -> Vec<Trace> {
    messages_at(answer, "traces").iter().filter_map(typed).collect()
}

/// The names of the values that are unconfirmed; nothing if all are confirmed.
fn unconfirmed_line(traces: &[Trace]) -> Option<String> {
    let mut names: Vec<String> = Vec::new();
    for trace in traces.iter().filter(|trace| trace.unconfirmed) {
        let name = format!("{} {}", trace.what, trace.value).trim_end().to_owned();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    (!names.is_empty()).then(|| names.join("; "))
}

/// The values as a table; where the sources make it too wide for a line, each stands beneath.
fn trace_rows(traces: &[Trace], columns: usize) -> Rows {
    let doubt = |trace: &Trace| if trace.unconfirmed { UNCONFIRMED } else { "" }.to_owned();
    let headings = ["what", "value", "source", ""].map(str::to_owned).to_vec();
    let row = |trace: &Trace| {
        vec![trace.what.clone(), trace.value.clone(), trace.source.clone(), doubt(trace)]
    };
    let rows = Rows { headings, rows: traces.iter().map(row).collect(), ..Rows::default() };
    let is_narrow = |text: &str| text.lines().all(|line| width(line) <= columns);
    if is_narrow(&rows.aligned(columns)) {
        return rows;
    }
    Rows {
        headings: ["what", "value", ""].map(str::to_owned).to_vec(),
        rows: traces
            .iter()
            .map(|trace| vec![trace.what.clone(), trace.value.clone(), doubt(trace)])
            .collect(),
        beneath: traces.iter().map(|trace| trace.source.clone()).collect(),
        ..Rows::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::tests::Sink;
    use tenths_proto::v1::{self, GetLimitsResponse, Length, LengthUnit};

    fn limits(source: &str, unconfirmed: bool) -> GetLimitsResponse {
        let mm =
            |value: &str| Some(Length { value: value.into(), unit: LengthUnit::Mm.into(), nm: 0 });
        let trace = |what: &str, value: &str, unconfirmed| Trace {
            what: what.into(),
            value: value.into(),
            source: source.into(),
            unconfirmed,
        };
        GetLimitsResponse {
            lower: mm("25.002"),
            upper: mm("25.011"),
            lower_deviation: mm("0.002"),
            upper_deviation: mm("0.011"),
            source: "ISO 286-1:2010".into(),
            unconfirmed,
            traces: vec![trace("IT5", "9.0 um", false), trace("k", "2.0 um", unconfirmed)],
        }
    }

    fn printed(format: Format, answer: &GetLimitsResponse, explain: bool) -> (String, String) {
        let (out, notes) = (Sink::default(), Sink::default());
        let mut printer =
            Printer::new(format, None, Box::new(out.clone()), Box::new(notes.clone()));
        printer.traced(answer, explain).unwrap();
        (out.text(), notes.text())
    }

    const ANSWER: &str = "\
lower            25.002 mm
upper            25.011 mm
lower deviation  0.002 mm
upper deviation  0.011 mm
source           ISO 286-1:2010
";

    #[test]
    fn what_is_unconfirmed_takes_one_line_and_what_is_not_none() {
        let (out, notes) = printed(Format::Table, &limits("Table 1", false), false);
        assert_eq!((out.as_str(), notes.as_str()), (ANSWER, ""));
        let (out, _) = printed(Format::Table, &limits("Table 1", true), false);
        assert_eq!(out, format!("{ANSWER}unconfirmed value: k 2.0 um\n"));
        let (out, notes) = printed(Format::Csv, &limits("Table 1", true), false);
        assert!(out.ends_with(",ISO 286-1:2010,yes\n"), "{out}");
        assert_eq!(notes, "unconfirmed value: k 2.0 um\n");
    }

    #[test]
    fn explained_every_value_has_its_source() {
        let (out, _) = printed(Format::Table, &limits("Table 1", true), true);
        let table = "\
what  value   source
IT5   9.0 um  Table 1
k     2.0 um  Table 1  unconfirmed value
";
        assert_eq!(out, format!("{ANSWER}\n{table}"));
        let (csv, _) = printed(Format::Csv, &limits("Table 1", true), true);
        assert_eq!(
            csv,
            "what,value,source,unconfirmed\nIT5,9.0 um,Table 1,\nk,2.0 um,Table 1,yes\n"
        );
        let (json, _) = printed(Format::Json, &limits("Table 1", true), false);
        assert!(json.contains("\"what\": \"IT5\""), "{json}");
    }

    /// A long source is never cut: it stands beneath its value.
    #[test]
    fn a_long_source_stands_whole_beneath_its_value() {
        let source = "ISO 286-1:2010, Table 4, fundamental deviations of shafts, with the note on \
                      sizes over 24 up to and including 30 mm";
        let (out, _) = printed(Format::Table, &limits(source, true), true);
        let expected = "
what  value
IT5   9.0 um
    ISO 286-1:2010, Table 4, fundamental deviations of shafts, with the note on sizes over 24 up to
    and including 30 mm
k     2.0 um  unconfirmed value
";
        assert!(out.contains(expected), "{out}");
    }

    #[test]
    fn lists_stand_above_what_holds_for_all_of_them() {
        let um =
            |value: &str| Some(Length { value: value.into(), unit: LengthUnit::Um.into(), nm: 0 });
        let answer = v1::RecommendSeatResponse {
            recommendations: vec![v1::SeatRecommendation {
                tolerance_class: "k6".into(),
                condition: "where the wider tolerance is enough".into(),
                source: "ISO-based practice".into(),
                confidence: "single_source".into(),
                ..Default::default()
            }],
            cylindricity: um("4.5"),
            ..Default::default()
        };
        let sink = Sink::default();
        let mut printer =
            Printer::new(Format::Table, None, Box::new(sink.clone()), Box::new(Sink::default()));
        printer.traced(&answer, false).unwrap();
        let expected = "\
class  confidence
k6     single source
    when: where the wider tolerance is enough; source: ISO-based practice

cylindricity  4.5 um
";
        assert_eq!(sink.text(), expected);
    }

    /// An answer may be in doubt although no single value is: then its field says so.
    #[test]
    fn doubt_of_the_whole_answer_is_kept() {
        let mut answer = limits("Table 1", false);
        answer.unconfirmed = true;
        let (out, _) = printed(Format::Table, &answer, false);
        assert!(out.ends_with("unconfirmed      yes\n"), "{out}");
    }
}
