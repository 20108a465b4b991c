//! Keys and keyseats against published tables, and the verdict on worn ones.
//!
//! Goal: every tabulated section, depth and fit is given; every depth control value of the
//! standard's own table comes out to its printed thousandth; more wear never improves a verdict;
//! refusals name the nearest.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use proptest::prelude::*;
use tenths_domain::iso286;
use tenths_domain::keys::{
    Key, KeyStandard, KeyseatFit, KeyseatVerdict, STEPPED_KEY_MAX, judge_keyseat, key_for_shaft,
    key_of_width, keyseat_bottom_to_opposite_side, keyseat_width_limits, next_wider,
};
use tenths_domain::units::{Entry, Length, Unit};

const SECTIONS: &str = include_str!("golden/keys_sections.csv");
const DEPTHS: &str = include_str!("golden/keys_depths.csv");
const FITS: &str = include_str!("golden/keys_fits.csv");
const METRIC: &str = include_str!("golden/keys_metric_published.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

/// A length of the tables, some of which have more places than a person may enter.
fn exact(text: &str, unit: Unit) -> Length {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits: i64 = format!("{whole}{fraction}").parse().unwrap();
    let nm = digits * unit.nm();
    let power = 10_i64.pow(u32::try_from(fraction.len()).unwrap());
    assert_eq!(nm % power, 0, "{text} is not whole nanometres");
    Length::from_nm(nm / power)
}

fn inch(text: &str) -> Length {
    match text.contains('/') {
        true => Entry::parse(text, Unit::Inch).unwrap().length,
        false => exact(text, Unit::Inch),
    }
}

fn mm(text: &str) -> Length {
    exact(text, Unit::Millimetre)
}

fn standard(row: &Row) -> KeyStandard {
    if row["unit"] == "in" { KeyStandard::AnsiB17 } else { KeyStandard::Iso773 }
}

fn fits(standard: KeyStandard) -> &'static [KeyseatFit] {
    match standard {
        KeyStandard::AnsiB17 => &[KeyseatFit::Class1, KeyseatFit::Class2],
        KeyStandard::Iso773 => &[KeyseatFit::Free, KeyseatFit::Normal, KeyseatFit::Close],
    }
}

fn keys() -> Vec<Key> {
    let width = |row: &Row| exact(&row["width"], row["unit"].parse().unwrap());
    rows(SECTIONS).iter().map(|row| key_of_width(width(row), standard(row)).unwrap()).collect()
}

#[test]
fn every_tabulated_section_is_given() {
    let all = rows(SECTIONS);
    assert_eq!(all.len(), 40);
    for row in all {
        let unit: Unit = row["unit"].parse().unwrap();
        let size = |column: &str| exact(&row[column], unit);
        for shaft in [size("shaft_over") + Length::from_nm(1), size("shaft_to_incl")] {
            let key = key_for_shaft(shaft, standard(&row)).unwrap();
            assert_eq!((key.width, key.height), (size("width"), size("height")), "{row:?}");
            assert_eq!(key.shaft_depth, size("shaft_depth"), "{row:?}");
            let hub = if row["hub_depth"].is_empty() { "shaft_depth" } else { "hub_depth" };
            assert_eq!(key.hub_depth, size(hub), "{row:?}");
            let flat = Some(&row["rectangular_height"]).filter(|text| !text.is_empty());
            assert_eq!(key.rectangular_height, flat.map(|text| exact(text, unit)), "{row:?}");
            assert!(row["source"].starts_with(&key.source[..10]), "{row:?}");
            assert_eq!(key_of_width(key.width, key.standard).unwrap(), key);
        }
    }
}

#[test]
fn every_depth_control_value_of_the_standard_comes_out() {
    let all = rows(DEPTHS);
    assert_eq!(all.len(), 33);
    for row in all {
        let shaft = inch(&row["shaft_in"]);
        let key = key_for_shaft(shaft, KeyStandard::AnsiB17).unwrap();
        let left = keyseat_bottom_to_opposite_side(shaft, &key).unwrap();
        assert_eq!(left.number(Unit::Inch, 3), row["s_in"], "{row:?}");
    }
}

#[test]
fn every_published_inch_fit_is_given() {
    for row in rows(FITS) {
        let Ok(key) = key_of_width(inch(&row["width_in"]), KeyStandard::AnsiB17) else {
            panic!("{row:?}")
        };
        let limits = keyseat_width_limits(&key, row["fit"].parse().unwrap()).unwrap();
        let thou = |text: &str| Length::from_nm(text.parse::<i64>().unwrap() * 25_400);
        let edge = key.width + thou(&row["key_thou"]);
        assert_eq!(limits.key.lower, edge.min(key.width), "{row:?}");
        assert_eq!(limits.key.upper, edge.max(key.width), "{row:?}");
        if !row["keyseat_thou"].is_empty() {
            assert_eq!(limits.keyseat.lower, key.width, "{row:?}");
            assert_eq!(limits.keyseat.upper, key.width + thou(&row["keyseat_thou"]), "{row:?}");
            assert_eq!(limits.is_unconfirmed, row["source"].ends_with("from memory"), "{row:?}");
        }
    }
}

