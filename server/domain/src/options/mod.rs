//! What can be done with a worn feature: every option, possible or not, with its reasons, sizes,
//! operations, cost and lead time, ranked.
//!
//! Where [`crate::disposition`] says whether a feature may be used as it is, this says what else
//! there is. It is advice from the numbers entered; the owner decides. A crack, a burn or an unsound
//! earlier repair is seen by a person, not by a size.

mod as_it_is;
mod clean_up;
mod cost;
mod minimum;
mod rank;
mod reason;
mod repair;
mod rework;
mod trial;
mod worn;

pub(crate) use clean_up::straightened_to;
pub use clean_up::{clean_up_size, step_below};
pub use cost::Cost;
pub use minimum::{
    MinimumBy, MinimumDiameter, MinimumPart, diameter_with_keyway, minimum_diameter,
};
pub use rank::RANKING;
pub use reason::{Block, BlockCode, Doubt, DoubtCode};
pub use repair::{Repair, Target};
pub use worn::{Keyway, Replacement, StrengthDemand, WornFeature};

use crate::item::FeatureKind;
use crate::policy::{BuildMethod, Policy};
use crate::route::{Amount, Operation, Work, route};
use crate::state::ScrapReason;
use crate::strength::StrengthError;
use crate::units::{Length, Unit};
use trial::{Bench, Trial};

/// One option.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RepairOption {
    /// What it is.
    pub repair: Repair,
    /// Why it is not possible, every reason; empty if it is.
    pub blocks: Vec<Block>,
    /// What is in doubt about it.
    pub doubts: Vec<Doubt>,
    /// The size it ends at, where it changes one.
    pub target: Option<Target>,
    /// The size that the part's own metal is cut to at most.
    pub cut_to: Option<Length>,
    /// Metal off, at most, from the fullest reading.
    pub removed: Option<Amount>,
    /// Metal put on and left there, at most.
    pub added: Option<Amount>,
    /// What is done, in order; empty where nothing is, and for what is not possible.
    pub operations: Vec<Operation>,
    /// What it costs.
    pub cost: Cost,
    /// Its cost in hundredths of a replacement's, rounded up, where both are known.
    pub cost_share_percent: Option<u32>,
    /// Days until the part is there again, where every part of it is known.
    pub lead_time_days: Option<u32>,
    /// What in stock would mate with it, where the caller knows.
    pub mates: Option<Mates>,
    /// Why it is scrapped, for [`Repair::Scrap`] where nothing else that keeps the part is possible.
    pub scrap_reason: Option<ScrapReason>,
    /// Its place, from 1; nothing for what is not possible.
    pub rank: Option<u32>,
}

/// How many free parts in stock would mate with a finished size.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Mates {
    /// Those that fit as they are.
    pub as_they_are: u32,
    /// Those that fit once their bore is honed or reamed, beside the others.
    pub after_reaming: u32,
}

impl RepairOption {
    /// Whether nothing blocks it.
    pub const fn is_feasible(&self) -> bool {
        self.blocks.is_empty()
    }
}

/// Every option, the best first, what is not possible last.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The version of the policy that it rests on.
    pub policy_version: i64,
    /// The size at which the surface is clean.
    pub clean_up_size: Length,
    /// The smallest diameter, and what asks for it.
    pub minimum_diameter: MinimumDiameter,
    /// The options.
    pub options: Vec<RepairOption>,
    /// How they are ranked, in words.
    pub ranking: &'static str,
}

impl Answer {
    /// The best option.
    pub fn best(&self) -> Option<&RepairOption> {
        self.options.first().filter(|option| option.is_feasible())
    }
}

/// Every option for a worn feature, ranked. `mates` says what in stock would mate with a
/// finished size, or nothing if that is not known; texts give lengths in `unit`.
///
/// Something is always possible: at the least [`Repair::Scrap`], then with its reason.
///
/// # Errors
/// [`StrengthError`] for a demand on the shaft that has no meaning.
pub fn options(
    worn: &WornFeature,
    policy: &Policy,
    unit: Unit,
    mates: &dyn Fn(&Target) -> Option<Mates>,
) -> Result<Answer, StrengthError> {
    let minimum = minimum_diameter(worn)?;
    let bench = Bench { worn, policy, minimum: &minimum, unit };
    let mut options: Vec<RepairOption> =
        bench.trials().into_iter().map(|trial| bench.option(trial, mates)).collect();
    let reason = bench.scrap_reason(&options);
    for option in options.iter_mut().filter(|option| option.repair == Repair::Scrap) {
        option.scrap_reason = reason;
        if worn.condemned.is_none() && option_needs_a_limit(worn, policy) {
            let text = "no limit that governs is set: set one before anything is scrapped".into();
            option.doubts.push(Doubt { code: DoubtCode::NoLimit, text });
        }
    }
    rank::rank(&mut options);
    Ok(Answer {
        policy_version: policy.version,
        clean_up_size: clean_up_size(worn, policy),
        minimum_diameter: minimum,
        options,
        ranking: RANKING,
    })
}

