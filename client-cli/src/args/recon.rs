//! `tenths recon ...`

use super::{
    NumbersRead, Paging, ReconDecide, ReconPlan, ReconPropose, ReconTraveler, ReconYields,
};
use crate::entry::times;
use crate::words;
use clap::{Args, Subcommand};
use prost_types::Timestamp;
use std::time::Duration;
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum ReconCommand {
    /// Show every option for a worn feature, ranked: reuse, regrind, build up, sleeve, replace, scrap.
    #[command(
        after_help = "Example:\n  tenths recon propose P-104 --feature disc --run-out 0.001in \
        --power 2hp --rpm 1725 --replacement-cost \"410.00 USD\" --mate-clearance 0.001..0.0025in"
    )]
    Propose(Box<ReconPropose>),
    /// Decide for one option: opens its job, puts the piece into stock, or scraps it.
    #[command(
        after_help = "Example:\n  tenths recon decide P-104 --feature disc --run-out 0.001in \
        --power 2hp --rpm 1725 --replacement-cost \"410.00 USD\" --repair regrind_2 --reason \
        \"step 1 leaves no metal for another time\" --due 2026-12-01"
    )]
    Decide(Box<ReconDecide>),
    /// List what was decided beside what was proposed.
    #[command(after_help = "Example:\n  tenths recon decisions --piece P-104")]
    Decisions {
        /// Only decisions on this piece.
        #[arg(long)]
        piece: Option<String>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Put a piece into the queue.
    #[command(
        after_help = "Example:\n  tenths recon enqueue P-104 --feature seat-a --method build_up \
        --due 2026-12-01"
    )]
    Enqueue(ReconEnqueue),
    /// Show a job.
    #[command(after_help = "Example:\n  tenths recon show J-12")]
    Show {
        /// The job's tag.
        tag: String,
    },
    /// List jobs.
    #[command(after_help = "Example:\n  tenths recon list --state queued")]
    List {
        /// Only jobs in this state.
        #[arg(long, value_parser = words::job_state())]
        state: Option<v1::JobState>,
        /// Only jobs of this piece.
        #[arg(long)]
        piece: Option<String>,
        #[command(flatten)]
        paging: Paging,
    },
    /// Plan a machine's queue: what to do in which order, in which batches, and why.
    #[command(
        after_help = "Example:\n  tenths recon plan cylindrical_grinder --assume 45\n  tenths recon \
        plan cylindrical_grinder --release"
    )]
    Plan(ReconPlan),
    /// List how often operations were good the first time.
    #[command(after_help = "Example:\n  tenths recon yields --operation plate")]
    Yields(ReconYields),
    /// Write a job's traveler: one page to print that goes with the piece.
    #[command(after_help = "Example:\n  tenths recon traveler J-12 --to J-12.html")]
    Traveler(ReconTraveler),
    /// Claim a job, or the next one; the answer has the token for everything that follows.
    #[command(after_help = "Example:\n  tenths recon claim J-12 --lease 2h")]
    Claim(ReconClaim),
    /// Keep a claim for longer.
    #[command(after_help = "Example:\n  tenths recon renew J-12 --token 3 --lease 2h")]
    Renew {
        /// The job's tag.
        tag: String,
        /// The token of the claim.
        #[arg(long)]
        token: i64,
        /// How long from now, such as 30m or 2h.
        #[arg(long, value_parser = times::span)]
        lease: Option<Duration>,
    },
    /// Give a claim back.
    #[command(after_help = "Example:\n  tenths recon release J-12 --token 3")]
    Release {
        /// The job's tag.
        tag: String,
        /// The token of the claim.
        #[arg(long)]
        token: i64,
    },
    /// Start the operation that was claimed, or go on with it after a pause.
    #[command(after_help = "Example:\n  tenths recon start J-12 --token 3")]
    Start(OnClaim),
    /// Lay the operation aside; the claim stays.
    #[command(after_help = "Example:\n  tenths recon pause J-12 --token 3")]
    Pause(OnClaim),
    /// Finish the operation; the next one waits for its own worker.
    #[command(after_help = "Example:\n  tenths recon done J-12 --token 3")]
    Done {
        #[command(flatten)]
        claim: OnClaim,
        /// A note.
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Say that the operation cannot be done: the job ends, a person decides on the piece.
    #[command(
        after_help = "Example:\n  tenths recon reject J-12 --token 3 --reason poor_bond --note \
        \"flakes at the shoulder\""
    )]
    Reject {
        #[command(flatten)]
        claim: OnClaim,
        /// The reason code.
        #[arg(long, value_parser = words::reject_reason())]
        reason: v1::RejectReason,
        /// A note; required for "other".
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Show what is in front of a machine, and again after every change, until it is stopped.
    #[command(after_help = "Example:\n  tenths recon watch cylindrical_grinder")]
    Watch {
        /// The machine.
        #[arg(value_parser = words::work_machine())]
        machine: v1::WorkMachine,
        /// Most jobs to show.
        #[arg(long, default_value_t = 0, hide_default_value = true)]
        jobs: i32,
        /// Stop after so many answers.
        #[arg(long, default_value_t = 0, hide_default_value = true)]
        answers: i32,
    },
    /// Send the pieces of jobs to a vendor.
    #[command(
        after_help = "Example:\n  tenths recon send J-12 J-15 --to PLATER --order PO-881 --due \
        2026-12-10"
    )]
    Send(ReconSend),
    /// Take back what a vendor returns; what is not named stays out.
    #[command(
        after_help = "Example:\n  tenths recon return S-4 --line 1 --line 2 --short 3 --at R-1"
    )]
    Return(ReconReturn),
    /// List what is away at vendors, the oldest first.
    #[command(after_help = "Example:\n  tenths recon away --at PLATER")]
    Away {
        /// Only at this vendor's location.
        #[arg(long)]
        at: Option<String>,
        /// Also what is closed: nothing of it is out any more.
        #[arg(long)]
        closed: bool,
        #[command(flatten)]
        paging: Paging,
    },
    /// Finish a job, at its last operation, by re-measuring.
    #[command(
        after_help = "Example:\n  tenths recon finish J-12 --token 3 --gauge M-07 --mm \"A0 25.008 \
        A90 25.007 B0 25.008 B90 25.008\" --at A-1-3"
    )]
    Finish(ReconFinish),
    /// End a job by scrapping its piece.
    #[command(
        after_help = "Example:\n  tenths recon scrap J-12 --token 3 --reason will_not_clean_up"
    )]
    Scrap(ReconScrap),
}

