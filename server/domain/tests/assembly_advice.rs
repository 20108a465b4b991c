//! Assembly advice as a whole: ranges in order, caps never passed, cautions and sources with it.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::assembly::{
    Assembly, AssemblyError, Caution, Cylinders, FittingFactors, Friction, HeatOutcome, HeatedPart,
    Interference, RadialClearance, Stiffness, assemble, clearance_left, growth, heat, press_force,
};
use tenths_domain::fit::SizeBelief;
use tenths_domain::temperature::{Material, Temperature};
use tenths_domain::units::Length;

const STEEL_PPB: i64 = 11_500;

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn celsius(degrees: i64) -> Temperature {
    Temperature::from_millidegrees_c(degrees * 1_000)
}

/// A 30 x 62 x 16 bearing and its seat.
fn bearing(seat: i64, heated: HeatedPart) -> Assembly {
    Assembly {
        internal: SizeBelief::measured(nm(29_995_000), nm(29_995_000), nm(1_000)).unwrap(),
        external: SizeBelief::measured(nm(seat), nm(seat), nm(1_000)).unwrap(),
        inner_bore: nm(0),
        outer_diameter: nm(38_000_000),
        length: nm(16_000_000),
        inner_material: Material::Steel,
        outer_material: Material::Steel,
        friction: Friction::Lubricated,
        heated,
        moving_clearance: nm(10_000),
        mate_temperature: Temperature::REFERENCE,
    }
}

#[test]
fn one_joint_gets_its_pressure_force_heat_and_cautions() {
    let advice = assemble(&bearing(30_005_000, HeatedPart::OpenBearing)).unwrap();
    // 10 um as read; everything else is planned for that and the 1.414 um of both gauges.
    assert_eq!((advice.interference.least, advice.interference.most), (nm(10_000), nm(10_000)));
    assert_eq!(advice.expanded_uncertainty, nm(1_415));
    assert_eq!((advice.planned.least, advice.planned.most), (nm(8_585), nm(11_415)));
    let (least, most) = advice.pressure_mpa;
    assert!(0.0 < least && least < most && most < 20.0, "{least} {most}");
    // The bore of a ring this thin is pulled at several times the pressure, a solid shaft pressed
    // at the pressure itself.
    assert!(advice.outer_hoop_mpa > 4.0 * most);
    assert_eq!(advice.inner_hoop_mpa, -most);
    assert!(advice.press_force.least_n < advice.press_force.most_n);
    assert_eq!(advice.heat.outcome, HeatOutcome::Enough);
    assert!(advice.cautions.contains(&Caution::Press) && advice.cautions.contains(&Caution::Basis));
    assert!(advice.is_confirmed());
    assert!(!assemble(&bearing(30_005_000, HeatedPart::PlainHub)).unwrap().is_confirmed());
}

#[test]
fn a_sealed_bearing_is_never_heated_over_80_c_and_says_by_how_much_it_is_short() {
    let advice = assemble(&bearing(30_026_000, HeatedPart::SealedBearing)).unwrap();
    let heat = advice.heat;
    assert_eq!(heat.outcome, HeatOutcome::NotEnough);
    assert_eq!((heat.heat_to, heat.never_over), (celsius(80), celsius(80)));
    // 60 K open 30 mm by 20.7 um; 31 um, 1.414 um of gauges and 10 um to move in are wanted.
    let opening = nm(31_000) + nm(1_415) + nm(10_000);
    assert_eq!(heat.short_by, opening - growth(nm(30_026_000), STEEL_PPB, 60_000));
    assert!(advice.cautions.contains(&Caution::SealedHeat));
}

#[test]
fn without_interference_there_is_nothing_to_press() {
    let mut loose = bearing(29_990_000, HeatedPart::OpenBearing);
    loose.moving_clearance = nm(0);
    let advice = assemble(&loose).unwrap();
    assert_eq!(advice.pressure_mpa, (0.0, 0.0));
    assert_eq!((advice.press_force.least_n, advice.press_force.most_n), (0, 0));
    assert_eq!(advice.heat.at_least, Temperature::REFERENCE);
}

#[test]
fn a_hollow_shaft_takes_less_pressure_and_more_stress_than_a_solid_one() {
    let solid = assemble(&bearing(30_005_000, HeatedPart::OpenBearing)).unwrap();
    let mut hollow = bearing(30_005_000, HeatedPart::OpenBearing);
    hollow.inner_bore = nm(20_000_000);
    let hollow = assemble(&hollow).unwrap();
    assert!(hollow.pressure_mpa.1 < solid.pressure_mpa.1);
    assert!(hollow.inner_hoop_mpa < solid.inner_hoop_mpa);
}

