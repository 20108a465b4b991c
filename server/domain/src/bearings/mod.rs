//! Rolling bearings: what a number on a ring stands for, and how far a ring may lie from nominal.
//!
//! Radial bearings with cylindrical bores only. Seats and housings are in [`crate::fit`].

pub mod designation;
pub mod iso492;
