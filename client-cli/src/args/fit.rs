//! `tenths fit`, and what may be known of one side of a fit

use crate::words;
use clap::{ArgGroup, Args};
use std::path::PathBuf;
use tenths_proto::v1;

/// What is known of one size, by the flags that say it.
#[derive(Debug)]
pub(crate) struct Known {
    /// The flag without its dashes.
    pub(crate) flag: &'static str,
    pub(crate) size: Option<String>,
    pub(crate) gauge: Option<String>,
    pub(crate) uncertainty: Option<String>,
    pub(crate) limits: Option<String>,
    pub(crate) at_least: Option<String>,
    pub(crate) at_most: Option<String>,
    pub(crate) piece: Option<String>,
    pub(crate) class: Option<String>,
    pub(crate) ring: Option<String>,
}

/// Defines the flags for one size: `--bore`, `--bore-gauge`, and so on. `$by_class` are the ways
/// that need a nominal size.
macro_rules! known {
    ($name:ident, $flag:literal, $part:literal $(, $by_class:ident = $word:literal, $help:literal)*) => {
        #[doc = concat!("What is known of ", $part, ".")]
        #[derive(Debug, Args)]
        #[command(next_help_heading = concat!("What is known of ", $part))]
        #[group(skip)]
        pub(crate) struct $name {
            #[arg(id = $flag, long = $flag, value_name = "SIZE",
                  conflicts_with_all = [concat!($flag, "-limits"), concat!($flag, "-at-least"),
                                        concat!($flag, "-at-most"), concat!($flag, "-piece")],
                  help = "It was measured: the size at 20 C, or SMALLEST..LARGEST of several readings")]
            size: Option<String>,
            #[arg(id = concat!($flag, "-gauge"), long = concat!($flag, "-gauge"), value_name = "TAG",
                  requires = $flag, conflicts_with = concat!($flag, "-uncertainty"),
                  help = "The gauge that it was measured with")]
            gauge: Option<String>,
            #[arg(id = concat!($flag, "-uncertainty"), long = concat!($flag, "-uncertainty"),
                  value_name = "SIZE", requires = $flag,
                  help = "Expanded uncertainty (k=2) of the reading, instead of a gauge")]
            uncertainty: Option<String>,
            #[arg(id = concat!($flag, "-limits"), long = concat!($flag, "-limits"),
                  value_name = "LOWER..UPPER",
                  conflicts_with_all = [concat!($flag, "-at-least"), concat!($flag, "-at-most"),
                                        concat!($flag, "-piece")],
                  help = "It was not measured: it is anywhere within these limits")]
            limits: Option<String>,
            #[arg(id = concat!($flag, "-at-least"), long = concat!($flag, "-at-least"),
                  value_name = "SIZE", conflicts_with = concat!($flag, "-piece"),
                  help = "A fixed gauge says that it is at least this")]
            at_least: Option<String>,
            #[arg(id = concat!($flag, "-at-most"), long = concat!($flag, "-at-most"),
                  value_name = "SIZE", conflicts_with = concat!($flag, "-piece"),
                  help = "A fixed gauge says that it is at most this")]
            at_most: Option<String>,
            #[arg(id = concat!($flag, "-piece"), long = concat!($flag, "-piece"),
                  value_name = "TAG/FEATURE", help = "The readings of a piece's feature")]
            piece: Option<String>,
            $(
                #[arg(id = concat!($flag, "-", $word), long = concat!($flag, "-", $word),
                      value_name = "CLASS", help = $help,
                      conflicts_with_all = [$flag, concat!($flag, "-limits"),
                                            concat!($flag, "-at-least"), concat!($flag, "-at-most"),
                                            concat!($flag, "-piece")])]
                $by_class: Option<String>,
            )*
        }

        impl From<$name> for Known {
            fn from(given: $name) -> Known {
                #[allow(unused_mut, reason = "only some sizes can be given by a class")]
                let mut known = Known {
                    flag: $flag,
                    size: given.size,
                    gauge: given.gauge,
                    uncertainty: given.uncertainty,
                    limits: given.limits,
                    at_least: given.at_least,
                    at_most: given.at_most,
                    piece: given.piece,
                    class: None,
                    ring: None,
                };
                $( known.$by_class = given.$by_class; )*
                known
            }
        }
    };
}

