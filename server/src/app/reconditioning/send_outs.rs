//! Work at a vendor: what is sent, what comes back, and what does not.
//!
//! A vendor is a location, so a piece that is away is in exactly one place like any other, and the
//! ledger says which.

use super::end::end;
use super::operate::{done, go_on};
use super::{check_due, current, ended, piece_of};
use crate::app::act::{Act, View};
use crate::app::error::{Error, Obstacle, Violation, check_etag};
use crate::app::judging::{decide, proposed};
use crate::app::stock::{place_of, relocate, write_off};
use crate::app::views::SendOutView;
use std::collections::BTreeMap;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::{LocationId, SendOutId};
use tenths_domain::policy::Site;
use tenths_domain::state::{JobOutcome, JobState, OperationState, ScrapReason, SendOutLineState};
use tenths_storage::{Job, JobOperation, Location, Page, SendOut, SendOutLine, StorageError};

/// Sends pieces to a vendor.
#[derive(Clone, Debug)]
pub struct CreateSendOut {
    /// The vendor: a location of that kind.
    pub location_code: String,
    /// The shop's purchase order, or empty.
    pub order_number: String,
    /// When it is due back, in Unix microseconds.
    pub due_back_at: Option<i64>,
    /// A note, or empty.
    pub note: String,
    /// The jobs, one a line.
    pub job_tags: Vec<String>,
}

/// How a line came back.
#[derive(Clone, Debug)]
pub struct ReturnedLine {
    /// The line.
    pub line: i64,
    /// Returned, or short.
    pub state: SendOutLineState,
    /// A note, or empty.
    pub note: String,
}

/// Takes back what a vendor returns.
#[derive(Clone, Debug)]
pub struct ReturnSendOut {
    /// The send-out.
    pub tag: String,
    /// Its version as the caller read it, if that matters.
    pub etag: Option<i64>,
    /// The lines that end now.
    pub lines: Vec<ReturnedLine>,
    /// Where the pieces go; none is where each was sent from.
    pub location_code: Option<String>,
}

/// Which send-outs are listed.
#[derive(Clone, Debug)]
pub struct SendOutsFilter {
    /// Only those with a line that is out.
    pub only_open: bool,
    /// Only those at this vendor.
    pub location_code: Option<String>,
}

/// Sends the pieces of jobs to a vendor, for all of the vendor's operations that come next.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Invalid`] for a place that is no vendor's, or a job named twice;
/// [`Error::Forbidden`] with every job that cannot be sent.
pub async fn create_send_out(
    act: &Act<'_>,
    order: &CreateSendOut,
) -> Result<(SendOutView, Vec<String>), Error> {
    check_due(act, "due_back_time", order.due_back_at)?;
    let vendor = act.view().find_vendor(&order.location_code).await?;
    let jobs = sendable_jobs(act, &order.job_tags).await?;
    let mut lines = Vec::with_capacity(jobs.len());
    let mut notes = Vec::new();
    for (line, job) in (1..).zip(jobs) {
        notes.extend(planned_for_another(act, &job, &vendor).await?);
        lines.push(send(act, job, &vendor, line).await?);
    }
    let send_out = SendOut {
        id: SendOutId(0),
        tag: act.next_tag("S").await?,
        location: vendor.id,
        order_number: order.order_number.clone(),
        due_back_at: order.due_back_at,
        note: order.note.clone(),
        person: act.person.to_owned(),
        created_at: act.now,
        closed_at: None,
        revision: 1,
    };
    let send_out = act.tx.insert_send_out(send_out, &lines).await?;
    Ok((act.view().send_out(send_out).await?, notes))
}

/// Said where the work was planned, and priced, for another vendor.
async fn planned_for_another(
    act: &Act<'_>,
    job: &Job,
    vendor: &Location,
) -> Result<Option<String>, Error> {
    let operation = act.tx.operation_at(job.id, current(job)?.position).await?;
    let other = operation.vendor.filter(|planned| *planned != vendor.code);
    Ok(other.map(|planned| {
        format!("{} was planned for {planned} and goes to {}", job.tag, vendor.code)
    }))
}

