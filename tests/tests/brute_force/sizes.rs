//! Questions by chance of windows of size, each for the wire and for SQL.

use tenths_proto::v1::{FeatureKind, FindBySizeRequest, ItemKind, SizeWindow};
use tenths_tests::Chance;

use crate::question::{World, filter, micrometres, text};
use crate::stock::common;

/// A window on one kind of place: its word in the books, its ends in nanometres.
struct Window {
    kind: FeatureKind,
    word: &'static str,
    lower: Option<i64>,
    upper: Option<i64>,
}

/// A question of what has these sizes, and every row that has, in order, as SQL: tag, feature, size.
pub(crate) fn by_size(world: &World, chance: &mut Chance) -> (FindBySizeRequest, String) {
    let (first, others) = windows(chance);
    let (filter, narrowed) = filter(world, chance);
    let item = [ItemKind::Unspecified, ItemKind::Shaft][chance.below(2) as usize];
    let of_kind = if item == ItemKind::Shaft { "AND b.item_kind = 'shaft'" } else { "" };
    let mut conditions = within("b", &first);
    for other in &others {
        conditions += &format!(
            " AND EXISTS (SELECT 1 FROM brute o WHERE o.tag = b.tag AND o.is_lot = b.is_lot
                AND o.is_wrong = 0 AND {})",
            within("o", other)
        );
    }
    let sql = format!(
        "SELECT b.tag, b.feature, b.low, b.high FROM brute b
         WHERE b.is_wrong = 0 AND NOT (b.item_kind = 'rolling_bearing' AND b.condition <> 'new')
         AND {conditions} {of_kind} {narrowed}
         ORDER BY b.low, CASE WHEN b.free_now > 0 THEN 0 ELSE 1 END,
            CASE WHEN b.date_code = '' THEN 1 ELSE 0 END, b.date_code, b.is_lot, b.tag, b.feature"
    );
    let wire = |window: &Window| SizeWindow {
        kind: window.kind.into(),
        lower: window.lower.map(text),
        upper: window.upper.map(text),
    };
    let mut windows: Vec<SizeWindow> = others.iter().map(wire).collect();
    // The narrowest counts, wherever it stands.
    windows.push(wire(&first));
    let page_size = 5 + chance.below(40) as i32;
    (FindBySizeRequest { item: item.into(), windows, filter, page_size, ..Default::default() }, sql)
}

fn within(table: &str, window: &Window) -> String {
    let mut sql = format!("{table}.feature_kind = '{}'", window.word);
    for (end, text) in [(window.lower, "low >="), (window.upper, "high <=")] {
        sql += &end.map(|end| format!(" AND {table}.{text} {end}")).unwrap_or_default();
    }
    sql
}

fn windows(chance: &mut Chance) -> (Window, Vec<Window>) {
    let (bore, rings) = common(chance);
    let (_, outside) = rings[chance.below(3) as usize];
    let (kind, word, nominal) = [
        (FeatureKind::Bore, "bore", bore),
        (FeatureKind::RollingSeat, "rolling_seat", bore),
        (FeatureKind::Journal, "journal", bore),
        (FeatureKind::HousingBore, "housing_bore", outside),
    ][chance.below(4) as usize];
    let lower = nominal * 1_000_000 + micrometres(chance, -40, 30);
    let upper = Some(lower + micrometres(chance, 0, 40));
    let first = Window { kind, word, lower: Some(lower), upper };
    let od = (FeatureKind::OutsideDiameter, "outside_diameter");
    let others = match chance.below(4) {
        0 if kind == FeatureKind::Bore => {
            let upper = Some(outside * 1_000_000 + 60_000);
            vec![Window { kind: od.0, word: od.1, lower: None, upper }]
        }
        1 if kind == FeatureKind::Bore => {
            let lower = Some(outside * 1_000_000 - 100_000);
            let width = Window {
                kind: FeatureKind::Width,
                word: "width",
                lower: None,
                upper: Some(15_000_000),
            };
            vec![
                Window { kind: od.0, word: od.1, lower, upper: lower.map(|low| low + 200_000) },
                width,
            ]
        }
        _ => Vec::new(),
    };
    (first, others)
}
