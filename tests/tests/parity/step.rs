//! One step of a history, and the few things that it can act on.

use prost_types::Timestamp;
use tenths_proto::v1::*;
use tenths_tests::{
    Clients, Shop, bearings_for_seat, hold_lot, hold_piece, readings_in_inches, request_id,
};
use tonic::Response;

use crate::answer::shown;

/// What a step does; its numbers choose among few things, so that steps meet each other.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Act {
    ReceiveLot,
    MoveLot,
    AdjustLot,
    CreatePiece,
    Read,
    Assess,
    Accept,
    MovePiece,
    Scrap,
    Enqueue,
    Claim,
    Finish,
    OpenRebuild,
    Reserve,
    Release,
    Consume,
    Close,
    UpdatePiece,
    FindFit,
    GetPiece,
    GetLot,
    ListLedger,
}

const ACTS: [Act; 22] = [
    Act::ReceiveLot,
    Act::MoveLot,
    Act::AdjustLot,
    Act::CreatePiece,
    Act::Read,
    Act::Assess,
    Act::Accept,
    Act::MovePiece,
    Act::Scrap,
    Act::Enqueue,
    Act::Claim,
    Act::Finish,
    Act::OpenRebuild,
    Act::Reserve,
    Act::Release,
    Act::Consume,
    Act::Close,
    Act::UpdatePiece,
    Act::FindFit,
    Act::GetPiece,
    Act::GetLot,
    Act::ListLedger,
];

/// A step: what, and three choices.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    act: Act,
    which: u8,
    amount: u8,
    other: u8,
}

/// One history's view of one shop.
pub(crate) struct World {
    clients: Clients,
    prefix: String,
}

impl World {
    pub(crate) fn new(shop: &Shop, prefix: &str) -> Self {
        Self { clients: shop.clients().clone(), prefix: prefix.to_owned() }
    }
}

/// Readings of a good seat, a worn one, and one with two digits swapped.
const LINES: [&str; 4] = [
    "A0 0.9845 A90 0.9845 B0 0.9844 B90 0.9845",
    "A0 0.9834 A90 0.9834 B0 0.9835 B90 0.9834",
    "A0 0.9845 A90 0.9485 B0 0.9844",
    "A0 0.9845",
];

impl Step {
    /// A step out of four numbers by chance.
    pub(crate) fn of([act, which, amount, other]: [u8; 4]) -> Self {
        let act = ACTS[usize::from(act) % ACTS.len()];
        Self { act, which: which % 3, amount: amount % 6, other: other % 4 }
    }

    /// Does the step in both worlds, with one request id, and gives both answers as text.
    pub(crate) async fn on_both(&self, worlds: &[World; 2]) -> (String, String) {
        let id = request_id();
        (self.on(&worlds[0], &id).await, self.on(&worlds[1], &id).await)
    }

    async fn on(&self, world: &World, id: &str) -> String {
        match self.act {
            Act::ReceiveLot | Act::MoveLot | Act::AdjustLot | Act::GetLot | Act::ListLedger => {
                self.on_lots(world, id).await
            }
            Act::Enqueue | Act::Claim | Act::Finish | Act::Read | Act::Assess | Act::FindFit => {
                self.on_measures(world, id).await
            }
            Act::OpenRebuild | Act::Reserve | Act::Release | Act::Consume | Act::Close => {
                self.on_rebuilds(world, id).await
            }
            Act::CreatePiece
            | Act::Accept
            | Act::MovePiece
            | Act::Scrap
            | Act::UpdatePiece
            | Act::GetPiece => self.on_pieces(world, id).await,
        }
    }

    fn tag(&self, world: &World, letter: &str) -> String {
        format!("{letter}-{}-{}", world.prefix, self.which)
    }

    fn place(&self, choice: u8) -> String {
        ["A-1", "BENCH", "YARD", "NOWHERE"][usize::from(choice % 4)].to_owned()
    }

