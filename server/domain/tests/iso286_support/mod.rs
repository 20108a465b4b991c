//! Reading the golden files of ISO 286, shared by its tests.
#![allow(dead_code, reason = "each test binary uses a part")]

use std::collections::BTreeMap;

use tenths_domain::iso286::{Class, FundamentalDeviation, Grade, deviations};
use tenths_domain::item::Side;
use tenths_domain::units::Length;

/// Table 1 of the standard with how each row was obtained.
pub(crate) const GRADES: &str = include_str!("../golden/iso286_grades.csv");
/// Tables 4 and 5.
pub(crate) const SHAFTS: &str = include_str!("../golden/iso286_shafts.csv");
/// Tables 2 and 3.
pub(crate) const HOLES: &str = include_str!("../golden/iso286_holes.csv");
/// Limits of whole classes as others printed them.
pub(crate) const PUBLISHED: &str = include_str!("../golden/iso286_published_limits.csv");
/// Single cells of the tables as others printed them, also where they differ.
pub(crate) const SECOND_SOURCES: &str = include_str!("../golden/iso286_second_sources.csv");

/// Upper ends of the intermediate steps, in millimetres (ISO 286-1:2010, Tables 2 to 5), written
/// down a second time.
pub(crate) const STEPS_TO_MM: [i64; 41] = [
    3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315,
    355, 400, 450, 500, 560, 630, 710, 800, 900, 1000, 1120, 1250, 1400, 1600, 1800, 2000, 2240,
    2500, 2800, 3150,
];

pub(crate) type Row = BTreeMap<String, String>;

pub(crate) fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

/// Micrometres with decimals, as nanometres.
pub(crate) fn um(text: &str) -> i64 {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let nm: i64 = format!("{whole}{decimals:0<3}").parse().unwrap();
    nm
}

/// The ends of a row's step, in millimetres: over, up to and including.
pub(crate) fn ends_mm(row: &Row) -> (i64, i64) {
    (row["over_mm"].parse().unwrap(), row["to_incl_mm"].parse().unwrap())
}

/// Sizes at both ends of a row's step: just over its lower end, and its upper end.
pub(crate) fn sizes(row: &Row) -> [Length; 2] {
    let (over, to) = ends_mm(row);
    [Length::from_nm(over * 1_000_000 + 1), Length::from_nm(to * 1_000_000)]
}

/// The grade's number, with -1 for IT01.
pub(crate) fn number(grade: Grade) -> i32 {
    match grade.to_string().as_str() {
        "IT01" => -1,
        text => text[2..].parse().unwrap(),
    }
}

/// The grades that a row of the fundamental deviation tables is for.
pub(crate) fn grades_of(text: &str) -> Vec<Grade> {
    let wanted = |n: i32| match text {
        "all" => true,
        "IT5,IT6" => n == 5 || n == 6,
        "IT4..IT7" => (4..=7).contains(&n),
        "IT6..IT8" => (6..=8).contains(&n),
        "<=IT3 and >IT7" => n <= 3 || n > 7,
        "<=IT7" => n <= 7,
        ">IT7" => n > 7,
        "<=IT8" => n <= 8,
        ">IT8" => n > 8,
        one => n == one[2..].parse::<i32>().unwrap(),
    };
    Grade::ALL.into_iter().filter(|&grade| wanted(number(grade))).collect()
}

pub(crate) fn grade(name: &str) -> Grade {
    Grade::ALL.into_iter().find(|grade| grade.to_string() == name).unwrap()
}

pub(crate) fn tolerance(grade: Grade, size: Length) -> Option<i64> {
    let class = Class::new(Side::Internal, FundamentalDeviation::H, grade);
    deviations(size, &class).ok().map(|found| found.upper.nm())
}

pub(crate) fn class(letters: &str, grade: Grade) -> Class {
    format!("{letters}{}", &grade.to_string()[2..]).parse().unwrap()
}

/// Every class of the standard's spelling, whether it exists at a size or not.
pub(crate) fn all_classes() -> impl Iterator<Item = Class> {
    [Side::Internal, Side::External].into_iter().flat_map(|side| {
        FundamentalDeviation::ALL.iter().flat_map(move |&letter| {
            Grade::ALL.into_iter().map(move |grade| Class::new(side, letter, grade))
        })
    })
}

/// Delta by grade and upper end of the step, from the delta rows of the hole table.
pub(crate) fn deltas(holes: &[Row]) -> BTreeMap<(String, i64), i64> {
    let rows = holes.iter().filter(|row| row["letter"] == "DELTA");
    rows.map(|row| ((row["grades"].clone(), ends_mm(row).1), um(&row["value_um"]))).collect()
}

pub(crate) fn delta_at(
    deltas: &BTreeMap<(String, i64), i64>,
    grade: Grade,
    size: Length,
) -> Option<i64> {
    let of_grade = deltas.iter().filter(|((name, _), _)| *name == grade.to_string());
    let mut reached = of_grade.filter(|((_, to_mm), _)| size.nm() <= to_mm * 1_000_000);
    reached.next().map(|(_, delta)| *delta)
}
