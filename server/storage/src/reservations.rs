//! Holds on pieces and on quantities of lots.

use crate::entities::{rebuilds, reservations};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, named, one_row};
use crate::tx::Tx;
use sea_orm::sea_query::Condition;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{LocationId, LotId, PieceId, RebuildId, ReservationId};
use tenths_domain::state::ReservationState;

/// A hold on a piece or on a quantity of a lot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reservation {
    /// Row number; 0 before it is stored.
    pub id: ReservationId,
    /// The tag.
    pub tag: String,
    /// The rebuild that it is for.
    pub rebuild: RebuildId,
    /// The piece held; either this or the lot.
    pub piece: Option<PieceId>,
    /// The lot held.
    pub lot: Option<LotId>,
    /// Where it is held.
    pub location: LocationId,
    /// How many; 1 for a piece.
    pub quantity: i64,
    /// Who holds it.
    pub person: String,
    /// Until when, in Unix microseconds.
    pub until_at: i64,
    /// Where it stands.
    pub state: ReservationState,
    /// Why it was extended or released last, or empty.
    pub reason: String,
    /// When it was held, in Unix microseconds.
    pub created_at: i64,
    /// When it ended, in Unix microseconds.
    pub ended_at: Option<i64>,
    /// Version.
    pub revision: i64,
}

impl Reservation {
    /// Where it stands at `now`: a hold that has run out is expired, noticed or not.
    pub fn state_at(&self, now: i64) -> ReservationState {
        match self.state {
            ReservationState::Active if self.until_at <= now => ReservationState::Expired,
            state => state,
        }
    }
}

/// An active hold with the tag of its rebuild, for showing who holds something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hold {
    /// The hold.
    pub reservation: Reservation,
    /// The tag of its rebuild.
    pub rebuild_tag: String,
}

/// Which holds are asked for; nothing means any.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ReservationsFilter {
    /// In this state.
    pub state: Option<ReservationState>,
    /// For this rebuild.
    pub rebuild: Option<RebuildId>,
}

