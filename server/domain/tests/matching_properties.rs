//! Matching: what must hold for any question and any stock, against a plain reference that judges
//! everything and sorts it.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::fit::{ClearanceWindow, Requirement, SizeBelief, judge};
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::matching::{
    Act, Answer, Candidate, Caps, Condition, MissSide, Place, Question, answer,
};
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;
use tenths_domain::verdict::Verdict;

const NOMINAL: i64 = 19_050_000;
const ALL: Caps = Caps { fits: usize::MAX, misses: usize::MAX };

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn size() -> impl Strategy<Value = SizeBelief> {
    let part = (-60_000_i64..60_000, 0_i64..20_000, 1_i64..6_000, any::<bool>());
    part.prop_map(|(offset, width, uncertainty, is_measured)| {
        let (lower, upper) = (nm(NOMINAL + offset), nm(NOMINAL + offset + width));
        match is_measured {
            true => SizeBelief::measured(lower, upper, nm(uncertainty)).unwrap(),
            false => SizeBelief::toleranced(Limits { lower, upper }).unwrap(),
        }
    })
}

fn question() -> impl Strategy<Value = Question> {
    let features = [FeatureKind::Journal, FeatureKind::RollingSeat, FeatureKind::SealLand].to_vec();
    let feature = proptest::sample::select(features);
    (feature, size(), -40_000_i64..40_000, 0_i64..50_000).prop_map(|(feature, size, min, width)| {
        let window = ClearanceWindow { min: nm(min), max: nm(min + width) };
        Question {
            place: Place { item: ItemKind::Shaft, feature, material: None },
            size,
            ring: None,
            requirement: Requirement::clearance(window),
            close_in: None,
            other: None,
            age: None,
        }
    })
}

#[derive(Clone, Debug)]
struct Stocked {
    item: ItemKind,
    material: Option<Material>,
    size: SizeBelief,
    condition: Condition,
    available: i64,
    date_code: Option<String>,
}

fn stocked() -> impl Strategy<Value = Stocked> {
    let items = proptest::sample::select(vec![ItemKind::Bushing, ItemKind::RollingBearing]);
    let materials =
        proptest::sample::select(vec![None, Some(Material::Bronze), Some(Material::PorousBronze)]);
    let conditions = proptest::sample::select(Condition::ALL.to_vec());
    let dates = proptest::option::of("202[0-3]-0[1-3]");
    (items, materials, size(), conditions, -1_i64..3, dates).prop_map(
        |(item, material, size, condition, available, date_code)| Stocked {
            item,
            material,
            size,
            condition,
            available,
            date_code,
        },
    )
}

fn candidates(stock: &[Stocked]) -> Vec<Candidate<'_, usize>> {
    let candidate = |(key, stocked): (usize, &'_ Stocked)| Candidate {
        key,
        place: Place { item: stocked.item, feature: FeatureKind::Bore, material: stocked.material },
        nominal: nm(NOMINAL),
        size: stocked.size,
        ring: None,
        condition: stocked.condition,
        available: stocked.available,
        date_code: None,
        other: None,
    };
    let mut all: Vec<_> = stock.iter().enumerate().map(candidate).collect();
    for (candidate, stocked) in all.iter_mut().zip(stock) {
        candidate.date_code = stocked.date_code.as_deref();
    }
    all
}

fn window(question: &Question) -> ClearanceWindow {
    question.requirement.window(nm(NOMINAL), None).unwrap()
}

/// Judges every candidate, sorts, and gives the keys of the fits and of the misses.
fn by_brute_force(question: &Question, stock: &[Stocked]) -> (Vec<usize>, Vec<usize>) {
    let window = window(question);
    let (mut fits, mut misses) = (Vec::new(), Vec::new());
    for (key, part) in stock.iter().enumerate() {
        if part.item == ItemKind::RollingBearing && part.condition == Condition::Used {
            continue;
        }
        let found = judge(&part.size, &question.size, window);
        let tight = window.min - found.clearance_min;
        let loose = found.clearance_max - window.max;
        let by = tight.max(loose).max(Length::ZERO);
        let verdict = found.judgement.verdict;
        let is_held = part.available <= 0;
        let date = part.date_code.clone().unwrap_or("9999".to_owned());
        if by == Length::ZERO && verdict <= Verdict::NotProven {
            let off = found.clearance_min + found.clearance_max - window.min - window.max;
            fits.push((verdict, off.abs(), is_held, date, key));
        } else {
            misses.push((by, is_held, date, key));
        }
    }
    fits.sort();
    misses.sort();
    let keys = fits.into_iter().map(|(.., key)| key).collect();
    (keys, misses.into_iter().map(|(.., key)| key).collect())
}

fn keys(answer: &Answer<usize>) -> (Vec<usize>, Vec<usize>) {
    let fits = answer.fits.iter().map(|found| found.key).collect();
    (fits, answer.misses.iter().map(|miss| miss.key).collect())
}