/// The jobs in the order asked for, locked in the order of their tags; every obstacle at once.
async fn sendable_jobs(act: &Act<'_>, tags: &[String]) -> Result<Vec<Job>, Error> {
    let mut found = BTreeMap::new();
    let (mut violations, mut obstacles) = (Vec::new(), Vec::new());
    for (index, tag) in tags.iter().enumerate() {
        if found.insert(tag.clone(), None).is_some() {
            let problem = format!("{tag} is named twice; name each job once");
            violations.push(Violation::new(format!("job_tags[{index}]"), problem));
        }
    }
    if !violations.is_empty() {
        return Err(Error::Invalid(violations));
    }
    for (tag, kept) in &mut found {
        let job = act.view().find_job(tag).await?;
        match sendable(act, &job) {
            Err(Error::Forbidden(found)) => obstacles.extend(found),
            checked => checked?,
        }
        *kept = Some(job);
    }
    if !obstacles.is_empty() {
        return Err(Error::Forbidden(obstacles));
    }
    Ok(tags.iter().filter_map(|tag| found.remove(tag).flatten()).collect())
}

fn sendable(act: &Act<'_>, job: &Job) -> Result<(), Error> {
    let refused = |kind, description| Err(Error::forbidden(kind, job.tag.clone(), description));
    match job.state_at(act.now) {
        JobState::Done => return Err(ended(job)),
        JobState::Away => {
            return refused("AWAY", format!("job {} is at a vendor already", job.tag));
        }
        JobState::Claimed => {
            return refused("CLAIMED", format!("job {} is claimed by {}", job.tag, job.worker));
        }
        JobState::Queued => {}
    }
    let current = current(job)?;
    if current.site != Site::Vendor {
        let description = format!(
            "operation {} of job {} is done in the shop, on {}: only a vendor's is sent out",
            current.position, job.tag, current.machine
        );
        return refused("IN_HOUSE_OPERATION", description);
    }
    Ok(())
}

/// Sends one job's piece: the run of the vendor's operations goes with it.
async fn send(
    act: &Act<'_>,
    mut job: Job,
    vendor: &Location,
    line: i64,
) -> Result<SendOutLine, Error> {
    let first = current(&job)?.position;
    let mut last = first;
    let route = act.tx.operations_of([job.id]).await?;
    let run = route.into_iter().skip_while(|operation| operation.position < first);
    for mut operation in run.take_while(|operation| operation.site == Site::Vendor) {
        operation.state = OperationState::Sent;
        operation.vendor = Some(vendor.code.clone());
        operation.started_at = Some(act.now);
        act.tx.save_operation(&operation).await?;
        last = operation.position;
    }
    let mut piece = piece_of(act, &job).await?;
    let from_location = place_of(&piece)?;
    relocate(act, &mut piece, vendor.id).await?;
    act.tx.save_piece(&mut piece).await?;
    job.state = JobState::Away;
    act.tx.save_job(&mut job).await?;
    Ok(SendOutLine {
        id: 0,
        send_out: SendOutId(0),
        line,
        job: job.id,
        piece: piece.id,
        first_position: first,
        last_position: last,
        from_location,
        state: SendOutLineState::Out,
        ended_at: None,
        ended_by: String::new(),
        note: String::new(),
    })
}

/// Takes back lines of a send-out: a returned piece goes on to its next operation, the return
/// inspection; one that the vendor is short of is written off and its job ends.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Invalid`] for a line that there is not, or a
/// place that is a vendor's; [`Error::Forbidden`] with every line that ended before.
pub async fn return_send_out(act: &Act<'_>, order: &ReturnSendOut) -> Result<SendOutView, Error> {
    let view = act.view();
    let mut send_out = view.find_send_out(&order.tag).await?;
    check_etag("send-out", &send_out.tag, send_out.revision, order.etag)?;
    let to = view.place_if_given(order.location_code.as_deref()).await?;
    let mut lines = act.tx.send_out_lines([send_out.id]).await?;
    check_lines(&send_out, &lines, &order.lines)?;
    for ends in &order.lines {
        for line in lines.iter_mut().filter(|line| line.line == ends.line) {
            take_back(act, line, ends, to).await?;
        }
    }
    if lines.iter().all(|line| line.state != SendOutLineState::Out) {
        send_out.closed_at = Some(act.now);
    }
    act.tx.save_send_out(&mut send_out).await?;
    view.send_out(send_out).await
}

