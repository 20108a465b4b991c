//! Rolling bearings: what a number on a ring stands for, and how far a ring may lie from nominal.
//!
//! Single-row deep groove ball bearings with cylindrical bores only. Which class a seat should
//! have is in [`crate::seats`], what a fit of two parts comes to in [`crate::fit`].

pub mod boundary;
pub mod designation;
pub mod iso492;
pub mod iso5753;
mod nearest;
mod series;
mod suffix;
