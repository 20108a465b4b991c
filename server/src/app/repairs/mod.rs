//! What can be done with a worn feature of a piece, and what the owner decided.
//!
//! What there is to do, and why not, is [`tenths_domain::options`]; here it is given the readings, the
//! policy in force and the stock, and what was decided is carried out and written down.

mod mates;
mod propose;
mod worn;

pub use propose::{Proposal, propose_repairs};
pub use worn::{AskedRepairs, WornDetails};
