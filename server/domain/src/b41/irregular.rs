//! What the printed tables of ANSI B4.1 do against their own rules, kept as printed.
//!
//! Two kinds: a printed clearance that does not follow from the limits printed beside it (both are
//! kept; the limits hold), and a tolerance that is not the width of its own grade.

use super::class::{FitClass, FitFamily};

/// One irregularity.
#[derive(Debug)]
pub(super) struct Irregularity {
    family: FitFamily,
    number: u8,
    /// Upper end of its step, in hundredths of an inch.
    to: u16,
    /// The clearance printed where it differs, in hundredths of a thousandth of an inch.
    pub(super) printed_min: Option<i16>,
    pub(super) printed_max: Option<i16>,
    pub(super) note: &'static str,
}

const fn width(family: FitFamily, number: u8, to: u16, note: &'static str) -> Irregularity {
    Irregularity { family, number, to, printed_min: None, printed_max: None, note }
}

use FitFamily::{
    LocationalClearance as Lc, LocationalInterference as Ln, LocationalTransition as Lt,
};

const LN1_NOTE: &str = "the shaft is printed as wide as this, although n5 stands above it and grade \
                        5 is 0.0001 in narrower in this step";
const LT1_NOTE: &str =
    "the shaft is printed 0.0001 in narrower than grade 6 in this step, to give whole tenths";
const LT2_NOTE: &str =
    "the shaft is printed narrower than grade 7 in this step, to give whole tenths";

const IRREGULARITIES: [Irregularity; 11] = [
    Irregularity {
        family: Lc,
        number: 8,
        to: 12,
        printed_min: None,
        printed_max: Some(200),
        note: "the printed maximum clearance 0.0020 in does not follow from the limits printed \
               beside it, which give 0.0036 in; the limits hold",
    },
    Irregularity {
        family: Lc,
        number: 8,
        to: 197,
        printed_min: Some(360),
        printed_max: None,
        note: "one copy of the table prints the minimum clearance 0.0036 in; the limits beside it \
               give 0.0030 in and hold",
    },
    width(
        Lc,
        1,
        12,
        "the shaft is 0.00015 in wide, although h5 stands above it and grade 5 is 0.0002 in in this \
         step",
    ),
    width(
        Lt,
        1,
        12,
        "the shaft is printed +-0.00012 in, although grade 6 (0.00025 in) would halve to 0.000125 \
         in",
    ),
    width(Lt, 1, 315, LT1_NOTE),
    width(Lt, 1, 473, LT1_NOTE),
    width(Lt, 2, 1575, LT2_NOTE),
    width(Lt, 2, 1969, LT2_NOTE),
    width(Ln, 1, 71, LN1_NOTE),
    width(Ln, 1, 119, LN1_NOTE),
    width(Ln, 1, 197, LN1_NOTE),
];

/// What is irregular about a class in the step that ends at `to`.
pub(super) fn irregularity(class: FitClass, to: u16) -> Option<&'static Irregularity> {
    let key = (class.family(), class.number(), to);
    IRREGULARITIES.iter().find(|found| (found.family, found.number, found.to) == key)
}
