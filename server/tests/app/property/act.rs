//! Doing one step through the use cases.

use super::op::Op;
use super::pick::{self, tag};
use crate::shop::{HOUR, micrometer, read, used};
use std::collections::BTreeSet;
use tenths_domain::ids::ReadingId;
use tenths_domain::item::Limits;
use tenths_domain::state::{
    BuiltUp, CoreGrade, GaugeState, Method, OwnerKind, PieceCondition, PieceState, RebuildState,
    RejectReason, ScrapReason, SendOutLineState,
};
use tenths_domain::units::{Entry, Unit};
use tenths_server::app::holds::{self, LineSubject, Until};
use tenths_server::app::measuring::{self, NewReadings};
use tenths_server::app::reconditioning;
use tenths_server::app::{Act, Error, judging, rebuilds, receiving, stock};
use tenths_storage::Page;

/// A minute in microseconds.
pub(crate) const MINUTE: i64 = HOUR / 60;

const ITEMS: [&str; 3] = ["SH-30", "BU-15", "BR-6206"];
/// The last shelf is one that there is not.
const SHELVES: [&str; 8] = ["A-01", "A-01", "A-01", "A-01", "B-01", "B-01", "B-01", "Z-99"];

/// Mostly what is done to shafts.
const METHODS: [Method; 8] = [
    Method::Regrind,
    Method::Polish,
    Method::BuildUp,
    Method::Regrind,
    Method::Sleeve,
    Method::Polish,
    Method::Hone,
    Method::Straighten,
];

fn shelf(number: u8) -> String {
    SHELVES[usize::from(number) % SHELVES.len()].to_owned()
}

/// Good, worn, mistaken and strange readings of every feature.
fn line(number: u8) -> NewReadings {
    let (feature, line) = [
        ("journal", "REF0 0.9380 A0 0.9375 A90 0.9375 B0 0.9374"),
        ("journal", "REF0 0.9380 A0 0.9372 B0 0.9350"),
        ("journal", "A0 0.9272 A90 0.9273 B0 0.9273"),
        ("journal", "A0 0.9272 A90 0.9272 B0 0.9281"),
        ("journal", "A0 0.9374 A90 0.9734 B0 0.9374 B90 0.9374"),
        ("seat", "A0 30.006mm A90 30.006mm B0 30.007mm B90 30.006mm"),
        ("seat", "A0 29.990mm A90 30.003mm"),
        ("seat", "A0 30.006 B0 30.006"),
        ("bore", "A0 15.010mm A90 15.012mm"),
        ("keyway", "A0 0.2500"),
    ][usize::from(number) % 10];
    read(feature, "M-07", line)
}

/// The same readings, of whatever feature the job is for.
fn own(readings: NewReadings) -> NewReadings {
    NewReadings { feature: String::new(), ..readings }
}

fn target(number: u8) -> Option<Limits> {
    let limits = |lower: &str, upper: &str| {
        let inch = |text: &str| Entry::parse(text, Unit::Inch).unwrap().length;
        Some(Limits { lower: inch(lower), upper: inch(upper) })
    };
    match number {
        0..=2 => limits("0.9270", "0.9275"),
        3 => limits("0.9370", "0.9375"),
        4 => limits("0.9100", "0.9105"),
        _ => None,
    }
}

fn kept(keep: bool) -> String {
    if keep { "measured twice".to_owned() } else { String::new() }
}

/// What a use case answered, as text.
macro_rules! said {
    ($use_case:path, $act:expr, $order:expr) => {{
        let order = $order;
        $use_case($act, &order).await.map(|done| format!("{done:?}"))
    }};
}

/// Does a step; what is not a use case of its own answers with an empty text.
pub(crate) async fn act_on(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::ReceivePiece { .. }
        | Op::ReceiveLot { .. }
        | Op::LogCore { .. }
        | Op::TearDown { .. } => receive(act, op).await,
        Op::Read { .. }
        | Op::Void { .. }
        | Op::Assess { .. }
        | Op::Accept { .. }
        | Op::GaugeState { .. } => measure(act, op).await,
        Op::Enqueue { .. }
        | Op::Claim { .. }
        | Op::Renew { .. }
        | Op::GiveBack { .. }
        | Op::Finish { .. }
        | Op::ScrapJob { .. }
        | Op::Scrap { .. } => recondition(act, op).await,
        Op::Operate { .. } | Op::SendOut { .. } | Op::TakeBack { .. } => operate(act, op).await,
        Op::Move { .. } | Op::MoveLot { .. } | Op::Adjust { .. } => relocate(act, op).await,
        _ => hold(act, op).await,
    }
}

