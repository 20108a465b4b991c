//! Rolling bearings: boundary dimensions and ring tolerances.

pub mod iso492;
