//! Holds: pieces and quantities of lots kept for a rebuild, all or nothing, until a time.

use super::act::{Act, View};
use super::error::{Error, Obstacle, Violation, check_etag};
use super::stock::ledger_entry;
use super::views::{LedgerView, ReservationView};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use tenths_domain::ids::{LocationId, LotId, PieceId, ReservationId};
use tenths_domain::state::{LedgerReason, PieceState, RebuildState, ReservationState};
use tenths_domain::substitution::SetSize;
use tenths_storage::{
    Hold, LedgerSubject, Lot, LotStock, Page, Piece, Rebuild, Reservation, ReservationsFilter, Tx,
};

/// Run-out holds are read this many at a time.
const EXPIRE_BATCH: u64 = 500;

/// The longest hold, in microseconds: 366 days.
const HOLD_MAX: i64 = 366 * 24 * 60 * 60 * 1_000_000;

/// What is to be held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LineSubject {
    /// A piece.
    Piece(String),
    /// Part of a lot, at a location if one is named.
    Lot {
        /// The lot.
        tag: String,
        /// How many.
        quantity: i64,
        /// Where.
        location_code: Option<String>,
    },
}

/// Holds things for a rebuild.
#[derive(Clone, Debug)]
pub struct Reserve {
    /// The rebuild.
    pub rebuild_tag: String,
    /// What is to be held.
    pub lines: Vec<LineSubject>,
    /// Until when.
    pub until: Until,
}

/// The end of a hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Until {
    /// At a time, in Unix microseconds.
    At(i64),
    /// So many microseconds from now.
    For(i64),
}

/// Extends a hold.
#[derive(Clone, Debug)]
pub struct ExtendReservation {
    /// The hold.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// Until when, in Unix microseconds.
    pub until_at: i64,
    /// Why.
    pub reason: String,
}

/// Releases holds.
#[derive(Clone, Debug)]
pub struct ReleaseReservations {
    /// The holds.
    pub tags: Vec<String>,
    /// Why.
    pub reason: String,
}

/// Consumes holds of a rebuild.
#[derive(Clone, Debug)]
pub struct ConsumeReservations {
    /// The rebuild.
    pub rebuild_tag: String,
    /// The holds; none means every active one of the rebuild.
    pub tags: Vec<String>,
}

/// A time as it is shown in messages.
pub(crate) fn shown_time(micros: i64) -> String {
    jiff::Timestamp::from_microsecond(micros)
        .map(|time| time.strftime("%Y-%m-%d %H:%M UTC").to_string())
        .unwrap_or_else(|_| format!("{micros} us after 1970"))
}

/// Says who holds something until when.
pub(crate) fn held(subject: &str, hold: &Hold) -> Obstacle {
    let description = format!(
        "{subject} is held for rebuild {} by {} until {} (hold {})",
        hold.rebuild_tag,
        hold.reservation.person,
        shown_time(hold.reservation.until_at),
        hold.reservation.tag
    );
    Obstacle::new("HELD", subject, description)
}

/// Ends every hold that ran out at `now`; answers with how many.
pub(crate) async fn expire_lapsed(tx: &Tx, now: i64) -> Result<usize, Error> {
    let mut count = 0;
    loop {
        let lapsed = tx.lapsed_reservations(now, EXPIRE_BATCH).await?;
        let last = (lapsed.len() as u64) < EXPIRE_BATCH;
        count += lapsed.len();
        for mut reservation in lapsed {
            end(tx, &mut reservation, ReservationState::Expired, now).await?;
        }
        if last {
            return Ok(count);
        }
    }
}

/// Ends a hold; what it held of a lot is free again.
async fn end(
    tx: &Tx,
    reservation: &mut Reservation,
    state: ReservationState,
    now: i64,
) -> Result<(), Error> {
    if let Some(lot) = reservation.lot {
        let consumed = if state == ReservationState::Consumed { reservation.quantity } else { 0 };
        tx.change_lot_stock(lot, reservation.location, -consumed, -reservation.quantity).await?;
    }
    reservation.state = state;
    reservation.ended_at = Some(now);
    Ok(tx.save_reservation(reservation).await?)
}

