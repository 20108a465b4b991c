//! The use cases on real databases: every test runs on SQLite, and on PostgreSQL where there is one.

#![allow(clippy::unwrap_used, reason = "a failing unwrap fails the test, in its helpers too")]

mod accepting;
mod expiring;
mod finding;
mod holding;
mod idempotency;
mod measuring;
mod operations;
mod planning;
mod property;
mod reconditioning;
mod rework;
mod shop;
mod stale;

#[path = "../../storage/tests/support/mod.rs"]
mod support;
