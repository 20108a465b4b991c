//! Send-outs: what is away at a vendor, line by line.

use crate::entities::{send_out_lines, send_outs};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{named, one_row};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use tenths_domain::ids::{JobId, LocationId, PieceId, SendOutId};
use tenths_domain::state::SendOutLineState;

/// Parts sent to a vendor together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SendOut {
    /// Row number; 0 before it is stored.
    pub id: SendOutId,
    /// The tag.
    pub tag: String,
    /// The vendor.
    pub location: LocationId,
    /// The shop's purchase order, or empty.
    pub order_number: String,
    /// When it is due back, in Unix microseconds.
    pub due_back_at: Option<i64>,
    /// A note, or empty.
    pub note: String,
    /// Who sent it.
    pub person: String,
    /// When it was sent, in Unix microseconds.
    pub created_at: i64,
    /// When its last line ended.
    pub closed_at: Option<i64>,
    /// Version.
    pub revision: i64,
}

/// One part of a send-out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SendOutLine {
    /// Row number; 0 before it is stored.
    pub id: i64,
    /// The send-out.
    pub send_out: SendOutId,
    /// Its number in the send-out, from 1.
    pub line: i64,
    /// The job.
    pub job: JobId,
    /// The piece.
    pub piece: PieceId,
    /// The first operation that the vendor does.
    pub first_position: i64,
    /// The last operation that the vendor does.
    pub last_position: i64,
    /// Where the piece was sent from.
    pub from_location: LocationId,
    /// Where the line stands.
    pub state: SendOutLineState,
    /// When it ended, in Unix microseconds.
    pub ended_at: Option<i64>,
    /// Who ended it, or empty.
    pub ended_by: String,
    /// A note on how it came back, or empty.
    pub note: String,
}

impl Tx {
    /// The send-out of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn send_out_by_tag(&self, tag: &str) -> Result<Option<SendOut>, StorageError> {
        let query = self.locked(send_outs::Entity::find().filter(send_outs::Column::Tag.eq(tag)));
        Ok(query.one(&self.inner).await?.map(send_out))
    }

    /// Send-outs in order of sending, the oldest first.
    ///
    /// # Errors
    /// As [`Tx::send_out_by_tag`].
    pub async fn send_outs_page(
        &self,
        page: Page,
        only_open: bool,
        location: Option<LocationId>,
    ) -> Result<Vec<SendOut>, StorageError> {
        let mut query = send_outs::Entity::find().filter(send_outs::Column::Id.gt(page.after));
        if only_open {
            query = query.filter(send_outs::Column::ClosedAt.is_null());
        }
        if let Some(location) = location {
            query = query.filter(send_outs::Column::LocationId.eq(location.0));
        }
        let rows =
            query.order_by_asc(send_outs::Column::Id).limit(page.limit).all(&self.inner).await?;
        Ok(rows.into_iter().map(send_out).collect())
    }

    /// The lines of these send-outs, by send-out and line.
    ///
    /// # Errors
    /// As [`Tx::send_out_by_tag`].
    pub async fn send_out_lines(
        &self,
        send_outs: impl Into<Vec<SendOutId>>,
    ) -> Result<Vec<SendOutLine>, StorageError> {
        let ids: Vec<i64> = send_outs.into().into_iter().map(|id| id.0).collect();
        let column = send_out_lines::Column::SendOutId;
        let mut rows = self.rows_in::<send_out_lines::Entity>(column, &ids).await?;
        rows.sort_by_key(|row| (row.send_out_id, row.line));
        rows.into_iter().map(line).collect()
    }

    /// Adds a send-out with its lines; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if a piece of it is away already.
    pub async fn insert_send_out(
        &self,
        mut new: SendOut,
        lines: &[SendOutLine],
    ) -> Result<SendOut, StorageError> {
        let mut row = send_out_row(&new);
        row.id = NotSet;
        new.id = SendOutId(row.insert(&self.inner).await?.id);
        for one in lines {
            let mut row = line_row(one);
            (row.id, row.send_out_id) = (NotSet, Set(new.id.0));
            row.insert(&self.inner).await?;
        }
        Ok(new)
    }

    /// Saves a send-out, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_send_out(&self, saved: &mut SendOut) -> Result<(), StorageError> {
        let mut row = send_out_row(saved);
        row.revision = Set(saved.revision + 1);
        let result = send_outs::Entity::update_many()
            .set(row)
            .filter(send_outs::Column::Id.eq(saved.id.0))
            .filter(send_outs::Column::Revision.eq(saved.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        saved.revision += 1;
        Ok(())
    }

    /// Saves how a line ended; only one that is out can.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it ended meanwhile.
    pub async fn save_send_out_line(&self, saved: &SendOutLine) -> Result<(), StorageError> {
        let result = send_out_lines::Entity::update_many()
            .set(line_row(saved))
            .filter(send_out_lines::Column::Id.eq(saved.id))
            .filter(send_out_lines::Column::State.eq(SendOutLineState::Out.as_str()))
            .exec(&self.inner)
            .await?;
        one_row(&result)
    }
}

fn send_out(row: send_outs::Model) -> SendOut {
    SendOut {
        id: SendOutId(row.id),
        tag: row.tag,
        location: LocationId(row.location_id),
        order_number: row.order_number,
        due_back_at: row.due_back_at,
        note: row.note,
        person: row.person,
        created_at: row.created_at,
        closed_at: row.closed_at,
        revision: row.revision,
    }
}

fn send_out_row(one: &SendOut) -> send_outs::ActiveModel {
    send_outs::ActiveModel {
        id: Set(one.id.0),
        tag: Set(one.tag.clone()),
        location_id: Set(one.location.0),
        order_number: Set(one.order_number.clone()),
        due_back_at: Set(one.due_back_at),
        note: Set(one.note.clone()),
        person: Set(one.person.clone()),
        created_at: Set(one.created_at),
        closed_at: Set(one.closed_at),
        revision: Set(one.revision),
    }
}

fn line(row: send_out_lines::Model) -> Result<SendOutLine, StorageError> {
    Ok(SendOutLine {
        id: row.id,
        send_out: SendOutId(row.send_out_id),
        line: row.line,
        job: JobId(row.job_id),
        piece: PieceId(row.piece_id),
        first_position: row.first_position,
        last_position: row.last_position,
        from_location: LocationId(row.from_location_id),
        state: named("send_out_lines", row.id, &row.state)?,
        ended_at: row.ended_at,
        ended_by: row.ended_by,
        note: row.note,
    })
}

fn line_row(one: &SendOutLine) -> send_out_lines::ActiveModel {
    send_out_lines::ActiveModel {
        id: Set(one.id),
        send_out_id: Set(one.send_out.0),
        line: Set(one.line),
        job_id: Set(one.job.0),
        piece_id: Set(one.piece.0),
        first_position: Set(one.first_position),
        last_position: Set(one.last_position),
        from_location_id: Set(one.from_location.0),
        state: Set(one.state.as_str().to_owned()),
        ended_at: Set(one.ended_at),
        ended_by: Set(one.ended_by.clone()),
        note: Set(one.note.clone()),
    }
}