/// Holds pieces and quantities of lots for a rebuild, all or nothing.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] with one obstacle per line that cannot be held.
pub async fn reserve(act: &Act<'_>, order: &Reserve) -> Result<Vec<ReservationView>, Error> {
    let view = act.view();
    expire_lapsed(act.tx, act.now).await?;
    let rebuild = view.find_rebuild(&order.rebuild_tag).await?;
    check_open(&rebuild)?;
    let until_at = end_of(act, order.until)?;
    let mut stock = Stock::load(view, &order.lines).await?;
    let mut places = Vec::with_capacity(order.lines.len());
    let mut obstacles = Vec::new();
    for line in &order.lines {
        match stock.take(line) {
            Ok(place) => places.push(place),
            Err(obstacle) => obstacles.push(obstacle),
        }
    }
    if !obstacles.is_empty() {
        return Err(Error::Forbidden(obstacles));
    }
    let mut reservations = Vec::with_capacity(places.len());
    for place in places {
        if let Some(lot) = place.lot {
            act.tx.change_lot_stock(lot, place.location, 0, place.quantity).await?;
        }
        let reservation = Reservation {
            id: ReservationId(0),
            tag: act.next_tag("H").await?,
            rebuild: rebuild.id,
            piece: place.piece,
            lot: place.lot,
            location: place.location,
            quantity: place.quantity,
            person: act.person.to_owned(),
            until_at,
            state: ReservationState::Active,
            reason: String::new(),
            created_at: act.now,
            ended_at: None,
            revision: 1,
        };
        reservations.push(act.tx.insert_reservation(reservation).await?);
    }
    view.reservations(reservations).await
}

fn check_open(rebuild: &Rebuild) -> Result<(), Error> {
    if rebuild.state == RebuildState::Open {
        return Ok(());
    }
    let description = format!("rebuild {} is {}", rebuild.tag, rebuild.state);
    Err(Error::forbidden("REBUILD_CLOSED", rebuild.tag.clone(), description))
}

fn end_of(act: &Act<'_>, until: Until) -> Result<i64, Error> {
    match until {
        Until::For(micros) => Ok(act.now.saturating_add(micros)),
        Until::At(at) if at > act.now.saturating_add(HOLD_MAX) => Err(Error::invalid(
            "until_time",
            format!("it is more than 366 days from now, {}", shown_time(act.now)),
        )),
        Until::At(at) if at > act.now => Ok(at),
        Until::At(at) => Err(Error::Invalid(vec![Violation::new(
            "until_time",
            format!("{} is not later than now, {}", shown_time(at), shown_time(act.now)),
        )])),
    }
}

/// Where one line is held.
struct HeldPlace {
    piece: Option<PieceId>,
    lot: Option<LotId>,
    location: LocationId,
    quantity: i64,
}

/// A lot, what is where of it, the holds on it, and how many make a set.
struct HeldLot {
    lot: Lot,
    stock: Vec<LotStock>,
    holds: Vec<Hold>,
    set: SetSize,
}

/// The pieces and lots that lines name, locked, with what is free of them.
struct Stock {
    pieces: HashMap<String, (Piece, Option<Hold>)>,
    lots: HashMap<String, HeldLot>,
    codes: HashMap<LocationId, String>,
}

