//! Substitution: what may stand in for a known part, and what may not.
//!
//! Substitution has a direction: that A may replace B does not say that B may replace A. The rules
//! are those of the parts room (US Army TM 11-6125-240-34 where named; else common practice, no
//! published source). What fits by size alone is in [`crate::matching`]; here the size is the same,
//! or can be made so, and the question is what else differs.

mod age;
mod bearing;
mod bushing;
mod sets;

pub use age::{AgeLimit, AgeLimitError, DateCode, PUBLISHED_AGE_LIMIT, PUBLISHED_AGE_LIMIT_SOURCE};
pub use bearing::{BearingTraits, replace_bearing};
pub use bushing::{BushingSize, BushingWork, replace_bushing};
pub use sets::{SetError, SetSize};

use crate::named::named_enum;

named_enum! {
    /// How far one part may stand in for another, the best first.
    Acceptance, "acceptance" {
        /// It is the same in everything that is known.
        Same = "same",
        /// The trade takes it, with the notes given.
        Usual = "usual",
        /// It is not automatic: a person decides, knowing the notes.
        Ask = "ask",
        /// It is not taken.
        Never = "never",
    }
}

/// One difference between the part wanted and the part offered, and what the trade says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// What differs: `clearance`, `closure`, `precision` and the like.
    pub about: &'static str,
    /// How far it stands in the way.
    pub acceptance: Acceptance,
    /// What to know, in a sentence.
    pub note: String,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// Common practice that no published source was found for.
pub(crate) const PRACTICE: &str = "common practice, no published source";

/// What all differences come to: the worst of them, [`Acceptance::Same`] if there are none.
pub fn acceptance(differences: &[Difference]) -> Acceptance {
    differences.iter().map(|one| one.acceptance).max().unwrap_or(Acceptance::Same)
}
