//! The ways that a worn feature can go.

use crate::item::Limits;
use crate::policy::BuildMethod;
use crate::units::{Length, Unit};

/// What is done with a worn feature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Repair {
    /// Use it as it is.
    Reuse,
    /// Straighten it: the sizes are good, and the shaft is bent.
    Straighten,
    /// Polish it.
    Polish,
    /// Finish it to its own limits of size: it has metal to spare.
    FinishToLimits,
    /// Fit a stepped key, made to the worn keyseat.
    SteppedKey,
    /// Cut the keyseat to the next wider key.
    NextKeyWidth,
    /// Grind to an undersize step.
    Regrind {
        /// Which step, from 1.
        step: u32,
        /// The step, on diameter.
        undersize: Length,
    },
    /// Build up and finish to the limits of size; a keyseat is welded and recut.
    BuildUp {
        /// How.
        method: BuildMethod,
    },
    /// Replace the part.
    Replace,
    /// Scrap it.
    Scrap,
}

impl Repair {
    /// A name of one word, the same everywhere: `regrind_1`, `build_up_hard_chrome`, `sleeve`.
    ///
    /// ```
    /// use tenths_domain::options::Repair;
    /// use tenths_domain::policy::BuildMethod;
    /// assert_eq!(Repair::BuildUp { method: BuildMethod::Sleeve }.key(), "sleeve");
    /// ```
    pub fn key(self) -> String {
        match self {
            Repair::Reuse => "reuse".into(),
            Repair::Straighten => "straighten".into(),
            Repair::Polish => "polish".into(),
            Repair::FinishToLimits => "finish_to_limits".into(),
            Repair::SteppedKey => "stepped_key".into(),
            Repair::NextKeyWidth => "next_key_width".into(),
            Repair::Regrind { step, .. } => format!("regrind_{step}"),
            Repair::BuildUp { method: BuildMethod::Sleeve } => "sleeve".into(),
            Repair::BuildUp { method } => format!("build_up_{method}"),
            Repair::Replace => "replace".into(),
            Repair::Scrap => "scrap".into(),
        }
    }

    /// The repair in words.
    pub fn words(self, unit: Unit) -> String {
        match self {
            Repair::Regrind { step, undersize } => {
                format!("regrind to step {step}, {} undersize", undersize.display_in(unit))
            }
            Repair::BuildUp { method: BuildMethod::Sleeve } => "sleeve".into(),
            Repair::BuildUp { method } => {
                format!("build up by {} and finish to size", method.as_str().replace('_', " "))
            }
            other => other.key().replace('_', " "),
        }
    }

    /// Whether the part stays in use.
    pub const fn keeps_part(self) -> bool {
        !matches!(self, Repair::Replace | Repair::Scrap)
    }
}

/// The size that a repair ends at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Target {
    /// The size aimed at: the end of the limits that leaves the most metal.
    pub size: Length,
    /// The limits of size; nothing where neither the item nor the policy gives a tolerance.
    pub limits: Option<Limits>,
}

impl Target {
    /// The limits, or the size alone where there are none.
    pub const fn span(self) -> Limits {
        match self.limits {
            Some(limits) => limits,
            None => Limits { lower: self.size, upper: self.size },
        }
    }
}
