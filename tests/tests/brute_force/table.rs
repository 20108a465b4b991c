//! Every place of everything in stock as one plain table, worked out by SQL from the shop's own tables.
//! No index of the server's has a part in it.

use crate::books::Books;
use crate::stock::{Sizes, catalogue_rows};

/// The times at which holds are looked at, in Unix microseconds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Times {
    pub(crate) now: i64,
    pub(crate) later: i64,
}

const TABLES: &str = "
CREATE TEMP TABLE meaning (item_code {code}, feature {code}, lower_nm BIGINT, upper_nm BIGINT,
    clearance_group {code}, closure {code});
CREATE TEMP TABLE brute (is_lot BIGINT, tag {code}, feature {code}, item_kind {code},
    feature_kind {code}, nominal BIGINT, low BIGINT, high BIGINT, form BIGINT, doubt BIGINT,
    uncertainty BIGINT, is_known BIGINT, is_wrong BIGINT, condition {code}, material {code},
    free_now BIGINT, free_later BIGINT, date_code {code}, cost_minor BIGINT, currency {code},
    places {code}, clearance_group {code}, closure {code});
CREATE INDEX brute_by_tag ON brute (tag)";

/// Makes the table, empty, and what the catalogue means.
pub(crate) async fn create(books: &Books, sizes: &Sizes) {
    books.run(&TABLES.replace("{code}", books.code())).await;
    let rows = catalogue_rows(sizes).into_iter().map(|(code, feature, limits, group, closure)| {
        let (lower, upper) = (limits.lower, limits.upper);
        format!("('{code}', '{feature}', {lower}, {upper}, '{group}', '{closure}')")
    });
    let rows: Vec<String> = rows.collect();
    books.run(&format!("INSERT INTO meaning VALUES {}", rows.join(", "))).await;
}

/// Fills it from what the books say now.
pub(crate) async fn fill(books: &Books, times: Times) {
    let with_times = |sql: &str| {
        sql.replace("{now}", &times.now.to_string()).replace("{later}", &times.later.to_string())
    };
    books
        .run(&format!("DELETE FROM brute; {}; {}", with_times(FROM_PIECES), with_times(FROM_LOTS)))
        .await;
}

/// Readings speak before what a place was finished to, that before its class.
const FROM_PIECES: &str = "
INSERT INTO brute
SELECT 0, p.tag, f.name, i.kind, f.kind,
    CASE WHEN z.target_lower_nm IS NULL THEN f.nominal_nm
        WHEN f.kind IN ('bore', 'housing_bore') THEN z.target_lower_nm ELSE z.target_upper_nm END,
    COALESCE(z.min_nm, z.target_lower_nm, m.lower_nm, f.nominal_nm),
    COALESCE(z.max_nm, z.target_upper_nm, m.upper_nm, f.nominal_nm),
    COALESCE(z.max_nm - z.min_nm, 0),
    CASE WHEN z.min_nm IS NOT NULL THEN 0
        ELSE COALESCE(z.target_upper_nm - z.target_lower_nm, m.upper_nm - m.lower_nm, 0) END,
    CASE WHEN z.min_nm IS NOT NULL THEN z.uncertainty_nm ELSE 0 END,
    CASE WHEN COALESCE(z.min_nm, z.target_lower_nm, m.lower_nm) IS NULL THEN 0 ELSE 1 END,
    CASE WHEN EXISTS (SELECT 1 FROM readings r JOIN gauges g ON g.id = r.gauge_id
        WHERE r.piece_id = p.id AND r.feature_id = f.id AND r.round = z.round
        AND g.state = 'found_wrong') THEN 1 ELSE 0 END,
    p.condition, COALESCE(p.material, i.material, ''),
    CASE WHEN EXISTS (SELECT 1 FROM reservations h WHERE h.piece_id = p.id
        AND h.state = 'active' AND h.until_at > {now}) THEN 0 ELSE 1 END,
    CASE WHEN EXISTS (SELECT 1 FROM reservations h WHERE h.piece_id = p.id
        AND h.state = 'active' AND h.until_at > {later}) THEN 0 ELSE 1 END,
    '', -1, '', ',' || l.code || ',', COALESCE(m.clearance_group, ''), COALESCE(m.closure, '')
FROM pieces p JOIN items i ON i.id = p.item_id JOIN features f ON f.item_id = i.id
    JOIN locations l ON l.id = p.location_id
    LEFT JOIN piece_sizes z ON z.piece_id = p.id AND z.feature_id = f.id
    LEFT JOIN meaning m ON m.item_code = i.code AND m.feature = f.name
WHERE p.state = 'in_stock'";

/// A lot of the tests is at two places at most.
const FROM_LOTS: &str = "
INSERT INTO brute
SELECT 1, l.tag, f.name, i.kind, f.kind, f.nominal_nm, COALESCE(m.lower_nm, f.nominal_nm),
    COALESCE(m.upper_nm, f.nominal_nm), 0, COALESCE(m.upper_nm - m.lower_nm, 0), 0,
    CASE WHEN m.lower_nm IS NULL THEN 0 ELSE 1 END, 0, 'new', COALESCE(i.material, ''),
    s.on_hand - COALESCE((SELECT SUM(h.quantity) FROM reservations h WHERE h.lot_id = l.id
        AND h.state = 'active' AND h.until_at > {now}), 0),
    s.on_hand - COALESCE((SELECT SUM(h.quantity) FROM reservations h WHERE h.lot_id = l.id
        AND h.state = 'active' AND h.until_at > {later}), 0),
    l.date_code, COALESCE(l.cost_minor, -1), COALESCE(l.cost_currency, ''), s.places,
    COALESCE(m.clearance_group, ''), COALESCE(m.closure, '')
FROM lots l JOIN items i ON i.id = l.item_id JOIN features f ON f.item_id = i.id
    JOIN (SELECT s.lot_id, SUM(s.on_hand) AS on_hand,
            ',' || MIN(o.code) || ',' || MAX(o.code) || ',' AS places
        FROM lot_stock s JOIN locations o ON o.id = s.location_id
        WHERE s.on_hand > 0 GROUP BY s.lot_id) s ON s.lot_id = l.id
    LEFT JOIN meaning m ON m.item_code = i.code AND m.feature = f.name";
