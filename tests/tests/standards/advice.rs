//! Bushings, joints and shafts: worked by hand beside the server's answer.

use super::pairs::{measured, within};
use super::traced;
use std::f64::consts::PI;
use tenths_proto::v1::*;
use tenths_tests::{DatabaseKind, Shop, done, inch, mm, nm};

/// Says whether two numbers agree to a share of the second.
fn near(found: f64, wanted: f64, share: f64) -> bool {
    (found - wanted).abs() <= share * wanted.abs()
}

/// A bronze bushing of 20 mm bore and 26 mm outside in a steel housing of 52 mm, pressed 0.040 mm.
/// Thick-walled cylinders by Lamé, with the moduli of any handbook (bronze 110 GPa and 0.34, steel
/// 207 GPa and 0.3, from memory).
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_pressed_bushing_closes_in_by_the_share_of_thick_cylinders() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let request = GetCloseInRequest {
        bore: measured("20.000", "20.000", "2"),
        outside_diameter: measured("26.040", "26.040", "2"),
        bushing_material: Material::Bronze.into(),
        housing_bore: measured("26.000", "26.000", "2"),
        housing_outside_diameter: mm("52"),
        housing_material: Material::Steel.into(),
    };
    let found = done("bronze", shop.clients().assembly().get_close_in(request.clone()).await);
    let (a, b, c) = (20.0_f64.powi(2), 26.0_f64.powi(2), 52.0_f64.powi(2));
    let bushing = ((b + a) / (b - a) - 0.34) / 110.0;
    let housing = ((c + b) / (c - b) + 0.3) / 207.0;
    // Pressure for a unit of interference, and what it takes off the bore.
    let share = 2.0 * 20.0 * 26.0 / (110.0 * (b - a)) / (bushing + housing);
    assert!(near(found.share, share, 0.06), "{} is not about {share}", found.share);
    assert!(nm(&found.interference_min) <= 40_000 && nm(&found.interference_max) >= 40_000);
    let by = 40_000.0 * found.share;
    let (least, most) = (nm(&found.close_in_min) as f64, nm(&found.close_in_max) as f64);
    assert!(0.0 < least && least <= by && by <= most && most <= 42_900.0, "{least} {by} {most}");
    assert!(nm(&found.installed_min) <= nm(&found.installed_max));
    assert!(nm(&found.installed_max) < 20_000_000, "the bore is smaller than before");
    assert!(nm(&found.expanded_uncertainty) >= 2_000, "no surer than the free bore");
    assert!(
        found.cautions.iter().any(|caution| caution.contains("measure")),
        "{:?}",
        found.cautions
    );
    traced(&found.traces, &["Lamé"]);

    // Asked in inches, explained in inches.
    let inches = GetCloseInRequest { housing_outside_diameter: inch("2.047"), ..request.clone() };
    let found = done("inches", shop.clients().assembly().get_close_in(inches).await);
    let bore = found.traces.iter().find(|trace| trace.what == "bore").expect("the bore");
    assert_eq!(bore.value, "0.7874 in");

    // Porous bronze is never reamed, and the answer says so.
    let porous = GetCloseInRequest { bushing_material: Material::PorousBronze.into(), ..request };
    let found = done("porous", shop.clients().assembly().get_close_in(porous).await);
    assert!(
        found.cautions.iter().any(|caution| caution.contains("never ream")),
        "{:?}",
        found.cautions
    );
}

/// The four rivals on 0.750 in, worked in the head: 0.00175, 0.00275, 0.001125 and 0.0015 in.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn running_clearance_follows_each_of_the_four_rules() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    for (rule, nanometres) in [
        (RunningRule::OneThouAndOnePerInch, 44_450),
        (RunningRule::TwoThouAndOnePerInch, 69_850),
        (RunningRule::ThouAndHalfPerInch, 28_575),
        (RunningRule::TwoThouPerInch, 38_100),
    ] {
        let request = GetRunningClearanceRequest { journal: inch("0.750"), rule: rule.into() };
        let result = shop.clients().assembly().get_running_clearance(request).await;
        let found = done(rule.as_str_name(), result);
        assert_eq!(nm(&found.clearance), nanometres, "{rule:?}");
        traced(&found.traces, &["rule"]);
    }
}