known!(
    FitBore,
    "bore",
    "the bore",
    class = "class",
    "It was not measured: it is anywhere within this class, such as H7, or RC4 for its hole",
    ring = "ring",
    "It is a bearing ring of this ISO 492 class: normal, 6, 5 or 4"
);
known!(
    FitShaft,
    "shaft",
    "the shaft",
    class = "class",
    "It was not measured: it is anywhere within this class, such as k6, or RC4 for its shaft",
    ring = "ring",
    "It is a bearing ring of this ISO 492 class: normal, 6, 5 or 4"
);
known!(BoreKnown, "bore", "the bore");
known!(ShaftKnown, "shaft", "the shaft");
known!(OdKnown, "od", "the bushing's outside diameter");
known!(HousingKnown, "housing", "the housing's bore");

#[derive(Debug, Args)]
#[command(
    after_help = "A side of which nothing is said is taken as anywhere within its class, or as a \
    bearing ring of class normal where --class names one side only. A rule for running clearance \
    gives one number, the least; how much more is still right is for --running-tolerance to say, \
    or --clearance gives both ends.\n\nA file names its columns in \
    the first line, in any order: nominal, unit, bore, bore_uncertainty, shaft, shaft_uncertainty, \
    class. A class is a pair such as H7/k6, one side's such as k5 for a bearing's ring, or an inch \
    fit such as RC4; an \
    empty bore or shaft is taken as anywhere within its class. Every row is answered in CSV: \
    clearances in micrometres, exact; negative is interference. A row that cannot be answered says \
    why under problem, and the exit code is 3.\n\nExample:\n  tenths fit --nominal 25mm --bore \
    25.003mm --bore-gauge M-07 --shaft 25.008mm --shaft-uncertainty 3um --class H7/k6 --explain\n  \
    tenths fit --nominal 25mm --bore-ring normal --shaft-piece P-104/seat-a --class k5\n  \
    tenths fit --size 1in --class RC4 --shaft 0.9988in --shaft-uncertainty 0.0001in\n  \
    tenths fit --nominal 0.75in --running two_thou_per_inch --running-tolerance 0.0005in --bore \
    0.7518in --shaft 0.7500in\n  \
    tenths fit --from pairs.csv",
    group = ArgGroup::new("asked").args(["class", "hole_class", "clearance", "running", "from"]).required(true)
        .multiple(true)
)]
pub(crate) struct Fit {
    /// The nominal size; needed wherever a class or a rule is given.
    #[arg(long, visible_alias = "size", value_name = "SIZE")]
    pub(crate) nominal: Option<String>,
    #[command(flatten)]
    pub(crate) bore: FitBore,
    #[command(flatten)]
    pub(crate) shaft: FitShaft,
    #[command(flatten)]
    pub(crate) required: FitRequired,
    /// When the fit counts as proven; without it by the full guard band.
    #[arg(long, value_parser = words::decision_rule(), help_heading = "Options")]
    pub(crate) rule: Option<v1::DecisionRule>,
    /// A CSV file of pairs; - reads standard input.
    #[arg(long, value_name = "FILE", help_heading = "Options",
          conflicts_with_all = ["nominal", "bore", "bore-limits", "bore-at-least", "bore-at-most",
                                "bore-piece", "bore-class", "bore-ring", "shaft", "shaft-limits",
                                "shaft-at-least", "shaft-at-most", "shaft-piece", "shaft-class",
                                "shaft-ring", "class", "hole_class", "clearance", "running",
                                "explain"])]
    pub(crate) from: Option<PathBuf>,
    /// Show every value behind the answer and where it comes from.
    #[arg(long, help_heading = "Options")]
    pub(crate) explain: bool,
}

/// What the fit must be.
#[derive(Debug, Args)]
#[group(skip)]
#[command(next_help_heading = "What the fit must be, classes or clearance")]
pub(crate) struct FitRequired {
    /// A pair such as H7/k6, one side's class such as k5 where the other is a bearing's ring, or an
    /// inch fit such as RC4.
    #[arg(long, conflicts_with_all = ["clearance", "running"])]
    pub(crate) class: Option<String>,
    /// The hole's class, such as H7.
    #[arg(long, conflicts_with_all = ["clearance", "running"])]
    pub(crate) hole_class: Option<String>,
    /// The clearance on diameter as LEAST..MOST and a unit; negative is interference.
    #[arg(long, value_name = "LEAST..MOST", allow_hyphen_values = true)]
    pub(crate) clearance: Option<String>,
    /// A rule for the running clearance of a plain bearing; the nominal size is the journal's.
    #[arg(long, value_name = "RULE", value_parser = words::running_rule(),
          conflicts_with = "clearance")]
    pub(crate) running: Option<v1::RunningRule>,
    /// How much more than the rule's number is still right.
    #[arg(long, value_name = "SIZE", requires = "running",
          conflicts_with_all = ["class", "hole_class", "clearance", "from"])]
    pub(crate) running_tolerance: Option<String>,
}
