//! Imports and exports on the wire.

use crate::app::Error;
use crate::app::transfer::{self, BadRow, ImportOrder, Row, Summary, Table};
use crate::grpc::check::Check;
use crate::grpc::once::meta;
use prost::Message;
use tenths_proto::v1 as pb;
use tenths_proto::v1::import_rows_response::Part;

/// A header.
pub fn import_order(header: pb::ImportHeader) -> Result<ImportOrder, Error> {
    let mut check = Check::new();
    // What a repeat must have in common is everything but the id itself.
    let payload = pb::ImportHeader { request_id: String::new(), ..header.clone() };
    let request = meta(&mut check, "ImportRows", &header.request_id, &header.person, &payload);
    let table = table(&mut check, header.kind);
    let Some(table) = table else { return Err(check.into_error()) };
    check.finish()?;
    Ok(ImportOrder {
        request_id: request.request_id,
        person: request.person,
        method: request.method,
        header: request.fingerprint.to_vec(),
        table,
        columns: header.columns,
        dry_run: header.dry_run,
        skip_bad_rows: header.skip_bad_rows,
        encode: |ended| summary(*ended).encode_to_vec(),
    })
}

/// What is to be exported.
pub fn export_table(request: &pb::ExportRowsRequest) -> Result<Table, Error> {
    let mut check = Check::new();
    let table = table(&mut check, request.kind);
    table.ok_or_else(|| check.into_error())
}

fn table(check: &mut Check, kind: i32) -> Option<Table> {
    match pb::TableKind::try_from(kind) {
        Ok(pb::TableKind::Items) => Some(Table::Items),
        Ok(pb::TableKind::Lots) => Some(Table::Lots),
        Ok(pb::TableKind::Pieces) => Some(Table::Pieces),
        Ok(pb::TableKind::Unspecified) => {
            check.refuse("kind", "it is not given; allowed: items, lots, pieces");
            None
        }
        Err(_) => {
            check.refuse("kind", format!("{kind} is not known; allowed: items, lots, pieces"));
            None
        }
    }
}

/// A row inward.
pub fn row(row: pb::Row) -> Row {
    Row { line: row.line, values: row.values }
}

/// Progress outward.
pub fn progress(received: i64, applied: i64) -> pb::ImportRowsResponse {
    response(Part::Progress(pb::ImportProgress { received, applied }))
}

/// A bad row outward.
pub fn bad_row(BadRow { line, column, reason }: BadRow) -> pb::ImportRowsResponse {
    response(Part::BadRow(pb::BadRow { line, column, reason }))
}

/// The end outward.
pub fn ended(summary: pb::ImportSummary) -> pb::ImportRowsResponse {
    response(Part::Summary(summary))
}

/// A summary outward.
pub fn summary(summary: Summary) -> pb::ImportSummary {
    let Summary { received, saved, bad, committed } = summary;
    pb::ImportSummary { received, saved, bad, committed }
}

fn response(part: Part) -> pb::ImportRowsResponse {
    pb::ImportRowsResponse { part: Some(part) }
}

/// Rows outward, in messages of at most so many rows and about so many bytes each. `line` counts the
/// rows of the whole export.
pub fn exported(rows: Vec<Vec<String>>, line: &mut i64) -> Vec<pb::ExportRowsResponse> {
    let (mut messages, mut bytes) = (Vec::<pb::ExportRowsResponse>::new(), 0);
    for values in rows {
        *line += 1;
        let row = pb::Row { line: *line, values };
        let size = row.encoded_len();
        match messages.last_mut() {
            Some(message) if message.rows.len() < ROWS_MAX && bytes + size <= BYTES_MAX => {
                message.rows.push(row);
                bytes += size;
            }
            _ => {
                messages.push(pb::ExportRowsResponse { columns: Vec::new(), rows: vec![row] });
                bytes = size;
            }
        }
    }
    messages
}

/// Most rows of a message of an export; an import of it may send them on as they are.
const ROWS_MAX: usize = transfer::BATCH_ROWS_MAX / 2;
/// About how many bytes a message of an export has at most.
const BYTES_MAX: usize = 512 << 10;

/// The columns of a table, as an export names them.
pub fn columns(table: Table) -> Vec<String> {
    table.columns().iter().map(|column| column.name.to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grpc::check;

    /// A cell may say what the field of a request may say.
    #[test]
    fn limits_of_cells_are_those_of_requests() {
        let cells = [
            transfer::TEXT_CHARACTERS_MAX,
            transfer::NAME_CHARACTERS_MAX,
            transfer::TAG_CHARACTERS_MAX,
        ];
        assert_eq!(cells, [check::TEXT_MAX, check::NAME_MAX, check::TAG_MAX]);
    }

    #[test]
    fn an_export_is_cut_by_rows_and_by_bytes() {
        let mut line = 7;
        let small = exported(vec![vec!["x".into()]; ROWS_MAX + 1], &mut line);
        let sizes: Vec<usize> = small.iter().map(|message| message.rows.len()).collect();
        assert_eq!((sizes, line), (vec![ROWS_MAX, 1], 8 + ROWS_MAX as i64));
        assert_eq!(small[1].rows[0].line, line);
        let large = exported(vec![vec!["x".repeat(BYTES_MAX / 2 + 1)]; 3], &mut line);
        assert_eq!(large.len(), 3);
        assert_eq!(exported(Vec::new(), &mut line), []);
    }

    #[test]
    fn a_header_that_says_nothing_is_refused_with_all_that_is_missing() {
        let Err(Error::Invalid(violations)) = import_order(pb::ImportHeader::default()) else {
            panic!("it was taken")
        };
        let fields: Vec<&str> = violations.iter().map(|one| one.field.as_str()).collect();
        assert_eq!(fields, ["person", "request_id", "kind"]);
    }
}
