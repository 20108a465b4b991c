//! Assembly advice against published worked examples.
//!
//! Goal: pressures, hoop stresses, friction force and thermal growth are the printed ones, and the
//! trade's own figures come out.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use tenths_domain::assembly::{
    Cylinders, FittingFactors, Friction, Interference, RadialClearance, Source, Stiffness,
    clearance_left, elastic, growth, press_force,
};
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};

const LAME: &str = include_str!("golden/assembly_lame.csv");
const PRESS: &str = include_str!("golden/assembly_press.csv");
const EXPANSION: &str = include_str!("golden/assembly_expansion.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap()
}

fn length(row: &Row, column: &str) -> Length {
    Length::from_nm(row[column].parse().unwrap())
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

#[test]
fn pressures_and_hoop_stresses_are_the_published_ones() {
    let all = rows(LAME);
    assert_eq!(all.len(), 3);
    for row in all {
        let stiffness = |side: &str| Stiffness {
            young_mpa: number(&row, &format!("{side}_young_mpa")),
            poisson: number(&row, &format!("{side}_poisson")),
        };
        let cylinders = Cylinders::new(
            length(&row, "diameter_nm"),
            length(&row, "bore_nm"),
            length(&row, "outside_nm"),
            stiffness("inner"),
            stiffness("outer"),
        )
        .unwrap();
        let pressure = cylinders.pressure_mpa(length(&row, "interference_nm"));
        let found =
            [pressure, cylinders.outer_hoop_mpa(pressure), cylinders.inner_hoop_mpa(pressure)];
        for (found, column) in
            found.into_iter().zip(["pressure_mpa", "outer_hoop_mpa", "inner_hoop_mpa"])
        {
            if !row[column].is_empty() {
                let wanted = number(&row, column);
                let tolerance = number(&row, "relative_tolerance");
                assert!((found / wanted - 1.0).abs() <= tolerance, "{row:?}: {column} {found}");
            }
        }
    }
}

#[test]
fn a_published_friction_force_comes_out() {
    let all = rows(PRESS);
    assert_eq!(all.len(), 1);
    for row in all {
        let steel = elastic(Material::Steel).usual();
        let diameter = length(&row, "diameter_nm");
        let outside = length(&row, "outside_nm");
        let cylinders = Cylinders::new(diameter, nm(0), outside, steel, steel).unwrap();
        let interference = length(&row, "interference_nm");
        let range = Interference::new(interference, interference).unwrap();
        // Dry friction goes up to the printed 0.25.
        let force =
            press_force(&cylinders, range, length(&row, "length_nm"), Friction::Dry).unwrap();
        let miss = force.most_n as f64 / number(&row, "most_n") - 1.0;
        assert!(miss.abs() <= number(&row, "relative_tolerance"), "{force:?}");
        assert!(force.least_n * 5 / 2 <= force.most_n + 2 && force.least_n > 0);
    }
}

#[test]
fn thermal_growth_is_the_published_one() {
    let all = rows(EXPANSION);
    assert_eq!(all.len(), 5);
    for row in all {
        let integer = |column: &str| row[column].parse::<i64>().unwrap();
        let size = length(&row, "size_nm");
        let found = growth(size, integer("expansion_ppb_per_k"), integer("rise_mk"));
        let miss = (found - length(&row, "change_nm")).abs();
        assert!(miss <= length(&row, "tolerance_nm"), "{row:?}: {found:?}");
    }
}

/// Our trade notes, section 4: a 1/8 in wall bronze bushing, 1 in long, 0.0015 in of interference
/// takes about 2060 lbf into steel, 1680 into cast iron and 1410 into aluminium at friction 0.12.
#[test]
fn the_trades_press_forces_are_the_top_of_the_lubricated_range() {
    let inch = |text: &str| Entry::parse(text, Unit::Inch).unwrap().length;
    let housings =
        [(Material::Steel, 2060), (Material::CastIron, 1680), (Material::Aluminium, 1410)];
    for (housing, wanted) in housings {
        let (bronze, housing) = (elastic(Material::Bronze).usual(), elastic(housing).usual());
        let cylinders =
            Cylinders::new(inch("1"), inch("0.75"), inch("2"), bronze, housing).unwrap();
        let interference = Interference::new(inch("0.0015"), inch("0.0015")).unwrap();
        let force = press_force(&cylinders, interference, inch("1"), Friction::Lubricated).unwrap();
        // "About", with its own choice of moduli within the published ranges: to 3 %.
        let (_, most) = force.pounds();
        assert!((most - wanted).abs() * 100 <= 3 * wanted, "{housing:?}: {most}");
    }
}

/// Our trade notes, section 4: 30 mm bore on k5, worst case left -12 to +18 um (CN) and -4 to
/// +26 um (C3), with a factor of 0.8 and no smoothing.
#[test]
fn the_trades_clearance_left_comes_out_with_its_factor() {
    let factors = FittingFactors {
        inner_hundredths: (80, 80),
        outer_hundredths: (85, 85),
        smoothing: (nm(0), nm(0)),
        source: Source::unconfirmed("trade notes"),
    };
    let seat = Interference::new(nm(2_000), nm(21_000)).unwrap();
    let sliding = Interference::new(nm(-32_000), nm(0)).unwrap();
    for ([min, max], wanted) in [([5_000, 20_000], [-11.8, 18.4]), ([13_000, 28_000], [-3.8, 26.4])]
    {
        let clearance = RadialClearance { min: nm(min), max: nm(max) };
        let found = clearance_left(clearance, seat, sliding, nm(0), &factors).unwrap();
        let found = [found.left.min, found.left.max].map(|length| length.nm() as f64 / 1e3);
        assert_eq!(found, wanted);
    }
}

/// Shares and smoothing each against the answer: 0.85 of 30 - 2 um and 0.85 of 12 - 2 um at most,
/// 0.75 of 20 - 5 um and 0.85 of 8 - 5 um at least.
#[test]
fn the_usual_factors_take_the_most_from_the_least_and_the_least_from_the_most() {
    let clearance = RadialClearance { min: nm(13_000), max: nm(28_000) };
    let inner = Interference::new(nm(20_000), nm(30_000)).unwrap();
    let outer = Interference::new(nm(8_000), nm(12_000)).unwrap();
    let usual = FittingFactors::USUAL;
    let found = clearance_left(clearance, inner, outer, nm(5_000), &usual).unwrap();
    assert_eq!(found.left.min, nm(13_000 - 23_800 - 8_500 - 5_000));
    assert_eq!(found.left.max, nm(28_000 - 11_250 - 2_550));
    assert!(found.may_preload);
}
