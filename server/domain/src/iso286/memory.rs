//! Which cells of the tables rest on memory alone.
//!
//! A cell is listed here until a second published page has been read that prints the same value;
//! `tests/iso286_confirmed.rs` holds these lists to what the golden files say was read.

use super::class::{FundamentalDeviation as Letter, Grade};
use super::step::Step;

/// Main steps, first and last inclusive, at which a grade's tolerance is from memory: IT4 over
/// 1000 mm, where the one page found prints the values of an older edition.
const GRADE: (i8, usize, usize) = (4, 16, 20);

/// Intermediate steps, first and last inclusive, at which a letter's value is from memory: cd, ef
/// and fg over 10 to 50 mm (first printed in the 2010 edition), and x over 355 to 400 mm, where the
/// one page found prints 650 against 660.
const SHAFT: [(Letter, usize, usize); 4] =
    [(Letter::Cd, 3, 8), (Letter::Ef, 3, 8), (Letter::Fg, 3, 8), (Letter::X, 22, 22)];

/// Main steps, first and last inclusive, at which the delta of a grade is from memory; all of them
/// equal the difference of the grade and the next finer one, as the rule wants.
const DELTA: [(i8, usize, usize); 3] = [(3, 1, 8), (4, 1, 8), (5, 1, 1)];

/// Whether the standard tolerance of a grade is from memory alone at this step.
pub(super) fn grade_is(grade: Grade, step: Step) -> bool {
    let (number, first, last) = GRADE;
    grade.number() == number && (first..=last).contains(&step.main)
}

/// Whether the value of a letter in Tables 4 and 5 is from memory alone at this step.
pub(super) fn shaft_is(letter: Letter, step: Step) -> bool {
    let mut listed = SHAFT.iter().filter(|(listed, ..)| *listed == letter);
    listed.any(|&(_, first, last)| (first..=last).contains(&step.fine))
}

/// Whether the delta of a grade is from memory alone at this step.
pub(super) fn delta_is(grade: Grade, step: Step) -> bool {
    let mut listed = DELTA.iter().filter(|(number, ..)| *number == grade.number());
    listed.any(|&(_, first, last)| (first..=last).contains(&step.main))
}