    async fn on_lots(&self, world: &World, id: &str) -> String {
        let mut stock = world.clients.stock();
        let (request_id, person) = (id.to_owned(), "oto".to_owned());
        let (tag, quantity) = (self.tag(world, "L"), i64::from(self.amount) * 2 - 1);
        match self.act {
            Act::ReceiveLot => shown(
                stock
                    .receive_lot(ReceiveLotRequest {
                        request_id,
                        person,
                        tag,
                        item_code: "BRG-6205".to_owned(),
                        quantity,
                        location_code: self.place(self.other),
                        ..ReceiveLotRequest::default()
                    })
                    .await,
            ),
            Act::MoveLot => shown(
                stock
                    .move_lot(MoveLotRequest {
                        request_id,
                        person,
                        tag,
                        from_location_code: self.place(self.other),
                        to_location_code: self.place(self.amount),
                        quantity,
                        etag: String::new(),
                    })
                    .await,
            ),
            Act::AdjustLot => shown(
                stock
                    .adjust_lot(AdjustLotRequest {
                        request_id,
                        person,
                        tag,
                        location_code: self.place(self.other),
                        counted: quantity,
                        reason: "counted".to_owned(),
                        etag: String::new(),
                    })
                    .await,
            ),
            Act::GetLot => shown(stock.get_lot(GetLotRequest { tag }).await),
            _ => {
                let tag = if self.other < 2 { tag } else { self.tag(world, "P") };
                let request = ListLedgerEntriesRequest { tag, ..Default::default() };
                shown(stock.list_ledger_entries(request).await)
            }
        }
    }

    async fn on_pieces(&self, world: &World, id: &str) -> String {
        let mut stock = world.clients.stock();
        let (request_id, person) = (id.to_owned(), "mara".to_owned());
        let (tag, location_code, etag) =
            (self.tag(world, "P"), self.place(self.other), String::new());
        match self.act {
            Act::CreatePiece => shown(
                stock
                    .create_piece(CreatePieceRequest {
                        request_id,
                        person,
                        tag,
                        item_code: "SH-25".to_owned(),
                        condition: (i32::from(self.amount) % 3).max(1),
                        location_code,
                        ..CreatePieceRequest::default()
                    })
                    .await,
            ),
            Act::Accept => {
                let override_reason = if self.amount < 3 { "" } else { "measured by hand" };
                let override_reason = override_reason.to_owned();
                let request = AcceptPieceRequest {
                    request_id,
                    person,
                    etag,
                    tag,
                    location_code,
                    override_reason,
                };
                shown(stock.accept_piece(request).await)
            }
            Act::MovePiece => {
                let request = MovePieceRequest { request_id, person, etag, tag, location_code };
                shown(stock.move_piece(request).await)
            }
            Act::Scrap => {
                let (reason, note) = (i32::from(self.amount), String::new());
                let request = ScrapPieceRequest { request_id, person, etag, tag, reason, note };
                shown(stock.scrap_piece(request).await)
            }
            Act::UpdatePiece => {
                let read = stock.get_piece(GetPieceRequest { tag: tag.clone() }).await;
                let read = read.ok().and_then(|answer| answer.into_inner().piece);
                let etag = read.map(|piece| piece.etag).unwrap_or_default();
                let request = UpdatePieceRequest {
                    request_id,
                    person,
                    etag,
                    tag,
                    note: format!("note {}", self.amount),
                    ..UpdatePieceRequest::default()
                };
                shown(stock.update_piece(request).await)
            }
            _ => shown(stock.get_piece(GetPieceRequest { tag }).await),
        }
    }

