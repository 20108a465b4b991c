//! Goal: temperatures are read and corrected as documented. Method: tables of texts, the worked
//! values of our trade notes, and properties of the correction.

use proptest::prelude::*;
use tenths_domain::measure::Bodies;
use tenths_domain::temperature::{
    Material, Temperature, TemperatureError, TemperatureScale, at_20c, at_20c_with_gauge,
};
use tenths_domain::units::{Length, Unit};

fn celsius(degrees: i64) -> Temperature {
    Temperature::from_millidegrees_c(degrees * 1_000)
}

#[test]
fn both_scales_are_read_and_shown_in_celsius() {
    for (text, scale, millidegrees, shown) in [
        ("20", TemperatureScale::Celsius, 20_000, "20.0 C"),
        ("21.25", TemperatureScale::Celsius, 21_250, "21.2 C"),
        ("-0.04", TemperatureScale::Celsius, -40, "0.0 C"),
        ("68.0", TemperatureScale::Fahrenheit, 20_000, "20.0 C"),
        ("72", TemperatureScale::Fahrenheit, 22_222, "22.2 C"),
        ("-40", TemperatureScale::Fahrenheit, -40_000, "-40.0 C"),
        ("140", TemperatureScale::Fahrenheit, 60_000, "60.0 C"),
        ("150", TemperatureScale::Fahrenheit, 65_556, "65.6 C"),
    ] {
        let temperature = Temperature::parse(text, scale).unwrap();
        assert_eq!(temperature.millidegrees_c(), millidegrees, "{text}");
        assert_eq!(temperature.to_string(), shown);
    }
}

#[test]
fn a_hot_celsius_entry_is_asked_about_once() {
    let scale = TemperatureScale::Celsius;
    assert_eq!(Temperature::parse("60", scale), Ok(celsius(60)));
    let asked = TemperatureError::LooksFahrenheit { text: "60.001".into() };
    assert_eq!(Temperature::parse("60.001", scale), Err(asked));
    assert_eq!(Temperature::parse_confirmed("72", scale), Ok(celsius(72)));
    assert!(!celsius(72).looks_fahrenheit(TemperatureScale::Fahrenheit));
}

#[test]
fn absurd_temperatures_are_refused() {
    for (text, scale, message) in [
        ("-40.1", "c", "\"-40.1\" C is below -40 C; nothing is measured that cold"),
        ("201", "c", "\"201\" C is above 200.0 C; let the part cool"),
        (
            "999999999999999999999999",
            "f",
            "\"999999999999999999999999\" F is above 200.0 C; let the part cool",
        ),
    ] {
        let error = Temperature::parse(text, scale.parse().unwrap()).unwrap_err();
        assert_eq!(error.to_string(), message);
    }
    for text in ["", "warm", "21,5", "2e1", "20.0001", "20 C", "NaN"] {
        let error = Temperature::parse(text, TemperatureScale::Celsius).unwrap_err();
        assert_eq!(error, TemperatureError::NotANumber { text: text.into() });
    }
}

/// The worked values of our trade notes: 2 in of steel 10 C warm is 0.00023 in large; a 62 mm
/// aluminium bore grows 3.6 um away from a steel ring in 5 C.
#[test]
fn worked_values_of_the_trade_notes() {
    let two_inches = Length::from_nm(2 * Unit::Inch.nm());
    let large_by = two_inches - at_20c(two_inches, celsius(30), Material::Steel);
    assert_eq!(large_by.display(Unit::Inch, 5), "0.00023 in");
    let bore = Length::from_nm(62 * Unit::Millimetre.nm());
    let apart = bore
        - at_20c_with_gauge(
            bore,
            (celsius(25), Material::Aluminium),
            (celsius(25), Material::Steel),
        );
    assert_eq!(apart.display(Unit::Micrometre, 1), "3.6 um");
}