/// A ring of 25 mm, raceway about 30 mm, on a shaft read at 25.00X mm.
fn ring_on(shaft: &str, heated: HeatedPart) -> GetAssemblyAdviceRequest {
    GetAssemblyAdviceRequest {
        internal: within("24.990", "25.000"),
        external: measured(shaft, shaft, "1"),
        outer_diameter: mm("30"),
        length: mm("15"),
        inner_material: Material::Steel.into(),
        outer_material: Material::Steel.into(),
        heated: heated.into(),
        ..GetAssemblyAdviceRequest::default()
    }
}

fn degrees(temperature: &Option<Temperature>) -> f64 {
    let temperature = temperature.as_ref().expect("a temperature");
    assert_eq!(temperature.unit(), TemperatureUnit::C);
    temperature.value.parse().expect("decimal text")
}

/// Lamé for a ring on a solid shaft of one material (any machine design text): p = E I / (2 d)
/// (1 - d^2 / D^2), hoop stress p (D^2 + d^2) / (D^2 - d^2). E of steel is 200 to 210 GPa.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pressure_stress_and_heat_of_a_joint_are_worked_out() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let ask = ring_on("25.002", HeatedPart::OpenBearing);
    let found = done("advice", shop.clients().assembly().get_assembly_advice(ask.clone()).await);
    // 2 um on the largest bore and 12 um on the smallest, as read and as allowed; the 1 um of the
    // gauge stands beside it, and everything else is worked out for 13 um at most.
    assert_eq!((nm(&found.interference_min), nm(&found.interference_max)), (2_000, 12_000));
    assert_eq!(nm(&found.expanded_uncertainty), 1_000);
    let ratio = (25.0_f64 / 30.0).powi(2);
    let pressure = 205e3 * 13e-3 / 50.0 * (1.0 - ratio);
    assert!(near(found.pressure_max_mpa, pressure, 0.04), "{} {pressure}", found.pressure_max_mpa);
    let hoop = found.pressure_max_mpa * (1.0 + ratio) / (1.0 - ratio);
    assert!(near(found.outer_hoop_mpa, hoop, 0.01), "{} {hoop}", found.outer_hoop_mpa);
    assert!(found.inner_hoop_mpa < 0.0, "the shaft is compressed");
    // Force = friction times pressure times area; steel on steel is nowhere under 0.03 or over 0.4.
    let area = PI * 25.0 * 15.0;
    let most = found.press_force_max_n as f64 / (found.pressure_max_mpa * area);
    assert!((0.03..=0.4).contains(&most), "friction {most}");
    assert!(0 < found.press_force_min_n && found.press_force_min_n < found.press_force_max_n);
    // 13 um and 10 um to move in, at 11 to 13 ppm/K on 25 mm: 71 to 84 K above 20 C.
    let at_least = degrees(&found.heat_at_least);
    assert!((90.0..=104.0).contains(&at_least), "{at_least}");
    assert!(degrees(&found.heat_to) >= at_least && degrees(&found.heat_to) <= 120.0);
    assert_ne!(found.heat_outcome, "not_enough");
    // Dry needs more force than lubricated.
    let dry = GetAssemblyAdviceRequest { friction: Friction::Dry.into(), ..ask };
    let dry = done("dry", shop.clients().assembly().get_assembly_advice(dry).await);
    assert!(dry.press_force_max_n > found.press_force_max_n, "{dry:?}");
    traced(&found.traces, &["Lamé"]);
}

