//! The one wording for how sure a judgement is, used for a limit and for a fit alike.
//!
//! The proven ends follow ISO 14253-1 (acceptance and rejection zones guarded by the expanded
//! uncertainty); between them the conformance probability decides.

use crate::named::named_enum;
use std::fmt;

/// At or above this probability of being inside, an unproven result is called probable in.
/// Common practice (one-sided 95 %), no published source.
pub const PROBABLE_IN_AT: f64 = 0.95;
/// At or below this probability of being inside, an unproven result is called probable out.
pub const PROBABLE_OUT_AT: f64 = 0.05;

named_enum! {
    /// How sure it is that a value, or a fit of two parts, is inside its limits; the surest first.
    Verdict, "verdict" {
        /// Inside by at least the expanded uncertainty.
        ProvenIn = "proven_in",
        /// Not proven, but inside with a probability of at least [`PROBABLE_IN_AT`].
        ProbableIn = "probable_in",
        /// The gauge cannot tell: re-measure with a better one.
        NotProven = "not_proven",
        /// Not proven, but inside with a probability of at most [`PROBABLE_OUT_AT`].
        ProbableOut = "probable_out",
        /// Outside by more than the expanded uncertainty.
        ProvenOut = "proven_out",
    }
}

/// A verdict together with the probability of being inside that it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// Probability of being inside the limits, 0 to 1.
    pub probability_in: f64,
}

impl Judgement {
    /// Judges from what is proven and, where nothing is, from the probability of being inside.
    ///
    /// ```
    /// use tenths_domain::verdict::{Judgement, Verdict};
    /// assert_eq!(Judgement::new(false, false, 0.5).verdict, Verdict::NotProven);
    /// assert_eq!(Judgement::new(true, false, 0.999).verdict, Verdict::ProvenIn);
    /// ```
    pub fn new(proven_in: bool, proven_out: bool, probability_in: f64) -> Self {
        let verdict = if proven_in {
            Verdict::ProvenIn
        } else if proven_out {
            Verdict::ProvenOut
        } else if probability_in >= PROBABLE_IN_AT {
            Verdict::ProbableIn
        } else if probability_in <= PROBABLE_OUT_AT {
            Verdict::ProbableOut
        } else {
            Verdict::NotProven
        };
        Judgement { verdict, probability_in }
    }
}

impl fmt::Display for Judgement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let p = self.probability_in;
        match self.verdict {
            Verdict::ProvenIn => f.write_str("proven in"),
            Verdict::ProbableIn => write!(f, "probable in (P {p:.3})"),
            Verdict::NotProven => write!(f, "not proven (P {p:.3}): re-measure"),
            Verdict::ProbableOut => write!(f, "probable out (P {p:.3})"),
            Verdict::ProvenOut => f.write_str("proven out"),
        }
    }
}
