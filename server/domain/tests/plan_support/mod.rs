//! Random small queues, the same ones every time.

use tenths_domain::plan::{PlanJob, PlanRules};
use tenths_domain::units::Length;

/// SplitMix64 (Steele, Lea and Flood, 2014): a seed gives the same numbers everywhere.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % end
    }
}

/// A queue of so many jobs in three families and four bands: grinding work of 10 to 60 minutes,
/// set-ups of 15 to 40 (common practice, no published source), a third of it with a due date.
pub(crate) fn queue(dice: &mut Dice, count: u64) -> (Vec<PlanJob>, PlanRules) {
    let jobs = (0..count).map(|id| job(dice, id as i64)).collect();
    let setup_family_minutes = 15 + dice.below(26) as u32;
    let rules = PlanRules {
        now_min: 0,
        setup_family_minutes,
        setup_band_minutes: 5 + dice.below(10) as u32,
        band_width: Length::from_nm(5_000_000),
        max_wait_minutes: Some(2_400),
        due_floor_minutes: 60,
        set_up: None,
    };
    (jobs, rules)
}

fn job(dice: &mut Dice, id: i64) -> PlanJob {
    let has_due = dice.below(3) == 0;
    PlanJob {
        id,
        setup_family: ["grinder, centres", "grinder, chuck", "lathe"][dice.below(3) as usize]
            .into(),
        finish_size: Length::from_nm(15_000_000 + 5_000_000 * dice.below(4) as i64),
        minutes: 10 + dice.below(51) as u32,
        minutes_after: dice.below(120) as u32,
        value_minor: dice.below(400_000) as i64,
        chance_ppm: 600_000 + dice.below(400_001) as u32,
        queued_at_min: -(dice.below(2_500) as i64),
        due_at_min: has_due.then(|| dice.below(1_500) as i64),
    }
}