/// A bearing is never heated over 120 C, a sealed one never over 80 C (bearing practice, from
/// memory), whatever the interference; and every piece of advice carries its cautions.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn heat_is_capped_and_cautions_are_there() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    for shaft in ["25.001", "25.004", "25.008", "25.015", "25.040", "25.060"] {
        for (heated, cap) in [(HeatedPart::OpenBearing, 120.0), (HeatedPart::SealedBearing, 80.0)] {
            let ask = ring_on(shaft, heated);
            let found = done(shaft, shop.clients().assembly().get_assembly_advice(ask).await);
            assert_eq!(degrees(&found.never_over), cap, "{shaft} {heated:?}");
            assert!(degrees(&found.heat_to) <= cap, "{shaft} {heated:?}: {found:?}");
            let short = degrees(&found.heat_at_least) > cap;
            assert_eq!(found.heat_outcome == "not_enough", short, "{shaft} {heated:?}: {found:?}");
            for word in ["stand clear", "thermometer", "confirm by measuring"] {
                let said = found.cautions.iter().any(|caution| caution.contains(word));
                assert!(said, "no caution says {word:?}: {:?}", found.cautions);
            }
            let warned = found.cautions.iter().any(|caution| caution.contains("never in oil"));
            assert_eq!(warned, heated == HeatedPart::SealedBearing, "{:?}", found.cautions);
        }
    }
}

/// 2 hp at 1725 rpm: T = 63,025 hp / rpm = 73.07 lb in (any machinery handbook) = 8.26 N m. ASME
/// code for transmission shafting (from memory): 8000 psi, 6000 psi with a keyway.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_shaft_for_two_horsepower() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let request = GetShaftStrengthRequest {
        power: "2".to_owned(),
        power_unit: "hp".to_owned(),
        speed_rpm: "1725".to_owned(),
        diameter: inch("0.625"),
        ..GetShaftStrengthRequest::default()
    };
    let mut assembly = shop.clients().assembly();
    let found = done("2 hp", assembly.get_shaft_strength(request.clone()).await);
    assert_eq!((found.torque_nm, found.torque_lb_in), (8.26, 73.1));
    let torque = 63_025.0 * 2.0 / 1_725.0;
    let inches = |psi: f64| (16.0 * torque / (PI * psi)).cbrt() * 25.4e6;
    assert!(near(nm(&found.required_diameter) as f64, inches(8_000.0), 0.005), "{found:?}");
    let stress = 16.0 * torque / (PI * 0.625_f64.powi(3)) * 0.006_894_757;
    assert!(near(found.shear_stress_mpa, stress, 0.01), "{} {stress}", found.shear_stress_mpa);
    assert!(!found.cautions.is_empty());
    traced(&found.traces, &["ASME"]);
    assert_eq!(found.unit(), LengthUnit::In, "the diameter is in inches");
    assert!(near(found.shear_stress_psi, 16.0 * torque / (PI * 0.625_f64.powi(3)), 0.001));
    let keyed = GetShaftStrengthRequest { keyway: true, diameter: None, ..request.clone() };
    let keyed = done("keyway", assembly.get_shaft_strength(keyed).await);
    assert!(near(nm(&keyed.required_diameter) as f64, inches(6_000.0), 0.005), "{keyed:?}");
    assert_eq!(keyed.shear_stress_mpa, 0.0, "no diameter was given");
    // Horsepower is asked in inches; what the asker says governs.
    let unit_of = |length: &Option<Length>| length.as_ref().expect("a length").unit();
    assert_eq!(unit_of(&keyed.required_diameter), LengthUnit::In);
    let metric = GetShaftStrengthRequest {
        diameter: None,
        text_unit: LengthUnit::Mm.into(),
        ..request.clone()
    };
    let metric = done("mm", assembly.get_shaft_strength(metric).await);
    assert_eq!(
        (metric.unit(), unit_of(&metric.required_diameter)),
        (LengthUnit::Mm, LengthUnit::Mm)
    );
    // The same power in kilowatts: 2 hp is 1.4914 kW.
    let watts = GetShaftStrengthRequest {
        power: "1.4914".to_owned(),
        power_unit: "kw".to_owned(),
        ..request
    };
    let watts = done("kW", assembly.get_shaft_strength(watts).await);
    assert_eq!(watts.torque_nm, found.torque_nm);
    for what in ["torque", "shear stress"] {
        let there = found.traces.iter().any(|trace| trace.what.contains(what));
        assert!(there, "no trace of the {what}: {:#?}", found.traces);
    }
}

