//! Goal: a length is read exactly as written or refused with a message that names the text and
//! what is allowed. Method: one `check` per outcome over tables of texts, and round trips over
//! random lengths.

#![allow(clippy::unwrap_used, reason = "a failing unwrap fails the test, in its helpers too")]

use proptest::prelude::*;
use tenths_domain::units::{Entry, Length, LengthError, Unit};

/// Text and default unit -> nanometres and resolution in nanometres.
fn check(text: &str, default_unit: Option<Unit>, nm: i64, resolution_nm: i64) {
    let entry = Entry::parse_with_suffix(text, default_unit).unwrap();
    assert_eq!(entry.length.nm(), nm, "{text}");
    assert_eq!(entry.resolution.nm(), resolution_nm, "{text}");
}

fn check_refused(text: &str, unit: Unit, message: &str) {
    assert_eq!(Entry::parse(text, unit).unwrap_err().to_string(), message);
}

#[test]
fn texts_with_their_unit_are_read_exactly() {
    for (text, nm, resolution_nm) in [
        ("25.4mm", 25_400_000, 100_000),
        ("25.4 mm", 25_400_000, 100_000),
        (" 25.400 MM ", 25_400_000, 1_000),
        ("1.0000 in", 25_400_000, 2_540),
        ("0.9345\"", 23_736_300, 2_540),
        (".9345 IN", 23_736_300, 2_540),
        ("0.93455in", 23_737_570, 254),
        ("15/16 in", 23_812_500, 1_587_500),
        ("1-1/4 in", 31_750_000, 6_350_000),
        ("1 1/4\"", 31_750_000, 6_350_000),
        ("1/64 in", 396_875, 396_875),
        ("9.5thou", 241_300, 2_540),
        ("0.01 thou", 254, 254),
        ("12um", 12_000, 1_000),
        ("12.001 µm", 12_001, 1),
        ("0.000001 mm", 1, 1),
        ("100000 mm", 100_000_000_000, 1_000_000),
    ] {
        check(text, None, nm, resolution_nm);
    }
}

#[test]
fn a_unit_in_the_text_beats_the_default() {
    check("25.4", Some(Unit::Millimetre), 25_400_000, 100_000);
    check("25.4", Some(Unit::Inch), 645_160_000, 2_540_000);
    check("25.4 mm", Some(Unit::Inch), 25_400_000, 100_000);
}

#[test]
fn the_text_is_kept_as_written_and_reads_back() {
    for text in ["0.9350", ".9350", "15/16", "1-1/4", "1 1/4"] {
        let entry = Entry::parse_with_suffix(&format!("{text} in"), None).unwrap();
        assert_eq!(entry.text, text);
        assert_eq!(entry.to_string(), format!("{text} in"));
        assert_eq!(Entry::parse(&entry.text, entry.unit), Ok(entry));
    }
}

#[test]
fn sizes_are_refused_with_what_is_allowed() {
    let not_a_length = |text: &str| {
        format!(
            "{text:?} is not a length; write digits with a decimal point, such as 0.9345, or an \
             inch fraction, such as 15/16 or 1-1/4"
        )
    };
    for text in ["abc", "NaN", "inf", "1.2.3", "25.", ".", "25.4mm", "1_000", "0x10", "٣"] {
        check_refused(text, Unit::Millimetre, &not_a_length(text));
    }
    check_refused(
        "",
        Unit::Inch,
        "a length is missing; write a number and its unit, such as 0.9345 in or 25.4 mm",
    );
    check_refused("1e3", Unit::Inch, "\"1e3\" has an exponent; write the number out in full");
    check_refused(
        "25,4",
        Unit::Millimetre,
        "\"25,4\" has a comma; write a decimal point and no thousands separator",
    );
    for text in ["-0.9345", "+0.9345"] {
        let message = format!("{text:?} has a sign; a size is written without + or -");
        check_refused(text, Unit::Inch, &message);
    }
    check_refused("0.0000", Unit::Inch, "\"0.0000\" is zero; a size is above zero");
    check_refused(
        "100000.001",
        Unit::Millimetre,
        "\"100000.001\" mm is more than 100 m; was the unit meant?",
    );
    check_refused(
        &"9".repeat(25),
        Unit::Inch,
        "a length of 25 characters is too long; at most 24 are allowed",
    );
}

