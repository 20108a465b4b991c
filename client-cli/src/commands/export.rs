//! `tenths export`: rows from the server straight to CSV, never held.

use crate::args::Export;
use crate::connect::Session;
use crate::failure::Failure;
use crate::output::table::csv_error;
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
    let mut buffer = Vec::new();
    loop {
        let part = parts.message().await.map_err(|status| session.stream_failed(status))?;
        let Some(part) = part else { return Ok(()) };
        write_part(&mut buffer, &part)?;
        session.printer.out().write_all(&buffer)?;
        buffer.clear();
    }
}

/// The columns, which only the first part has, and the rows.
fn write_part(buffer: &mut Vec<u8>, part: &v1::ExportRowsResponse) -> Result<(), Failure> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(buffer);
    if !part.columns.is_empty() {
        writer.write_record(&part.columns).map_err(csv_error)?;
    }
    for row in &part.rows {
        writer.write_record(&row.values).map_err(csv_error)?;
    }
    Ok(writer.flush()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_comes_once_and_values_are_quoted() {
        let row = |values: [&str; 2]| v1::Row { line: 1, values: values.map(Into::into).to_vec() };
        let first = v1::ExportRowsResponse {
            columns: vec!["tag".into(), "note".into()],
            rows: vec![row(["P-1", "a, \"b\""])],
        };
        let second = v1::ExportRowsResponse { columns: vec![], rows: vec![row(["P-2", ""])] };
        let mut text = Vec::new();
        write_part(&mut text, &first).unwrap();
        write_part(&mut text, &second).unwrap();
        assert_eq!(text, b"tag,note\nP-1,\"a, \"\"b\"\"\"\nP-2,\n");
    }
}
