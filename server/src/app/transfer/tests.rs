//! Imports and exports over a real database in a temporary directory.
//!
//! Rows are written as lines with `|` between the cells, and told apart by line as in a file whose
//! first line is the header.

mod round_trip;
mod shop;
mod single_rows;
mod whole_files;
mod with_the_shop;