async fn receive(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::ReceivePiece { item, is_new } => {
            let condition = if *is_new { PieceCondition::New } else { PieceCondition::Used };
            let item = ITEMS[usize::from(*item)];
            let order = stock::NewPiece { tag: None, condition, ..used("", item) };
            said!(stock::create_piece, act, order)
        }
        Op::ReceiveLot { quantity, shelf: number } => {
            let order = stock::ReceiveLot {
                tag: None,
                item_code: "BU-15".to_owned(),
                quantity: *quantity,
                location_code: shelf(*number),
                date_code: "2026-04".to_owned(),
                unit_cost: None,
            };
            said!(stock::receive_lot, act, order)
        }
        Op::LogCore { shelf: number } => {
            let order = receiving::LogCore {
                tag: None,
                item_code: Some("SH-30".to_owned()),
                description: String::new(),
                nameplate: vec![("power".to_owned(), "4 kW".to_owned())],
                owner: OwnerKind::Shop,
                customer: String::new(),
                door_grade: CoreGrade::B,
                grade_reasons: vec!["turns".to_owned()],
                deposit: None,
                location_code: shelf(*number),
            };
            said!(receiving::log_core, act, order)
        }
        Op::TearDown { core, items } => {
            let yields = |item: &u8| receiving::TeardownPiece {
                tag: None,
                item_code: ITEMS[usize::from(*item)].to_owned(),
                location_code: shelf(0),
                built_up: BuiltUp::Unknown,
                note: String::new(),
            };
            let order = receiving::TearDownCore {
                tag: pick::core(act, *core).await?,
                etag: None,
                pieces: items.iter().map(yields).collect(),
            };
            said!(receiving::tear_down_core, act, order)
        }
        _ => Ok(String::new()),
    }
}

async fn measure(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::Read { piece, line: number, keep } => {
            let order = measuring::RecordReadings {
                piece_tag: pick::piece(act, *piece, PieceState::Inspection).await?,
                readings: line(*number),
                override_reason: kept(*keep),
            };
            said!(measuring::record_readings, act, order)
        }
        Op::Void { reading } => {
            // Readings have no tag: the n-th that there is.
            let page = Page { after: 0, limit: 1000 };
            let all = measuring::list_readings(act.view(), page, Default::default()).await?;
            let found = all.get(usize::from(*reading)).map(|view| view.reading.id);
            let reading = found.unwrap_or(ReadingId(0));
            let order = measuring::VoidReading { reading, reason: "misread".to_owned() };
            said!(measuring::void_reading, act, order)
        }
        Op::Assess { piece } => {
            let piece = pick::piece(act, *piece, PieceState::Inspection).await?;
            said!(judging::assess_piece, act, crate::shop::assess(&piece))
        }
        Op::Accept { piece, anyway, etag } => {
            let piece = pick::piece(act, *piece, PieceState::Inspection).await?;
            let accept = crate::shop::accept(&piece, &kept(*anyway));
            said!(stock::accept_piece, act, stock::AcceptPiece { etag: *etag, ..accept })
        }
        Op::GaugeState { state, etag } => {
            // Mostly in use, or little would be measured.
            let state = match state {
                0 => GaugeState::FoundWrong,
                _ => GaugeState::InUse,
            };
            let order = measuring::UpdateGauge { etag: *etag, state, gauge: micrometer("M-07") };
            said!(measuring::update_gauge, act, order)
        }
        _ => Ok(String::new()),
    }
}

/// The operations of a job, in the shop and at the vendor's.
async fn operate(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::Operate { job, late, how } => {
            let claim = pick::claim(act, *job, *late).await?;
            let note = String::new();
            match how {
                0..=1 => said!(reconditioning::start_operation, act, claim),
                2 => said!(reconditioning::pause_operation, act, claim),
                3..=6 => {
                    let order = reconditioning::FinishOperation { claim, note };
                    said!(reconditioning::finish_operation, act, order)
                }
                _ => {
                    let reason = RejectReason::PoorBond;
                    let order = reconditioning::RejectOperation { claim, reason, note };
                    said!(reconditioning::reject_operation, act, order)
                }
            }
        }
        Op::SendOut { jobs } => {
            let order = reconditioning::CreateSendOut {
                location_code: "PLATER".to_owned(),
                order_number: String::new(),
                due_back_at: None,
                note: String::new(),
                job_tags: pick::vendor_jobs(act, jobs).await?,
            };
            said!(reconditioning::create_send_out, act, order)
        }
        Op::TakeBack { send_out, short } => {
            let (tag, line) = pick::line_out(act, *send_out).await?;
            let state = if *short { SendOutLineState::Short } else { SendOutLineState::Returned };
            let line = reconditioning::ReturnedLine { line, state, note: String::new() };
            let order = reconditioning::ReturnSendOut {
                tag,
                etag: None,
                lines: vec![line],
                location_code: Some(shelf(0)),
            };
            said!(reconditioning::return_send_out, act, order)
        }
        _ => Ok(String::new()),
    }
}