fn option_needs_a_limit(worn: &WornFeature, policy: &Policy) -> bool {
    let entry = worn.used_as().and_then(|used_as| policy.feature(used_as));
    let has_wear_limit =
        worn.wear_limit.is_some() || entry.is_some_and(|entry| entry.wear_limit.is_some());
    let has_tolerance =
        worn.limits.is_some() || entry.is_some_and(|entry| entry.finish_tolerance.is_some());
    !has_tolerance || worn.limits.is_none() && !has_wear_limit
}

impl Bench<'_> {
    fn trials(&self) -> Vec<Trial> {
        let mut trials =
            vec![self.reuse(), self.straighten(), self.polish(), self.finish_to_limits()];
        if self.worn.kind == FeatureKind::Keyseat {
            trials.extend([self.stepped_key(), self.next_key_width()]);
        }
        let steps = (1..).zip(self.policy.steps(self.worn.steps));
        let left = steps.filter(|(_, undersize)| **undersize > self.worn.undersize);
        trials.extend(left.map(|(step, undersize)| self.regrind(step, *undersize)));
        trials.extend(BuildMethod::ALL.iter().map(|method| self.build_up(*method)));
        trials.push(self.replace());
        if let Some(reason) = self.worn.condemned {
            for trial in trials.iter_mut().filter(|trial| trial.repair.keeps_part()) {
                let text = format!("condemned: {}", reason.as_str().replace('_', " "));
                trial.block(BlockCode::Condemned, text);
            }
        }
        trials.push(Trial::new(Repair::Scrap));
        trials
    }

    fn replace(&self) -> Trial {
        let mut trial = Trial::new(Repair::Replace);
        if !self.worn.replacement.is_available {
            trial.block(BlockCode::NotAvailable, "no replacement is known to be had");
        }
        trial
    }

    fn option(&self, trial: Trial, mates: &dyn Fn(&Target) -> Option<Mates>) -> RepairOption {
        let Trial { repair, blocks, doubts, target, cut_to, added } = trial;
        let is_possible = blocks.is_empty();
        let work = Work {
            repair,
            worn: self.worn,
            policy: self.policy,
            target,
            cut_to,
            added,
            unit: self.unit,
        };
        let removed = cut_to.map(|to| self.worn.depth(self.worn.least_worn(), to));
        // Per side and on diameter mean nothing of a width.
        let removed = removed.filter(|_| self.worn.kind != FeatureKind::Keyseat);
        let mut option = RepairOption {
            repair,
            operations: if is_possible { route(&work) } else { Vec::new() },
            blocks,
            doubts,
            mates: target.as_ref().filter(|_| is_possible).and_then(mates),
            target,
            cut_to,
            removed: removed.map(|off| Amount::on_diameter(off.max(Length::ZERO))),
            added: Some(added).filter(|on| *on > Length::ZERO).map(Amount::on_diameter),
            cost: Cost::Unknown { missing: Vec::new() },
            cost_share_percent: None,
            lead_time_days: None,
            scrap_reason: None,
            rank: None,
        };
        self.price(&mut option);
        option
    }

    /// Why the part is scrapped; nothing while another option keeps it.
    fn scrap_reason(&self, options: &[RepairOption]) -> Option<ScrapReason> {
        let kept = |option: &&RepairOption| option.repair.keeps_part();
        if options.iter().filter(kept).any(RepairOption::is_feasible) {
            return None;
        }
        let has = |code: BlockCode| {
            let blocks = options.iter().filter(kept).flat_map(|option| &option.blocks);
            blocks.into_iter().any(|block| block.code == code)
        };
        Some(match self.worn.condemned {
            Some(reason) => reason,
            None if has(BlockCode::NotEconomical) => ScrapReason::NotEconomical,
            None if self.worn.kind == FeatureKind::Keyseat => ScrapReason::Keyway,
            None if has(BlockCode::BelowMinimum) || has(BlockCode::StockRemoval) => {
                ScrapReason::BelowMinimumDiameter
            }
            None if has(BlockCode::Scored) => ScrapReason::Scored,
            None => ScrapReason::WillNotCleanUp,
        })
    }
}