impl Stock {
    /// Locks in the order of tags, pieces before lots, so that two kits never wait for each other.
    async fn load(view: View<'_>, lines: &[LineSubject]) -> Result<Stock, Error> {
        let mut piece_tags = BTreeSet::new();
        let mut lot_tags = BTreeSet::new();
        for line in lines {
            match line {
                LineSubject::Piece(tag) => piece_tags.insert(tag.as_str()),
                LineSubject::Lot { tag, .. } => lot_tags.insert(tag.as_str()),
            };
        }
        let mut pieces = BTreeMap::new();
        for tag in piece_tags {
            pieces.insert(tag.to_owned(), view.find_piece(tag).await?);
        }
        let mut lots = BTreeMap::new();
        for tag in lot_tags {
            lots.insert(tag.to_owned(), view.find_lot(tag).await?);
        }
        for line in lines {
            if let LineSubject::Lot { location_code: Some(code), .. } = line {
                view.find_location(code).await?;
            }
        }
        let mut holds = view
            .tx
            .holds_on_pieces(pieces.values().map(|piece| piece.id).collect::<Vec<_>>(), view.now)
            .await?;
        let mut stock = view
            .tx
            .lot_stock(lots.values().map(|lot| lot.id).collect::<Vec<_>>(), view.now)
            .await?;
        let locations: Vec<_> = stock.values().flatten().map(|here| here.location).collect();
        let codes = view.tx.location_codes(locations).await?;
        let items = lots.values().map(|lot| lot.item).collect::<Vec<_>>();
        let items = view.tx.items_by_ids(items).await?;
        let mut with_holds = HashMap::new();
        for (tag, lot) in lots {
            let on_lot = view.tx.holds_on_lot(lot.id, view.now).await?;
            let here = stock.remove(&lot.id).unwrap_or_default();
            let set = items.get(&lot.item).map_or(SetSize::ONE, |item| item.set);
            with_holds.insert(tag, HeldLot { lot, stock: here, holds: on_lot, set });
        }
        let pieces = pieces.into_iter().map(|(tag, piece)| {
            let hold = holds.remove(&piece.id);
            (tag, (piece, hold))
        });
        Ok(Stock { pieces: pieces.collect(), lots: with_holds, codes })
    }

    /// Takes a line out of what is free, or says what stands in the way.
    fn take(&mut self, line: &LineSubject) -> Result<HeldPlace, Obstacle> {
        match line {
            LineSubject::Piece(tag) => self.take_piece(tag),
            LineSubject::Lot { tag, quantity, location_code } => {
                self.take_lot(tag, *quantity, location_code.as_deref())
            }
        }
    }

    fn take_piece(&self, tag: &str) -> Result<HeldPlace, Obstacle> {
        let unknown = || Obstacle::new("UNKNOWN", tag, format!("piece {tag} was not looked up"));
        let (piece, hold) = self.pieces.get(tag).ok_or_else(unknown)?;
        if let Some(hold) = hold {
            return Err(held(tag, hold));
        }
        match piece.location {
            Some(location) if piece.state == PieceState::InStock => {
                Ok(HeldPlace { piece: Some(piece.id), lot: None, location, quantity: 1 })
            }
            _ => {
                let description =
                    format!("piece {tag} is {}: only a piece in stock can be held", piece.state);
                Err(Obstacle::new("NOT_IN_STOCK", tag, description))
            }
        }
    }

    fn take_lot(
        &mut self,
        tag: &str,
        quantity: i64,
        code: Option<&str>,
    ) -> Result<HeldPlace, Obstacle> {
        let codes = &self.codes;
        let code_of =
            |here: &LotStock| codes.get(&here.location).map_or("", String::as_str).to_owned();
        let unknown = || Obstacle::new("UNKNOWN", tag, format!("lot {tag} was not looked up"));
        let HeldLot { lot, stock, holds, set } = self.lots.get_mut(tag).ok_or_else(unknown)?;
        if let Err(error) = set.check(quantity) {
            return Err(Obstacle::new("SPLITS_SET", tag, format!("lot {tag}: {error}")));
        }
        let best = stock
            .iter_mut()
            .filter(|here| code.is_none_or(|code| code_of(here) == code))
            .max_by_key(|here| (here.free(), std::cmp::Reverse(code_of(here))));
        match best {
            Some(here) if here.free() >= quantity => {
                here.held += quantity;
                Ok(HeldPlace { piece: None, lot: Some(lot.id), location: here.location, quantity })
            }
            best => {
                let (free, place) = best
                    .map_or((0, code.unwrap_or("any location").to_owned()), |here| {
                        (here.free(), code_of(here))
                    });
                let here: Vec<&Hold> = holds
                    .iter()
                    .filter(|hold| codes.get(&hold.reservation.location) == Some(&place))
                    .collect();
                Err(too_few(tag, quantity, free, &place, &here))
            }
        }
    }
}

