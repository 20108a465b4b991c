//! `tenths recon ...`

use super::{NumbersRead, Paging};
use crate::entry::times;
use crate::words;
use clap::{Args, Subcommand};
use prost_types::Timestamp;
use std::time::Duration;
use tenths_proto::v1;

#[derive(Debug, Subcommand)]
pub(crate) enum ReconCommand {
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
    /// Finish a job by re-measuring.
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
}

#[derive(Debug, Args)]
pub(crate) struct ReconClaim {
    /// The job; without it the next one by due date.
    pub(crate) tag: Option<String>,
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