#[derive(Debug, Args)]
pub(crate) struct ReconEnqueue {
    /// The piece.
    pub(crate) piece: String,
    /// The feature to be reconditioned.
    #[arg(long)]
    pub(crate) feature: String,
    /// How.
    #[arg(long, value_parser = words::method())]
    pub(crate) method: v1::Method,
    /// The finished size as SMALLEST..LARGEST and a unit; without it the item's limits.
    #[arg(long, value_name = "SMALLEST..LARGEST")]
    pub(crate) target: Option<String>,
    /// Why; without it the reason of the latest assessment.
    #[arg(long, default_value = "")]
    pub(crate) reason: String,
    /// When it is due.
    #[arg(long, value_parser = times::time, help = format!("When it is due: {}", times::HELP))]
    pub(crate) due: Option<Timestamp>,
    /// The rack it waits on.
    #[arg(long, default_value = "")]
    pub(crate) at: String,
    /// A vendor does the work: see `recon send`.
    #[arg(long)]
    pub(crate) at_vendor: bool,
    /// The rebuild that waits for the piece: its value puts the job forward.
    #[arg(long, default_value = "")]
    pub(crate) rebuild: String,
}

/// A job that was claimed.
#[derive(Debug, Args)]
pub(crate) struct OnClaim {
    /// The job's tag.
    pub(crate) tag: String,
    /// The token of the claim.
    #[arg(long)]
    pub(crate) token: i64,
}

#[derive(Debug, Args)]
pub(crate) struct ReconSend {
    /// The jobs, one a line.
    #[arg(required = true)]
    pub(crate) jobs: Vec<String>,
    /// The vendor's location.
    #[arg(long)]
    pub(crate) to: String,
    /// The shop's purchase order.
    #[arg(long, default_value = "")]
    pub(crate) order: String,
    /// When it is due back.
    #[arg(long, value_parser = times::time, help = format!("When it is due back: {}", times::HELP))]
    pub(crate) due: Option<Timestamp>,
    /// A note.
    #[arg(long, default_value = "")]
    pub(crate) note: String,
}

#[derive(Debug, Args)]
pub(crate) struct ReconReturn {
    /// The send-out's tag.
    pub(crate) tag: String,
    /// A line that is back; may be given again.
    #[arg(long = "line", value_name = "LINE")]
    pub(crate) lines: Vec<i32>,
    /// A line that the vendor will not return: the piece is written off; may be given again.
    #[arg(long = "short", value_name = "LINE")]
    pub(crate) short: Vec<i32>,
    /// Where the pieces go; without it each goes where it was sent from.
    #[arg(long, default_value = "")]
    pub(crate) at: String,
    /// A note on how they came back.
    #[arg(long, default_value = "")]
    pub(crate) note: String,
}

#[derive(Debug, Args)]
pub(crate) struct ReconClaim {
    /// The job; without it the next one.
    pub(crate) tag: Option<String>,
    /// Only the next one for this machine.
    #[arg(long, value_parser = words::work_machine(), conflicts_with = "tag")]
    pub(crate) machine: Option<v1::WorkMachine>,
    /// How long the lease lasts, such as 30m or 2h.
    #[arg(long, value_parser = times::span)]
    pub(crate) lease: Option<Duration>,
}

#[derive(Debug, Args)]
pub(crate) struct ReconFinish {
    /// The job's tag.
    pub(crate) tag: String,
    /// The token of the claim.
    #[arg(long)]
    pub(crate) token: i64,
    /// The feature measured; without it the job's own.
    #[arg(long)]
    pub(crate) feature: Option<String>,
    #[command(flatten)]
    pub(crate) numbers: NumbersRead,
    /// Run-out between centres after the work, as total indicator reading; asked for where the shaft
    /// was straightened.
    #[arg(long, value_name = "SIZE")]
    pub(crate) run_out: Option<String>,
    /// Where the piece goes if it goes into stock.
    #[arg(long, default_value = "")]
    pub(crate) at: String,
}

#[derive(Debug, Args)]
pub(crate) struct ReconScrap {
    /// The job's tag.
    pub(crate) tag: String,
    /// The token of the claim.
    #[arg(long)]
    pub(crate) token: i64,
    /// The reason code.
    #[arg(long, value_parser = words::scrap_reason())]
    pub(crate) reason: v1::ScrapReason,
    /// A note.
    #[arg(long, default_value = "")]
    pub(crate) note: String,
}
