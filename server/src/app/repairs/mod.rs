//! What can be done with a worn feature of a piece, and what the owner decided.
//!
//! What there is to do, and why not, is [`tenths_domain::options`]; here it is given the readings, the
//! policy in force and the stock, and what was decided is carried out and written down.

mod decide;
mod mates;
mod propose;
mod recorded;
mod worn;

pub use decide::{DecideRepair, Decided, decide_repair};
pub(crate) use propose::best_in_words;
pub use propose::{Proposal, propose_repairs};
pub use recorded::{DecisionView, list_repair_decisions};
pub use worn::{AskedRepairs, WornDetails};