#[test]
fn finer_than_can_be_kept_exactly_is_refused_even_with_zeros() {
    for (text, unit, places) in [
        ("0.934567", Unit::Inch, 5),
        ("0.934500", Unit::Inch, 5),
        ("23.7363001", Unit::Millimetre, 6),
        ("0.005", Unit::Thou, 2),
        ("1.0005", Unit::Micrometre, 3),
    ] {
        let message = format!(
            "{text:?} {unit} is too fine; at most {places} decimal places are allowed in {unit}"
        );
        check_refused(text, unit, &message);
    }
}

#[test]
fn the_longest_number_is_too_large_and_no_overflow() {
    for &unit in Unit::ALL {
        let text = "9".repeat(24);
        let error = Entry::parse(&text, unit).unwrap_err();
        assert_eq!(error, LengthError::TooLarge { text, unit });
    }
}

#[test]
fn fractions_are_inches_of_a_rule_only() {
    for text in ["1/3", "5/4", "0/16", "1/128", "16/16", "1/", "/16", "1-/4", "a/4", "1/4/8"] {
        let error = Entry::parse(text, Unit::Inch).unwrap_err();
        assert_eq!(error, LengthError::Fraction { text: text.to_owned() });
    }
    let error = Entry::parse("15/16", Unit::Millimetre).unwrap_err();
    let expected = LengthError::FractionUnit { text: "15/16".into(), unit: Unit::Millimetre };
    assert_eq!(error, expected);
}

#[test]
fn no_unit_two_units_and_unknown_units_name_the_allowed_ones() {
    for (text, message) in [
        ("25.4", "\"25.4\" has no unit; add one of mm, in, \", um, thou"),
        ("25.4mm in", "\"25.4mm in\" has two units; write one of mm, in, \", um, thou"),
        ("3 ft", "\"ft\" in \"3 ft\" is not one unit; allowed: mm, in, \", um, thou"),
        ("1\"\"", "\"\\\"\\\"\" in \"1\\\"\\\"\" is not one unit; allowed: mm, in, \", um, thou"),
    ] {
        assert_eq!(Entry::parse_with_suffix(text, None).unwrap_err().to_string(), message);
    }
}

#[test]
fn only_the_signed_form_takes_signs_and_nothing() {
    for (text, nm) in
        [("-0.0005 in", -12_700), ("+12 um", 12_000), ("0 mm", 0), ("-1/64 in", -396_875)]
    {
        assert_eq!(Entry::parse_signed_with_suffix(text, None).unwrap().length.nm(), nm, "{text}");
        assert!(Entry::parse_with_suffix(text, None).is_err(), "{text}");
    }
    for text in ["--1", "+-1", "- 1", "-", "1-2"] {
        assert!(Entry::parse_signed(text, Unit::Inch).is_err(), "{text}");
    }
}

fn any_unit() -> impl Strategy<Value = Unit> {
    prop::sample::select(Unit::ALL)
}

proptest! {
    /// Every length that an entry can hold reads back from its own display at full places.
    #[test]
    fn display_at_full_places_reads_back(unit in any_unit(), counts in 1_i64..1_000_000_000_000) {
        let finest_nm = unit.nm() / 10_i64.pow(unit.places_max());
        let nm = counts.min(Length::ENTRY_MAX.nm() / finest_nm) * finest_nm;
        let length = Length::from_nm(nm);
        let entry = Entry::parse_with_suffix(&length.display(unit, unit.places_max()), None).unwrap();
        prop_assert_eq!(entry.length, length);
        prop_assert_eq!(entry.resolution, Length::from_nm(finest_nm));
    }

    /// What is displayed is never more than half of its last place away.
    #[test]
    fn display_is_within_half_a_place(nm in -10_000_000_000_i64..10_000_000_000, unit in any_unit(), places in 0_u32..3) {
        let shown = Entry::parse_signed(&Length::from_nm(nm).number(unit, places), unit).unwrap();
        prop_assert!(2 * (shown.length.nm() - nm).abs() <= shown.resolution.nm());
    }

    /// No text makes the reader panic, and whatever it accepts reads back from its display.
    #[test]
    fn any_text_is_read_or_refused(text in "[-+0-9./, eEinmthouN\"µ]{0,34}", unit in any_unit()) {
        if let Ok(entry) = Entry::parse_with_suffix(&text, Some(unit)) {
            prop_assert!(entry.length > Length::ZERO && entry.length <= Length::ENTRY_MAX);
            prop_assert_eq!(Entry::parse_with_suffix(&entry.to_string(), None), Ok(entry));
        }
    }
}
