//! Which thing a number in a history means: mostly one that the step can be done with, as the shop
//! stands at that moment, and now and then one that there may not be.

use tenths_domain::policy::Site;
use tenths_domain::state::{CoreState, JobState, PieceState, ReservationState, SendOutLineState};
use tenths_server::app::reconditioning::{self, OnClaim, SendOutsFilter};
use tenths_server::app::stock::{self, PiecesFilter};
use tenths_server::app::{Act, Error, holds, receiving};
use tenths_storage::Page;

const ALL: Page = Page { after: 0, limit: 1000 };

/// A tag, whether there is such a thing or not.
pub(crate) fn tag(prefix: &str, number: u8) -> String {
    format!("{prefix}-{number}")
}

/// One of those found, by number; every eighth number, and any where none was found, names a tag.
fn one_of(found: &[String], prefix: &str, number: u8) -> String {
    if number % 8 == 7 || found.is_empty() {
        return tag(prefix, number);
    }
    found[usize::from(number) % found.len()].clone()
}

/// A piece in this state.
pub(crate) async fn piece(act: &Act<'_>, number: u8, state: PieceState) -> Result<String, Error> {
    let filter = PiecesFilter { state: Some(state), ..PiecesFilter::default() };
    let found = stock::list_pieces(act.view(), ALL, filter).await?;
    let tags: Vec<String> = found.into_iter().map(|view| view.piece.tag).collect();
    Ok(one_of(&tags, "P", number))
}

/// A core that is not torn down.
pub(crate) async fn core(act: &Act<'_>, number: u8) -> Result<String, Error> {
    let found = receiving::list_cores(act.view(), ALL, Some(CoreState::Received)).await?;
    let tags: Vec<String> = found.into_iter().map(|view| view.core.tag).collect();
    Ok(one_of(&tags, "C", number))
}

/// An active hold.
pub(crate) async fn hold(act: &Act<'_>, number: u8) -> Result<String, Error> {
    let state = Some(ReservationState::Active);
    let found = holds::list_reservations(act.view(), ALL, state, None).await?;
    let tags: Vec<String> = found.into_iter().map(|view| view.reservation.tag).collect();
    Ok(one_of(&tags, "H", number))
}

/// Some active holds, each once.
pub(crate) async fn holds(act: &Act<'_>, numbers: &[u8]) -> Result<Vec<String>, Error> {
    let mut tags = Vec::new();
    for number in numbers {
        tags.push(hold(act, *number).await?);
    }
    Ok(tags)
}

/// A job that waits.
pub(crate) async fn job(act: &Act<'_>, number: u8) -> Result<String, Error> {
    let state = Some(JobState::Queued);
    let found = reconditioning::list_jobs(act.view(), ALL, state, None).await?;
    let tags: Vec<String> = found.into_iter().map(|view| view.job.tag).collect();
    Ok(one_of(&tags, "J", number))
}

/// Some jobs that wait for a vendor; each once, unless there are none.
pub(crate) async fn vendor_jobs(act: &Act<'_>, numbers: &[u8]) -> Result<Vec<String>, Error> {
    let state = Some(JobState::Queued);
    let mut found = reconditioning::list_jobs(act.view(), ALL, state, None).await?;
    found.retain(|view| view.job.current.as_ref().is_some_and(|at| at.site == Site::Vendor));
    let tags: Vec<String> = found.into_iter().map(|view| view.job.tag).collect();
    let mut picked: Vec<String> =
        numbers.iter().map(|number| one_of(&tags, "J", *number)).collect();
    picked.dedup();
    Ok(picked)
}

/// A line that is out.
pub(crate) async fn line_out(act: &Act<'_>, number: u8) -> Result<(String, i64), Error> {
    let filter = SendOutsFilter { only_open: true, location_code: None };
    let found = reconditioning::list_send_outs(act.view(), ALL, filter).await?;
    let tags: Vec<String> = found.iter().map(|view| view.send_out.tag.clone()).collect();
    let tag = one_of(&tags, "S", number);
    let here = found.iter().find(|view| view.send_out.tag == tag);
    let mut lines = here.iter().flat_map(|view| &view.lines);
    let line = lines.find(|line| line.line.state == SendOutLineState::Out);
    Ok((tag, line.map_or(1, |line| line.line.line)))
}

/// A claim that is live, with its token, or a token that is late by some.
pub(crate) async fn claim(act: &Act<'_>, number: u8, late: i64) -> Result<OnClaim, Error> {
    let state = Some(JobState::Claimed);
    let found = reconditioning::list_jobs(act.view(), ALL, state, None).await?;
    let tags: Vec<String> = found.iter().map(|view| view.job.tag.clone()).collect();
    let tag = one_of(&tags, "J", number);
    let job = found.iter().find(|view| view.job.tag == tag);
    let token = job.map_or(1, |view| view.job.fencing_token);
    Ok(OnClaim { tag, fencing_token: token - late })
}
