//! The storage crate on real databases: every test runs on SQLite, and on PostgreSQL where there
//! is one.

#![allow(clippy::unwrap_used, reason = "a failing unwrap fails the test, in its helpers too")]

mod cancelled;
mod changes;
mod concurrent;
mod counters;
mod history;
mod migrating;
mod policies;
mod raw;
mod revisions;
mod schema;
mod stocked;
mod transactions;
mod used_shop;
mod verify;

#[path = "../support/mod.rs"]
mod support;
