//! Bushings: close-in when pressed, and running clearance.
//!
//! Goal: the share of the interference that shows at the bore is that of independent thick-cylinder
//! results; the installed bore holds the true one for every pair of materials; the four rules of
//! running clearance give their printed figures; nothing is ever planned on no close-in.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use proptest::prelude::*;
use tenths_domain::assembly::{Caution, Cylinders, Stiffness};
use tenths_domain::bushings::{
    Bushing, BushingError, Housing, RunningClearance, RunningRule, close_in,
};
use tenths_domain::fit::{ClearanceWindow, SizeBelief, judge};
use tenths_domain::item::Limits;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::Verdict;

const CLOSE_IN: &str = include_str!("golden/bushing_close_in.csv");
const RUNNING: &str = include_str!("golden/bushing_running_clearance.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn inch(text: &str) -> Length {
    Entry::parse(text, Unit::Inch).unwrap().length
}

fn measured(size: Length, uncertainty: Length) -> SizeBelief {
    SizeBelief::measured(size, size, uncertainty).unwrap()
}

/// A 3/4 in bronze bushing of a wall, 0.0015 in larger than its housing bore, which lies in a
/// housing of twice its outside diameter.
fn pair(wall: Length, housing: Material) -> (Bushing, Housing) {
    let outside = inch("0.750") + wall + wall;
    let bushing = Bushing {
        bore: measured(inch("0.7500"), inch("0.0001")),
        outside_diameter: measured(outside + inch("0.0015"), inch("0.0001")),
        material: Material::Bronze,
    };
    let bore = measured(outside, inch("0.0001"));
    (bushing, Housing { bore, outside_diameter: outside + outside, material: housing })
}

#[test]
fn the_share_is_that_of_independent_thick_cylinder_results() {
    let all = rows(CLOSE_IN);
    assert_eq!(all.len(), 9);
    for row in all {
        let (bushing, housing) = pair(inch(&row["wall_in"]), row["housing"].parse().unwrap());
        let pressed = close_in(&bushing, &housing).unwrap();
        let wanted: f64 = row["share"].parse().unwrap();
        assert!((pressed.share - wanted).abs() <= 0.011, "{row:?}: {}", pressed.share);
        let (low, high) = pressed.share_range;
        assert!(low < pressed.share && pressed.share < high);
        assert!(pressed.is_confirmed());
    }
}

#[test]
fn the_installed_bore_spans_the_extremes_of_interference_and_both_moduli() {
    let (mut bushing, mut housing) = pair(inch("0.125"), Material::CastIron);
    let limits = |lower: &str, upper: &str| {
        SizeBelief::toleranced(Limits { lower: inch(lower), upper: inch(upper) }).unwrap()
    };
    bushing.outside_diameter = limits("1.0020", "1.0030");
    housing.bore = limits("1.0000", "1.0010");
    let pressed = close_in(&bushing, &housing).unwrap();
    assert_eq!(pressed.interference, (inch("0.0010"), inch("0.0030")));
    let (low, high) = pressed.share_range;
    let least = low * inch("0.0010").nm() as f64;
    let most = high * inch("0.0030").nm() as f64;
    assert!((pressed.close_in.least().nm() as f64 - least).abs() <= 1.0);
    assert!((pressed.close_in.most().nm() as f64 - most).abs() <= 1.0);
    let free = bushing.bore;
    assert_eq!(pressed.installed_bore.smallest(), free.smallest() - pressed.close_in.most());
    assert_eq!(pressed.installed_bore.largest(), free.largest() - pressed.close_in.least());
}

#[test]
fn the_installed_bore_carries_the_doubt_of_all_three_sizes() {
    let (bushing, housing) = pair(inch("0.125"), Material::Steel);
    let pressed = close_in(&bushing, &housing).unwrap();
    // 2.54 um of bore, and 0.81 of the root of two times 2.54 um: 3.86 um.
    let found = pressed.installed_bore.expanded_uncertainty();
    let share = pressed.share * 2.0_f64.sqrt();
    let wanted = 2_540.0 * (1.0 + share * share).sqrt();
    assert!((found.nm() as f64 - wanted).abs() <= 2.0, "{found:?} {wanted}");
}

