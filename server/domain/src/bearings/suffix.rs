//! What is written behind a basic number, as far as plain trade custom goes.
//!
//! Read are: the clearance groups C2 to C5 and CN (ISO 5753-1:2009); Z, 2Z, RS and 2RS for one or
//! two shields or seals (DIN 623-1:1993, from memory; read in a published list of common
//! abbreviations); ZZ for 2Z, and the plain words open, shielded, sealed, by which the trade means
//! both sides. Everything else (cage, grease, precision, a maker's own seal letters) differs from
//! maker to maker: it is kept as written and handed back as not interpreted. A figure behind a
//! seal or shield (`2RS1`) is a maker's variant of it: the seal is read, the figure is not. Two words
//! that contradict each other are both left uninterpreted. A `C` with another figure is a clearance
//! group that ISO 5753-1 does not have: it is said to be unknown, so that nobody takes it as CN.

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
    /// Groups that are none of ISO 5753-1, or contradict each other, as written.
    pub(super) unknown_group: Option<String>,
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
    let parts: Vec<Part<'_>> =
        suffix.split(SEPARATORS).filter(|part| !part.is_empty()).map(Part::of).collect();
    let said = || parts.iter().flat_map(|part| part.words.iter());
    let closure = only(said().filter_map(Word::closure));
    let mut clearance = only(said().filter_map(Word::clearance));
    let unknown: Vec<&str> = parts.iter().filter_map(|part| part.unknown_group).collect();
    let contradicts = clearance.is_none() && said().any(|word| word.clearance().is_some());
    let unknown_group = if !unknown.is_empty() {
        Some(unknown.join(" "))
    } else if contradicts {
        Some(
            said()
                .filter_map(Word::clearance)
                .map(ClearanceGroup::as_str)
                .collect::<Vec<_>>()
                .join(" "),
        )
    } else {
        None
    };
    if unknown_group.is_some() {
        clearance = None;
    }
    let is_read = |word: &Word| match word {
        Word::Clearance(_) => clearance.is_some(),
        Word::Closure(_) => closure.is_some(),
    };
    let uninterpreted = parts.iter().flat_map(|part| part.uninterpreted(is_read)).collect();
    Suffix { clearance, unknown_group, closure, uninterpreted }
}

impl Word {
    fn clearance(&self) -> Option<ClearanceGroup> {
        match self {
            Word::Clearance(group) => Some(*group),
            Word::Closure(_) => None,
        }
    }

    fn closure(&self) -> Option<Closure> {
        match self {
            Word::Closure(closure) => Some(*closure),
            Word::Clearance(_) => None,
        }
    }
}

/// The one value that all agree on.
fn only<T: PartialEq>(mut values: impl Iterator<Item = T>) -> Option<T> {
    let first = values.next()?;
    values.all(|value| value == first).then_some(first)
}

/// What stands between two separators.
#[derive(Default)]
struct Part<'a> {
    text: &'a str,
    /// The words that it is made of (`ZZC3`); none unless it is made of known ones alone.
    words: Vec<Word>,
    /// The figures behind seals and shields that stand for a maker's variant.
    variants: Vec<&'a str>,
    /// A clearance group that does not exist, at its end.
    unknown_group: Option<&'a str>,
}

impl<'a> Part<'a> {
    fn of(text: &'a str) -> Self {
        let mut part = Part { text, ..Part::default() };
        let mut rest = text;
        while !rest.is_empty() {
            let known = WORDS.iter().find(|(word, _)| begins_with(rest, word));
            let after_closure = part.words.last().is_some_and(|word| word.closure().is_some());
            if let Some((word, meaning)) = known {
                part.words.push(*meaning);
                rest = &rest[word.len()..];
            } else if after_closure && part.variants.is_empty() && begins_with_figure(rest) {
                part.variants.push(&rest[..1]);
                rest = &rest[1..];
            } else if begins_with(rest, "C") && rest.len() == 2 && begins_with_figure(&rest[1..]) {
                part.unknown_group = Some(rest);
                rest = "";
            } else {
                return Part { text, ..Part::default() };
            }
        }
        part
    }

    /// What was not read of it, as written.
    fn uninterpreted(&self, is_read: impl Fn(&Word) -> bool) -> Vec<String> {
        let nothing = self.words.is_empty() && self.unknown_group.is_none();
        if nothing || !self.words.iter().all(is_read) {
            return vec![self.text.to_owned()];
        }
        let variants = self.variants.iter().map(|figure| format!("{figure} of {}", self.text));
        variants.chain(self.unknown_group.map(str::to_owned)).collect()
    }
}

/// Whether a text begins with a word, in any case of letters.
fn begins_with(text: &str, word: &str) -> bool {
    text.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word))
}

fn begins_with_figure(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit())
}
