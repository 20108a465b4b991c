//! `tenths import` and `tenths export`

use crate::words;
use clap::Args;
use std::path::PathBuf;
use tenths_proto::v1;

#[derive(Debug, Args)]
#[command(
    after_help = "The first line names the columns, in any order:\n  items: code, kind, description, \
    designation, material, feature, feature_kind, nominal, tolerance, wear_limit, \
    recondition_limit, out_of_round_limit, taper_limit, reference_station, limit_source, set_of, \
    no_substitute\n  lots: tag, item, quantity, location, date_code, unit_cost\n  pieces: tag, item, condition, location, \
    material, hardness, built_up, state, gauge, dimensions, note\n\nNothing is saved if a row is \
    bad, unless --skip-bad is given; bad rows exit with 3 either way.\n\nExample:\n  tenths import \
    items items.csv --dry-run"
)]
pub(crate) struct Import {
    /// What the rows are.
    #[arg(value_parser = words::table_kind())]
    pub(crate) kind: v1::TableKind,
    /// The CSV file; - reads standard input.
    pub(crate) file: PathBuf,
    /// Check everything, save nothing.
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// Save the good rows although others are bad.
    #[arg(long)]
    pub(crate) skip_bad: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "The columns are those that import takes. The output is CSV, or with --output \
    json one array of objects.\n\nExample:\n  tenths export lots"
)]
pub(crate) struct Export {
    /// What the rows are.
    #[arg(value_parser = words::table_kind())]
    pub(crate) kind: v1::TableKind,
}
