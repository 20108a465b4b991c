//! How fast a fit is judged, beside a plain table look-up as the floor.
//!
//! Goal: a two-sided fit with its probability in under 2 us, without allocation (the profiler
//! prints any). Run: `cargo bench -p tenths-domain --bench fit`.
#![allow(clippy::unwrap_used, reason = "a bench may fail")]

use std::hint::black_box;

use divan::{AllocProfiler, Bencher};
use tenths_domain::bushings::{Bushing, Housing, close_in};
use tenths_domain::fit::what_to_measure_next;
use tenths_domain::fit::{ClearanceWindow, RegisterGauge, SizeBelief, judge_by};
use tenths_domain::item::{Limits, Side};
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;
use tenths_domain::verdict::DecisionRule;

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

const fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn measured(low: i64, high: i64, uncertainty: i64) -> SizeBelief {
    SizeBelief::measured(nm(low), nm(high), nm(uncertainty)).unwrap()
}

fn toleranced(lower: i64, upper: i64) -> SizeBelief {
    SizeBelief::toleranced(Limits { lower: nm(lower), upper: nm(upper) }).unwrap()
}

fn window() -> ClearanceWindow {
    ClearanceWindow::new(nm(-21_000), nm(-2_000)).unwrap()
}

fn judged(bencher: Bencher, hole: SizeBelief, shaft: SizeBelief) {
    bencher.with_inputs(|| (hole, shaft, window())).bench_refs(|(hole, shaft, window)| {
        judge_by(black_box(hole), black_box(shaft), *window, DecisionRule::Conformity95)
    });
}

/// The floor: a step of nominal size looked up in a table of twenty-one, nothing worked out.
#[divan::bench]
fn floor_plain_look_up(bencher: Bencher) {
    const STEPS: [(i64, i64); 21] = [
        (3, 4),
        (6, 5),
        (10, 6),
        (18, 8),
        (30, 9),
        (50, 11),
        (80, 13),
        (120, 15),
        (180, 18),
        (250, 20),
        (315, 23),
        (400, 25),
        (500, 27),
        (630, 32),
        (800, 36),
        (1000, 40),
        (1250, 47),
        (1600, 55),
        (2000, 65),
        (2500, 78),
        (3150, 96),
    ];
    let table = STEPS.map(|(mm, um)| (mm * 1_000_000, um * 1_000));
    bencher.bench_local(|| {
        let size = black_box(30_005_000_i64);
        let table = black_box(&table);
        table[table.partition_point(|(step, _)| *step < size).min(table.len() - 1)].1
    });
}

#[divan::bench]
fn both_sides_measured(bencher: Bencher) {
    judged(
        bencher,
        measured(29_993_000, 29_995_000, 3_000),
        measured(30_004_000, 30_006_000, 4_600),
    );
}

#[divan::bench]
fn one_side_measured_one_toleranced(bencher: Bencher) {
    judged(bencher, toleranced(29_990_000, 30_000_000), measured(30_004_000, 30_006_000, 4_600));
}

#[divan::bench]
fn both_sides_in_doubt_and_a_gauge(bencher: Bencher) {
    let bound = SizeBelief::bound(Some(nm(30_002_000)), Some(nm(30_011_000)), nm(800)).unwrap();
    judged(bencher, toleranced(29_990_000, 30_000_000), bound);
}

#[divan::bench]
fn one_sided_bound(bencher: Bencher) {
    let bound = SizeBelief::bound(Some(nm(30_002_000)), None, nm(800)).unwrap();
    judged(bencher, toleranced(29_990_000, 30_000_000), bound);
}

#[divan::bench]
fn what_to_measure_next_of_forty_gauges(bencher: Bencher) {
    let register: Vec<RegisterGauge<i64>> = (0..40)
        .map(|key| RegisterGauge {
            key,
            side: if key % 2 == 0 { Side::Internal } else { Side::External },
            size_min: nm(0),
            size_max: nm(50_800_000),
            expanded_uncertainty: nm(9_000 - 150 * key),
        })
        .collect();
    let (hole, shaft) =
        (measured(29_993_000, 29_993_000, 9_000), measured(30_005_000, 30_005_000, 9_000));
    bencher.bench_local(|| {
        let rule = DecisionRule::FullGuardBand;
        what_to_measure_next(black_box(&hole), &shaft, window(), rule, &register)
    });
}

#[divan::bench]
fn bushing_close_in(bencher: Bencher) {
    let bushing = Bushing {
        bore: measured(19_050_000, 19_052_000, 2_540),
        outside_diameter: measured(25_438_100, 25_438_100, 2_540),
        material: Material::Bronze,
    };
    let housing = Housing {
        bore: measured(25_400_000, 25_400_000, 2_540),
        outside_diameter: nm(50_800_000),
        material: Material::CastIron,
    };
    bencher.bench_local(|| close_in(black_box(&bushing), black_box(&housing)).is_ok());
}
