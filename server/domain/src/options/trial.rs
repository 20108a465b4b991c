//! One option as it is being judged: what blocks it, what is in doubt, and the sizes it comes to.

use super::{Block, BlockCode, Doubt, DoubtCode, MinimumDiameter, Repair, Target, WornFeature};
use crate::item::Side;
use crate::policy::{FeaturePolicy, Policy};
use crate::units::{Length, Unit};

/// What every option is judged by.
pub(super) struct Bench<'a> {
    pub(super) worn: &'a WornFeature,
    pub(super) policy: &'a Policy,
    pub(super) minimum: &'a MinimumDiameter,
    pub(super) unit: Unit,
}

/// An option being judged.
pub(super) struct Trial {
    pub(super) repair: Repair,
    pub(super) blocks: Vec<Block>,
    pub(super) doubts: Vec<Doubt>,
    pub(super) target: Option<Target>,
    /// The size that the metal is cut to before anything is put on.
    pub(super) cut_to: Option<Length>,
    /// What is put on at most, finished, on diameter.
    pub(super) added: Length,
}

impl Trial {
    pub(super) fn new(repair: Repair) -> Trial {
        let (blocks, doubts) = (Vec::new(), Vec::new());
        Trial { repair, blocks, doubts, target: None, cut_to: None, added: Length::ZERO }
    }

    pub(super) fn block(&mut self, code: BlockCode, text: impl Into<String>) {
        self.blocks.push(Block { code, text: text.into() });
    }

    pub(super) fn doubt(&mut self, code: DoubtCode, text: impl Into<String>) {
        self.doubts.push(Doubt { code, text: text.into() });
    }
}

impl Bench<'_> {
    pub(super) fn shown(&self, length: Length) -> String {
        length.display_in(self.unit)
    }

    /// The policy's entry for the use.
    pub(super) fn feature(&self) -> Option<&FeaturePolicy> {
        self.worn.used_as().and_then(|used_as| self.policy.feature(used_as))
    }

    /// A figure of the policy's entry for the use.
    pub(super) fn figure(
        &self,
        of: impl Fn(&FeaturePolicy) -> &Option<crate::policy::Noted<Length>>,
    ) -> Option<Length> {
        self.feature().and_then(|entry| of(entry).as_ref().map(|noted| noted.value))
    }

    /// The run-out that straightening leaves at most; nothing for what is not bent.
    pub(super) fn straightened_to(&self) -> Option<Length> {
        super::straightened_to(self.worn, self.policy)
    }

    pub(super) fn doubt_straightening(&self, trial: &mut Trial) {
        let (Some(bent), Some(left)) = (self.worn.run_out_tir, self.straightened_to()) else {
            return;
        };
        let [bent, left] = [bent, left].map(|length| self.shown(length));
        let text = format!(
            "bent {bent}: counted as straightened to {left}; straightening may crack it, so test it \
             again and measure the run-out before other work"
        );
        trial.doubt(DoubtCode::RunOut, text);
    }

    /// The size at which the surface is clean all round.
    pub(super) fn clean_up(&self) -> Length {
        super::clean_up_size(self.worn, self.policy)
    }

    /// The finished size so far under nominal.
    pub(super) fn target(&self, trial: &mut Trial, undersize: Length) -> Target {
        let target = self.worn.target(undersize, self.figure(|entry| &entry.finish_tolerance));
        if target.limits.is_none() {
            let text = "no tolerance is known for the finished size: give the item limits of size, \
                        or the policy a finish_tolerance";
            trial.block(BlockCode::NoLimit, text);
        }
        trial.target = Some(target);
        target
    }

    /// The finished size of building up.
    pub(super) fn built_up_target(&self, trial: &mut Trial) -> Target {
        let Some(new) = self.worn.new_limits else { return self.target(trial, Length::ZERO) };
        let target = Target { size: self.worn.fullest(new), limits: Some(new) };
        trial.target = Some(target);
        target
    }

    /// Blocks a cut that leaves too little of the part. `strips` is whether an earlier layer is
    /// taken off first.
    pub(super) fn check_depth(&self, trial: &mut Trial, cut_to: Length, strips: bool) {
        trial.cut_to = Some(cut_to);
        let gone = self.worn.depth(self.worn.new_nominal, cut_to);
        if let Some(most) = self.figure(|entry| &entry.stock_removal_max)
            && gone > most
        {
            let [gone, most] = [gone, most].map(|length| self.shown(length));
            let text = format!("takes {gone} off nominal on diameter; the policy allows {most}");
            trial.block(BlockCode::StockRemoval, text);
        }
        match self.worn.side() {
            Side::External => self.check_diameter(trial, cut_to, strips),
            Side::Internal => self.check_bore(trial, cut_to),
        }
    }

    fn check_diameter(&self, trial: &mut Trial, cut_to: Length, strips: bool) {
        let governing =
            if strips { self.minimum.of_bare_metal() } else { self.minimum.governing() };
        match governing {
            Some(part) if cut_to < part.value => {
                let [cut, least] = [cut_to, part.value].map(|length| self.shown(length));
                let by = part.by.as_str().replace('_', " ");
                let text = format!("cut to {cut}, below the smallest diameter {least} ({by})");
                trial.block(BlockCode::BelowMinimum, text);
            }
            Some(_) => {}
            None => trial.doubt(
                DoubtCode::Strength,
                "no smallest diameter is known: give torque, case depth, shoulder or a stated limit",
            ),
        }
        if self.worn.demand.case_depth_per_side.is_none() {
            let text = "case depth is not known: cutting may go through a hardened case";
            trial.doubt(DoubtCode::CaseDepth, text);
        }
    }

    fn check_bore(&self, trial: &mut Trial, cut_to: Length) {
        match self.worn.bore_max {
            Some(most) if cut_to > most => {
                let [cut, most] = [cut_to, most].map(|length| self.shown(length));
                let text = format!("opened to {cut}, beyond the largest bore {most}");
                trial.block(BlockCode::BelowMinimum, text);
            }
            Some(_) => {}
            None => trial.doubt(
                DoubtCode::Wall,
                "how much metal is around the bore is not known: check the wall before opening it",
            ),
        }
    }

    /// The doubts of anything that is ground or cut.
    pub(super) fn doubt_cut(&self, trial: &mut Trial) {
        if self.worn.run_out_tir.is_none() && self.worn.side() == Side::External {
            let text = "run-out was not measured and is taken as none: check it between centres, \
                        it counts as much as wear";
            trial.doubt(DoubtCode::RunOut, text);
        }
        self.doubt_straightening(trial);
        match self.worn.built_up {
            crate::state::BuiltUp::No => {}
            crate::state::BuiltUp::Yes => trial.doubt(
                DoubtCode::BuiltUp,
                "built up before: an earlier layer may be thin or unsound, find its depth first",
            ),
            crate::state::BuiltUp::Unknown => trial.doubt(
                DoubtCode::BuiltUp,
                "whether it was built up before is not known: look for an earlier layer first",
            ),
        }
    }
}
