//! The one wording for how sure a judgement is, used for a limit and for a fit alike, and the
//! decision rules that say when something is proven.
//!
//! A rule sets a guard band inside and outside each limit; what lies beyond it is proven. Between
//! the proven ends the conformance probability decides (JCGM 106:2012, 7).

use crate::named::named_enum;
use crate::units::Length;
use std::fmt;

/// At or above this probability of being inside, an unproven result is called probable in.
/// Common practice (one-sided 95 %), no published source.
pub const PROBABLE_IN_AT: f64 = 0.95;
/// At or below this probability of being inside, an unproven result is called probable out.
pub const PROBABLE_OUT_AT: f64 = 0.05;

named_enum! {
    /// How sure it is that a value, or a fit of two parts, is inside its limits; the surest first.
    Verdict, "verdict" {
        /// Inside by at least the guard band of the decision rule.
        ProvenIn = "proven_in",
        /// Not proven, but inside with a probability of at least [`PROBABLE_IN_AT`].
        ProbableIn = "probable_in",
        /// The gauge cannot tell: re-measure with a better one.
        NotProven = "not_proven",
        /// Not proven, but inside with a probability of at most [`PROBABLE_OUT_AT`].
        ProbableOut = "probable_out",
        /// Outside by more than the guard band of the decision rule.
        ProvenOut = "proven_out",
    }
}

named_enum! {
    /// When a measured value counts as inside or outside its limits.
    DecisionRule, "decision rule" {
        /// The default of ISO 14253-1:2017: proven at a conformance probability of 95 %, a guard
        /// band of 1.65 standard uncertainties at a limit whose opposite limit is far.
        Conformity95 = "iso_14253_1_2017",
        /// The full guard band of ISO 14253-1:2013: the whole expanded uncertainty (k = 2).
        FullGuardBand = "iso_14253_1_2013",
        /// Simple acceptance, also called shared risk: the reading decides as it stands. Nothing
        /// is proven by it; on a limit it is wrong half of the time.
        SimpleAcceptance = "simple_acceptance",
    }
}

impl DecisionRule {
    /// The guard band for an expanded uncertainty (k = 2), rounded up to the nanometre, so that
    /// nothing is proven by rounding. 1.65 u is 33/40 of U.
    ///
    /// ```
    /// use tenths_domain::units::Length;
    /// use tenths_domain::verdict::DecisionRule;
    /// let uncertainty = Length::from_nm(4_600);
    /// assert_eq!(DecisionRule::Conformity95.guard_band(uncertainty).nm(), 3_795);
    /// assert_eq!(DecisionRule::FullGuardBand.guard_band(uncertainty), uncertainty);
    /// assert_eq!(DecisionRule::SimpleAcceptance.guard_band(uncertainty), Length::ZERO);
    /// ```
    pub const fn guard_band(self, expanded_uncertainty: Length) -> Length {
        match self {
            DecisionRule::Conformity95 => {
                // Lengths stay below 1e11 nm, so the product is far from overflow.
                let scaled = 33 * expanded_uncertainty.nm();
                Length::from_nm(scaled.div_euclid(40) + (scaled.rem_euclid(40) > 0) as i64)
            }
            DecisionRule::FullGuardBand => expanded_uncertainty,
            DecisionRule::SimpleAcceptance => Length::ZERO,
        }
    }

