//! Nothing fits: why, and the smallest changes that would do, in words.

use crate::app::index::Key;
use tenths_domain::matching::{
    Answer, Change, Counts, End, Miss, MissSide, Place, Question, smallest_changes,
};
use tenths_domain::units::{Length, Unit};

/// Why nothing fits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NothingFits {
    /// Which limit blocks the nearest.
    pub why: String,
    /// What would do.
    pub changes: Vec<SmallestChange>,
}

/// A change after which something would fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SmallestChange {
    /// Allow more.
    Relax {
        /// What would fit then.
        tag: String,
        /// By how much.
        by: Length,
        /// In a sentence.
        text: String,
    },
    /// Do something to one part.
    Work {
        /// What would fit then.
        tag: String,
        /// In a sentence.
        text: String,
    },
    /// Buy something.
    Buy(String),
}

/// `left_out` is what would fit, did the question not narrow the stock by more than the fit.
pub(super) fn explain(
    question: &Question,
    sought: Place,
    misses: &[Miss<Key<'_>>],
    left_out: Option<&str>,
    unit: Unit,
) -> NothingFits {
    let answer = Answer { fits: Vec::new(), misses: misses.to_vec(), counts: Counts::default() };
    let changes = smallest_changes(question, sought, &answer);
    NothingFits {
        why: left_out.map_or_else(|| why(&answer, unit), narrowed),
        changes: changes.iter().map(|change| worded(change, sought, unit)).collect(),
    }
}

fn narrowed(tag: &str) -> String {
    format!(
        "{tag} fits, but what else was asked for leaves it out (free, condition, place, material, \
         price, group or seals): ask without it"
    )
}

fn why(answer: &Answer<Key<'_>>, unit: Unit) -> String {
    let Some(nearest) = answer.misses.first() else {
        return "nothing of that kind and size is in stock".to_owned();
    };
    let by = nearest.worst().display_in(unit);
    let tag = nearest.key.tag;
    let at = match &nearest.other {
        Some(other) if other.by > nearest.by => (other.side, " in the housing"),
        Some(_) => (Some(nearest.side), " on the shaft"),
        None => (Some(nearest.side), ""),
    };
    if nearest.worst() == Length::ZERO {
        return format!("the nearest, {tag}, reads inside, but the gauges are too coarse to tell");
    }
    match at {
        (Some(MissSide::TooTight), place) => {
            format!(
                "the nearest, {tag}, is too tight{place}: its least clearance is {by} below the least allowed"
            )
        }
        (Some(MissSide::TooLoose), place) => {
            format!(
                "the nearest, {tag}, is too loose{place}: its most clearance is {by} over the most allowed"
            )
        }
        (_, place) => format!(
            "the nearest, {tag}, spreads over more than is allowed{place}, by {by} on its worse side"
        ),
    }
}

fn at(end: End) -> &'static str {
    match end {
        End::First => "",
        End::Other => " in the housing",
    }
}

fn worded(change: &Change<Key<'_>>, sought: Place, unit: Unit) -> SmallestChange {
    match change {
        Change::Relax { key, end, by, window, .. } => SmallestChange::Relax {
            tag: key.tag.to_owned(),
            by: *by,
            text: format!(
                "allow a clearance of {} to {}{}: then {} fits",
                window.min.display_in(unit),
                window.max.display_in(unit),
                at(*end),
                key.tag
            ),
        },
        Change::Work { key, end, act } => SmallestChange::Work {
            tag: key.tag.to_owned(),
            text: format!("{}{}: then {} fits", act.words(unit), at(*end), key.tag),
        },
        Change::BuyRing { nominal, class, numbers } => SmallestChange::Buy(format!(
            "buy a bearing of {} class, {} at that place, such as {}",
            class,
            nominal.display_in(Unit::Millimetre),
            numbers.join(", ")
        )),
        Change::BuySize { limits } => SmallestChange::Buy(format!(
            "buy, or have made, a {} with its {} from {} to {}, as fitted",
            sought.item,
            sought.feature,
            limits.lower.display_in(unit),
            limits.upper.display_in(unit)
        )),
    }
}
