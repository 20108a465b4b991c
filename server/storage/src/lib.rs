//! The only crate that sees the database.
//!
//! [`Store`] opens it; [`Store::read`] and [`Store::write`] run one unit of work in one transaction
//! and hand it a [`Tx`], whose methods speak the language of the trade and take and give domain
//! types. A stored row that the domain rejects is an error, never a silent default.

mod assessments;
mod bulk;
mod by_name;
mod changes;
mod cores;
mod entities;
mod error;
mod gauges;
mod items;
mod jobs;
mod ledger;
mod locations;
mod lots;
mod operations;
mod page;
mod pieces;
mod planning;
mod policies;
mod queue;
mod readings;
mod rebuilds;
mod repair_decisions;
mod reservations;
mod rows;
mod send_outs;
mod stocked;
mod store;
mod tx;
pub mod verify;

pub use assessments::{Assessment, AssessmentFinding, Decision, NewAssessment};
pub use changes::{ChangeCursor, Changes, SubjectKind, TouchedStock};
pub use cores::Core;
pub use error::StorageError;
pub use gauges::Gauge;
pub use items::{Item, ItemFeature};
pub use jobs::{CurrentOperation, Job};
pub use ledger::{LedgerEntry, LedgerSubject, NewLedgerEntry};
pub use locations::Location;
pub use lots::{Lot, LotStock};
pub use operations::JobOperation;
pub use page::Page;
pub use pieces::{Piece, PieceSize};
pub use planning::{JudgedOperations, PlannedJob, WaitingRebuild};
pub use policies::PolicyVersion;
pub use readings::{Reading, ReadingVoid, ReadingsFilter};
pub use rebuilds::Rebuild;
pub use repair_decisions::RepairDecision;
pub use reservations::{Hold, Reservation, ReservationsFilter};
pub use send_outs::{SendOut, SendOutLine};
pub use stocked::{StockedAt, StockedHold, StockedLot, StockedLotHold, StockedPiece, StockedSize};
pub use store::{AsConflict, Store, Work};
pub use tx::{EarlierRequest, NewRequest, Tx};
