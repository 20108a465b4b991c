//! From class and size step to the fundamental deviation: the rules between the tables.
//!
//! Shafts are read from Tables 4 and 5. Holes A to H and K to ZC mirror the shaft of the same
//! letter; K, M, N to IT8 and P to ZC to IT7 add delta over 3 to 500 mm (ISO 286-1:2010, Tables 2
//! and 3).

use super::class::{Class, FundamentalDeviation as Letter, Grade};
use super::refusal::Refusal;
use super::step::Step;
use super::tables::{
    DELTA_NM, HOLE_J_UM, NO_GRADE, NONE, SHAFT_J, SHAFT_LOWER, SHAFT_UPPER, STANDARD_TOLERANCE_NM,
    STEP_TO_MM, ShaftRow,
};
use crate::item::Side;

const NM_PER_UM: i64 = 1_000;
/// The step 250 to 315 mm, where M6 is an exception.
const MAIN_STEP_250_TO_315: usize = 10;
/// ES of M6 over 250 to 315 mm: the rule gives -11, Table 2 prints -9.
const M6_EXCEPTION_NM: i64 = -9 * NM_PER_UM;

/// One edge of the tolerance zone, in nanometres from the nominal size, or its symmetry.
#[derive(Clone, Copy, Debug)]
pub(super) enum Edge {
    Upper(i64),
    Lower(i64),
    Symmetric,
}

/// By which rule an edge follows from the tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rule {
    /// Half the tolerance to each side (js, JS).
    Half,
    /// Read as it stands (shafts, holes J).
    Read,
    /// Zero by the table's own columns: k outside IT4 to IT7, N over IT8 over 3 to 500 mm.
    Zero,
    /// The shaft's value with the other sign.
    Mirror,
    /// The shaft's value with the other sign, plus delta.
    MirrorPlusDelta {
        /// Delta, in nanometres.
        delta_nm: i64,
    },
    /// M6 over 250 to 315 mm.
    ExceptionM6,
}

/// An edge with the rule that gave it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Origin {
    pub(super) edge: Edge,
    pub(super) rule: Rule,
}

/// The standard tolerance of a grade in nanometres (Table 1).
pub(super) fn standard_tolerance_nm(grade: Grade, step: Step) -> Result<i64, Refusal> {
    if step.to_1_mm && grade.number() >= 14 {
        return Err(Refusal::GradeTo1Mm);
    }
    match STANDARD_TOLERANCE_NM[grade.row()][step.main] {
        NO_GRADE => Err(Refusal::GradeOver500Mm),
        nm => Ok(i64::from(nm)),
    }
}

/// The edge of the tolerance zone that the fundamental deviation gives.
pub(super) fn origin(class: Class, step: Step) -> Result<Origin, Refusal> {
    match class.side() {
        Side::External => shaft(class, step),
        Side::Internal => hole(class, step),
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
    Err(sizes(row))
}

/// Where a letter does have values.
#[cold]
fn sizes(row: &ShaftRow) -> Refusal {
    let first = row.um.iter().position(|&um| um != NONE).expect("no row is empty");
    let last = row.um.iter().rposition(|&um| um != NONE).expect("no row is empty");
    let over_mm = if first == 0 { 0 } else { STEP_TO_MM[first - 1] };
    Refusal::Sizes { over_mm, to_mm: STEP_TO_MM[last] }
}

fn shaft(class: Class, step: Step) -> Result<Origin, Refusal> {
    let (letter, grade) = (class.deviation(), class.grade());
    if letter == Letter::Js {
        return Ok(Origin { edge: Edge::Symmetric, rule: Rule::Half });
    }
    if letter <= Letter::B && step.to_1_mm {
        return Err(Refusal::LettersAAndBTo1Mm);
    }
    let value = at(shaft_row(letter, grade)?, step)?;
    let is_zero_k = letter == Letter::K && !(4..=7).contains(&grade.number());
    Ok(match letter {
        _ if is_zero_k => Origin { edge: Edge::Lower(0), rule: Rule::Zero },
        letter if letter <= Letter::H => Origin { edge: Edge::Upper(value), rule: Rule::Read },
        _ => Origin { edge: Edge::Lower(value), rule: Rule::Read },
    })
}

fn hole(class: Class, step: Step) -> Result<Origin, Refusal> {
    let (letter, number) = (class.deviation(), class.grade().number());
    match letter {
        Letter::Js => return Ok(Origin { edge: Edge::Symmetric, rule: Rule::Half }),
        Letter::J => return hole_j(number, step),
        Letter::A | Letter::B if step.to_1_mm => return Err(Refusal::LettersAAndBTo1Mm),
        Letter::K if step.is_over_500_mm() && !(6..=8).contains(&number) => {
            return Err(Refusal::GradesOfHoleKOver500Mm);
        }
        Letter::K if number > 8 && !step.is_to_3_mm() => return Err(Refusal::GradesOfHoleK),
        Letter::N if number > 8 && step.to_1_mm => return Err(Refusal::HoleNTo1Mm),
        Letter::N if number > 8 && !step.is_to_3_mm() && !step.is_over_500_mm() => {
            return Ok(Origin { edge: Edge::Upper(0), rule: Rule::Zero });
        }
        _ => {}
    }
    let mirrored = -at(shaft_row(letter, class.grade())?, step)?;
    if letter <= Letter::H {
        return Ok(Origin { edge: Edge::Lower(mirrored), rule: Rule::Mirror });
    }
    if letter == Letter::M && number == 6 && step.main == MAIN_STEP_250_TO_315 {
        return Ok(Origin { edge: Edge::Upper(M6_EXCEPTION_NM), rule: Rule::ExceptionM6 });
    }
    Ok(match delta_nm(letter, class.grade(), step)? {
        None => Origin { edge: Edge::Upper(mirrored), rule: Rule::Mirror },
        Some(delta_nm) => Origin {
            edge: Edge::Upper(mirrored + delta_nm),
            rule: Rule::MirrorPlusDelta { delta_nm },
        },
    })
}

fn hole_j(grade_number: i8, step: Step) -> Result<Origin, Refusal> {
    let row = usize::try_from(grade_number - 6).ok().and_then(|row| HOLE_J_UM.get(row));
    let row = row.ok_or(Refusal::GradesOfHoleJ)?;
    let um = row.get(step.main).ok_or(Refusal::HoleJOver500Mm)?;
    Ok(Origin { edge: Edge::Upper(i64::from(*um) * NM_PER_UM), rule: Rule::Read })
}

/// Delta: for K, M, N to IT8 and P to ZC to IT7, over 3 to 500 mm; none otherwise.
fn delta_nm(letter: Letter, grade: Grade, step: Step) -> Result<Option<i64>, Refusal> {
    let last = if letter <= Letter::N { 8 } else { 7 };
    if step.is_to_3_mm() || step.is_over_500_mm() || grade.number() > last {
        return Ok(None);
    }
    let row = usize::try_from(grade.number() - 3).map_err(|_| Refusal::NoDelta)?;
    Ok(Some(i64::from(DELTA_NM[row][step.main])))
}
