//! What is written behind a basic number, as far as plain trade custom goes.
//!
//! Read are: the clearance groups C2 to C5 and CN (ISO 5753-1:2009); Z, 2Z, RS and 2RS for one or
//! two shields or seals (DIN 623-1:1993, from memory; read in a published list of common
//! abbreviations); ZZ for 2Z, and the plain words open, shielded, sealed, by which the trade means
//! both sides. Everything else (cage, grease, precision, a maker's own seal letters) differs from
//! maker to maker: it is kept as written and handed back as not interpreted. A word that says more
//! than one of these, such as `2RS1`, is not one of these. Two words that contradict each other
//! are both left uninterpreted.

use super::iso5753::ClearanceGroup;
use crate::named::named_enum;

named_enum! {
    /// How a bearing is closed at its sides.
    Closure, "closure" {
        /// Open on both sides, said in so many words.
        Open = "open",
        /// A shield (a plate with a gap) on one side: `Z`.
        ShieldOneSide = "shield_one_side",
        /// A shield on each side: `ZZ`, `2Z`, `shielded`.
        ShieldBothSides = "shield_both_sides",
        /// A rubbing seal on one side: `RS`.
        SealOneSide = "seal_one_side",
        /// A rubbing seal on each side: `2RS`, `sealed`.
        SealBothSides = "seal_both_sides",
    }
}

/// What may stand between a basic number and its suffixes.
pub(super) const SEPARATORS: [char; 3] = ['-', '/', ' '];

/// What a suffix says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Suffix {
    pub(super) clearance: Option<ClearanceGroup>,
    pub(super) closure: Option<Closure>,
    pub(super) uninterpreted: Vec<String>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Word {
    Clearance(ClearanceGroup),
    Closure(Closure),
}

/// The words, none of which may come before one that begins with it.
const WORDS: [(&str, Word); 13] = [
    ("SHIELDED", Word::Closure(Closure::ShieldBothSides)),
    ("SEALED", Word::Closure(Closure::SealBothSides)),
    ("OPEN", Word::Closure(Closure::Open)),
    ("2RS", Word::Closure(Closure::SealBothSides)),
    ("2Z", Word::Closure(Closure::ShieldBothSides)),
    ("ZZ", Word::Closure(Closure::ShieldBothSides)),
    ("RS", Word::Closure(Closure::SealOneSide)),
    ("C2", Word::Clearance(ClearanceGroup::C2)),
    ("CN", Word::Clearance(ClearanceGroup::Cn)),
    ("C3", Word::Clearance(ClearanceGroup::C3)),
    ("C4", Word::Clearance(ClearanceGroup::C4)),
    ("C5", Word::Clearance(ClearanceGroup::C5)),
    ("Z", Word::Closure(Closure::ShieldOneSide)),
];

/// Reads a suffix, in any case of letters.
pub(super) fn read(suffix: &str) -> Suffix {
    let parts: Vec<(&str, Option<Vec<Word>>)> = suffix
        .split(SEPARATORS)
        .filter(|part| !part.is_empty())
        .map(|part| (part, words(&part.to_ascii_uppercase())))
        .collect();
    let said: Vec<Word> = parts.iter().filter_map(|(_, words)| words.clone()).flatten().collect();
    let clearance = only(said.iter().filter_map(|word| match word {
        Word::Clearance(group) => Some(*group),
        Word::Closure(_) => None,
    }));
    let closure = only(said.iter().filter_map(|word| match word {
        Word::Closure(closure) => Some(*closure),
        Word::Clearance(_) => None,
    }));
    let is_read = |word: &Word| match word {
        Word::Clearance(_) => clearance.is_some(),
        Word::Closure(_) => closure.is_some(),
    };
    let uninterpreted = parts
        .iter()
        .filter(|(_, words)| !words.as_ref().is_some_and(|words| words.iter().all(is_read)))
        .map(|(part, _)| (*part).to_owned())
        .collect();
    Suffix { clearance, closure, uninterpreted }
}

/// The one value that all agree on.
fn only<T: PartialEq>(mut values: impl Iterator<Item = T>) -> Option<T> {
    let first = values.next()?;
    values.all(|value| value == first).then_some(first)
}

/// The words that a part is made of, if it is made of known words alone (`ZZC3`).
fn words(part: &str) -> Option<Vec<Word>> {
    let mut words = Vec::new();
    let mut rest = part;
    while !rest.is_empty() {
        let (text, word) = WORDS.iter().find(|(text, _)| rest.starts_with(text))?;
        words.push(*word);
        rest = &rest[text.len()..];
    }
    Some(words)
}