#[test]
fn every_published_metric_row_is_given() {
    for row in rows(METRIC) {
        let shaft = mm(&row["shaft_mm"]);
        let key = key_for_shaft(shaft, KeyStandard::Iso773).unwrap();
        assert_eq!((key.width, key.height), (mm(&row["width_mm"]), mm(&row["height_mm"])));
        assert_eq!(key.hub_depth, mm(&row["hub_depth_mm"]), "{row:?}");
        assert_eq!(key.shaft_depth, mm(&row["shaft_depth_mm"]), "{row:?}");
        assert_eq!(key.shaft_depth_tolerance, mm(&row["shaft_depth_tolerance_mm"]), "{row:?}");
        assert!(!key.is_depth_tolerance_unconfirmed, "{row:?}");
        let left = keyseat_bottom_to_opposite_side(shaft, &key).unwrap();
        assert_eq!(left, shaft - mm(&row["shaft_depth_mm"]));
    }
}

/// Tolerances of depth: ISO/R 773:1969, hub keyways at an engineering reference (least and most
/// depth by shaft, read): 0.1 mm to keys 6 mm wide, 0.2 to 32, 0.3 above; the shaft's are the same
/// (JIS B 1301:1996, one column for both, read). ANSI B17.1-1967, top and bottom fit (from memory):
/// 0.005 in least clearance, 0.032 in most = 0.005 + 0.015 shaft + 0.010 hub + 0.002 key.
#[test]
fn keyseats_may_be_deeper_and_never_shallower() {
    for key in keys() {
        let wanted = match (key.standard, key.width.nm()) {
            (KeyStandard::AnsiB17, _) => (inch("0.015"), inch("0.010")),
            (_, ..=6_000_000) => (mm("0.1"), mm("0.1")),
            (_, ..=32_000_000) => (mm("0.2"), mm("0.2")),
            _ => (mm("0.3"), mm("0.3")),
        };
        assert_eq!((key.shaft_depth_tolerance, key.hub_depth_tolerance), wanted, "{key:?}");
        assert_eq!(key.is_depth_tolerance_unconfirmed, key.standard == KeyStandard::AnsiB17);
        let half = key.rectangular_height.map(|height| Length::from_nm(height.nm() / 2));
        assert_eq!(key.rectangular_depth, half);
    }
    let least = inch("0.005");
    let quarter = key_of_width(inch("1/4"), KeyStandard::AnsiB17).unwrap();
    let thinner = inch("0.002");
    let most = least + quarter.shaft_depth_tolerance + quarter.hub_depth_tolerance + thinner;
    assert_eq!(most, inch("0.032"));
}

#[test]
fn metric_keyseats_have_the_limits_of_their_class() {
    for key in keys().iter().filter(|key| key.standard == KeyStandard::Iso773) {
        for (fit, class) in
            [(KeyseatFit::Free, "H9"), (KeyseatFit::Normal, "N9"), (KeyseatFit::Close, "P9")]
        {
            let limits = keyseat_width_limits(key, fit).unwrap();
            let class: iso286::Class = class.parse().unwrap();
            assert_eq!(limits.keyseat, iso286::limits(key.width, &class).unwrap());
            let h9: iso286::Class = "h9".parse().unwrap();
            assert_eq!(limits.key, iso286::limits(key.width, &h9).unwrap());
        }
    }
    // DIN 6885-1 prints 8 P9 as -0.015 to -0.051 and 8 N9 as 0 to -0.036.
    let key = key_of_width(mm("8"), KeyStandard::Iso773).unwrap();
    let close = keyseat_width_limits(&key, KeyseatFit::Close).unwrap().keyseat;
    assert_eq!((close.lower, close.upper), (mm("7.949"), mm("7.985")));
}

#[test]
fn a_worn_keyseat_goes_through_the_steps_of_the_practice() {
    let key = key_of_width(inch("3/16"), KeyStandard::AnsiB17).unwrap();
    let wider = key_of_width(inch("1/4"), KeyStandard::AnsiB17).unwrap();
    for (width, wanted) in [
        ("0.1874", KeyseatVerdict::TooNarrow),
        ("0.1875", KeyseatVerdict::Fits),
        ("0.1895", KeyseatVerdict::Fits),
        ("0.1896", KeyseatVerdict::SteppedOrOversizeKey),
        ("0.1925", KeyseatVerdict::SteppedOrOversizeKey),
        ("0.1926", KeyseatVerdict::NextKeyWidth { key: wider }),
        ("0.2500", KeyseatVerdict::NextKeyWidth { key: wider }),
        ("0.2501", KeyseatVerdict::Beyond),
    ] {
        let judged = judge_keyseat(inch(width), &key, KeyseatFit::Class1).unwrap();
        assert_eq!(judged.verdict, wanted, "{width}");
        let by_limits = matches!(wanted, KeyseatVerdict::Fits | KeyseatVerdict::TooNarrow);
        assert_eq!(judged.is_unconfirmed, !by_limits, "{width}");
        assert_eq!(judged.over_nominal, inch(width) - key.width);
    }
    // The widest key of a table has no next one.
    let widest = key_of_width(mm("100"), KeyStandard::Iso773).unwrap();
    assert_eq!(next_wider(&widest), None);
    let judged = judge_keyseat(mm("100.2"), &widest, KeyseatFit::Normal).unwrap();
    assert_eq!(judged.verdict, KeyseatVerdict::Beyond);
}

