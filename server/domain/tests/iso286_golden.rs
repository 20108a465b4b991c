//! ISO 286 against published values.
//!
//! Goal: every limit that the crate can give is either printed in a published table or follows from
//! the standard's tables row by row. `iso286_grades.csv`, `iso286_shafts.csv` and `iso286_holes.csv`
//! are the standard's own tables with how each row was obtained; `iso286_published_limits.csv` holds
//! limits of whole classes as others printed them, so that a wrong rule cannot hide behind a right
//! table. All are walked exhaustively.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::{BTreeMap, BTreeSet};

use tenths_domain::iso286::{Class, FundamentalDeviation, Grade, deviations, is_unconfirmed};
use tenths_domain::item::Side;
use tenths_domain::units::Length;

const GRADES: &str = include_str!("golden/iso286_grades.csv");
const SHAFTS: &str = include_str!("golden/iso286_shafts.csv");
const HOLES: &str = include_str!("golden/iso286_holes.csv");
const PUBLISHED: &str = include_str!("golden/iso286_published_limits.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

/// Micrometres with decimals, as nanometres.
fn um(text: &str) -> i64 {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let nm: i64 = format!("{whole}{decimals:0<3}").parse().unwrap();
    nm
}

/// Sizes at both ends of a row's step: just over its lower end, and its upper end.
fn sizes(row: &Row) -> [Length; 2] {
    let mm = |column: &str| row[column].parse::<i64>().unwrap() * 1_000_000;
    [Length::from_nm(mm("over_mm") + 1), Length::from_nm(mm("to_incl_mm"))]
}

fn number(grade: Grade) -> i32 {
    match grade.to_string().as_str() {
        "IT01" => -1,
        text => text[2..].parse().unwrap(),
    }
}

/// The grades that a row of the fundamental deviation tables is for.
fn grades_of(text: &str) -> Vec<Grade> {
    let wanted = |n: i32| match text {
        "all" => true,
        "IT5,IT6" => n == 5 || n == 6,
        "IT4..IT7" => (4..=7).contains(&n),
        "<=IT3 and >IT7" => n <= 3 || n > 7,
        "<=IT7" => n <= 7,
        ">IT7" => n > 7,
        "<=IT8" => n <= 8,
        ">IT8" => n > 8,
        one => n == one[2..].parse::<i32>().unwrap(),
    };
    Grade::ALL.into_iter().filter(|&grade| wanted(number(grade))).collect()
}

fn tolerance(grade: Grade, size: Length) -> Option<i64> {
    let class = Class::new(Side::Internal, FundamentalDeviation::H, grade);
    deviations(size, &class).ok().map(|found| found.upper.nm())
}

fn class(letters: &str, grade: Grade) -> Class {
    format!("{letters}{}", &grade.to_string()[2..]).parse().unwrap()
}

#[test]
fn every_standard_tolerance_is_the_tabulated_one() {
    let mut checked = 0;
    for row in rows(GRADES) {
        let grade = Grade::ALL.into_iter().find(|grade| grade.to_string() == row["grade"]).unwrap();
        for size in sizes(&row) {
            let to_1_mm = size.nm() <= 1_000_000;
            let wanted = (!to_1_mm || number(grade) < 14).then(|| um(&row["value_um"]));
            assert_eq!(tolerance(grade, size), wanted, "{grade} at {size:?}");
            checked += 1;
        }
    }
    assert_eq!(checked, 2 * 20 * 13);
}

#[test]
fn grades_15_to_18_are_ten_times_the_grade_five_below() {
    // ISO 286-1:2010, 4.1 (from memory): from IT6 upward the tolerance is ten times that of the
    // grade five steps finer. Exact from IT15; the finer grades are rounded otherwise.
    for row in rows(GRADES) {
        let size = sizes(&row)[1];
        for fine in 10..=13 {
            let [fine, coarse] = [fine, fine + 5].map(|n| tolerance(Grade::new(n).unwrap(), size));
            assert_eq!(coarse.unwrap(), 10 * fine.unwrap());
        }
    }
}

#[test]
fn every_shaft_row_gives_the_tabulated_deviation_in_every_grade() {
    let mut classes = 0;
    for row in rows(SHAFTS).into_iter().filter(|row| row["letter"] != "js") {
        for size in sizes(&row) {
            for grade in grades_of(&row["grades"]) {
                let found = deviations(size, &class(&row["letter"], grade));
                let small = size.nm() <= 1_000_000;
                if small && (number(grade) >= 14 || ["a", "b"].contains(&row["letter"].as_str())) {
                    assert!(found.is_err());
                    continue;
                }
                let (found, wanted) = (found.unwrap(), um(&row["value_um"]));
                let width = tolerance(grade, size).unwrap();
                let (lower, upper) = match row["deviation"].as_str() {
                    "es" => (wanted - width, wanted),
                    _ => (wanted, wanted + width),
                };
                assert_eq!((found.lower.nm(), found.upper.nm()), (lower, upper), "{row:?} {grade}");
                classes += 1;
            }
        }
    }
    assert!(classes > 15_000, "{classes}");
}

/// Delta by grade and upper end of the step, from the delta rows of the hole table.
fn deltas(holes: &[Row]) -> BTreeMap<(String, i64), i64> {
    let rows = holes.iter().filter(|row| row["letter"] == "DELTA");
    let delta = |row: &Row| {
        let to_mm = row["to_incl_mm"].parse::<i64>().unwrap();
        ((row["grades"].clone(), to_mm), um(&row["value_um"]))
    };
    rows.map(delta).collect()
}

fn delta_at(deltas: &BTreeMap<(String, i64), i64>, grade: Grade, size: Length) -> Option<i64> {
    let of_grade = deltas.iter().filter(|((name, _), _)| *name == grade.to_string());
    let mut reached = of_grade.filter(|((_, to_mm), _)| size.nm() <= to_mm * 1_000_000);
    reached.next().map(|(_, delta)| *delta)
}

#[test]
fn every_hole_row_gives_the_tabulated_deviation_in_every_grade() {
    let holes = rows(HOLES);
    let deltas = deltas(&holes);
    let mut classes = 0;
    for row in holes.iter().filter(|row| !["JS", "DELTA"].contains(&row["letter"].as_str())) {
        for size in sizes(row) {
            for grade in grades_of(&row["grades"]) {
                let found = deviations(size, &class(&row["letter"], grade));
                let small = size.nm() <= 1_000_000;
                let no_small = ["A", "B"].contains(&row["letter"].as_str())
                    || (row["letter"] == "N" && number(grade) > 8);
                let (plain, with_delta) = match row["value_um"].strip_suffix("+DELTA") {
                    Some(plain) => (um(plain), delta_at(&deltas, grade, size)),
                    None => (um(&row["value_um"]), Some(0)),
                };
                let no_such = small && (number(grade) >= 14 || no_small);
                let (Some(delta), false) = (with_delta, no_such) else {
                    assert!(found.is_err(), "{row:?} {grade} at {size:?}");
                    continue;
                };
                let width = tolerance(grade, size).unwrap();
                let is_m6 = row["letter"] == "M" && number(grade) == 6 && row["over_mm"] == "250";
                let wanted = if is_m6 { -9_000 } else { plain + delta };
                let (lower, upper) = match row["deviation"].as_str() {
                    "EI" => (wanted, wanted + width),
                    _ => (wanted - width, wanted),
                };
                let found = found.unwrap();
                assert_eq!((found.lower.nm(), found.upper.nm()), (lower, upper), "{row:?} {grade}");
                classes += 1;
            }
        }
    }
    assert!(classes > 16_000, "{classes}");
}

#[test]
fn js_is_exactly_half_the_grade_to_each_side() {
    for row in rows(GRADES) {
        let size = sizes(&row)[1];
        for letters in ["js", "JS"] {
            let name = &row["grade"];
            let grade = Grade::ALL.into_iter().find(|grade| grade.to_string() == *name).unwrap();
            let found = deviations(size, &class(letters, grade)).unwrap();
            assert_eq!(found.upper, -found.lower);
            assert_eq!(found.upper - found.lower, Length::from_nm(um(&row["value_um"])));
        }
    }
}

#[test]
fn a_letter_without_a_row_is_refused() {
    // t begins over 24 mm, v over 14, y over 18; cd, ef and fg end at 50 mm.
    for (letters, mm) in [("t", 24), ("v", 14), ("y", 18), ("cd", 51), ("ef", 51), ("fg", 51)] {
        for letters in [letters.to_owned(), letters.to_uppercase()] {
            let size = Length::from_nm(mm * 1_000_000);
            assert!(deviations(size, &class(&letters, Grade::new(7).unwrap())).is_err());
        }
    }
}

#[test]
fn every_published_limit_is_met() {
    let published = rows(PUBLISHED);
    assert!(published.len() >= 800, "{}", published.len());
    for row in &published {
        assert!(!row["source"].is_empty());
        for size in sizes(row) {
            let found = deviations(size, &row["class"].parse().unwrap()).unwrap();
            let wanted = (um(&row["lower_um"]), um(&row["upper_um"]));
            assert_eq!((found.lower.nm(), found.upper.nm()), wanted, "{row:?}");
        }
    }
}

/// A row of the deviation tables for one shaft letter (holes mirror it) or one J column.
fn row_key(class: Class) -> Option<String> {
    let grade = number(class.grade());
    let letters = class.deviation().letters(class.side());
    match (letters, grade) {
        ("js" | "JS", _) => None,
        ("J", _) | ("j", 7..) => Some(format!("{letters}{grade}")),
        ("j", _) => Some("j5 j6".to_owned()),
        ("K" | "N", 9..) => None,
        ("k", _) if !(4..=7).contains(&grade) => None,
        _ => Some(class.deviation().letters(Side::External).to_owned()),
    }
}

/// The rows, with the upper end of each intermediate step, that were read in a published page.
fn rows_read() -> BTreeSet<(String, i64)> {
    let steps = [
        3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315,
        355, 400, 450, 500,
    ];
    let mut read = BTreeSet::new();
    let mut take = |row: &Row, key: String| {
        let [over, to] = ["over_mm", "to_incl_mm"].map(|end| row[end].parse::<i64>().unwrap());
        let within = steps.into_iter().filter(|&step| over < step && step <= to);
        read.extend(within.map(|step| (key.clone(), step)));
    };
    for row in rows(PUBLISHED).iter().filter(|row| !row["source"].contains("from memory")) {
        if let Some(key) = row_key(row["class"].parse().unwrap()) {
            take(row, key);
        }
    }
    for row in rows(SHAFTS).iter().filter(|row| row["letter"] != "js") {
        let obtained = &row["obtained"];
        if obtained.contains("read at") || obtained.contains("agree with a bearing-maker page") {
            let grade = *grades_of(&row["grades"]).last().unwrap();
            if let Some(key) = row_key(class(&row["letter"], grade)) {
                take(row, key);
            }
        }
    }
    read
}

#[test]
fn a_class_is_unconfirmed_exactly_where_nothing_but_memory_stands_behind_it() {
    let read = rows_read();
    let mut unconfirmed = 0;
    for row in rows(SHAFTS).iter().filter(|row| row["over_mm"] != "0") {
        let step_to = row["to_incl_mm"].parse::<i64>().unwrap();
        for side in [Side::External, Side::Internal] {
            for &deviation in FundamentalDeviation::ALL {
                for grade in Grade::ALL {
                    let class = Class::new(side, deviation, grade);
                    let size = Length::from_nm(step_to * 1_000_000);
                    let Ok(found) = is_unconfirmed(size, &class) else { continue };
                    let row_read = row_key(class).is_none_or(|key| read.contains(&(key, step_to)));
                    let wanted = number(grade) <= 0 || !row_read;
                    assert_eq!(found, wanted, "{class} to {step_to} mm");
                    unconfirmed += usize::from(found);
                }
            }
        }
    }
    assert!(unconfirmed > 0);
}
