//! Goal: inch fractions convert exactly. Method: the sixty-fourths of an inch, whose millimetres
//! follow from the definition of the inch, worked out by decimal arithmetic outside this project.

use tenths_domain::units::{Entry, Unit};

#[test]
fn every_sixty_fourth_of_an_inch_is_exact_in_millimetres() {
    let table = include_str!("golden/units_inch_fractions.csv");
    let mut rows = 0;
    for record in csv::Reader::from_reader(table.as_bytes()).records() {
        let record = record.unwrap();
        let (fraction, mm_exact) = (&record[0], &record[1]);
        let inch = Entry::parse(fraction, Unit::Inch).unwrap().length;
        assert_eq!(inch.number(Unit::Millimetre, 6), mm_exact, "{fraction}");
        assert_eq!(Entry::parse(mm_exact, Unit::Millimetre).unwrap().length, inch, "{fraction}");
        assert_eq!(inch.number(Unit::Inch, 4), &record[2], "{fraction}");
        assert_eq!(inch.number(Unit::Millimetre, 4), &record[3], "{fraction}");
        rows += 1;
    }
    assert_eq!(rows, 64);
}
