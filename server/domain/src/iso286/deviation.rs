//! From class and size step to the fundamental deviation: the rules between the tables.
//!
//! Shafts are read from Tables 4 and 5. Holes A to H and K to ZC mirror the shaft of the same
//! letter; K, M, N to IT8 and P to ZC to IT7 add delta over 3 mm (ISO 286-1:2010, Tables 2 and 3).

use super::class::{Class, FundamentalDeviation as Letter, Grade};
use super::tables::{
    DELTA_NM, HOLE_J_READ, HOLE_J_UM, MAIN_STEP, NONE, SHAFT_J, SHAFT_LOWER, SHAFT_UPPER,
    STANDARD_TOLERANCE_NM, STEP_TO_MM, ShaftRow,
};
use super::{Refusal, SIZE_MAX};
use crate::item::Side;
use crate::units::Length;

const NM_PER_UM: i64 = 1_000;
const NM_PER_MM: i64 = 1_000_000;
/// The step 250 to 315 mm, where M6 is an exception.
const MAIN_STEP_250_TO_315: usize = 10;

/// A nominal size placed in the standard's steps.
#[derive(Clone, Copy)]
pub(super) struct Step {
    /// Intermediate step, 0 to 24.
    fine: usize,
    /// Main step, 0 to 12.
    main: usize,
    /// 1 mm or less, where some classes are not used.
    to_1_mm: bool,
}

impl Step {
    /// The step of a nominal size over 0 to 500 mm; a step includes its upper end.
    pub(super) fn of(nominal: Length) -> Option<Step> {
        if nominal <= Length::ZERO || nominal > SIZE_MAX {
            return None;
        }
        let fine = STEP_TO_MM.partition_point(|&to_mm| to_mm * NM_PER_MM < nominal.nm());
        Some(Step { fine, main: MAIN_STEP[fine], to_1_mm: nominal.nm() <= NM_PER_MM })
    }

    fn is_to_3_mm(self) -> bool {
        self.main == 0
    }
}

/// One edge of the tolerance zone, in nanometres from the nominal size, or its symmetry.
#[derive(Clone, Copy)]
pub(super) enum Edge {
    Upper(i64),
    Lower(i64),
    Symmetric,
}

/// The standard tolerance of a grade in nanometres (Table 1).
pub(super) fn standard_tolerance_nm(grade: Grade, step: Step) -> Result<i64, Refusal> {
    if step.to_1_mm && grade.number() >= 14 {
        return Err(Refusal::GradeTo1Mm);
    }
    Ok(i64::from(STANDARD_TOLERANCE_NM[grade.row()][step.main]))
}

/// The edge of the tolerance zone that the fundamental deviation gives.
pub(super) fn edge(class: Class, step: Step) -> Result<Edge, Refusal> {
    match class.side() {
        Side::External => shaft_edge(class, step),
        Side::Internal => hole_edge(class, step),
    }
}

/// The row of Tables 4 and 5 for a shaft; `Js` has none.
fn shaft_row(letter: Letter, grade: Grade) -> Result<&'static ShaftRow, Refusal> {
    if letter <= Letter::H {
        return Ok(&SHAFT_UPPER[letter as usize]);
    }
    if letter >= Letter::K {
        return Ok(&SHAFT_LOWER[letter as usize - Letter::K as usize]);
    }
    match grade.number() {
        5 | 6 => Ok(&SHAFT_J[0]),
        7 => Ok(&SHAFT_J[1]),
        8 => Ok(&SHAFT_J[2]),
        _ => Err(Refusal::GradesOfShaftJ),
    }
}

fn at(row: &ShaftRow, step: Step) -> Result<i64, Refusal> {
    if row.um[step.fine] != NONE {
        return Ok(i64::from(row.um[step.fine]) * NM_PER_UM);
    }
    let first = row.um.iter().position(|&um| um != NONE).expect("no row is empty");
    let last = row.um.iter().rposition(|&um| um != NONE).expect("no row is empty");
    let over_mm = if first == 0 { 0 } else { STEP_TO_MM[first - 1] };
    Err(Refusal::Sizes { over_mm, to_mm: STEP_TO_MM[last] })
}

fn shaft_edge(class: Class, step: Step) -> Result<Edge, Refusal> {
    let (letter, grade) = (class.deviation(), class.grade());
    if letter == Letter::Js {
        return Ok(Edge::Symmetric);
    }
    if letter <= Letter::B && step.to_1_mm {
        return Err(Refusal::LettersAAndBTo1Mm);
    }
    let value = at(shaft_row(letter, grade)?, step)?;
    Ok(match letter {
        Letter::K if !(4..=7).contains(&grade.number()) => Edge::Lower(0),
        letter if letter <= Letter::H => Edge::Upper(value),
        _ => Edge::Lower(value),
    })
}

fn hole_edge(class: Class, step: Step) -> Result<Edge, Refusal> {
    let (letter, number) = (class.deviation(), class.grade().number());
    match letter {
        Letter::Js => return Ok(Edge::Symmetric),
        Letter::J => {
            let row = usize::try_from(number - 6).ok().and_then(|row| HOLE_J_UM.get(row));
            let row = row.ok_or(Refusal::GradesOfHoleJ)?;
            return Ok(Edge::Upper(i64::from(row[step.main]) * NM_PER_UM));
        }
        Letter::A | Letter::B if step.to_1_mm => return Err(Refusal::LettersAAndBTo1Mm),
        Letter::K if number > 8 && !step.is_to_3_mm() => return Err(Refusal::GradesOfHoleK),
        Letter::N if number > 8 && step.to_1_mm => return Err(Refusal::HoleNTo1Mm),
        Letter::N if number > 8 && !step.is_to_3_mm() => return Ok(Edge::Upper(0)),
        _ => {}
    }
    let mirrored = -at(shaft_row(letter, class.grade())?, step)?;
    if letter <= Letter::H {
        return Ok(Edge::Lower(mirrored));
    }
    // The one exception of Table 2: the rule gives -11, the standard prints -9.
    if letter == Letter::M && number == 6 && step.main == MAIN_STEP_250_TO_315 {
        return Ok(Edge::Upper(-9 * NM_PER_UM));
    }
    Ok(Edge::Upper(mirrored + delta_nm(letter, class.grade(), step)?))
}

/// Delta: for K, M, N to IT8 and P to ZC to IT7, over 3 mm; zero otherwise.
fn delta_nm(letter: Letter, grade: Grade, step: Step) -> Result<i64, Refusal> {
    let last = if letter <= Letter::N { 8 } else { 7 };
    if step.is_to_3_mm() || grade.number() > last {
        return Ok(0);
    }
    let row = usize::try_from(grade.number() - 3).map_err(|_| Refusal::NoDelta)?;
    Ok(i64::from(DELTA_NM[row][step.main]))
}

/// Whether a value behind the class at this step is known from memory alone.
pub(super) fn is_from_memory(class: Class, step: Step) -> bool {
    if class.grade().number() <= 0 {
        return true;
    }
    match (class.side(), class.deviation()) {
        (_, Letter::Js) => false,
        (Side::Internal, Letter::J) => {
            let row = usize::try_from(class.grade().number() - 6).ok();
            let read = row.and_then(|row| HOLE_J_READ.get(row));
            !read.is_some_and(|&(first, last)| (first..=last).contains(&step.main))
        }
        (_, letter) => {
            let row = shaft_row(letter, class.grade()).ok().and_then(|row| row.from_memory);
            row.is_some_and(|(first, last)| (first..=last).contains(&step.fine))
        }
    }
}
