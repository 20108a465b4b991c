//! Limits of size, printed beside a plain look-up of the same sizes in one flat table.
//!
//! Every benchmark walks the same 1,000 random sizes, so the microseconds printed are nanoseconds a
//! call; the target is under 200. The allocation profile must stay empty: limits are the hot path
//! of matching.

use std::hint::black_box;

use divan::counter::ItemsCount;
use divan::{AllocProfiler, Bencher};
use tenths_domain::b41::{self, FitClass};
use tenths_domain::iso286::{self, Class};
use tenths_domain::units::Length;

#[global_allocator]
static ALLOC: AllocProfiler = AllocProfiler::system();

const CALLS: usize = 1_000;

/// Upper ends of the intermediate steps to 500 mm, in nanometres, and the limit deviations of k6.
const FLAT_K6: [(i64, i64, i64); 13] = [
    (3_000_000, 0, 6_000),
    (6_000_000, 1_000, 9_000),
    (10_000_000, 1_000, 10_000),
    (18_000_000, 1_000, 12_000),
    (30_000_000, 2_000, 15_000),
    (50_000_000, 2_000, 18_000),
    (80_000_000, 2_000, 21_000),
    (120_000_000, 3_000, 25_000),
    (180_000_000, 3_000, 28_000),
    (250_000_000, 4_000, 33_000),
    (315_000_000, 4_000, 36_000),
    (400_000_000, 4_000, 40_000),
    (500_000_000, 5_000, 45_000),
];

fn main() {
    divan::main();
}

/// Sizes over 0 to 500 mm from a fixed multiplicative sequence: the same in every run.
fn sizes() -> Vec<Length> {
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut next = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        Length::from_nm(1 + ((state >> 33) % 500_000_000) as i64)
    };
    (0..CALLS).map(|_| next()).collect()
}

fn classes(texts: &[&str]) -> Vec<Class> {
    let classes =
        texts.iter().map(|text| text.parse().expect("a class in the standard's spelling"));
    let classes: Vec<_> = classes.collect();
    classes.into_iter().cycle().take(CALLS).collect()
}

#[divan::bench]
fn floor_flat_table_k6(bencher: Bencher) {
    let sizes = sizes();
    bencher.counter(ItemsCount::new(CALLS)).bench_local(|| {
        for &size in &sizes {
            let index = FLAT_K6.partition_point(|&(to_nm, ..)| to_nm < black_box(size).nm());
            let (_, lower, upper) = FLAT_K6[index];
            black_box((size.nm() + lower, size.nm() + upper));
        }
    });
}

fn bench_limits(bencher: Bencher, texts: &[&str]) {
    let (sizes, classes) = (sizes(), classes(texts));
    bencher.counter(ItemsCount::new(CALLS)).bench_local(|| {
        for (&size, class) in sizes.iter().zip(&classes) {
            let _ = black_box(iso286::limits(black_box(size), black_box(class)));
        }
    });
}

#[divan::bench]
fn iso286_limits_k6(bencher: Bencher) {
    bench_limits(bencher, &["k6"]);
}

#[divan::bench]
fn iso286_limits_mixed_classes(bencher: Bencher) {
    bench_limits(bencher, &["H7", "k5", "P7", "js6", "f8", "M6", "N9", "h11", "u6", "G7", "K8"]);
}

#[divan::bench]
fn b41_fit_mixed_classes(bencher: Bencher) {
    let sizes = sizes();
    let classes: Vec<_> = FitClass::ALL.into_iter().cycle().take(CALLS).collect();
    bencher.counter(ItemsCount::new(CALLS)).bench_local(|| {
        for (&size, &class) in sizes.iter().zip(&classes) {
            let _ = black_box(b41::fit(black_box(size), black_box(class)));
        }
    });
}