    /// Where the rule is published, and how it was read for this project.
    pub const fn source(self) -> &'static str {
        match self {
            DecisionRule::Conformity95 => {
                "ISO 14253-1:2017, default rule (95 % conformance probability, guard band 1.65 u); \
                 read at second hand: ILAC-G8:09/2019, Table 1 (0.83 U, risk under 5 %), and a \
                 published calibration procedure that quotes p. 16"
            }
            DecisionRule::FullGuardBand => {
                "ISO 14253-1:2013, guard band U (k = 2); read at second hand: ILAC-G8:09/2019, \
                 Table 1 (1 U, risk under 2.5 %)"
            }
            DecisionRule::SimpleAcceptance => "ILAC-G8:09/2019, 4.2.1; JCGM 106:2012, 8.2",
        }
    }

    /// The rule in words, with its edition.
    pub const fn title(self) -> &'static str {
        match self {
            DecisionRule::Conformity95 => "ISO 14253-1:2017, 95 % conformity",
            DecisionRule::FullGuardBand => "ISO 14253-1:2013, full guard band",
            DecisionRule::SimpleAcceptance => "simple acceptance",
        }
    }

    /// The rule by which something can be proven: simple acceptance proves nothing, so the full
    /// guard band stands for it where a proof is sought.
    ///
    /// ```
    /// use tenths_domain::verdict::DecisionRule;
    /// assert_eq!(DecisionRule::SimpleAcceptance.proving(), DecisionRule::FullGuardBand);
    /// assert_eq!(DecisionRule::Conformity95.proving(), DecisionRule::Conformity95);
    /// ```
    pub const fn proving(self) -> DecisionRule {
        match self {
            DecisionRule::SimpleAcceptance => DecisionRule::FullGuardBand,
            rule => rule,
        }
    }

    /// What the rule decided, in a plain sentence.
    ///
    /// ```
    /// use tenths_domain::verdict::{Decision, DecisionRule};
    /// let words = DecisionRule::SimpleAcceptance.words(Decision::Accept);
    /// assert_eq!(words, "accepted as it reads (simple acceptance); nothing is proven by it");
    /// ```
    pub fn words(self, decision: Decision) -> String {
        let is_simple = self == DecisionRule::SimpleAcceptance;
        let decided = match decision {
            Decision::Accept => "accepted",
            Decision::Reject => "rejected",
            Decision::Undecided => "undecided",
        };
        let rest = match (is_simple, decision) {
            (true, Decision::Undecided) => "; the sizes as they read leave both open",
            (true, _) => "; nothing is proven by it",
            (false, Decision::Undecided) => "; neither inside nor outside is proven",
            (false, _) => "",
        };
        let how = if is_simple { " as it reads" } else { "" };
        format!("{decided}{how} ({}){rest}", self.title())
    }

    /// Decides from how far inside the limits the worst case is (nothing if it has no end), how
    /// far outside the best case is, the expanded uncertainty and the probability of being inside.
    pub(crate) fn decide(self, margins: Margins, probability_in: f64) -> Decided {
        let guard_band = self.guard_band(margins.expanded_uncertainty);
        let mut is_in = margins.inside_by.is_some_and(|margin| margin >= guard_band);
        let is_out = margins.outside_by.is_some_and(|margin| margin > guard_band);
        // Two limits close together share the 5 %: there 1.65 u is too little.
        if self == DecisionRule::Conformity95 {
            is_in &= probability_in >= PROBABLE_IN_AT;
        }
        let is_proof = self != DecisionRule::SimpleAcceptance;
        let decision = match (is_in, is_out) {
            (true, _) => Decision::Accept,
            (false, true) => Decision::Reject,
            (false, false) => Decision::Undecided,
        };
        let judgement = Judgement::new(is_in && is_proof, is_out && is_proof, probability_in);
        Decided { rule: self, guard_band, decision, judgement }
    }
}

/// How far a result is from its limits.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Margins {
    /// By how much the worst case is inside; nothing if it may be anything.
    pub(crate) inside_by: Option<Length>,
    /// By how much the best case is outside; nothing if it may be anything.
    pub(crate) outside_by: Option<Length>,
    /// The expanded uncertainty (k = 2) of both.
    pub(crate) expanded_uncertainty: Length,
}

named_enum! {
    /// What a decision rule says, in two words and a doubt.
    Decision, "decision" {
        /// Inside by the rule.
        Accept = "accept",
        /// Neither inside nor outside by the rule.
        Undecided = "undecided",
        /// Outside by the rule.
        Reject = "reject",
    }
}

/// What a decision rule came to.
///
/// Under simple acceptance the decision is that of the reading, while the verdict, which speaks of
/// proof, still rests on the probability alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decided {
    /// The rule.
    pub rule: DecisionRule,
    /// Its guard band at the uncertainty at hand.
    pub guard_band: Length,
    /// The decision.
    pub decision: Decision,
    /// The verdict and the conformance probability.
    pub judgement: Judgement,
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

    /// The verdict in words where the probability is only the most that it can be.
    ///
    /// ```
    /// use tenths_domain::verdict::Judgement;
    /// let judgement = Judgement::new(false, false, 0.5);
    /// assert_eq!(judgement.to_string(), "not proven (P 0.500): re-measure");
    /// assert_eq!(judgement.words_at_most(), "not proven (P at most 0.500): re-measure");
    /// ```
    pub fn words_at_most(&self) -> String {
        self.words("at most ")
    }

    fn words(&self, bound: &str) -> String {
        let p = self.probability_in;
        match self.verdict {
            Verdict::ProvenIn => "proven in".to_owned(),
            Verdict::ProbableIn => format!("probable in (P {bound}{p:.3})"),
            Verdict::NotProven => format!("not proven (P {bound}{p:.3}): re-measure"),
            Verdict::ProbableOut => format!("probable out (P {bound}{p:.3})"),
            Verdict::ProvenOut => "proven out".to_owned(),
        }
    }
}

impl fmt::Display for Judgement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words(""))
    }
}
