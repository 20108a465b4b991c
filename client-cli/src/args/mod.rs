//! The arguments of every command, and nothing else: one file per noun.

mod assembly;
mod core;
mod find;
mod fit;
mod gauge;
mod hold;
mod item;
mod location;
mod lot;
mod measure;
mod negatives;
mod piece;
mod planning;
mod policy;
mod rebuild;
mod recon;
mod repairs;
mod standards;
mod transfer;

pub(crate) use assembly::{CloseIn, Joint, RunningClearance, Strength};
pub(crate) use core::{CoreCommand, CoreLog};
pub(crate) use find::{
    Duty, Filter, FindCommand, FindMate, FindReplacement, FindSize, Mate, Requirement, Windows,
};
pub(crate) use fit::{Fit, FitRequired, Known};
pub(crate) use gauge::{GaugeAdd, GaugeCommand, GaugeUpdate};
pub(crate) use hold::{Consume, Extend, Hold, Holds, Release};
pub(crate) use item::{FeatureSet, ItemAdd, ItemCommand, ItemUpdate, LimitField};
pub(crate) use location::LocationCommand;
pub(crate) use lot::{LotCommand, LotReceive};
pub(crate) use measure::{Assess, Assessments, NumbersRead, Read, ReadingCommand, Readings};
pub(crate) use piece::{PieceAdd, PieceCommand, PieceUpdate};
pub(crate) use planning::{ReconPlan, ReconTraveler, ReconYields};
pub(crate) use policy::{PolicyCommand, PolicySet};
pub(crate) use rebuild::{RebuildClose, RebuildCommand, RebuildOpen, RebuildUpdate};
pub(crate) use recon::{
    OnClaim, ReconClaim, ReconCommand, ReconEnqueue, ReconFinish, ReconReturn, ReconScrap,
    ReconSend,
};
pub(crate) use repairs::{ReconDecide, ReconPropose, WornPlace};
pub(crate) use standards::{Bearing, Extension, InchFit, KeyFor, Limits, RetainingRing, Seat};
pub(crate) use transfer::{Export, Import};

use crate::exit;
use crate::output::Format;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use std::ffi::OsString;
use tenths_domain::units::Unit;
use uuid::Uuid;

/// Tracks the parts of a repair shop by what they measure.
#[derive(Debug, Parser)]
#[command(name = "tenths", version, after_help = exit::HELP, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) globals: Globals,
    #[command(subcommand)]
    pub(crate) command: Command,
}

impl Arguments {
    /// Reads the words of a command line, the program's name first.
    pub(crate) fn read(
        words: impl IntoIterator<Item = impl Into<OsString>>,
    ) -> Result<Arguments, clap::Error> {
        Arguments::try_parse_from(negatives::joined(words.into_iter().map(Into::into)))
    }
}

/// Arguments that every command takes.
#[derive(Debug, Args)]
pub(crate) struct Globals {
    /// The server, as http://HOST:PORT or HOST:PORT.
    #[arg(
        long,
        global = true,
        env = "TENTHS_SERVER",
        default_value = "http://127.0.0.1:7421",
        help_heading = "Global options"
    )]
    pub(crate) server: String,
    /// Who does it; needed for every change and recorded with it.
    #[arg(long, global = true, env = "TENTHS_PERSON", help_heading = "Global options")]
    pub(crate) person: Option<String>,
    /// The form of the output.
    #[arg(long, global = true, value_enum, help_heading = "Global options")]
    pub(crate) output: Option<Format>,
    /// The unit of lengths typed without one, and of lengths shown [default: as written].
    #[arg(long, global = true, value_enum, env = "TENTHS_UNIT", help_heading = "Global options")]
    pub(crate) unit: Option<ShopUnit>,
    /// Makes a repeat harmless: the same id and arguments have one effect. Give --etag too, where
    /// a command takes it [default: a new one each time].
    #[arg(long, global = true, value_name = "UUID", help_heading = "Global options")]
    pub(crate) request_id: Option<Uuid>,
    /// How long an answer may take; imports and exports have no limit unless this is given
    /// [default: 30].
    #[arg(
        long,
        global = true,
        value_name = "SECONDS",
        value_parser = clap::value_parser!(u64).range(1..=86_400),
        help_heading = "Global options"
    )]
    pub(crate) timeout: Option<u64>,
}

/// The units that a shop works in.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum ShopUnit {
    /// Inch.
    In,
    /// Millimetre.
    Mm,
}

