//! Conversions between wire and domain, one file per resource: requests inward, resources outward.

pub mod assembly;
pub mod catalogue;
pub mod common;
pub mod finding;
pub mod fits;
pub mod found;
pub mod knowledge;
pub mod measuring;
pub mod operations;
pub mod planning;
pub mod policies;
pub mod rebuilds;
pub mod receiving;
pub mod reconditioning;
pub mod repairs;
pub mod send_outs;
pub mod standards;
pub mod stock;
pub mod transfer;
