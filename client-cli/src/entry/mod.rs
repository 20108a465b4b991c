//! What a person types, taken apart: lengths, times, money and small lists.
//!
//! Only the form is read here; whether a value makes sense, the server says.

pub(crate) mod lengths;
pub(crate) mod lists;
pub(crate) mod rows;
pub(crate) mod times;