    async fn on_measures(&self, world: &World, id: &str) -> String {
        let mut measuring = world.clients.measuring();
        let mut queue = world.clients.reconditioning();
        let (request_id, person, piece_tag) =
            (id.to_owned(), "iven".to_owned(), self.tag(world, "P"));
        let readings =
            Some(readings_in_inches("seat-a", "M-07", LINES[usize::from(self.amount) % 4]));
        let override_reason = if self.other == 0 { "a burr".to_owned() } else { String::new() };
        match self.act {
            Act::Read => {
                let request = RecordReadingsRequest {
                    request_id,
                    person,
                    piece_tag,
                    readings,
                    override_reason,
                };
                shown(measuring.record_readings(request).await)
            }
            Act::Assess => {
                let request =
                    AssessPieceRequest { request_id, person, piece_tag, ..Default::default() };
                shown(measuring.assess_piece(request).await)
            }
            Act::Enqueue => {
                let request = EnqueueJobRequest {
                    request_id,
                    person,
                    piece_tag,
                    feature: "seat-a".to_owned(),
                    method: i32::from(self.amount),
                    ..EnqueueJobRequest::default()
                };
                shown(queue.enqueue_job(request).await)
            }
            Act::Claim => {
                let request = ClaimJobRequest { request_id, person, ..Default::default() };
                shown(queue.claim_job(request).await)
            }
            Act::Finish => {
                let (tag, fencing_token) = open_claim(world, &piece_tag, self.other).await;
                let request = FinishJobRequest {
                    request_id,
                    person,
                    tag,
                    fencing_token,
                    readings,
                    override_reason,
                    location_code: self.place(self.other),
                    run_out: None,
                };
                shown(queue.finish_job(request).await)
            }
            _ => {
                let request = bearings_for_seat(
                    &piece_tag,
                    ["k5", "g6", "m6", "z99"][usize::from(self.other)],
                );
                world.clients.settle().await;
                // How fresh an answer is differs from database to database, and from time to time.
                let answer = world.clients.finding().find_fit(request).await;
                shown(answer.map(|mut answer| {
                    answer.get_mut().freshness = None;
                    answer
                }))
            }
        }
    }

    async fn on_rebuilds(&self, world: &World, id: &str) -> String {
        let mut rebuilds = world.clients.rebuilds();
        let (request_id, person) = (id.to_owned(), "mara".to_owned());
        let tag = format!("R-{}-{}", world.prefix, self.other % 2);
        match self.act {
            Act::OpenRebuild => {
                let description = "coolant pump".to_owned();
                let request = OpenRebuildRequest {
                    request_id,
                    person,
                    tag,
                    description,
                    ..Default::default()
                };
                shown(rebuilds.open_rebuild(request).await)
            }
            Act::Reserve => {
                let lot = hold_lot(&self.tag(world, "L"), i64::from(self.amount));
                let piece = hold_piece(&self.tag(world, "P"));
                let lines = match self.amount % 3 {
                    0 => vec![piece],
                    1 => vec![lot],
                    _ => vec![piece, lot],
                };
                // A fixed time far ahead: both servers must say the same of it.
                let until_time = Some(Timestamp { seconds: 4_000_000_000, nanos: 0 });
                let request = ReserveRequest {
                    request_id,
                    person,
                    rebuild_tag: tag,
                    lines,
                    until_time: until_time.filter(|_| self.which < 2),
                    hold_for: None,
                };
                shown(rebuilds.reserve(request).await)
            }
            Act::Release => {
                let request = ListReservationsRequest { rebuild_tag: tag, ..Default::default() };
                let listed = rebuilds.list_reservations(request).await.map(Response::into_inner);
                let holds = listed.map(|page| page.reservations).unwrap_or_default();
                let tags = holds.iter().skip(self.which.into()).take(2);
                let tags = tags.map(|hold| hold.tag.clone()).collect();
                let request = ReleaseReservationsRequest {
                    request_id,
                    person,
                    tags,
                    reason: "not needed".to_owned(),
                };
                shown(rebuilds.release_reservations(request).await)
            }
            Act::Consume => {
                let request = ConsumeReservationsRequest {
                    request_id,
                    person,
                    rebuild_tag: tag,
                    tags: Vec::new(),
                };
                shown(rebuilds.consume_reservations(request).await)
            }
            _ => {
                let state = i32::from(self.amount % 4);
                let request =
                    CloseRebuildRequest { request_id, person, tag, state, ..Default::default() };
                shown(rebuilds.close_rebuild(request).await)
            }
        }
    }
}

/// The job of a piece and its claim's token, as far as a list tells; `late` tries another token.
async fn open_claim(world: &World, piece_tag: &str, late: u8) -> (String, i64) {
    let mut queue = world.clients.reconditioning();
    let request = ListJobsRequest { piece_tag: piece_tag.to_owned(), ..Default::default() };
    let listed = queue.list_jobs(request).await.map(Response::into_inner);
    let job = listed.ok().and_then(|page| page.jobs.into_iter().next_back());
    match job {
        // Tokens rise with each claim; a job's first is told by how often it was claimed.
        Some(job) => (job.tag, i64::from(job.attempt) + i64::from(late / 3)),
        None => ("J-404".to_owned(), 1),
    }
}