#[test]
fn bad_input_is_refused_with_what_was_wrong() {
    let steel = Stiffness { young_mpa: 207e3, poisson: 0.3 };
    let soft = Stiffness { young_mpa: 0.0, poisson: 0.3 };
    let rubber = Stiffness { young_mpa: 207e3, poisson: 0.5 };
    let cylinders = |sizes: [i64; 3], inner, outer| {
        let [diameter, bore, outside] = sizes.map(nm);
        Cylinders::new(diameter, bore, outside, inner, outer)
    };
    let message = |result: Result<Cylinders, AssemblyError>| result.unwrap_err().to_string();
    for (message, wanted) in [
        (message(cylinders([0, 0, 5], steel, steel)), "a diameter of the joint of 0 mm"),
        (message(cylinders([3, -1, 5], steel, steel)), "a bore of -0.000001 mm is not possible"),
        (message(cylinders([3, 3, 5], steel, steel)), "a bore of 0.000003 mm is not inside"),
        (message(cylinders([3, 1, 3], steel, steel)), "is not inside an outside diameter"),
        (message(cylinders([3, 1, 5], soft, steel)), "a Young's modulus of 0"),
        (message(cylinders([3, 1, 5], steel, rubber)), "a Poisson's ratio of 0.5"),
    ] {
        assert!(message.contains(wanted), "{message} / {wanted}");
    }
    let reversed = Interference::new(nm(2), nm(1)).unwrap_err().to_string();
    assert!(reversed.contains("interference: 0.000002 mm is above 0.000001 mm"), "{reversed}");
    let pair = cylinders([30_000_000, 0, 38_000_000], steel, steel).unwrap();
    let range = Interference::new(nm(1), nm(2)).unwrap();
    let message = press_force(&pair, range, nm(0), Friction::Dry).unwrap_err().to_string();
    assert!(message.contains("a length of the joint"), "{message}");
    let hot = heat(HeatedPart::SealedBearing, nm(30_000_000), nm(1), STEEL_PPB, celsius(80));
    assert!(hot.unwrap_err().to_string().contains("as hot as the 80.0 C"));
    let clearance = RadialClearance { min: nm(2), max: nm(1) };
    let usual = FittingFactors::USUAL;
    let message = clearance_left(clearance, range, range, nm(0), &usual).unwrap_err().to_string();
    assert!(message.contains("internal clearance"), "{message}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn heat_opens_enough_and_never_passes_its_cap(
        diameter in 5_000_000_i64..400_000_000, opening in 0_i64..400_000, mate in -20_i64..60,
        part in proptest::sample::select(HeatedPart::ALL.to_vec()),
    ) {
        let advice = heat(part, nm(diameter), nm(opening), STEEL_PPB, celsius(mate)).unwrap();
        let (usual, never_over) = part.caps();
        prop_assert!(advice.heat_to <= never_over);
        let rise = |to: Temperature| to.millidegrees_c() - celsius(mate).millidegrees_c();
        let opened = growth(nm(diameter), STEEL_PPB, rise(advice.heat_to));
        match advice.outcome {
            HeatOutcome::Enough => {
                prop_assert!(advice.heat_to <= usual);
                prop_assert!(opened >= nm(opening));
                prop_assert_eq!(rise(advice.heat_to), rise(advice.at_least) + 20_000);
            }
            HeatOutcome::Tight => prop_assert!(opened >= nm(opening)),
            HeatOutcome::NotEnough => {
                prop_assert!(advice.at_least > never_over);
                prop_assert_eq!(advice.short_by, nm(opening) - opened);
                prop_assert!(advice.short_by > Length::ZERO);
            }
        }
        // One thousandth of a kelvin less would not have been enough.
        let short = growth(nm(diameter), STEEL_PPB, rise(advice.at_least) - 1);
        prop_assert!(short <= nm(opening));
    }

    #[test]
    fn a_thicker_hub_and_a_stiffer_pair_press_harder(
        diameter in 5_000_000_i64..200_000_000, hub in 1_000_000_i64..100_000_000,
        thicker in 0_i64..100_000_000, young in 40e3_f64..250e3, stiffer in 0.0_f64..200e3,
    ) {
        let pressure = |hub: i64, young_mpa| {
            let metal = Stiffness { young_mpa, poisson: 0.3 };
            let outside = nm(diameter + hub);
            let pair = Cylinders::new(nm(diameter), nm(0), outside, metal, metal).unwrap();
            pair.pressure_mpa(nm(20_000))
        };
        let least = pressure(hub, young);
        prop_assert!(pressure(hub + thicker, young) >= least);
        prop_assert!(pressure(hub, young + stiffer) >= least);
    }

    #[test]
    fn more_interference_leaves_less_clearance(
        least in -20_000_i64..40_000, width in 0_i64..20_000, more in 0_i64..20_000,
        hotter in 0_i64..20_000,
    ) {
        let clearance = RadialClearance { min: nm(5_000), max: nm(20_000) };
        let left = |shift: i64, hotter: i64| {
            let inner = Interference::new(nm(least + shift), nm(least + shift + width)).unwrap();
            let outer = Interference::new(nm(-9), nm(0)).unwrap();
            clearance_left(clearance, inner, outer, nm(hotter), &FittingFactors::USUAL).unwrap()
        };
        let (loose, tight) = (left(0, 0), left(more, 0));
        prop_assert!(tight.left.min <= loose.left.min && tight.left.max <= loose.left.max);
        prop_assert!(loose.left.min <= loose.left.max);
        prop_assert_eq!(left(0, hotter).left.min, loose.left.min - nm(hotter));
        prop_assert!(loose.left.max <= clearance.max);
    }
}

/// Thick-walled cylinders are elastic: a millimetre of interference is a slip of the pen, or a part
/// that bursts.
#[test]
fn stress_beyond_yield_is_said_before_anything_else() {
    let ordinary = assemble(&bearing(30_015_000, HeatedPart::PlainHub)).unwrap();
    assert!(ordinary.outer_hoop_mpa < 350.0, "{}", ordinary.outer_hoop_mpa);
    assert!(!ordinary.cautions.contains(&Caution::Yield));
    let slip = assemble(&bearing(30_100_000, HeatedPart::PlainHub)).unwrap();
    assert!(slip.outer_hoop_mpa > 350.0, "{}", slip.outer_hoop_mpa);
    assert_eq!(slip.cautions.first(), Some(&Caution::Yield));
}