#[test]
fn refusals_name_what_was_wrong_and_the_nearest() {
    let messages = [
        key_for_shaft(inch("5/16"), KeyStandard::AnsiB17).unwrap_err().to_string(),
        key_for_shaft(mm("500.001"), KeyStandard::Iso773).unwrap_err().to_string(),
        key_of_width(inch("0.2"), KeyStandard::AnsiB17).unwrap_err().to_string(),
        {
            let key = key_of_width(mm("8"), KeyStandard::Iso773).unwrap();
            keyseat_width_limits(&key, KeyseatFit::Class1).unwrap_err().to_string()
        },
        {
            let key = key_of_width(inch("1/4"), KeyStandard::AnsiB17).unwrap();
            judge_keyseat(inch("1/4"), &key, KeyseatFit::Close).unwrap_err().to_string()
        },
        {
            let key = key_of_width(inch("1/4"), KeyStandard::AnsiB17).unwrap();
            judge_keyseat(Length::ZERO, &key, KeyseatFit::Class1).unwrap_err().to_string()
        },
    ];
    let wanted = [
        "ANSI B17.1 has no key for a shaft of 7.9375 mm (0.3125 in); allowed: over 0.3125 in to \
         7.5000 in; nearest: shafts over 0.3125 in to 0.4375 in",
        "ISO 773 / DIN 6885-1 has no key for a shaft of 500.001 mm (19.68508 in); allowed: over 6 mm \
         to 500 mm; nearest: shafts over 440 mm to 500 mm",
        "ANSI B17.1 has no key 0.2000 in wide; nearest: 0.1875 in",
        "ISO 773 / DIN 6885-1 has no class_1 fit; allowed: free, normal, close",
        "ANSI B17.1 has no close fit; allowed: class_1, class_2",
        "a keyseat measured as 0 mm wide is not a keyseat; a width is over 0",
    ];
    for (message, wanted) in messages.iter().zip(wanted) {
        assert_eq!(message, wanted);
    }
}

/// How bad a verdict is.
fn rank(verdict: KeyseatVerdict) -> u8 {
    match verdict {
        KeyseatVerdict::TooNarrow => panic!("not a worn keyseat"),
        KeyseatVerdict::Fits => 0,
        KeyseatVerdict::SteppedOrOversizeKey => 1,
        KeyseatVerdict::NextKeyWidth { .. } => 2,
        KeyseatVerdict::Beyond => 3,
    }
}

proptest! {
    #[test]
    fn more_wear_never_improves_a_verdict(
        index in 0..40_usize,
        fit in 0..3_usize,
        wear_um in 0..12_000_i64,
        more_um in 0..12_000_i64,
    ) {
        let key = keys()[index];
        let fits = fits(key.standard);
        let fit = fits[fit % fits.len()];
        let limits = keyseat_width_limits(&key, fit).unwrap().keyseat;
        let worn = |um: i64| {
            let width = limits.lower + Length::from_nm(um * 1_000);
            rank(judge_keyseat(width, &key, fit).unwrap().verdict)
        };
        prop_assert!(worn(wear_um) <= worn(wear_um + more_um));
    }

    #[test]
    fn a_verdict_says_only_what_the_width_allows(index in 0..40_usize, over_um in -60..9_000_i64) {
        let key = keys()[index];
        for &fit in fits(key.standard) {
            let width = key.width + Length::from_nm(over_um * 1_000);
            let judged = judge_keyseat(width, &key, fit).unwrap();
            match judged.verdict {
                KeyseatVerdict::TooNarrow => prop_assert!(width < judged.limits.lower),
                KeyseatVerdict::Fits => prop_assert!(width <= judged.limits.upper),
                KeyseatVerdict::SteppedOrOversizeKey => {
                    prop_assert!(judged.limits.upper < width);
                    prop_assert!(judged.over_nominal <= STEPPED_KEY_MAX);
                }
                KeyseatVerdict::NextKeyWidth { key: next } => {
                    prop_assert!(judged.over_nominal > STEPPED_KEY_MAX);
                    prop_assert!(key.width < next.width && width <= next.width);
                }
                KeyseatVerdict::Beyond => {
                    prop_assert!(next_wider(&key).is_none_or(|next| width > next.width));
                }
            }
        }
    }

    #[test]
    fn a_keyseat_always_leaves_more_than_half_the_shaft(um in 8_000..190_000_i64) {
        let shaft = Length::from_nm(um * 1_000);
        for &standard in KeyStandard::ALL {
            let key = key_for_shaft(shaft, standard).unwrap();
            prop_assert!(key.shaft_over < shaft && shaft <= key.shaft_to);
            let left = keyseat_bottom_to_opposite_side(shaft, &key).unwrap();
            prop_assert!(left < shaft && left.nm() > shaft.nm() / 2);
        }
    }
}
