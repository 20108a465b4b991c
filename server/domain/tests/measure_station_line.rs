//! Goal: a line of readings is read as called out, and every fault names its word and what is
//! allowed. Method: one `check` per outcome.

#![allow(clippy::unwrap_used, reason = "a failing unwrap fails the test, in its helpers too")]

use proptest::prelude::*;
use tenths_domain::measure::{ReadingsError, parse_readings};
use tenths_domain::units::Unit;

fn check(line: &str, expected: &[(&str, u16, &str)]) {
    let readings = parse_readings(line, Some(Unit::Inch)).unwrap();
    let shown: Vec<(String, u16, String)> = readings
        .into_iter()
        .map(|reading| (reading.station, reading.orientation_deg, reading.entry.to_string()))
        .collect();
    let expected: Vec<(String, u16, String)> =
        expected.iter().map(|(s, o, e)| ((*s).to_owned(), *o, (*e).to_owned())).collect();
    assert_eq!(shown, expected);
}

fn check_refused(line: &str, message: &str) {
    let error = parse_readings(line, Some(Unit::Inch)).unwrap_err();
    assert_eq!(error.to_string(), message, "{line}");
}

#[test]
fn stations_orientations_and_units() {
    check(
        "A0 1.1809 A90 1.1809 B0 1.1808",
        &[("A", 0, "1.1809 in"), ("A", 90, "1.1809 in"), ("B", 0, "1.1808 in")],
    );
    check("  ref359\t15/16\n", &[("REF", 359, "15/16 in")]);
    check("a0 30.001mm A0 30.002 mm", &[("A", 0, "30.001 mm"), ("A", 0, "30.002 mm")]);
    check("A000 9.5 thou B0 .9345\"", &[("A", 0, "9.5 thou"), ("B", 0, ".9345 in")]);
}

const STATION: &str = "write a station of 1 to 3 letters and an orientation of 0 to 359 degrees as \
                       one word, such as A0 or REF90";

#[test]
fn every_fault_names_its_word_and_what_is_allowed() {
    for (line, position, word) in [
        ("A360 1.18", 1, "A360"),
        ("A0 1.18 ABCD0 1.18", 3, "ABCD0"),
        ("A 1.18", 1, "A"),
        ("1.18", 1, "1.18"),
        ("A0001 1.18", 1, "A0001"),
        ("A0=1.18", 1, "A0=1.18"),
        ("Ä0 1.18", 1, "Ä0"),
    ] {
        check_refused(line, &format!("word {position} {word:?}: {STATION}"));
    }
    check_refused(
        "A0",
        "word 1 \"A0\": no value follows; write it after a space, such as A0 1.1809",
    );
    check_refused(
        "A0 B0 1.18",
        "word 1 \"A0\": no value follows; write it after a space, such as A0 1.1809",
    );
    check_refused(
        "A0 1.18 1.19",
        "word 3 \"1.19\": a station and orientation is due here, such as A0 or REF90",
    );
    check_refused(
        "A0 1,18",
        "word 2 \"1,18\": \"1,18\" has a comma; write a decimal point and no thousands separator",
    );
}

#[test]
fn one_fault_does_not_hide_the_others() {
    let line = "A0 1.1809 A400 1.1809 B0 1.18091234 C0 1.1808";
    let ReadingsError::Words(faults) = parse_readings(line, Some(Unit::Inch)).unwrap_err() else {
        panic!("expected faults of words");
    };
    let words: Vec<(usize, &str)> =
        faults.iter().map(|fault| (fault.position, fault.word.as_str())).collect();
    assert_eq!(words, [(3, "A400"), (6, "1.18091234")]);
}

#[test]
fn nothing_and_too_much_are_refused() {
    assert_eq!(parse_readings(" \n", None), Err(ReadingsError::Empty));
    let words = 2 * 361;
    let error = parse_readings(&"A0 1.18 ".repeat(361), Some(Unit::Inch)).unwrap_err();
    assert_eq!(error, ReadingsError::TooMany { words });
    assert!(parse_readings(&"A0 1.18 ".repeat(360), Some(Unit::Inch)).is_ok());
    let no_unit = parse_readings("A0 1.18", None).unwrap_err().to_string();
    assert_eq!(no_unit, "word 2 \"1.18\": \"1.18\" has no unit; add one of mm, in, \", um, thou");
}

proptest! {
    /// No line makes the reader panic, and a line of good readings reads back.
    #[test]
    fn any_line_is_read_or_refused(line in "[A-Za-zÄ0-9./, \"=-]{0,60}") {
        if let Ok(readings) = parse_readings(&line, Some(Unit::Inch)) {
            let again: Vec<String> = readings
                .iter()
                .map(|one| format!("{}{} {}", one.station, one.orientation_deg, one.entry))
                .collect();
            prop_assert_eq!(parse_readings(&again.join(" "), None), Ok(readings));
        }
    }
}
