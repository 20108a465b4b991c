//! Fills a database in bulk and puts the table of the SQL contestant beside the shop's own.
//!
//! Triggers and secondary indexes are out of the way while rows go in and are put back afterwards,
//! from the database's own words for them, so that the schema ends as the migrations made it.

mod postgres;
mod sqlite;

use std::time::{SystemTime, UNIX_EPOCH};

use crate::catalogue::{BORES_MM, Limits, SEAT_CLASSES, Sizes, bearing_code, bushing_outside};
use crate::place::Place;
use crate::rows::Facts;
use crate::stock::Ids;

pub(crate) use postgres::{connect as connect_postgres, load as load_postgres};
pub(crate) use sqlite::load as load_sqlite;

/// What is loaded.
#[derive(Clone, Copy)]
pub(crate) struct Load<'a> {
    /// Sizes and limits.
    pub(crate) sizes: &'a Sizes,
    /// Stocked rows.
    pub(crate) rows: u64,
    /// Seed of the stock.
    pub(crate) seed: u64,
}

/// Which row numbers the catalogue has.
const IDS: &str =
    "SELECT i.code, f.name, i.id, f.id FROM items i JOIN features f ON f.item_id = i.id";

/// Holds of the load end a year from now: none runs out while the benchmark runs.
fn facts() -> Facts {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).expect("a clock past 1970");
    let until_at = i64::try_from(now.as_micros()).expect("a time of this age");
    Facts { until_at: until_at + 365 * 86_400 * 1_000_000 }
}

/// Place and limits of every feature of the catalogue: the domain's part of the SQL contestant's
/// work, done outside the timing.
fn limits(sizes: &Sizes, ids: &Ids) -> Vec<(i64, Place, Limits)> {
    let mut found = Vec::new();
    let mut note = |code: String, feature: &str, place: Place, limits: Limits| {
        found.push((ids[&(code, feature.to_owned())].1, place, limits));
    };
    for ring in &sizes.rings {
        for group in ["", "-C3"] {
            let code = bearing_code(&format!("{}{group}", ring.number));
            note(code.clone(), "bore", Place::BearingBore, ring.bore);
            note(code, "od", Place::BearingOutside, ring.outside);
        }
    }
    for bore in BORES_MM {
        let nominal = bore * 1_000_000;
        let outside = sizes.class("s6", bushing_outside(bore) * 1_000_000);
        note(format!("BUSH-{bore}"), "bore", Place::BushingBore, sizes.class("H7", nominal));
        note(format!("BUSH-{bore}"), "od", Place::BushingOutside, outside);
        note(format!("JSHAFT-{bore}"), "journal", Place::Journal, sizes.class("f7", nominal));
        for class in SEAT_CLASSES {
            for seat in ["seat-a", "seat-b"] {
                let limits = sizes.class(class, nominal);
                note(format!("SHAFT-{bore}-{class}"), seat, Place::Seat, limits);
            }
        }
    }
    for nominal in sizes.housings() {
        let code = format!("BELL-{}", nominal / 1_000_000);
        note(code, "bore-a", Place::HousingBore, sizes.class("H7", nominal));
    }
    found
}

/// The table of the SQL contestant, `{id}` being this database's word for a row number: one row for
/// each feature of each piece or lot in stock, with everything that an answer shows, so that no
/// join is needed; removed bearings are left out.
const CONTESTANT: &str = "
CREATE TABLE bench_limits (
    feature_id BIGINT PRIMARY KEY, place BIGINT, lower_nm BIGINT, upper_nm BIGINT);
CREATE TABLE bench_stock (
    id {id}, place BIGINT, size_min BIGINT, size_max BIGINT, middle BIGINT, u_nm BIGINT,
    is_held BIGINT, date_key {code}, tag {code}, feature TEXT, item_code TEXT, description TEXT,
    nominal_nm BIGINT, location_code TEXT, on_hand BIGINT, available BIGINT, cost_minor BIGINT,
    created_at BIGINT)";

/// Fills [`CONTESTANT`] from the shop's tables.
const FILL_CONTESTANT: &str = "
INSERT INTO bench_stock (place, size_min, size_max, middle, u_nm, is_held, date_key, tag, feature,
    item_code, description, nominal_nm, location_code, on_hand, available, cost_minor, created_at)
SELECT m.place, m.lower_nm, m.upper_nm, m.lower_nm + m.upper_nm, 0,
    CASE WHEN s.on_hand > s.held THEN 0 ELSE 1 END, l.date_code, l.tag, f.name, i.code,
    i.description, f.nominal_nm, o.code, s.on_hand, s.on_hand - s.held, l.cost_minor, l.created_at
FROM lots l JOIN lot_stock s ON s.lot_id = l.id JOIN items i ON i.id = l.item_id
    JOIN features f ON f.item_id = i.id JOIN bench_limits m ON m.feature_id = f.id
    JOIN locations o ON o.id = s.location_id
UNION ALL
SELECT m.place, COALESCE(z.min_nm, m.lower_nm), COALESCE(z.max_nm, m.upper_nm),
    COALESCE(z.min_nm, m.lower_nm) + COALESCE(z.max_nm, m.upper_nm), COALESCE(z.uncertainty_nm, 0),
    CASE WHEN r.id IS NULL THEN 0 ELSE 1 END, '~', p.tag, f.name, i.code, i.description,
    COALESCE(z.target_upper_nm, f.nominal_nm), o.code, 1, CASE WHEN r.id IS NULL THEN 1 ELSE 0 END,
    NULL, p.created_at
FROM pieces p JOIN items i ON i.id = p.item_id JOIN features f ON f.item_id = i.id
    JOIN bench_limits m ON m.feature_id = f.id JOIN locations o ON o.id = p.location_id
    LEFT JOIN piece_sizes z ON z.piece_id = p.id AND z.feature_id = f.id
    LEFT JOIN reservations r ON r.piece_id = p.id AND r.state = 'active'
WHERE p.state = 'in_stock' AND NOT (i.kind = 'rolling_bearing' AND p.condition <> 'new')";

/// The indexes of [`CONTESTANT`]. The first covers the window, the order and the count; the next
/// two are walked for the nearest misses; the last is walked for the nearest alone.
const INDEX_CONTESTANT: &str = "
CREATE INDEX bench_fits ON bench_stock
    (place, size_min, size_max, u_nm, is_held, date_key, tag, id);
CREATE INDEX bench_below ON bench_stock (place, size_min DESC, tag);
CREATE INDEX bench_above ON bench_stock (place, size_max, tag);
CREATE INDEX bench_nearest ON bench_stock (place, middle, size_min, size_max, tag, id)";