fn too_few(tag: &str, quantity: i64, free: i64, place: &str, holds: &[&Hold]) -> Obstacle {
    let held: Vec<String> = holds
        .iter()
        .map(|hold| {
            format!(
                "{} for rebuild {} by {} until {} (hold {})",
                hold.reservation.quantity,
                hold.rebuild_tag,
                hold.reservation.person,
                shown_time(hold.reservation.until_at),
                hold.reservation.tag
            )
        })
        .collect();
    let held = if held.is_empty() { String::new() } else { format!("; held: {}", held.join(", ")) };
    let description =
        format!("lot {tag} has {free} free at {place}, {quantity} are asked for{held}");
    Obstacle::new("NOT_ENOUGH_FREE", tag, description)
}

/// Reads one hold.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_reservation(view: View<'_>, tag: &str) -> Result<ReservationView, Error> {
    let reservation = view.find_reservation(tag).await?;
    one(view, reservation).await
}

async fn one(view: View<'_>, reservation: Reservation) -> Result<ReservationView, Error> {
    let name = reservation.tag.clone();
    view.reservations(vec![reservation])
        .await?
        .pop()
        .ok_or(Error::NotFound { kind: "reservation", name })
}

/// Lists holds in order of holding.
///
/// # Errors
/// [`Error::NotFound`] for a rebuild that the filter names.
pub async fn list_reservations(
    view: View<'_>,
    page: Page,
    state: Option<ReservationState>,
    rebuild_tag: Option<String>,
) -> Result<Vec<ReservationView>, Error> {
    let rebuild = match &rebuild_tag {
        Some(tag) => Some(view.find_rebuild(tag).await?.id),
        None => None,
    };
    let filter = ReservationsFilter { state, rebuild };
    let reservations = view.tx.reservations_page(page, filter, view.now).await?;
    view.reservations(reservations).await
}

fn check_active(reservation: &Reservation, now: i64) -> Result<(), Obstacle> {
    let state = reservation.state_at(now);
    if state == ReservationState::Active {
        return Ok(());
    }
    let ended = shown_time(reservation.ended_at.unwrap_or(reservation.until_at));
    let description = format!("hold {} is {state} since {ended}", reservation.tag);
    Err(Obstacle::new("HOLD_ENDED", reservation.tag.clone(), description))
}

/// Extends an active hold.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] if it has ended.
pub async fn extend_reservation(
    act: &Act<'_>,
    order: &ExtendReservation,
) -> Result<ReservationView, Error> {
    let view = act.view();
    let mut reservation = view.find_reservation(&order.tag).await?;
    check_etag("reservation", &reservation.tag, reservation.revision, order.etag)?;
    check_active(&reservation, act.now).map_err(|obstacle| Error::Forbidden(vec![obstacle]))?;
    reservation.until_at = end_of(act, Until::At(order.until_at))?;
    reservation.reason.clone_from(&order.reason);
    act.tx.save_reservation(&mut reservation).await?;
    one(view, reservation).await
}

/// The holds of these tags, locked in the order of tags; every ended one is an obstacle.
async fn active_holds(act: &Act<'_>, tags: &[String]) -> Result<Vec<Reservation>, Error> {
    let sorted: BTreeSet<&String> = tags.iter().collect();
    let mut found = Vec::with_capacity(sorted.len());
    let mut obstacles = Vec::new();
    for tag in sorted {
        let reservation = act.view().find_reservation(tag).await?;
        obstacles.extend(check_active(&reservation, act.now).err());
        found.push(reservation);
    }
    if obstacles.is_empty() { Ok(found) } else { Err(Error::Forbidden(obstacles)) }
}

/// Releases active holds, all or nothing.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] with one obstacle per hold that has ended.
pub async fn release_reservations(
    act: &Act<'_>,
    order: &ReleaseReservations,
) -> Result<Vec<ReservationView>, Error> {
    let mut reservations = active_holds(act, &order.tags).await?;
    for reservation in &mut reservations {
        reservation.reason.clone_from(&order.reason);
        end(act.tx, reservation, ReservationState::Released, act.now).await?;
    }
    act.view().reservations(reservations).await
}

