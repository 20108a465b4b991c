//! Whole tables in and out.