/// The shaft after an act on it, or the bore after an act on it: all sizes moved by the amount.
fn moved(size: &SizeBelief, by: Length) -> SizeBelief {
    let (lower, upper) = (size.smallest() + by, size.largest() + by);
    match size.is_measured() {
        true => SizeBelief::measured(lower, upper, size.expanded_uncertainty()).unwrap(),
        false => SizeBelief::toleranced(Limits { lower, upper }).unwrap(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn the_answer_is_what_brute_force_finds_in_the_same_order(
        question in question(), stock in proptest::collection::vec(stocked(), 0..40)
    ) {
        let found = answer(&question, candidates(&stock), ALL);
        prop_assert_eq!(keys(&found), by_brute_force(&question, &stock));
        prop_assert_eq!(found.fits.len() as u64, found.counts.fits);
        prop_assert_eq!(found.misses.len() as u64, found.counts.misses);
    }

    #[test]
    fn caps_cut_the_answer_and_the_order_of_candidates_does_not_matter(
        question in question(), stock in proptest::collection::vec(stocked(), 0..40),
        fits in 0_usize..6, misses in 0_usize..6,
    ) {
        let full = answer(&question, candidates(&stock), ALL);
        let reversed = candidates(&stock).into_iter().rev();
        let cut = answer(&question, reversed, Caps { fits, misses });
        prop_assert_eq!(&cut.fits[..], &full.fits[..full.fits.len().min(fits)]);
        prop_assert_eq!(&cut.misses[..], &full.misses[..full.misses.len().min(misses)]);
        prop_assert_eq!(cut.counts, full.counts);
    }

    #[test]
    fn a_fit_is_inside_its_window_at_both_extremes_and_a_miss_is_not(
        question in question(), stock in proptest::collection::vec(stocked(), 0..40)
    ) {
        let window = window(&question);
        let found = answer(&question, candidates(&stock), ALL);
        for fit in &found.fits {
            prop_assert!(window.min <= fit.fit.clearance_min);
            prop_assert!(fit.fit.clearance_max <= window.max);
            prop_assert!(fit.fit.judgement.verdict <= Verdict::NotProven);
        }
        for miss in &found.misses {
            let inside = window.min <= miss.fit.clearance_min
                && miss.fit.clearance_max <= window.max;
            prop_assert_eq!(inside, miss.by == Length::ZERO);
            prop_assert_eq!(inside, miss.act == Some(Act::Remeasure));
        }
    }

    #[test]
    fn an_act_with_an_amount_makes_the_miss_fit_and_keeps_the_rules(
        question in question(), stock in proptest::collection::vec(stocked(), 0..40)
    ) {
        let window = window(&question);
        let found = answer(&question, candidates(&stock), ALL);
        for miss in &found.misses {
            let part = &stock[miss.key];
            let takes_bearing = question.place.feature == FeatureKind::RollingSeat
                || part.item == ItemKind::RollingBearing;
            let (bore, shaft) = match miss.act {
                Some(Act::GrindShaft { amount }) => {
                    prop_assert!(!takes_bearing);
                    (part.size, moved(&question.size, -amount))
                }
                Some(Act::HoneBore { amount } | Act::ReamBore { amount }) => {
                    prop_assert_eq!(part.item, ItemKind::Bushing);
                    prop_assert_eq!(part.material, Some(Material::Bronze));
                    (moved(&part.size, amount), question.size)
                }
                Some(Act::BuildUp { amount }) => (part.size, moved(&question.size, amount)),
                _ => continue,
            };
            prop_assert_ne!(miss.side, MissSide::Both);
            let after = judge(&bore, &shaft, window);
            prop_assert!(window.min <= after.clearance_min && after.clearance_max <= window.max);
        }
    }

    #[test]
    fn choosing_among_unmeasured_parts_can_really_save_the_miss(
        question in question(), stock in proptest::collection::vec(stocked(), 0..40)
    ) {
        let window = window(&question);
        let found = answer(&question, candidates(&stock), ALL);
        for miss in found.misses.iter().filter(|m| m.act == Some(Act::MeasureAndChoose)) {
            // One size of an unmeasured part, chosen so that the tighter end just holds.
            let ends = |size: &SizeBelief| match size.is_measured() {
                true => vec![*size],
                false => {
                    let (low, high) = (size.smallest(), size.largest());
                    let steps = 200;
                    (0..=steps).map(|step| {
                        let at = low.nm() + (high.nm() - low.nm()) * step / steps;
                        SizeBelief::measured(nm(at), nm(at), nm(1)).unwrap()
                    }).collect()
                }
            };
            // Sizes are tried in 200 steps: allow the window one step more at each end.
            let slack = nm(20_000 / 200 + 1);
            let saved = ends(&stock[miss.key].size).iter().any(|bore| {
                ends(&question.size).iter().any(|shaft| {
                    let fit = judge(bore, shaft, window);
                    window.min - slack <= fit.clearance_min
                        && fit.clearance_max <= window.max + slack
                })
            });
            prop_assert!(saved, "{miss:?}");
        }
    }
}
