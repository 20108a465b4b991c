//! ISO 286: what must hold between classes, over random sizes and every class.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::iso286::{Class, FundamentalDeviation, Grade, deviations, limits};
use tenths_domain::item::Side;
use tenths_domain::units::{Entry, Length, Unit};

/// A third each: up to 500 mm, above, and within a micrometre of a step's end.
fn size() -> impl Strategy<Value = Length> {
    let ends = [
        3, 6, 10, 14, 18, 24, 30, 50, 80, 120, 180, 250, 280, 315, 400, 450, 500, 630, 710, 800,
        1000, 1600, 2500,
    ];
    let near = (proptest::sample::select(ends.to_vec()), -1_000_i64..1_000)
        .prop_map(|(mm, off)| mm * 1_000_000 + off);
    prop_oneof![1_i64..=500_000_000, 500_000_001_i64..=3_150_000_000, near]
        .prop_map(Length::from_nm)
}

fn classes() -> impl Iterator<Item = (Side, FundamentalDeviation)> {
    let sides = [Side::Internal, Side::External];
    let letters = FundamentalDeviation::ALL.iter();
    letters.flat_map(move |&letter| sides.map(|side| (side, letter)))
}

proptest! {
    #[test]
    fn a_higher_grade_is_never_tighter(size in size()) {
        for (side, letter) in classes() {
            let widths = Grade::ALL.into_iter().filter_map(|grade| {
                let found = deviations(size, &Class::new(side, letter, grade)).ok()?;
                Some(found.upper - found.lower)
            });
            prop_assert!(widths.collect::<Vec<_>>().is_sorted());
        }
    }

    #[test]
    fn a_wider_class_contains_the_narrower_of_the_same_letter(size in size()) {
        // Holds where the fundamental deviation does not depend on the grade; so not for j, J, k
        // and the holes with delta.
        let same = |side, letter: FundamentalDeviation| letter <= FundamentalDeviation::H
            || letter == FundamentalDeviation::Js
            || (side == Side::External && letter >= FundamentalDeviation::M);
        for (side, letter) in classes().filter(|&(side, letter)| same(side, letter)) {
            let all: Vec<_> = Grade::ALL.into_iter()
                .filter_map(|grade| limits(size, &Class::new(side, letter, grade)).ok()).collect();
            for pair in all.windows(2) {
                prop_assert!(pair[1].lower <= pair[0].lower && pair[0].upper <= pair[1].upper);
            }
        }
    }

    #[test]
    fn a_hole_mirrors_its_shaft_where_no_delta_is_added(size in size()) {
        for &letter in FundamentalDeviation::ALL {
            // N over IT8 is zero and K has no coarse hole; J has its own table.
            let mirrored = letter <= FundamentalDeviation::H
                || letter == FundamentalDeviation::Js || letter >= FundamentalDeviation::P;
            for grade in Grade::ALL.into_iter().filter(|grade| mirrored && *grade > Grade::ALL[9]) {
                let hole = deviations(size, &Class::new(Side::Internal, letter, grade));
                let shaft = deviations(size, &Class::new(Side::External, letter, grade));
                match (hole, shaft) {
                    (Ok(hole), Ok(shaft)) => {
                        prop_assert_eq!((hole.lower, hole.upper), (-shaft.upper, -shaft.lower));
                    }
                    (hole, shaft) => prop_assert!(hole.is_err() && shaft.is_err()),
                }
            }
        }
    }

    #[test]
    fn the_same_size_in_inch_and_in_mm_has_the_same_answer(tenths in 1_u32..=1_240_157) {
        // Ten-thousandths of an inch, 2540 nm each, to the end of the standard.
        let inch = format!("{}.{:04}", tenths / 10_000, tenths % 10_000);
        let nm = u64::from(tenths) * 2_540;
        let mm = format!("{}.{:06}", nm / 1_000_000, nm % 1_000_000);
        let inch = Entry::parse(&inch, Unit::Inch).unwrap().length;
        let mm = Entry::parse(&mm, Unit::Millimetre).unwrap().length;
        for (side, letter) in classes() {
            for grade in Grade::ALL {
                let class = Class::new(side, letter, grade);
                prop_assert_eq!(limits(inch, &class), limits(mm, &class));
            }
        }
    }
}
