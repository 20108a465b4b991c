//! The options that leave the size about as it is: reuse, polish, and finishing to the limits.

use super::trial::{Bench, Trial};
use super::{BlockCode, DoubtCode, Repair};
use crate::item::{FeatureKind, Side};
use crate::units::Length;

impl Bench<'_> {
    pub(super) fn reuse(&self) -> Trial {
        let mut trial = Trial::new(Repair::Reuse);
        self.check_accepted(&mut trial, Length::ZERO);
        self.check_scored(&mut trial);
        trial
    }

    pub(super) fn straighten(&self) -> Trial {
        let mut trial = Trial::new(Repair::Straighten);
        if !self.check_reworkable(&mut trial) || self.is_keyseat(&mut trial) {
            return trial;
        }
        if self.straightened_to().is_none() {
            let text = match (self.worn.side(), &self.policy.straighten_from) {
                (Side::Internal, _) => "only a shaft is straightened".to_owned(),
                (_, None) => "the policy does not say from what run-out on it is straightened \
                              (straighten_from)"
                    .to_owned(),
                (_, Some(from)) => {
                    format!("not bent beyond {}", self.shown(from.value))
                }
            };
            trial.block(BlockCode::NotForThisPlace, text);
        }
        self.check_accepted(&mut trial, Length::ZERO);
        self.check_scored(&mut trial);
        self.doubt_straightening(&mut trial);
        trial
    }

    fn check_scored(&self, trial: &mut Trial) {
        if self.worn.score_depth_per_side.is_some_and(|depth| depth > Length::ZERO) {
            trial.block(BlockCode::Scored, "scored or pitted: not for use as it is");
        }
    }

    pub(super) fn polish(&self) -> Trial {
        let mut trial = Trial::new(Repair::Polish);
        if !self.check_reworkable(&mut trial) || self.is_keyseat(&mut trial) {
            return trial;
        }
        let Some(most) = self.figure(|entry| &entry.polish_max) else {
            let text = "the policy does not say how much polishing may take off (polish_max)";
            trial.block(BlockCode::NotInPolicy, text);
            return trial;
        };
        self.check_accepted(&mut trial, most);
        let score = self.score_on_diameter();
        if score > most {
            let [score, most] = [score, most].map(|length| self.shown(length));
            let text = format!("scored {score} on diameter; polishing takes off {most} at most");
            trial.block(BlockCode::Scored, text);
        }
        // As much comes off everywhere, the fullest spot included.
        trial.cut_to = Some(self.worn.cut(self.worn.least_worn(), most));
        trial
    }

    pub(super) fn finish_to_limits(&self) -> Trial {
        let mut trial = Trial::new(Repair::FinishToLimits);
        if !self.check_reworkable(&mut trial) || self.is_keyseat(&mut trial) {
            return trial;
        }
        self.doubt_cut(&mut trial);
        let target = self.target(&mut trial, Length::ZERO);
        let clean_up = self.clean_up();
        let leanest = self.worn.leanest(target.span());
        let short = self.worn.depth(leanest, clean_up);
        if short > Length::ZERO {
            let [clean, limit] = [clean_up, leanest].map(|length| self.shown(length));
            let text = format!("cleans up at {clean}, past its limit {limit}");
            trial.block(BlockCode::NoMetalToSpare, text);
        }
        self.doubt_margin(&mut trial, -short);
        // Within its own limits of size a part is as strong as it was made.
        trial.cut_to = Some(leanest);
        trial
    }

    /// Whether such a place is ever reworked: the rings of a rolling bearing, a bushing's own bore
    /// and outside, and widths are not.
    pub(super) fn check_reworkable(&self, trial: &mut Trial) -> bool {
        let is_reworked = self.worn.used_as().is_some();
        if !is_reworked {
            let kind = self.worn.kind.as_str().replace('_', " ");
            let text = format!("{kind}: replaced with its part, not reworked by this policy");
            trial.block(BlockCode::NotForThisPlace, text);
        }
        is_reworked
    }

    pub(super) fn is_keyseat(&self, trial: &mut Trial) -> bool {
        let is_keyseat = self.worn.kind == FeatureKind::Keyseat;
        if is_keyseat {
            trial.block(BlockCode::NotForThisPlace, "a keyseat is fitted with a key or recut");
        }
        is_keyseat
    }

    pub(super) fn score_on_diameter(&self) -> Length {
        let depth = self.worn.score_depth_per_side.unwrap_or(Length::ZERO);
        depth + depth
    }

    /// Doubts a margin that the gauge cannot tell from none.
    pub(super) fn doubt_margin(&self, trial: &mut Trial, margin: Length) {
        let uncertainty = self.worn.expanded_uncertainty;
        if margin >= Length::ZERO && margin < uncertainty {
            let [margin, uncertainty] = [margin, uncertainty].map(|length| self.shown(length));
            let text = format!(
                "the margin of {margin} is within the uncertainty of the readings, {uncertainty}: \
                 re-measure with a better gauge"
            );
            trial.doubt(DoubtCode::Uncertainty, text);
        }
    }

    /// Blocks a use as it is with so much more taken off, on diameter.
    fn check_accepted(&self, trial: &mut Trial, taken: Length) {
        let wear_limit = self.worn.wear_limit.or(self.figure(|entry| &entry.wear_limit));
        match wear_limit {
            Some(limit) if !self.is_held_by_size() => self.check_wear(trial, limit, taken),
            _ => self.check_size(trial, taken),
        }
        self.check_form(trial);
    }

    /// A seat or bore holds a ring by its size, worn or not.
    const fn is_held_by_size(&self) -> bool {
        matches!(
            self.worn.kind,
            FeatureKind::RollingSeat | FeatureKind::HousingBore | FeatureKind::Keyseat
        )
    }

    fn check_wear(&self, trial: &mut Trial, limit: Length, taken: Length) {
        let Some(wear) = self.worn.wear else {
            let text = "wear has nothing to be counted from: read a reference station";
            trial.block(BlockCode::WearUnknown, text);
            return;
        };
        let worn = wear + taken;
        if worn > limit {
            let [worn, limit] = [worn, limit].map(|length| self.shown(length));
            trial.block(BlockCode::Worn, format!("worn {worn} on diameter, limit {limit}"));
        } else {
            self.doubt_margin(trial, limit - worn);
        }
    }

    fn check_size(&self, trial: &mut Trial, taken: Length) {
        let Some(limits) = self.worn.limits else {
            let text = "no limit that governs is set: set a wear limit or limits of size";
            trial.block(BlockCode::NoLimit, text);
            return;
        };
        let lean = self.worn.leanest(limits);
        let past = self.worn.depth(lean, self.worn.cut(self.worn.most_worn(), taken));
        let allowed = self.figure(|entry| &entry.past_limit_max).filter(|_| !self.is_a_keyseat());
        let allowed = allowed.unwrap_or(Length::ZERO);
        if past > allowed {
            let [past, lean] = [past, lean].map(|length| self.shown(length));
            trial.block(BlockCode::OutOfSize, format!("{past} past its limit of size {lean}"));
        } else if past > Length::ZERO {
            let text = format!(
                "{} past its limit of size: within the shop's policy, for a place that is not \
                 critical and with the customer's consent only",
                self.shown(past)
            );
            trial.doubt(DoubtCode::PastLimit, text);
        } else {
            self.doubt_margin(trial, -past);
        }
        let full = self.worn.fullest(limits);
        let spare = self.worn.depth(self.worn.cut(self.worn.least_worn(), taken), full);
        if spare > Length::ZERO {
            let [spare, full] = [spare, full].map(|length| self.shown(length));
            let text = format!("{spare} beyond its limit of size {full}, with metal to spare");
            trial.block(BlockCode::OutOfSize, text);
        }
    }

    /// What a keyseat is over its key is met by a stepped key, not by reuse.
    fn is_a_keyseat(&self) -> bool {
        self.worn.kind == FeatureKind::Keyseat
    }

    fn check_form(&self, trial: &mut Trial) {
        let worn = self.worn;
        // A shaft that the shop would straighten is not used as it is.
        let straighten = self.policy.straighten_from.as_ref().map(|noted| noted.value);
        let straighten =
            straighten.filter(|_| worn.side() == Side::External && worn.used_as().is_some());
        let run_out = match trial.repair {
            Repair::Straighten => self.straightened_to().or(worn.run_out_tir),
            _ => worn.run_out_tir,
        };
        let form = [
            (
                "out-of-round",
                worn.out_of_round,
                worn.out_of_round_limit.or(self.figure(|entry| &entry.out_of_round_limit)),
            ),
            ("taper", worn.taper, worn.taper_limit.or(self.figure(|entry| &entry.taper_limit))),
            ("run-out", run_out, self.figure(|entry| &entry.run_out_limit).or(straighten)),
        ];
        for (what, measured, limit) in form {
            match (measured, limit) {
                (Some(measured), Some(limit)) if measured > limit => {
                    let [measured, limit] = [measured, limit].map(|length| self.shown(length));
                    let text = format!("{what} {measured}, limit {limit}");
                    trial.block(BlockCode::Form, text);
                }
                (None, Some(_)) => {
                    let text = format!("{what} has a limit but was not measured");
                    trial.doubt(DoubtCode::Form, text);
                }
                (Some(measured), None) if what == "run-out" && measured > Length::ZERO => {
                    let text = "run-out has no limit: set straighten_from in the policy";
                    trial.doubt(DoubtCode::RunOut, text);
                }
                _ => {}
            }
        }
    }
}