fn check_lines(
    send_out: &SendOut,
    lines: &[SendOutLine],
    asked: &[ReturnedLine],
) -> Result<(), Error> {
    let (mut violations, mut obstacles) = (Vec::new(), Vec::new());
    for (index, ends) in asked.iter().enumerate() {
        let field = || format!("lines[{index}].line");
        if asked[..index].iter().any(|other| other.line == ends.line) {
            violations.push(Violation::new(field(), format!("{} is named twice", ends.line)));
        }
        match lines.iter().find(|line| line.line == ends.line) {
            None => {
                let problem = format!(
                    "{} has no line {}; allowed: 1 to {}",
                    send_out.tag,
                    ends.line,
                    lines.len()
                );
                violations.push(Violation::new(field(), problem));
            }
            Some(line) if line.state != SendOutLineState::Out => {
                let description =
                    format!("line {} of {} is {} already", line.line, send_out.tag, line.state);
                obstacles.push(Obstacle::new("LINE_ENDED", send_out.tag.clone(), description));
            }
            Some(_) => {}
        }
    }
    match (violations.is_empty(), obstacles.is_empty()) {
        (false, _) => Err(Error::Invalid(violations)),
        (true, false) => Err(Error::Forbidden(obstacles)),
        (true, true) => Ok(()),
    }
}

async fn take_back(
    act: &Act<'_>,
    line: &mut SendOutLine,
    ends: &ReturnedLine,
    to: Option<LocationId>,
) -> Result<(), Error> {
    let missing = || StorageError::Corrupt {
        table: "send_out_lines",
        id: line.id.to_string(),
        reason: "its job is not there".to_owned(),
    };
    let mut job = act.tx.jobs_by_ids([line.job]).await?.pop().ok_or_else(missing)?;
    let route = act.tx.operations_of([job.id]).await?;
    if ends.state == SendOutLineState::Short {
        lose(act, &mut job, route, &ends.note).await?;
    } else {
        let mut piece = piece_of(act, &job).await?;
        relocate(act, &mut piece, to.unwrap_or(line.from_location)).await?;
        act.tx.save_piece(&mut piece).await?;
        come_back(act, &mut job, route, line.last_position).await?;
    }
    line.state = ends.state;
    line.ended_at = Some(act.now);
    act.person.clone_into(&mut line.ended_by);
    ends.note.clone_into(&mut line.note);
    Ok(act.tx.save_send_out_line(line).await?)
}

/// The vendor's operations are done; whether they are good the return inspection says.
async fn come_back(
    act: &Act<'_>,
    job: &mut Job,
    route: Vec<JobOperation>,
    last: i64,
) -> Result<(), Error> {
    let mut next = None;
    for mut operation in route {
        if operation.state == OperationState::Sent {
            done(&mut operation, act, None);
            act.tx.save_operation(&operation).await?;
        } else if operation.position == last + 1 {
            next = Some(operation);
        }
    }
    // Every route ends with an inspection in the shop.
    let next = next.ok_or_else(|| StorageError::Corrupt {
        table: "operations",
        id: job.tag.clone(),
        reason: "nothing follows the vendor's work".to_owned(),
    })?;
    go_on(act, job, next).await
}

/// The vendor will not return the piece: it is written off where it was.
async fn lose(
    act: &Act<'_>,
    job: &mut Job,
    mut route: Vec<JobOperation>,
    note: &str,
) -> Result<(), Error> {
    let view = act.view();
    let mut piece = piece_of(act, job).await?;
    let item = view.item_of(&piece).await?;
    let proposal = proposed(view, &piece, &item).await?;
    let reason = [ScrapReason::Lost.as_str(), note].join(" ").trim().to_owned();
    decide(act, &piece, proposal.disposition, Disposition::Scrap, &reason).await?;
    job.scrap_reason = Some(ScrapReason::Lost);
    end(act, job, &mut route, JobOutcome::Scrapped).await?;
    write_off(act, &mut piece, &reason).await
}

/// Lists send-outs, the oldest first.
///
/// # Errors
/// [`Error::NotFound`] for a location that the filter names.
pub async fn list_send_outs(
    view: View<'_>,
    page: Page,
    filter: SendOutsFilter,
) -> Result<Vec<SendOutView>, Error> {
    let location = match &filter.location_code {
        Some(code) => Some(view.find_location(code).await?.id),
        None => None,
    };
    let found = view.tx.send_outs_page(page, filter.only_open, location).await?;
    view.send_outs(found).await
}
