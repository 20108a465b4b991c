//! How far the plan of a queue is from the best there is, and what sharing set-ups saves.
//!
//! `cargo run --release -p tenths-domain --example plan_gap` prints, over 1 000 random queues of up
//! to 8 jobs, the mean and the worst gap to exhaustive search, and the set-up minutes against one
//! set-up per job and against the order of arrival.
#![allow(clippy::print_stdout, reason = "printing is what it is for")]

#[path = "../tests/plan_support/mod.rs"]
mod plan_support;

use plan_support::{Dice, queue};
use tenths_domain::plan::{PlanJob, PlanRules, plan, plan_exact};

const QUEUES: u64 = 1_000;

fn main() {
    let mut dice = Dice(1);
    let (mut gaps, mut setup, mut alone, mut arrival) = (Vec::new(), 0, 0, 0);
    for round in 0..QUEUES {
        let (jobs, rules) = queue(&mut dice, 1 + round % 8);
        let found = plan(&jobs, &rules);
        let Some(best) = plan_exact(&jobs, &rules) else { continue };
        gaps.push(gap_percent(found.loss, best.loss));
        setup += found.setup_minutes;
        alone += found.setup_minutes_alone;
        arrival += in_order_of_arrival(&jobs, &rules);
    }
    let mean = gaps.iter().sum::<f64>() / gaps.len() as f64;
    let worst = gaps.iter().copied().fold(0.0, f64::max);
    let beyond = gaps.iter().filter(|gap| **gap > 0.0).count();
    println!("{} queues of 1 to 8 jobs", gaps.len());
    println!(
        "gap to exhaustive search: mean {mean:.4} %, worst {worst:.3} %, {beyond} not the best"
    );
    println!("set-up minutes: {setup} planned, {arrival} in order of arrival, {alone} one per job");
    println!("saved: {} against arrival, {} against one per job", arrival - setup, alone - setup);
}

fn gap_percent(found: i128, best: i128) -> f64 {
    if best == 0 { 0.0 } else { (found - best) as f64 * 100.0 / best as f64 }
}

/// Set-up minutes if each is taken as it came.
fn in_order_of_arrival(jobs: &[PlanJob], rules: &PlanRules) -> u64 {
    let mut jobs: Vec<&PlanJob> = jobs.iter().collect();
    jobs.sort_by_key(|job| (job.queued_at_min, job.id));
    let band = |job: &PlanJob| job.finish_size.nm() / rules.band_width.nm();
    let pairs = jobs.windows(2).map(|pair| {
        if pair[0].setup_family != pair[1].setup_family {
            rules.setup_family_minutes
        } else if band(pair[0]) != band(pair[1]) {
            rules.setup_band_minutes
        } else {
            0
        }
    });
    pairs.map(u64::from).sum::<u64>() + u64::from(rules.setup_family_minutes)
}
