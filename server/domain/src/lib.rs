//! The pure rules of Tenths: units, standards, fits, uncertainty, wear, disposition, matching.
//!
//! Inputs are values and outputs are values: no I/O, no clock, no randomness, no async.
//! A part out of limits is not an error here but a verdict with its findings; errors are only for
//! input that has no meaning (a length that cannot be written, a class that does not exist).
#![warn(missing_docs)]

pub mod assembly;
pub mod b41;
pub mod bearings;
pub mod bushings;
pub mod disposition;
pub mod entry;
pub mod fit;
pub mod ids;
pub mod iso286;
pub mod item;
pub mod keys;
pub mod matching;
pub mod measure;
pub mod money;
pub mod named;
pub mod options;
pub mod plan;
pub mod policy;
pub mod probability;
pub mod retaining_rings;
pub mod route;
pub mod seats;
pub mod state;
pub mod strength;
pub mod substitution;
pub mod temperature;
pub mod units;
pub mod verdict;
pub mod yields;
