//! The options that take metal off or put it on: undersize steps, building up, keyseats.

use super::trial::{Bench, Trial};
use super::{BlockCode, DoubtCode, Repair, Target};
use crate::item::{FeatureKind, Limits, Side};
use crate::policy::{BuildMethod, MethodPolicy};
use crate::state::BuiltUp;
use crate::units::Length;

impl Bench<'_> {
    pub(super) fn regrind(&self, step: u32, undersize: Length) -> Trial {
        let mut trial = Trial::new(Repair::Regrind { step, undersize });
        if !self.check_reworkable(&mut trial) || self.is_keyseat(&mut trial) {
            return trial;
        }
        if !self.worn.used_as().is_some_and(|used_as| used_as.may_go_undersize()) {
            let text = match self.worn.kind {
                FeatureKind::RollingSeat => {
                    "a seat for a rolling bearing is never ground undersize: bearings come in fixed \
                     bores"
                }
                _ => "never ground undersize: its mate does not adjust",
            };
            trial.block(BlockCode::NeverUndersize, text);
            return trial;
        }
        self.doubt_cut(&mut trial);
        // A step is counted from new.
        let target = self.target(&mut trial, undersize - self.worn.undersize);
        let clean_up = self.clean_up();
        let margin = self.worn.depth(clean_up, target.size);
        if margin < Length::ZERO {
            let [size, clean] = [target.size, clean_up].map(|length| self.shown(length));
            let text = format!("{size} is above the clean-up size {clean}");
            trial.block(BlockCode::WillNotCleanUp, text);
        }
        self.doubt_margin(&mut trial, margin);
        self.check_depth(&mut trial, self.worn.leanest(target.span()), false);
        trial
    }

    pub(super) fn build_up(&self, method: BuildMethod) -> Trial {
        let mut trial = Trial::new(Repair::BuildUp { method });
        if !self.check_reworkable(&mut trial) {
            return trial;
        }
        let Some(entry) = self.policy.method(method) else {
            let text = format!("the policy has no method {method}");
            trial.block(BlockCode::NotInPolicy, text);
            return trial;
        };
        if self.worn.kind == FeatureKind::Keyseat {
            self.weld_keyseat(&mut trial, entry);
            return trial;
        }
        self.check_place(&mut trial, entry);
        self.check_hardness(&mut trial, entry);
        self.doubt_cut(&mut trial);
        self.check_layer(&mut trial, entry);
        trial
    }

    /// The method is allowed on such a place.
    fn check_place(&self, trial: &mut Trial, entry: &MethodPolicy) {
        let used_as = self.worn.used_as();
        if !used_as.is_some_and(|used_as| entry.features.contains(&used_as)) {
            let place = used_as.map_or("such a place", |used_as| used_as.as_str());
            let text = format!("{} is not allowed on {}", entry.method, place.replace('_', " "));
            trial.block(BlockCode::NotForThisPlace, text);
        }
        if self.worn.has_keyway && !entry.allows_keyway {
            let text = format!("{} holds no keyway or thread edge", entry.method);
            trial.block(BlockCode::KeywayThere, text);
        }
        if self.worn.side() == Side::Internal || entry.ends.is_empty() {
            return;
        }
        match self.worn.end {
            Some(end) if !entry.ends.contains(&end) => {
                let text = format!("{} is not allowed at the {end} end", entry.method);
                trial.block(BlockCode::WrongEnd, text.replace('_', " "));
            }
            Some(_) => {}
            None => {
                let allowed: Vec<&str> = entry.ends.iter().map(|end| end.as_str()).collect();
                let allowed = allowed.join(" or ").replace('_', " ");
                let text =
                    format!("which end it is at is not known: allowed at the {allowed} end only");
                trial.doubt(DoubtCode::End, text);
            }
        }
    }

    fn check_hardness(&self, trial: &mut Trial, entry: &MethodPolicy) {
        match (self.worn.hardness, entry.hardness_max) {
            (Some(hardness), Some(most)) if hardness > most => {
                let text = format!("{hardness}; {} is allowed to {most}", entry.method);
                trial.block(BlockCode::TooHard, text);
            }
            (None, Some(most)) => {
                let text = format!("hardness is not known: allowed to {most}");
                trial.doubt(DoubtCode::Hardness, text);
            }
            (None, None) if entry.bake.is_some() && self.worn.may_be_steel() => {
                let text = "hardness is not known: the bake after plating is taken as needed";
                trial.doubt(DoubtCode::Hardness, text);
            }
            _ => {}
        }
    }

    /// The cut below the layer, and how thick the layer comes out.
    fn check_layer(&self, trial: &mut Trial, entry: &MethodPolicy) {
        let worn = self.worn;
        let target = self.built_up_target(trial);
        let span = target.span();
        let least = entry.per_side_min + entry.per_side_min;
        let room = worn.cut(worn.leanest(span), least);
        let base =
            if worn.depth(room, self.clean_up()) > Length::ZERO { self.clean_up() } else { room };
        trial.added = worn.depth(worn.fullest(span), base);
        self.check_depth(trial, base, worn.built_up != BuiltUp::No);
        let per_side = crate::route::Amount::on_diameter(trial.added).per_side;
        if let Some(most) = entry.per_side_max
            && per_side > most
        {
            let [needed, most] = [per_side, most].map(|length| self.shown(length));
            let text = format!("needs {needed} per side; {} builds {most} per side", entry.method);
            trial.block(BlockCode::TooThick, text);
        }
    }

    /// A keyseat is welded up and recut; nothing else is put into one.
    fn weld_keyseat(&self, trial: &mut Trial, entry: &MethodPolicy) {
        if entry.method != BuildMethod::Weld {
            let text = "a keyseat is welded and recut, nothing else holds in it";
            trial.block(BlockCode::NotForThisPlace, text);
            return;
        }
        self.check_hardness(trial, entry);
        self.built_up_target(trial);
        let text = "welded and recut, or a new keyseat cut 90 or 180 degrees round";
        trial.doubt(DoubtCode::Keyseat, text);
    }

    pub(super) fn stepped_key(&self) -> Trial {
        let mut trial = Trial::new(Repair::SteppedKey);
        let worn = self.worn;
        let over = worn.depth(worn.new_nominal, worn.most_worn());
        // The key is made to the keyseat, which stays as it is.
        let doubt = worn.expanded_uncertainty;
        let limits = Limits { lower: worn.smallest - doubt, upper: worn.largest + doubt };
        trial.target = Some(Target { size: worn.most_worn(), limits: Some(limits) });
        match self.figure(|entry| &entry.past_limit_max) {
            Some(most) if over > most => {
                let [over, most] = [over, most].map(|length| self.shown(length));
                let text = format!("{over} over its key; a stepped key serves to {most}");
                trial.block(BlockCode::Worn, text);
            }
            Some(most) => self.doubt_margin(&mut trial, most - over),
            None => trial.block(
                BlockCode::NotInPolicy,
                "the policy does not say how far over its key a keyseat takes a stepped key",
            ),
        }
        trial
    }

    /// A keyseat of another width has the tolerance of the present one.
    fn target_of_width(&self, trial: &mut Trial, width: Length) -> Option<Target> {
        let span = |limits: Limits| limits.upper - limits.lower;
        let (own, nominal) = match (self.worn.new_limits, self.worn.limits) {
            // A stepped key left it at the size that it was worn to: that is no tolerance.
            (Some(new), Some(now)) if span(new) != span(now) => (new, self.worn.new_nominal),
            (Some(_), Some(now)) => (now, self.worn.new_nominal),
            (None, Some(now)) => (now, self.worn.nominal),
            (_, None) => {
                let text = "no tolerance is known for the new width: give the item limits of size";
                trial.block(BlockCode::NoLimit, text);
                return None;
            }
        };
        let wider = width - nominal;
        let limits = Limits { lower: own.lower + wider, upper: own.upper + wider };
        Some(Target { size: width, limits: Some(limits) })
    }

    pub(super) fn next_key_width(&self) -> Trial {
        let mut trial = Trial::new(Repair::NextKeyWidth);
        match self.worn.next_key_width {
            Some(next) if self.worn.most_worn() > next => {
                let [worn, next] = [self.worn.most_worn(), next].map(|length| self.shown(length));
                let text = format!("reads {worn}; the next wider key is {next}");
                trial.block(BlockCode::WillNotCleanUp, text);
            }
            Some(next) => {
                trial.target = self.target_of_width(&mut trial, next);
                trial.cut_to = Some(next);
                let text = "a wider keyseat weakens the shaft: check its strength with the new key";
                trial.doubt(DoubtCode::Keyseat, text);
            }
            None => trial.block(BlockCode::NotAvailable, "no next wider key is known"),
        }
        trial
    }
}
