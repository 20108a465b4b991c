//! `tenths find ...`: what in stock fits a measured part, has a size, or may stand in.

mod ask;
mod show;

use crate::args::{FindCommand, FindMate, FindReplacement, FindSize};
use crate::connect::{ANSWER_BYTES_MAX, Session, rpc};
use crate::failure::Failure;
use crate::output::Format;
use tenths_proto::v1;
use tenths_proto::v1::ItemKind;
use tenths_proto::v1::finding_service_client::FindingServiceClient;

pub(crate) async fn run(session: &mut Session, command: FindCommand) -> Result<(), Failure> {
    match command {
        FindCommand::Bearing(arguments) => {
            mate(session, ItemKind::RollingBearing, *arguments).await
        }
        FindCommand::Bushing(arguments) => mate(session, ItemKind::Bushing, *arguments).await,
        FindCommand::Shaft(arguments) => mate(session, ItemKind::Shaft, *arguments).await,
        FindCommand::Housing(arguments) => mate(session, ItemKind::Housing, *arguments).await,
        FindCommand::Size(arguments) => by_size(session, *arguments).await,
        FindCommand::Replacement(arguments) => replacement(session, *arguments).await,
        FindCommand::Status => {
            let request = v1::GetIndexStatusRequest {};
            let answer = rpc!(session, FindingServiceClient.get_index_status(request))?;
            session.printer.record(&answer, "")
        }
    }
}

async fn mate(session: &mut Session, sought: ItemKind, arguments: FindMate) -> Result<(), Failure> {
    let (all, explain) = (arguments.all, arguments.explain);
    let mut request = ask::fit_request(sought, arguments, &session.context)?;
    request.min_revision = session.revision();
    // JSON is all that there is to say.
    request.explain |= session.printer.format == Format::Json;
    let mut answer = if all {
        all_fits(session, request).await?
    } else {
        rpc!(session, FindingServiceClient.find_fit(request))?
    };
    let rows = answer.fits.iter().filter_map(|fit| show::remembered(fit.candidate.as_ref()));
    session.remember(answer.fits.first().map_or(1, |fit| fit.row), &rows.collect::<Vec<_>>());
    session.printer.notes("note", &answer.notes)?;
    if let Some(nothing) = &answer.nothing_fits {
        let changes = nothing.changes.iter().map(|change| change.text.clone());
        session.printer.notes("nothing fits", std::slice::from_ref(&nothing.why))?;
        session.printer.notes("would do", &changes.collect::<Vec<_>>())?;
    }
    more(session, &answer.next_page_token)?;
    if let Some(number) = explain {
        let row = answer.fits.iter().find(|fit| fit.row == number).cloned();
        let row = row.ok_or_else(|| show::no_such_row(number, &answer.fits))?;
        return session.printer.traced(&row, true);
    }
    if session.printer.format == Format::Table {
        let headline = show::headline(&mut answer, session.context.unit, session.printer.columns);
        session.printer.text(&headline)?;
    }
    session.printer.rows(&answer, &["fits", "misses"])
}

/// Everything that fits, as one answer.
async fn all_fits(
    session: &Session,
    question: v1::FindFitRequest,
) -> Result<v1::FindFitResponse, Failure> {
    let mut client =
        FindingServiceClient::new(session.channel()).max_decoding_message_size(ANSWER_BYTES_MAX);
    let request = v1::FindAllFitsRequest { question: Some(question) };
    let failed = |status| session.stream_failed(status);
    let mut parts =
        client.find_all_fits(session.timed(request)).await.map_err(failed)?.into_inner();
    let mut whole = v1::FindFitResponse::default();
    while let Some(part) = parts.message().await.map_err(failed)? {
        whole.fits.extend(part.fits);
        whole.notes.extend(part.notes);
        whole.fits_seen = whole.fits_seen.max(part.fits_total);
        whole.freshness = whole.freshness.or(part.freshness);
    }
    Ok(whole)
}

/// Says how to see more.
fn more(session: &mut Session, token: &str) -> Result<(), Failure> {
    if token.is_empty() || session.printer.format == Format::Json {
        return Ok(());
    }
    session.printer.aside(&format!("there is more: --page-token {token}, or --all"))
}

async fn by_size(session: &mut Session, arguments: FindSize) -> Result<(), Failure> {
    let all = arguments.all;
    let mut request = ask::size_request(arguments, &session.context)?;
    request.min_revision = session.revision();
    let mut whole = v1::FindBySizeResponse::default();
    loop {
        let answer = rpc!(session, FindingServiceClient.find_by_size(request.clone()))?;
        let rows = whole.rows;
        whole = v1::FindBySizeResponse { rows: [rows, answer.rows].concat(), ..answer };
        if whole.next_page_token.is_empty() || !all {
            break;
        }
        request.page_token.clone_from(&whole.next_page_token);
    }
    let rows = whole.rows.iter().filter_map(|row| show::remembered(row.candidate.as_ref()));
    session.remember(whole.rows.first().map_or(1, |row| row.row), &rows.collect::<Vec<_>>());
    session.printer.notes("note", &whole.notes)?;
    more(session, &whole.next_page_token)?;
    session.printer.rows(&whole, &["rows"])
}

async fn replacement(session: &mut Session, arguments: FindReplacement) -> Result<(), Failure> {
    let all = arguments.all;
    let mut request = ask::replacement_request(arguments);
    request.min_revision = session.revision();
    let mut whole = v1::FindReplacementResponse::default();
    loop {
        let answer = rpc!(session, FindingServiceClient.find_replacement(request.clone()))?;
        let rows = [whole.replacements, answer.replacements].concat();
        whole = v1::FindReplacementResponse { replacements: rows, ..answer };
        if whole.next_page_token.is_empty() || !all {
            break;
        }
        request.page_token.clone_from(&whole.next_page_token);
    }
    let found = &whole.replacements;
    let rows = found.iter().filter_map(|row| show::remembered(row.candidate.as_ref()));
    session.remember(found.first().map_or(1, |row| row.row), &rows.collect::<Vec<_>>());
    session.printer.notes("note", &whole.notes)?;
    more(session, &whole.next_page_token)?;
    session.printer.rows(&whole, &["replacements"])
}

#[cfg(test)]
mod tests;
