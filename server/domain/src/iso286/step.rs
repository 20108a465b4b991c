//! The steps of nominal size, "over .. up to and including".

use super::SIZE_MAX;
use super::tables::{MAIN_STEP, MAIN_STEP_TO_MM, STEP_TO_MM};
use crate::units::Length;

const NM_PER_MM: i64 = 1_000_000;

/// The last intermediate step of the part of the tables that ends at 500 mm.
const FINE_STEP_TO_500_MM: usize = 24;

/// A nominal size placed in the standard's steps.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    /// Intermediate step, 0 to 40.
    pub(super) fine: usize,
    /// Main step, 0 to 20.
    pub(super) main: usize,
    /// 1 mm or less, where some classes are not used.
    pub(super) to_1_mm: bool,
}

impl Step {
    /// The step of a nominal size over 0 to 3150 mm; a step includes its upper end.
    pub(super) fn of(nominal: Length) -> Option<Step> {
        if nominal <= Length::ZERO || nominal > SIZE_MAX {
            return None;
        }
        let fine = STEP_TO_MM.partition_point(|&to_mm| to_mm * NM_PER_MM < nominal.nm());
        Some(Step { fine, main: MAIN_STEP[fine], to_1_mm: nominal.nm() <= NM_PER_MM })
    }

    /// Up to 3 mm, where no delta is added.
    pub(super) fn is_to_3_mm(self) -> bool {
        self.main == 0
    }

    /// Over 500 mm, where fewer letters and grades exist and no delta is added.
    pub(super) fn is_over_500_mm(self) -> bool {
        self.fine > FINE_STEP_TO_500_MM
    }

    /// The ends of the intermediate step, in millimetres: over, up to and including.
    pub(super) fn fine_mm(self) -> (i64, i64) {
        ends(&STEP_TO_MM, self.fine)
    }

    /// The ends of the main step, in millimetres: over, up to and including.
    pub(super) fn main_mm(self) -> (i64, i64) {
        ends(&MAIN_STEP_TO_MM, self.main)
    }
}

fn ends(to_mm: &[i64], index: usize) -> (i64, i64) {
    (if index == 0 { 0 } else { to_mm[index - 1] }, to_mm[index])
}
