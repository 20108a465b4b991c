//! The class to offer in place of one that does not exist for a size.

use super::class::{Class, FundamentalDeviation as Letter, Grade};
use super::step::Step;
use super::zone;

/// The nearest class of the same side that exists at this step.
///
/// The same letter in the nearest grade, the finer first; where the letter has no grade at all
/// here, the nearest letter, the one towards js first. js exists in some grade at every size.
#[cold]
pub(super) fn nearest_class(class: Class, step: Step) -> Class {
    let wanted = class.deviation() as usize;
    let middle = Letter::Js as usize;
    let mut letters = Letter::ALL.to_vec();
    letters.sort_by_key(|&letter| {
        let letter = letter as usize;
        (letter.abs_diff(wanted), letter.abs_diff(middle))
    });
    let mut grades = Grade::ALL;
    grades.sort_by_key(|grade| (grade.row().abs_diff(class.grade().row()), grade.row()));
    let candidates = letters.into_iter().flat_map(|letter| {
        grades.iter().map(move |&grade| Class::new(class.side(), letter, grade))
    });
    let mut existing = candidates.filter(|&candidate| zone(candidate, step).is_ok());
    existing.next().expect("js exists in grade 7 at every size")
}
