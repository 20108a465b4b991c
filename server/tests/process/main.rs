//! The real `tenthsd` as a process: its settings, its exit codes, and being told to stop.

#![allow(clippy::unwrap_used)] // every line here is a test

mod commands;
mod settings;
mod stopping;
mod support;