/// The fit is judged on the installed bore: the same bushing that is too loose free runs right.
#[test]
fn a_bushing_that_is_loose_free_fits_when_pressed() {
    let (bushing, housing) = pair(inch("0.125"), Material::Steel);
    let journal = measured(inch("0.7480"), inch("0.00005"));
    let wanted = ClearanceWindow::new(inch("0.0004"), inch("0.0013")).unwrap();
    let free = judge(&bushing.bore, &journal, wanted);
    assert_eq!(free.judgement.verdict, Verdict::ProvenOut);
    let pressed = close_in(&bushing, &housing).unwrap();
    let found = judge(&pressed.installed_bore, &journal, wanted);
    assert_eq!(found.judgement.verdict, Verdict::ProvenIn);
}

#[test]
fn a_bushing_that_may_be_loose_is_refused_and_nothing_is_planned_on_no_close_in() {
    let (mut bushing, housing) = pair(inch("0.125"), Material::Steel);
    let lower = inch("0.9995");
    bushing.outside_diameter =
        SizeBelief::toleranced(Limits { lower, upper: inch("1.0015") }).unwrap();
    let error = close_in(&bushing, &housing).unwrap_err();
    let (least, most) = (inch("0.9995") - inch("1.0000"), inch("0.0015"));
    assert_eq!(error, BushingError::MayBeLoose { least, most });
    assert!(error.to_string().contains("may be loose"), "{error}");
}

#[test]
fn sizes_that_make_no_bushing_are_refused_with_what_was_wrong() {
    let (bushing, housing) = pair(inch("0.125"), Material::Steel);
    let thin = Housing { outside_diameter: inch("1.0010"), ..housing };
    let message = close_in(&bushing, &thin).unwrap_err().to_string();
    assert!(message.contains("is not inside an outside diameter"), "{message}");
    let solid = Bushing { bore: measured(inch("1.2"), nm(1)), ..bushing };
    let message = close_in(&solid, &housing).unwrap_err().to_string();
    assert!(message.contains("a bore of"), "{message}");
    let plugged = SizeBelief::bound(Some(inch("0.75")), None, nm(0)).unwrap();
    let message = close_in(&Bushing { bore: plugged, ..bushing }, &housing).unwrap_err();
    assert!(message.to_string().contains("bounded on one side only"), "{message}");
}

#[test]
fn porous_bronze_says_that_it_is_unconfirmed_and_not_to_be_reamed() {
    let (bushing, housing) = pair(inch("0.0625"), Material::Aluminium);
    let porous = Bushing { material: Material::PorousBronze, ..bushing };
    let pressed = close_in(&porous, &housing).unwrap();
    assert!(!pressed.is_confirmed());
    assert_eq!(pressed.caution, Caution::PorousBushing);
    assert!(pressed.caution.text().contains("never ream"));
}

#[test]
fn the_four_rules_of_running_clearance_give_their_figures() {
    let all = rows(RUNNING);
    let mut seen: Vec<RunningRule> = Vec::new();
    for row in all {
        let rule: RunningRule = row["rule"].parse().unwrap();
        let found = rule.clearance(inch(&row["journal_in"]));
        assert_eq!(found.number(Unit::Inch, 5), row["clearance_in"], "{row:?}");
        seen.push(rule);
    }
    assert!(RunningRule::ALL.iter().all(|rule| seen.contains(rule)));
}

#[test]
fn explicit_limits_stand_and_a_rule_needs_its_tolerance() {
    let window = ClearanceWindow::new(nm(10), nm(20)).unwrap();
    assert_eq!(RunningClearance::Explicit(window).window(inch("1")), Ok(window));
    let rule = RunningRule::TwoThouPerInch;
    let by_rule = RunningClearance::ByRule { rule, tolerance: inch("0.0005") };
    let found = by_rule.window(inch("1.000")).unwrap();
    assert_eq!((found.min, found.max), (inch("0.0020"), inch("0.0025")));
    let backwards = RunningClearance::ByRule { rule, tolerance: nm(-1) };
    assert!(backwards.window(inch("1.000")).unwrap_err().to_string().contains("clearance limits"));
}

