//! One file per noun: arguments become a request, the answer is printed.

mod assembly;
mod bulk;
mod core;
mod export;
mod find;
mod fit;
mod gauge;
mod health;
mod hold;
mod import;
mod item;
mod ledger;
mod location;
mod lot;
mod measure;
mod piece;
mod planning;
mod policy;
#[cfg(test)]
mod reach;
mod rebuild;
mod recon;
mod repairs;
mod standards;
mod traveler;

use crate::args::{Arguments, Command};
use crate::connect::Session;
use crate::context::Context;
use crate::failure::Failure;
use crate::memory::Memory;
use crate::output::{Format, Printer};
use clap::CommandFactory;
use std::time::Duration;
use tenths_domain::units::Unit;
use uuid::Uuid;

/// How long an answer may take, unless the person says otherwise.
const DEADLINE: Duration = Duration::from_secs(30);

/// Runs one command on standard output and standard error.
pub(crate) async fn run(arguments: Arguments) -> Result<(), Failure> {
    let globals = &arguments.globals;
    let unit = globals.unit.map(Unit::from);
    let format = globals.output.unwrap_or(Format::Table);
    run_with(arguments, Printer::standard(format, unit), Memory::of_person()).await
}

/// Runs one command with any printer.
pub(crate) async fn run_with(
    arguments: Arguments,
    mut printer: Printer,
    memory: Memory,
) -> Result<(), Failure> {
    let globals = arguments.globals;
    let time_limit = globals.timeout.map(Duration::from_secs);
    if let Command::Completions { shell } = arguments.command {
        // The generator panics on a closed pipe, so it writes to memory first.
        let mut script = Vec::new();
        clap_complete::generate(shell, &mut Arguments::command(), "tenths", &mut script);
        printer.out().write_all(&script)?;
        return printer.flush();
    }
    let context = Context {
        person: globals.person,
        request_id: globals.request_id.unwrap_or_else(Uuid::new_v4),
        unit: globals.unit.map(Unit::from),
        is_change: Default::default(),
    };
    let deadline = time_limit.unwrap_or(DEADLINE);
    let mut session = Session::new(&globals.server, deadline, context, printer, memory)?;
    match arguments.command {
        Command::Import(command) => import::run(&mut session, command, time_limit).await,
        Command::Export(command) => export::run(&mut session, &command, time_limit).await,
        command => dispatch(&mut session, command).await,
    }?;
    session.printer.flush()
}

async fn dispatch(session: &mut Session, command: Command) -> Result<(), Failure> {
    match command {
        Command::Item(command) => item::run(session, command).await,
        Command::Core(command) => core::run(session, command).await,
        Command::Location(command) => location::run(session, command).await,
        Command::Gauge(command) => gauge::run(session, command).await,
        Command::Read(command) => measure::read(session, command).await,
        Command::Readings(command) => measure::readings(session, command).await,
        Command::Reading(command) => measure::reading(session, command).await,
        Command::Assess(command) => measure::assess(session, command).await,
        Command::Assessments(command) => measure::assessments(session, command).await,
        Command::Piece(command) => piece::run(session, command).await,
        Command::Lot(command) => lot::run(session, command).await,
        Command::Ledger(command) => ledger::run(session, command).await,
        Command::Limits(command) => standards::limits(session, command).await,
        Command::InchFit(command) => standards::inch_fit(session, command).await,
        Command::Bearing(command) => standards::bearing(session, command).await,
        Command::Seat(command) => standards::seat(session, command).await,
        Command::Extension(command) => standards::extension(session, command).await,
        Command::Key(command) => standards::key(session, command).await,
        Command::RetainingRing(command) => standards::retaining_ring(session, command).await,
        Command::Fit(command) => fit::run(session, *command).await,
        Command::CloseIn(command) => assembly::close_in(session, *command).await,
        Command::RunningClearance(command) => assembly::running_clearance(session, command).await,
        Command::Assembly(command) => assembly::joint(session, *command).await,
        Command::Strength(command) => assembly::strength(session, command).await,
        Command::Find(command) => find::run(session, command).await,
        Command::Recon(command) => recon::run(session, command).await,
        Command::Policy(command) => policy::run(session, command).await,
        Command::Rebuild(command) => rebuild::run(session, command).await,
        Command::Hold(command) => hold::hold(session, command).await,
        Command::Holds(command) => hold::holds(session, command).await,
        Command::Extend(command) => hold::extend(session, command).await,
        Command::Release(command) => hold::release(session, command).await,
        Command::Consume(command) => hold::consume(session, command).await,
        Command::Health => health::run(session).await,
        // These three take more than a session and are done by the caller.
        Command::Import(_) | Command::Export(_) | Command::Completions { .. } => Ok(()),
    }
}