/// Releases every active hold of a rebuild.
pub(crate) async fn release_all(
    act: &Act<'_>,
    rebuild: &Rebuild,
    reason: &str,
) -> Result<Vec<ReservationView>, Error> {
    expire_lapsed(act.tx, act.now).await?;
    let mut reservations = act.tx.active_reservations_of(rebuild.id).await?;
    for reservation in &mut reservations {
        reason.clone_into(&mut reservation.reason);
        end(act.tx, reservation, ReservationState::Released, act.now).await?;
    }
    act.view().reservations(reservations).await
}

/// Consumes active holds of a rebuild, all or nothing, and writes the ledger.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] with one obstacle per hold that has ended or is for
/// another rebuild, or if there is nothing to consume.
pub async fn consume_reservations(
    act: &Act<'_>,
    order: &ConsumeReservations,
) -> Result<(Vec<ReservationView>, Vec<LedgerView>), Error> {
    let view = act.view();
    expire_lapsed(act.tx, act.now).await?;
    let rebuild = view.find_rebuild(&order.rebuild_tag).await?;
    check_open(&rebuild)?;
    let mut reservations = if order.tags.is_empty() {
        act.tx.active_reservations_of(rebuild.id).await?
    } else {
        active_holds(act, &order.tags).await?
    };
    check_own(&reservations, &rebuild)?;
    let ids: Vec<_> = reservations.iter().filter_map(|reservation| reservation.piece).collect();
    let mut pieces = act.tx.pieces_by_ids(ids).await?;
    let mut entries = Vec::with_capacity(reservations.len());
    for reservation in &mut reservations {
        let (subject, location) = match reservation.piece {
            Some(id) => {
                (LedgerSubject::Piece(id), consume_piece(act, &mut pieces, id, &rebuild).await?)
            }
            None => (LedgerSubject::Lot(reservation.lot.unwrap_or(LotId(0))), reservation.location),
        };
        let mut entry =
            ledger_entry(act, LedgerReason::Consume, subject, location, -reservation.quantity);
        entry.rebuild = Some(rebuild.id);
        entry.note = format!("hold {}", reservation.tag);
        entries.push(entry);
        end(act.tx, reservation, ReservationState::Consumed, act.now).await?;
    }
    let entries = act.tx.write_ledger(entries).await?;
    Ok((view.reservations(reservations).await?, view.ledger(entries).await?))
}

fn check_own(reservations: &[Reservation], rebuild: &Rebuild) -> Result<(), Error> {
    if reservations.is_empty() {
        let description = format!("rebuild {} has no active holds to consume", rebuild.tag);
        return Err(Error::forbidden("NOTHING_HELD", rebuild.tag.clone(), description));
    }
    let others: Vec<Obstacle> = reservations
        .iter()
        .filter(|reservation| reservation.rebuild != rebuild.id)
        .map(|reservation| {
            let description =
                format!("hold {} is for another rebuild than {}", reservation.tag, rebuild.tag);
            Obstacle::new("OTHER_REBUILD", reservation.tag.clone(), description)
        })
        .collect();
    if others.is_empty() { Ok(()) } else { Err(Error::Forbidden(others)) }
}

async fn consume_piece(
    act: &Act<'_>,
    pieces: &mut HashMap<PieceId, Piece>,
    id: PieceId,
    rebuild: &Rebuild,
) -> Result<LocationId, Error> {
    let not_found = || Error::NotFound { kind: "piece", name: id.0.to_string() };
    let piece = pieces.get_mut(&id).ok_or_else(not_found)?;
    super::stock::check_step(piece, PieceState::Consumed, "consumed")?;
    let from = super::stock::place_of(piece)?;
    piece.state = PieceState::Consumed;
    piece.location = None;
    piece.rebuild = Some(rebuild.id);
    act.tx.save_piece(piece).await?;
    Ok(from)
}