/// A ring of 1 in (25.4 mm) on a shaft 10 um over it, asked in one unit system.
fn ring_in(unit: LengthUnit) -> GetAssemblyAdviceRequest {
    let [bore, shaft, doubt, outer, length] = match unit {
        LengthUnit::In => ["1.00000", "1.00040", "0.00005", "1.25", "0.5"],
        _ => ["25.4000", "25.41016", "0.00127", "31.75", "12.7"],
    };
    let said = |value: &str| Some(Length { value: value.to_owned(), unit: unit.into(), nm: 0 });
    let read = |value: &str| {
        let size = MeasuredSize {
            min: said(value),
            max: said(value),
            expanded_uncertainty: said(doubt),
            gauge_tag: String::new(),
        };
        Some(SizeKnowledge { kind: Some(size_knowledge::Kind::Measured(size)) })
    };
    GetAssemblyAdviceRequest {
        internal: read(bore),
        external: read(shaft),
        outer_diameter: said(outer),
        length: said(length),
        inner_material: Material::Steel.into(),
        outer_material: Material::Steel.into(),
        heated: HeatedPart::OpenBearing.into(),
        designation: "6205-C3".to_owned(),
        ..GetAssemblyAdviceRequest::default()
    }
}

/// Invariant 10 of the design: the same question in mm and in inch has the same answer, each spoken
/// of in the units of its question, metric values beside. 1 psi = 6894.757 Pa, 1 lbf = 4.448222 N
/// (NIST SP 811, Appendix B.8).
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_joint_asked_in_inch_and_in_mm_is_one_joint() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut assembly = shop.clients().assembly();
    let inch = done("inch", assembly.get_assembly_advice(ring_in(LengthUnit::In)).await);
    let metric = done("mm", assembly.get_assembly_advice(ring_in(LengthUnit::Mm)).await);
    assert_eq!((inch.unit(), metric.unit()), (LengthUnit::In, LengthUnit::Mm));
    for (a, b) in [
        (&inch.interference_min, &metric.interference_min),
        (&inch.interference_max, &metric.interference_max),
        (&inch.expanded_uncertainty, &metric.expanded_uncertainty),
    ] {
        assert_eq!(nm(a), nm(b));
        assert_eq!(a.as_ref().expect("a length").unit(), LengthUnit::In);
        assert_eq!(b.as_ref().expect("a length").unit(), LengthUnit::Mm);
    }
    let numbers = |of: &GetAssemblyAdviceResponse| {
        (
            [of.pressure_min_mpa, of.pressure_max_mpa, of.outer_hoop_mpa, of.inner_hoop_mpa],
            [of.pressure_min_psi, of.pressure_max_psi, of.outer_hoop_psi, of.inner_hoop_psi],
            [of.press_force_min_n, of.press_force_max_n, of.press_force_min_lbf],
            [of.heat_at_least.clone(), of.heat_to_f.clone(), of.never_over_f.clone()],
        )
    };
    assert_eq!(numbers(&inch), numbers(&metric));
    assert!(near(inch.pressure_max_psi * 0.006_894_757, inch.pressure_max_mpa, 0.01));
    assert!(near(inch.press_force_max_lbf as f64 * 4.448_222, inch.press_force_max_n as f64, 0.01));
    assert_eq!(inch.never_over_f.as_ref().expect("a cap").value, "248.0");
    let says = |of: &GetAssemblyAdviceResponse, word: &str| {
        of.traces.iter().any(|trace| trace.value.contains(word))
    };
    for word in ["psi", "lbf", " F (", " in"] {
        assert!(says(&inch, word) && !says(&metric, word), "{word}: {:#?}", inch.traces);
    }
    // What the asker says governs.
    let asked =
        GetAssemblyAdviceRequest { text_unit: LengthUnit::Mm.into(), ..ring_in(LengthUnit::In) };
    let asked = done("inch in mm", assembly.get_assembly_advice(asked).await);
    assert_eq!(asked.interference_max, metric.interference_max);
    assert!(says(&asked, "MPa") && !says(&asked, "psi"));
}