async fn recondition(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::Enqueue { piece, method, target: number, at_vendor } => {
            let order = reconditioning::EnqueueJob {
                piece_tag: pick::piece(act, *piece, PieceState::InStock).await?,
                feature: if *number == 7 { "seat" } else { "journal" }.to_owned(),
                method: METHODS[usize::from(*method) % METHODS.len()],
                target: target(*number),
                target_unit: Unit::Inch,
                reason: if *number == 4 { "" } else { "worn" }.to_owned(),
                due_at: (*method % 2 == 0).then_some(act.now + i64::from(*piece) * HOUR),
                location_code: Some(shelf(4)),
                at_vendor: *at_vendor,
                rebuild_tag: None,
            };
            said!(reconditioning::enqueue_job, act, order)
        }
        Op::Claim { job, minutes } => {
            let job = match job {
                Some(job) => Some(pick::job(act, *job).await?),
                None => None,
            };
            let order =
                reconditioning::ClaimJob { tag: job, machine: None, lease: *minutes * MINUTE };
            said!(reconditioning::claim_job, act, order)
        }
        Op::Renew { job, late } => {
            let order = reconditioning::RenewClaim {
                claim: pick::claim(act, *job, *late).await?,
                lease: HOUR,
            };
            said!(reconditioning::renew_claim, act, order)
        }
        Op::GiveBack { job, late } => {
            said!(reconditioning::release_claim, act, pick::claim(act, *job, *late).await?)
        }
        Op::Finish { job, late, line: number, keep } => {
            let order = reconditioning::FinishJob {
                claim: pick::claim(act, *job, *late).await?,
                readings: if *number % 5 == 4 { line(*number) } else { own(line(*number % 4)) },
                override_reason: kept(*keep),
                location_code: None,
                run_out_tir: None,
            };
            said!(reconditioning::finish_job, act, order)
        }
        Op::ScrapJob { job, late } => {
            let order = reconditioning::ScrapJob {
                claim: pick::claim(act, *job, *late).await?,
                reason: ScrapReason::Crack,
                note: String::new(),
            };
            said!(reconditioning::scrap_job, act, order)
        }
        Op::Scrap { piece } => {
            let order = stock::ScrapPiece {
                tag: tag("P", *piece),
                etag: None,
                reason: ScrapReason::Bent,
                note: "beyond help".to_owned(),
            };
            said!(stock::scrap_piece, act, order)
        }
        _ => Ok(String::new()),
    }
}

async fn relocate(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::Move { piece, shelf: number, etag } => {
            let order = stock::MovePiece {
                tag: tag("P", *piece),
                etag: *etag,
                location_code: shelf(*number),
            };
            said!(stock::move_piece, act, order)
        }
        Op::MoveLot { lot, from, to, quantity } => {
            let order = stock::MoveLot {
                etag: None,
                tag: tag("L", *lot),
                from_location_code: shelf(*from),
                to_location_code: shelf(*to),
                quantity: *quantity,
            };
            said!(stock::move_lot, act, order)
        }
        Op::Adjust { lot, shelf: number, counted } => {
            let order = stock::AdjustLot {
                etag: None,
                tag: tag("L", *lot),
                location_code: shelf(*number),
                counted: *counted,
                reason: "counted".to_owned(),
            };
            said!(stock::adjust_lot, act, order)
        }
        _ => Ok(String::new()),
    }
}

async fn hold(act: &Act<'_>, op: &Op) -> Result<String, Error> {
    match op {
        Op::Reserve { rebuild, pieces, lots, minutes } => {
            let mut named = BTreeSet::new();
            for number in pieces {
                // The wire refuses a piece that is named twice.
                named.insert(pick::piece(act, *number, PieceState::InStock).await?);
            }
            let mut lines: Vec<_> = named.into_iter().map(LineSubject::Piece).collect();
            lines.extend(lots.iter().map(|(lot, quantity)| LineSubject::Lot {
                tag: tag("L", *lot),
                quantity: *quantity,
                location_code: (quantity % 3 == 0).then(|| shelf(0)),
            }));
            let until = Until::For(*minutes * MINUTE);
            let order = holds::Reserve { rebuild_tag: tag("R", *rebuild), lines, until };
            said!(holds::reserve, act, order)
        }
        Op::Release { holds: numbers } => {
            let tags = pick::holds(act, numbers).await?;
            let order = holds::ReleaseReservations { tags, reason: "not needed".to_owned() };
            said!(holds::release_reservations, act, order)
        }
        Op::Extend { hold, minutes, etag } => {
            let order = holds::ExtendReservation {
                tag: pick::hold(act, *hold).await?,
                etag: *etag,
                until_at: act.now + *minutes * MINUTE,
                reason: "late".to_owned(),
            };
            said!(holds::extend_reservation, act, order)
        }
        Op::Consume { rebuild, holds: numbers } => {
            let order = holds::ConsumeReservations {
                rebuild_tag: tag("R", *rebuild),
                tags: pick::holds(act, numbers).await?,
            };
            said!(holds::consume_reservations, act, order)
        }
        Op::OpenRebuild => {
            let order = rebuilds::OpenRebuild {
                tag: None,
                description: "lathe headstock drive".to_owned(),
                customer: "Nordhof".to_owned(),
                core_tag: None,
                due_at: Some(act.now + 24 * HOUR),
                value: None,
            };
            said!(rebuilds::open_rebuild, act, order)
        }
        Op::Close { rebuild, shipped } => {
            let state = if *shipped { RebuildState::Shipped } else { RebuildState::Cancelled };
            let order = rebuilds::CloseRebuild { tag: tag("R", *rebuild), etag: None, state };
            said!(rebuilds::close_rebuild, act, order)
        }
        _ => Ok(String::new()),
    }
}