/// Each body is brought to 20 C with its own coefficient: 50.8 mm of aluminium at 30 C under a gauge
/// of steel at 25 C reads 50.8 mm * (23.1 * 10 - 11.5 * 5) ppm = 8.814 um large, worked by hand from
/// the definition of the coefficient (ISO 1:2022, 3; coefficients of `Material`).
#[test]
fn part_and_gauge_are_corrected_each_with_its_own_coefficient() {
    let size = Length::from_nm(50_800_000);
    let bodies = Bodies {
        part: Some(celsius(30)),
        gauge: Some(celsius(25)),
        part_material: Some(Material::Aluminium),
        gauge_material: Material::Steel,
    };
    assert_eq!(size - bodies.to_20c(size), Length::from_nm(8_814));
    let alike = Bodies { gauge_material: Material::Aluminium, ..bodies };
    assert_eq!(size - alike.to_20c(size), Length::from_nm(5_867));
    let soaked = Bodies { gauge: Some(celsius(30)), ..alike };
    assert_eq!(soaked.to_20c(size), size, "like bodies at one temperature cancel");
    let warm_gauge = Bodies { part: Some(celsius(20)), gauge: Some(celsius(30)), ..bodies };
    assert!(warm_gauge.to_20c(size) > size, "a warm gauge reads small");
}

#[test]
fn what_is_not_recorded_is_assumed_as_documented() {
    let size = Length::from_nm(50_800_000);
    let (warm, cool) = (Some(celsius(30)), Some(celsius(20)));
    let with = |part_material, part, gauge| Bodies {
        part,
        gauge,
        part_material,
        gauge_material: Material::Steel,
    };
    let aluminium = |part, gauge| with(Some(Material::Aluminium), part, gauge);
    let fresh_from_washer = at_20c(size, celsius(30), Material::Aluminium);
    assert_eq!(aluminium(warm, cool).to_20c(size), fresh_from_washer);
    assert_eq!(aluminium(warm, None).to_20c(size), aluminium(warm, warm).to_20c(size));
    assert_eq!(aluminium(None, warm).to_20c(size), aluminium(warm, warm).to_20c(size));
    assert_eq!(aluminium(None, None).to_20c(size), size);
    assert_eq!(with(None, warm, cool).to_20c(size), size);
    // A tenth of each correction for its coefficient; all of it where nothing was corrected.
    assert_eq!(aluminium(warm, cool).doubt_mk(), 1_000);
    assert_eq!(aluminium(warm, warm).doubt_mk(), 2_000);
    assert_eq!(with(None, warm, cool).doubt_mk(), 10_000);
    assert_eq!(with(None, warm, Some(celsius(15))).doubt_mk(), 15_000);
    assert_eq!(aluminium(warm, None).doubt_mk(), 10_000);
    assert_eq!(aluminium(None, Some(celsius(19))).doubt_mk(), 3_000);
    assert_eq!(aluminium(None, None).doubt_mk(), 3_000);
    let bronze_gauge = |part| Bodies { gauge_material: Material::Bronze, ..with(part, warm, warm) };
    assert_eq!(bronze_gauge(Some(Material::Steel)).doubted_material(), Some(Material::Bronze));
    let aluminium_part = bronze_gauge(Some(Material::Aluminium));
    assert_eq!(aluminium_part.doubted_material(), Some(Material::Aluminium));
    assert_eq!(bronze_gauge(None).doubted_material(), None);
}

proptest! {
    /// A warmer part is never larger at 20 C, and at 20 C nothing changes.
    #[test]
    fn warmer_means_smaller_at_20c(
        nm in 1_i64..=Length::ENTRY_MAX.nm(),
        millidegrees in -40_000_i64..200_000,
        material in prop::sample::select(Material::ALL),
    ) {
        let size = Length::from_nm(nm);
        let at = |millidegrees| at_20c(size, Temperature::from_millidegrees_c(millidegrees), material);
        prop_assert!(at(millidegrees + 1_000) <= at(millidegrees));
        prop_assert_eq!(at(20_000), size);
    }
}
