//! `tenths recon plan`, `yields`, `traveler`: in what order work is done, and its paper.

use crate::words;
use clap::Args;
use std::path::PathBuf;
use tenths_proto::v1;

#[derive(Debug, Args)]
pub(crate) struct ReconPlan {
    /// The machine.
    #[arg(value_parser = words::work_machine())]
    pub(crate) machine: v1::WorkMachine,
    /// Put the plan in force: `recon claim` then hands the jobs out in this order.
    #[arg(long)]
    pub(crate) release: bool,
    /// The working day from now on, in minutes; without it 480.
    #[arg(long, value_name = "MINUTES")]
    pub(crate) day: Option<i32>,
    /// What to take for an operation whose minutes the policy does not set.
    #[arg(long, value_name = "MINUTES")]
    pub(crate) assume: Option<i32>,
}

#[derive(Debug, Args)]
pub(crate) struct ReconYields {
    /// Only this operation.
    #[arg(long, value_parser = words::operation_kind())]
    pub(crate) operation: Option<v1::OperationKind>,
    /// Only this vendor.
    #[arg(long, default_value = "")]
    pub(crate) vendor: String,
}

#[derive(Debug, Args)]
pub(crate) struct ReconTraveler {
    /// The job's tag.
    pub(crate) tag: String,
    /// The file to write; without it standard output.
    #[arg(long, value_name = "FILE")]
    pub(crate) to: Option<PathBuf>,
}
