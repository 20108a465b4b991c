//! The SQL contestant: the same questions over a table of its own with the best indexes that we
//! could make (`load/mod.rs`), the window worked out beforehand.
//!
//! [`FITS`], [`COUNT`] and [`MISSES`] together are the question that the shop answers: the first 20
//! fits in the documented order, how many fit in all, the 5 nearest misses. SQL has it easier in
//! that the verdict is only told as proven or not (there is no erf), misses carry no act, no row
//! needs a join, and nobody has to keep the table up to date.
//!
//! [`NEAREST`] is less than the question: the 20 nearest to the middle of the window, with no
//! verdict, no order among equals, no count and no misses. It is the least that SQL can do.

mod postgres;
mod sqlite;

use crate::questions::Question;

pub(crate) use postgres::{
    asker as postgres_asker, counts as postgres_counts, facts as postgres_facts,
};
pub(crate) use sqlite::{asker as sqlite_asker, counts as sqlite_counts, facts as sqlite_facts};

/// What is asked of the contestant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Depth {
    /// The question.
    Whole,
    /// The least.
    NearestOnly,
}

/// What every answer shows of a row.
macro_rules! shown {
    () => {
        "s.tag, s.feature, s.item_code, s.description, s.nominal_nm, s.size_min, s.size_max,
         s.location_code, s.on_hand, s.available, s.date_key, s.cost_minor, s.created_at"
    };
}

/// Parameters: place, smallest size, largest size, square of the measured size's uncertainty.
pub(crate) const FITS: &str = concat!(
    "SELECT ",
    shown!(),
    " FROM (SELECT id, tag, is_held, date_key, abs(size_min + size_max - $2 - $3) AS off,
        CASE WHEN (size_min - $2) * (size_min - $2) >= u_nm * u_nm + $4
            AND ($3 - size_max) * ($3 - size_max) >= u_nm * u_nm + $4 THEN 0 ELSE 1 END AS unproven
        FROM bench_stock WHERE place = $1 AND size_min >= $2 AND size_min <= $3 AND size_max <= $3
        ORDER BY unproven, off, is_held, date_key, tag LIMIT 20) best
     JOIN bench_stock s ON s.id = best.id
     ORDER BY best.unproven, best.off, best.is_held, best.date_key, best.tag"
);
/// Parameters: place, smallest size, largest size.
pub(crate) const COUNT: &str = "SELECT count(*) FROM bench_stock
    WHERE place = $1 AND size_min >= $2 AND size_min <= $3 AND size_max <= $3";
/// Parameters: place, smallest size, largest size.
pub(crate) const MISSES: &str = concat!(
    "SELECT ",
    shown!(),
    ", best.miss FROM (
        SELECT * FROM (SELECT id, tag, $2 - size_min AS miss FROM bench_stock
            WHERE place = $1 AND size_min < $2 ORDER BY size_min DESC, tag LIMIT 5) below
        UNION ALL
        SELECT * FROM (SELECT id, tag, size_max - $3 AS miss FROM bench_stock
            WHERE place = $1 AND size_max > $3 ORDER BY size_max, tag LIMIT 5) above
        ORDER BY miss, tag LIMIT 5) best
     JOIN bench_stock s ON s.id = best.id ORDER BY best.miss, best.tag"
);
/// Parameters: place, smallest size, largest size, their sum, twice each of them.
pub(crate) const NEAREST: &str = concat!(
    "SELECT ",
    shown!(),
    " FROM (
        SELECT * FROM (SELECT id, tag, middle - $4 AS off FROM bench_stock
            WHERE place = $1 AND middle >= $4 AND middle <= $6
            AND size_min >= $2 AND size_max <= $3 ORDER BY middle LIMIT 20) above
        UNION ALL
        SELECT * FROM (SELECT id, tag, $4 - middle AS off FROM bench_stock
            WHERE place = $1 AND middle < $4 AND middle >= $5
            AND size_min >= $2 AND size_max <= $3 ORDER BY middle DESC LIMIT 20) below
        ORDER BY off, tag LIMIT 20) best
     JOIN bench_stock s ON s.id = best.id ORDER BY best.off, best.tag"
);

/// The parameters of a question.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Parameters {
    place: i64,
    smallest: i64,
    largest: i64,
    uncertainty_squared: i64,
}

impl Parameters {
    /// Works them out of a question.
    pub(crate) fn of(question: &Question) -> Self {
        Self {
            place: question.sought.number(),
            smallest: question.window.lower,
            largest: question.window.upper,
            uncertainty_squared: question.uncertainty_nm * question.uncertainty_nm,
        }
    }

    const fn fits(self) -> [i64; 4] {
        [self.place, self.smallest, self.largest, self.uncertainty_squared]
    }

    const fn window(self) -> [i64; 3] {
        [self.place, self.smallest, self.largest]
    }

    const fn nearest(self) -> [i64; 6] {
        let (smallest, largest) = (self.smallest, self.largest);
        [self.place, smallest, largest, smallest + largest, 2 * smallest, 2 * largest]
    }
}
