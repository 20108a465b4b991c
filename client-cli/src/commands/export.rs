//! `tenths export`: rows from the server straight to CSV, or to a JSON array, never held.

use crate::args::Export;
use crate::connect::Session;
use crate::failure::Failure;
use crate::output::Format;
use crate::output::table::csv_error;
use serde_json::{Map, Value};
use std::time::Duration;
use tenths_proto::v1;
use tenths_proto::v1::transfer_service_client::TransferServiceClient;
use tonic::Request;

pub(crate) async fn run(
    session: &mut Session,
    arguments: &Export,
    time_limit: Option<Duration>,
) -> Result<(), Failure> {
    let mut request = Request::new(v1::ExportRowsRequest { kind: arguments.kind.into() });
    if let Some(limit) = time_limit {
        request.set_timeout(limit);
    }
    let mut client = TransferServiceClient::new(session.channel());
    let answer = client.export_rows(request).await;
    let mut parts = answer.map_err(|status| session.stream_failed(status))?.into_inner();
    let mut writer = match session.printer.format {
        Format::Json => Writer::Json { columns: Vec::new(), rows: 0 },
        Format::Csv | Format::Table => Writer::Csv,
    };
    loop {
        let part = parts.message().await.map_err(|status| session.stream_failed(status))?;
        let text = match &part {
            Some(part) => writer.part(part)?,
            None => writer.end(),
        };
        session.printer.out().write_all(&text)?;
        if part.is_none() {
            return Ok(());
        }
    }
}

/// Turns one part after the other into text.
enum Writer {
    Csv,
    /// One array of objects; the first part names their keys.
    Json {
        columns: Vec<String>,
        rows: u64,
    },
}

impl Writer {
    fn part(&mut self, part: &v1::ExportRowsResponse) -> Result<Vec<u8>, Failure> {
        match self {
            Writer::Csv => csv_text(part),
            Writer::Json { columns, rows } => {
                if !part.columns.is_empty() {
                    *columns = part.columns.clone();
                }
                let mut text = Vec::new();
                for row in &part.rows {
                    text.extend_from_slice(if *rows == 0 { b"[\n" } else { b",\n" });
                    text.extend_from_slice(object(columns, &row.values).to_string().as_bytes());
                    *rows += 1;
                }
                Ok(text)
            }
        }
    }

    fn end(&self) -> Vec<u8> {
        match self {
            Writer::Csv => Vec::new(),
            Writer::Json { rows: 0, .. } => b"[]\n".to_vec(),
            Writer::Json { .. } => b"\n]\n".to_vec(),
        }
    }
}

/// The columns, which only the first part has, and the rows.
fn csv_text(part: &v1::ExportRowsResponse) -> Result<Vec<u8>, Failure> {
    let mut text = Vec::new();
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(&mut text);
    if !part.columns.is_empty() {
        writer.write_record(&part.columns).map_err(csv_error)?;
    }
    for row in &part.rows {
        writer.write_record(&row.values).map_err(csv_error)?;
    }
    writer.flush()?;
    drop(writer);
    Ok(text)
}

fn object(columns: &[String], values: &[String]) -> Value {
    let pairs = columns.iter().zip(values);
    let fields = pairs.map(|(column, value)| (column.clone(), Value::from(value.as_str())));
    Value::Object(fields.collect::<Map<_, _>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts() -> [v1::ExportRowsResponse; 2] {
        let row = |values: [&str; 2]| v1::Row { line: 1, values: values.map(Into::into).to_vec() };
        let first = v1::ExportRowsResponse {
            columns: vec!["tag".into(), "note".into()],
            rows: vec![row(["P-1", "a, \"b\""])],
        };
        [first, v1::ExportRowsResponse { columns: vec![], rows: vec![row(["P-2", ""])] }]
    }

    fn written(mut writer: Writer, parts: &[v1::ExportRowsResponse]) -> String {
        let mut text: Vec<u8> = parts.iter().flat_map(|part| writer.part(part).unwrap()).collect();
        text.extend(writer.end());
        String::from_utf8(text).unwrap()
    }

    #[test]
    fn the_header_comes_once_and_values_are_quoted() {
        let text = written(Writer::Csv, &parts());
        assert_eq!(text, "tag,note\nP-1,\"a, \"\"b\"\"\"\nP-2,\n");
    }

    #[test]
    fn json_is_one_array_over_all_parts() {
        let json = || Writer::Json { columns: vec![], rows: 0 };
        let value: Value = serde_json::from_str(&written(json(), &parts())).unwrap();
        assert_eq!(
            value,
            serde_json::json!([{"tag": "P-1", "note": "a, \"b\""}, {"tag": "P-2", "note": ""}])
        );
        assert_eq!(written(json(), &[]), "[]\n");
    }
}