/// The close-in by another way: equilibrium and Hooke's law of thin rings, carried numerically from
/// one surface of each cylinder to the other, without Lame's closed form.
#[test]
fn the_share_equals_a_numeric_solution_of_the_thick_cylinders() {
    let soft = Stiffness { young_mpa: 104e3, poisson: 0.34 };
    let hard = Stiffness { young_mpa: 207e3, poisson: 0.30 };
    for [bore, joint, outside] in [[19.05, 22.225, 44.45], [19.05, 31.75, 40.0], [5.0, 60.0, 70.0]]
    {
        let length = |mm: f64| nm((mm * 1e6) as i64);
        let cylinders =
            Cylinders::new(length(joint), length(bore), length(outside), soft, hard).unwrap();
        // Displacements at the surfaces for a pressure of 1 MPa at the joint.
        let (inner_bore, inner_joint) = rings(bore / 2.0, joint / 2.0, soft, Loaded::Outside);
        let (outer_joint, _) = rings(joint / 2.0, outside / 2.0, hard, Loaded::Inside);
        let share = -inner_bore / (outer_joint - inner_joint);
        assert!((cylinders.close_in_share() - share).abs() < 2e-4, "{share}");
        let interference = 2.0 * (outer_joint - inner_joint);
        let pressure = cylinders.pressure_mpa(nm((interference * 1e6 * 100.0).round() as i64));
        assert!((pressure - 100.0).abs() < 0.1, "{pressure}");
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Loaded {
    Inside,
    Outside,
}

/// Radial displacements at the inside and the outside radius (mm) under 1 MPa on one of them, by
/// shooting: u and the radial stress are carried outward ring by ring (plane stress, midpoint
/// rule), and two shots are combined so that both surfaces have their pressure.
fn rings(inside: f64, outside: f64, stiffness: Stiffness, loaded: Loaded) -> (f64, f64) {
    const STEPS: usize = 20_000;
    let Stiffness { young_mpa: e, poisson: v } = stiffness;
    // du/dr = (s_r (1 - v^2) / E) - v u / r ; ds_r/dr = (s_t - s_r) / r ; s_t = E u / r + v s_r.
    let slope = |r: f64, u: f64, s: f64| {
        let hoop = e * u / r + v * s;
        (s * (1.0 - v * v) / e - v * u / r, (hoop - s) / r)
    };
    let shoot = |u0: f64, s0: f64| {
        let h = (outside - inside) / STEPS as f64;
        let (mut u, mut s) = (u0, s0);
        for step in 0..STEPS {
            let r = inside + h * step as f64;
            let (du, ds) = slope(r, u, s);
            let (du, ds) = slope(r + h / 2.0, u + du * h / 2.0, s + ds * h / 2.0);
            (u, s) = (u + du * h, s + ds * h);
        }
        (u, s)
    };
    let inside_stress = if loaded == Loaded::Inside { -1.0 } else { 0.0 };
    let outside_stress = if loaded == Loaded::Outside { -1.0 } else { 0.0 };
    let (u_a, s_a) = shoot(0.0, inside_stress);
    let (u_b, s_b) = shoot(1e-6, 0.0);
    let scale = (outside_stress - s_a) / s_b;
    (scale * 1e-6, u_a + scale * u_b)
}

proptest! {
    #[test]
    fn the_bore_always_closes_in_and_more_interference_closes_it_more(
        bore in 5_000_000_i64..80_000_000, wall in 500_000_i64..20_000_000,
        housing_wall in 1_000_000_i64..60_000_000, interference in 1_000_i64..80_000,
        more in 1_000_i64..80_000,
        inner in proptest::sample::select(Material::ALL.to_vec()),
        outer in proptest::sample::select(Material::ALL.to_vec()),
    ) {
        let joint = bore + 2 * wall;
        let pressed = |interference: i64| {
            let bushing = Bushing {
                bore: measured(nm(bore), nm(1_000)),
                outside_diameter: measured(nm(joint + interference), nm(1_000)),
                material: inner,
            };
            let outside_diameter = nm(joint + 2 * housing_wall);
            let housing =
                Housing { bore: measured(nm(joint), nm(1_000)), outside_diameter, material: outer };
            close_in(&bushing, &housing)
        };
        let (Ok(less), Ok(more)) = (pressed(interference), pressed(interference + more)) else {
            return Ok(());
        };
        prop_assert!(less.share > 0.0);
        prop_assert!(less.close_in.most() > Length::ZERO);
        prop_assert!(less.installed_bore.largest() < nm(bore) || less.close_in.least() == nm(0));
        prop_assert!(more.close_in.most() > less.close_in.most());
        prop_assert!(more.close_in.least() >= less.close_in.least());
    }
}
