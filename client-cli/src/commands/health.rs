//! `tenths health`: whether the server serves.

use crate::connect::{Session, rpc};
use crate::failure::Failure;
use crate::output::Format;
use crate::output::table::Rows;
use serde_json::json;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;

pub(crate) async fn run(session: &mut Session) -> Result<(), Failure> {
    let request = HealthCheckRequest { service: String::new() };
    let status = rpc!(session, HealthClient.check(request))?.status();
    let state = status.as_str_name().to_ascii_lowercase();
    if session.printer.format == Format::Json {
        session.printer.json(&json!({ "status": state }))?;
    } else {
        let rows = Rows {
            headings: vec!["status".to_owned()],
            rows: vec![vec![state.clone()]],
            ..Rows::default()
        };
        session.printer.plain_rows(&rows)?;
    }
    if status == ServingStatus::Serving { Ok(()) } else { Err(Failure::NotServing(state)) }
}