impl Tx {
    /// The hold of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn reservation_by_tag(&self, tag: &str) -> Result<Option<Reservation>, StorageError> {
        let query =
            self.locked(reservations::Entity::find().filter(reservations::Column::Tag.eq(tag)));
        query.one(&self.inner).await?.map(reservation).transpose()
    }

    /// Holds in order of holding, in the state that they have at `now`.
    ///
    /// # Errors
    /// As [`Tx::reservation_by_tag`].
    pub async fn reservations_page(
        &self,
        page: Page,
        filter: ReservationsFilter,
        now: i64,
    ) -> Result<Vec<Reservation>, StorageError> {
        let mut query =
            reservations::Entity::find().filter(reservations::Column::Id.gt(page.after));
        if let Some(state) = filter.state {
            query = query.filter(in_state_at(state, now));
        }
        if let Some(rebuild) = filter.rebuild {
            query = query.filter(reservations::Column::RebuildId.eq(rebuild.0));
        }
        let rows =
            query.order_by_asc(reservations::Column::Id).limit(page.limit).all(&self.inner).await?;
        rows.into_iter().map(reservation).collect()
    }

    /// Every active hold of a rebuild, in order of holding; in a write, locked.
    ///
    /// # Errors
    /// As [`Tx::reservation_by_tag`].
    pub async fn active_reservations_of(
        &self,
        rebuild: RebuildId,
    ) -> Result<Vec<Reservation>, StorageError> {
        let query = reservations::Entity::find()
            .filter(reservations::Column::RebuildId.eq(rebuild.0))
            .filter(reservations::Column::State.eq(ReservationState::Active.as_str()))
            .order_by_asc(reservations::Column::Id);
        self.locked(query).all(&self.inner).await?.into_iter().map(reservation).collect()
    }

    /// Active holds that ran out at or before `now`, earliest first; in a write, locked.
    ///
    /// # Errors
    /// As [`Tx::reservation_by_tag`].
    pub async fn lapsed_reservations(
        &self,
        now: i64,
        limit: u64,
    ) -> Result<Vec<Reservation>, StorageError> {
        let query = reservations::Entity::find()
            .filter(reservations::Column::State.eq(ReservationState::Active.as_str()))
            .filter(reservations::Column::UntilAt.lte(now))
            .order_by_asc(reservations::Column::UntilAt)
            .order_by_asc(reservations::Column::Id)
            .limit(limit);
        self.locked(query).all(&self.inner).await?.into_iter().map(reservation).collect()
    }

    /// The hold that is active at `now` on each of these pieces.
    ///
    /// # Errors
    /// As [`Tx::reservation_by_tag`].
    pub async fn holds_on_pieces(
        &self,
        ids: impl Into<Vec<PieceId>>,
        now: i64,
    ) -> Result<HashMap<PieceId, Hold>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let mut holds = HashMap::new();
        for batch in ids.chunks(500) {
            let rows = reservations::Entity::find()
                .filter(reservations::Column::PieceId.is_in(batch.iter().copied()))
                .filter(in_state_at(ReservationState::Active, now))
                .all(&self.inner)
                .await?;
            for hold in self.with_rebuild_tags(rows).await? {
                if let Some(piece) = hold.reservation.piece {
                    holds.insert(piece, hold);
                }
            }
        }
        Ok(holds)
    }

    /// The holds that are active at `now` on a lot, earliest end first.
    ///
    /// # Errors
    /// As [`Tx::reservation_by_tag`].
    pub async fn holds_on_lot(&self, lot: LotId, now: i64) -> Result<Vec<Hold>, StorageError> {
        let rows = reservations::Entity::find()
            .filter(reservations::Column::LotId.eq(lot.0))
            .filter(in_state_at(ReservationState::Active, now))
            .order_by_asc(reservations::Column::UntilAt)
            .order_by_asc(reservations::Column::Id)
            .all(&self.inner)
            .await?;
        self.with_rebuild_tags(rows).await
    }

    /// Adds a hold; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the piece has an active hold.
    pub async fn insert_reservation(
        &self,
        mut new: Reservation,
    ) -> Result<Reservation, StorageError> {
        let mut row = reservation_row(&new);
        row.id = NotSet;
        new.id = ReservationId(row.insert(&self.inner).await?.id);
        Ok(new)
    }

    /// Saves a hold, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_reservation(
        &self,
        reservation: &mut Reservation,
    ) -> Result<(), StorageError> {
        let mut row = reservation_row(reservation);
        row.revision = Set(reservation.revision + 1);
        let result = reservations::Entity::update_many()
            .set(row)
            .filter(reservations::Column::Id.eq(reservation.id.0))
            .filter(reservations::Column::Revision.eq(reservation.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        reservation.revision += 1;
        Ok(())
    }

    async fn with_rebuild_tags(
        &self,
        rows: Vec<reservations::Model>,
    ) -> Result<Vec<Hold>, StorageError> {
        let ids: Vec<i64> = rows.iter().map(|row| row.rebuild_id).collect();
        let tags = self
            .texts::<rebuilds::Entity>(rebuilds::Column::Id, rebuilds::Column::Tag, ids)
            .await?;
        rows.into_iter()
            .map(|row| {
                let rebuild_tag = tags.get(&row.rebuild_id).cloned().unwrap_or_default();
                Ok(Hold { reservation: reservation(row)?, rebuild_tag })
            })
            .collect()
    }
}

fn in_state_at(state: ReservationState, now: i64) -> Condition {
    let is = |state: ReservationState| reservations::Column::State.eq(state.as_str());
    let lapsed = Condition::all()
        .add(is(ReservationState::Active))
        .add(reservations::Column::UntilAt.lte(now));
    match state {
        ReservationState::Active => Condition::all()
            .add(is(ReservationState::Active))
            .add(reservations::Column::UntilAt.gt(now)),
        ReservationState::Expired => {
            Condition::any().add(is(ReservationState::Expired)).add(lapsed)
        }
        ReservationState::Released | ReservationState::Consumed => Condition::all().add(is(state)),
    }
}

fn reservation(row: reservations::Model) -> Result<Reservation, StorageError> {
    let id = row.id;
    if row.piece_id.is_some() == row.lot_id.is_some() {
        return Err(corrupt("reservations", id, "it must hold one thing"));
    }
    Ok(Reservation {
        id: ReservationId(id),
        tag: row.tag,
        rebuild: RebuildId(row.rebuild_id),
        piece: row.piece_id.map(PieceId),
        lot: row.lot_id.map(LotId),
        location: LocationId(row.location_id),
        quantity: row.quantity,
        person: row.person,
        until_at: row.until_at,
        state: named("reservations", id, &row.state)?,
        reason: row.reason,
        created_at: row.created_at,
        ended_at: row.ended_at,
        revision: row.revision,
    })
}

fn reservation_row(reservation: &Reservation) -> reservations::ActiveModel {
    reservations::ActiveModel {
        id: Set(reservation.id.0),
        tag: Set(reservation.tag.clone()),
        rebuild_id: Set(reservation.rebuild.0),
        piece_id: Set(reservation.piece.map(|id| id.0)),
        lot_id: Set(reservation.lot.map(|id| id.0)),
        location_id: Set(reservation.location.0),
        quantity: Set(reservation.quantity),
        person: Set(reservation.person.clone()),
        until_at: Set(reservation.until_at),
        state: Set(reservation.state.as_str().to_owned()),
        reason: Set(reservation.reason.clone()),
        created_at: Set(reservation.created_at),
        ended_at: Set(reservation.ended_at),
        revision: Set(reservation.revision),
    }
}