impl From<ShopUnit> for Unit {
    fn from(unit: ShopUnit) -> Self {
        match unit {
            ShopUnit::In => Unit::Inch,
            ShopUnit::Mm => Unit::Millimetre,
        }
    }
}

/// What a list shows of a long answer.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct Paging {
    /// Everything, page after page.
    #[arg(long)]
    pub(crate) all: bool,
    /// Rows per page, up to 500; 0 lets the server choose.
    #[arg(long, value_name = "ROWS", default_value_t = 0,
          value_parser = clap::value_parser!(i32).range(0..))]
    pub(crate) page_size: i32,
    /// Where to go on, as the page before said.
    #[arg(long, value_name = "TOKEN")]
    pub(crate) page_token: Option<String>,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// The catalogue: what a piece or lot is one of.
    #[command(subcommand)]
    Item(ItemCommand),
    /// Cores: log, grade, move, tear down.
    #[command(subcommand)]
    Core(CoreCommand),
    /// Places.
    #[command(subcommand)]
    Location(LocationCommand),
    /// The gauge register.
    #[command(subcommand)]
    Gauge(GaugeCommand),
    /// Record readings of a piece.
    Read(Read),
    /// List readings.
    Readings(Readings),
    /// Correct the record of readings.
    #[command(subcommand)]
    Reading(ReadingCommand),
    /// Judge a piece by its readings and draw its profile.
    Assess(Assess),
    /// List recorded assessments.
    Assessments(Assessments),
    /// Tagged pieces, one part each.
    #[command(subcommand)]
    Piece(PieceCommand),
    /// Lots of new stock, counted.
    #[command(subcommand)]
    Lot(LotCommand),
    /// List the movements of stock.
    Ledger(Ledger),
    /// Limits of size of a tolerance class, one or a file of them.
    Limits(Limits),
    /// A standard inch fit: limits of hole and shaft.
    InchFit(InchFit),
    /// A rolling bearing by its number, or the numbers that have given sizes.
    Bearing(Bearing),
    /// The tolerance class that a bearing's seat should have.
    Seat(Seat),
    /// What a standard allows a motor's shaft extension.
    Extension(Extension),
    /// The key for a shaft, or what a worn keyseat calls for.
    Key(KeyFor),
    /// The groove of a retaining ring.
    RetainingRing(RetainingRing),
    /// Judge the fit of two parts, one pair or a file of them.
    Fit(Box<Fit>),
    /// How far a bushing's bore closes in when it is pressed.
    CloseIn(Box<CloseIn>),
    /// The running clearance of a plain bearing by a rule.
    RunningClearance(RunningClearance),
    /// Pressure, press force and heating of a joint.
    Assembly(Box<Joint>),
    /// The torque of a shaft and the diameter that it needs.
    Strength(Strength),
    /// Find what in stock fits a measured part.
    #[command(subcommand)]
    Find(FindCommand),
    /// The reconditioning queue.
    #[command(subcommand)]
    Recon(ReconCommand),
    /// The shop's policy for worn parts: limits, steps, methods, costs.
    #[command(subcommand)]
    Policy(PolicyCommand),
    /// Rebuilds: open, show, list, close.
    #[command(subcommand)]
    Rebuild(RebuildCommand),
    /// Hold pieces and parts of lots for a rebuild, all or nothing.
    Hold(Hold),
    /// List holds, or show one.
    Holds(Holds),
    /// Let a hold last longer.
    #[command(visible_alias = "hold-extend")]
    Extend(Extend),
    /// Give holds back.
    Release(Release),
    /// Consume what is held for a rebuild.
    Consume(Consume),
    /// Import items, lots or pieces from CSV.
    Import(Import),
    /// Export items, lots or pieces as CSV.
    Export(Export),
    /// Ask the server whether it serves.
    #[command(after_help = "Example:\n  tenths health")]
    Health,
    /// Print the completion script for a shell.
    #[command(after_help = "Example:\n  tenths completions bash")]
    Completions {
        /// The shell.
        shell: Shell,
    },
}

/// `ledger`
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  tenths ledger --tag P-104")]
pub(crate) struct Ledger {
    /// Only movements of this core, piece or lot.
    #[arg(long)]
    pub(crate) tag: Option<String>,
    /// Only movements for this rebuild.
    #[arg(long)]
    pub(crate) rebuild: Option<String>,
    #[command(flatten)]
    pub(crate) paging: Paging,
}

#[cfg(test)]
pub(crate) mod tests;
