//! What the index costs: a question, a change and a row, at any number of rows, beside a look-up in a
//! plain ordered map of as many rows.
//!
//! ```text
//! cargo bench -p tenths-server --bench index -- 100000 1000000
//! ```
//!
//! The stock crowds on few sizes, as stock does: six in ten rows are lots of bearings of 36 bores,
//! exactly alike within an item; the others are shafts whose two seats were read in micrometres at
//! all temperatures, so that nearly no two sizes are equal.

// A benchmark talks to whoever runs it.
#![expect(clippy::print_stdout, reason = "the table is what this program is for")]

use std::collections::BTreeMap;
use std::hint::black_box;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::fit::SizeBelief;
use tenths_domain::ids::{FeatureId, ItemId, LocationId, LotId, PieceId};
use tenths_domain::item::{Feature, FeatureKind, ItemKind, Limits, Tolerance};
use tenths_domain::matching::{Place, Question};
use tenths_domain::state::PieceCondition;
use tenths_domain::substitution::SetSize;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Length, Unit};
use tenths_server::app::index::{Ask, Filter, StockIndex};
use tenths_storage::{Item, ItemFeature, StockedAt, StockedLot, StockedPiece, StockedSize};

/// Questions a kind.
const QUESTIONS: u32 = 2_000;
const BORES: [i64; 36] = [
    10, 12, 15, 17, 20, 22, 25, 28, 30, 32, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95,
    100, 105, 110, 120, 130, 140, 150, 160, 170, 180, 190, 200, 220,
];

/// The same numbers in every run.
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: u64) -> i64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % end) as i64
    }

    /// Crowded about the middle of a range.
    fn about(&mut self, width: u64) -> i64 {
        (self.below(width) + self.below(width) + self.below(width)) / 3
    }
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn feature(
    id: i64,
    name: &str,
    kind: FeatureKind,
    nominal: i64,
    tolerance: Tolerance,
) -> ItemFeature {
    let feature = Feature {
        name: name.to_owned(),
        kind,
        nominal: nm(nominal),
        tolerance,
        wear_limit: None,
        recondition_limit: None,
        out_of_round_limit: None,
        taper_limit: None,
        reference_station: None,
        limit_source: String::new(),
    };
    let (nominal_text, nominal_unit) = (String::new(), Unit::Millimetre);
    ItemFeature { id: FeatureId(id), nominal_text, nominal_unit, feature }
}

fn item(id: i64, kind: ItemKind, features: Vec<ItemFeature>) -> Arc<Item> {
    Arc::new(Item {
        id: ItemId(id),
        code: format!("I-{id}"),
        kind,
        description: String::new(),
        designation: String::new(),
        material: (kind == ItemKind::Shaft).then_some(Material::Steel),
        set: SetSize::ONE,
        no_substitute: false,
        created_at: 0,
        revision: 1,
        features,
    })
}

fn items() -> Vec<Arc<Item>> {
    let mut items = Vec::new();
    for (bore, id) in BORES.into_iter().zip(1..) {
        let nominal = bore * 1_000_000;
        let ring = || Tolerance::Iso492(ToleranceClass::Normal);
        let own = feature(id * 10, "bore", FeatureKind::Bore, nominal, ring());
        let outside = nominal * 2 + 2_000_000;
        let outside = feature(id * 10 + 1, "od", FeatureKind::OutsideDiameter, outside, ring());
        items.push(item(id, ItemKind::RollingBearing, vec![own, outside]));
        let seat = |slot: i64, name: &str| {
            let class = Tolerance::Class("k5".parse().expect("a class"));
            feature(id * 10 + slot, name, FeatureKind::RollingSeat, nominal, class)
        };
        items.push(item(1_000 + id, ItemKind::Shaft, vec![seat(5, "a"), seat(6, "b")]));
    }
    items
}

fn lot(chance: &mut Chance, number: i64) -> StockedLot {
    StockedLot {
        id: LotId(number),
        tag: format!("L-{number}"),
        item: ItemId(1 + chance.about(BORES.len() as u64)),
        date_code: format!("202{}-{:02}", chance.below(6), 1 + chance.below(12)),
        unit_cost: None,
        created_at: 0,
        stock: vec![StockedAt { location: LocationId(chance.below(40)), on_hand: 4 }],
        holds: Vec::new(),
    }
}

fn piece(chance: &mut Chance, items: &[Arc<Item>], number: i64) -> StockedPiece {
    let item = ItemId(1_001 + chance.about(BORES.len() as u64));
    let known = items.iter().find(|one| one.id == item).expect("one of the items");
    let mut size = |feature: &ItemFeature| {
        // Readings in micrometres, worn more often than not, each taken to 20 C.
        let read = (chance.about(60) - 25) * 1_000;
        let low = feature.feature.nominal + nm(read - chance.below(2_400));
        let uncertainty = [1_000, 2_500, 4_600][chance.below(3) as usize];
        StockedSize {
            feature: feature.id,
            round: 0,
            min: Some(low),
            max: Some(low + nm(chance.below(5) * 1_000)),
            uncertainty: Some(nm(uncertainty)),
            target: None,
            is_doubted: false,
        }
    };
    StockedPiece {
        id: PieceId(number),
        tag: format!("P-{number}"),
        item,
        condition: PieceCondition::Used,
        material: None,
        location: LocationId(7),
        created_at: 0,
        sizes: known.features.iter().map(&mut size).collect(),
        hold: None,
    }
}

fn resident() -> i64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kib = line.and_then(|line| line.split_whitespace().next()?.parse::<i64>().ok());
    kib.unwrap_or(0) * 1_024
}

/// A bearing for a seat, or a shaft for a bearing.
fn question(chance: &mut Chance, seeks_bearing: bool) -> (Question, ItemKind, FeatureKind) {
    let nominal = BORES[chance.about(BORES.len() as u64) as usize] * 1_000_000;
    let (item, feature) = match seeks_bearing {
        true => (ItemKind::Shaft, FeatureKind::RollingSeat),
        false => (ItemKind::RollingBearing, FeatureKind::Bore),
    };
    let at = nominal + if seeks_bearing { chance.about(24) - 4 } else { -chance.about(12) } * 1_000;
    let question = Question {
        place: Place { item, feature, material: None },
        size: SizeBelief::measured(nm(at), nm(at), nm(1_500)).expect("in order"),
        ring: (!seeks_bearing).then_some(ToleranceClass::Normal),
        requirement: "k5".parse().expect("a class"),
        close_in: None,
        other: None,
        age: None,
    };
    match seeks_bearing {
        true => (question, ItemKind::RollingBearing, FeatureKind::Bore),
        false => (question, ItemKind::Shaft, FeatureKind::RollingSeat),
    }
}

fn ask(index: &StockIndex, seed: u64, seeks_bearing: bool) -> (Duration, Duration, usize) {
    let mut chance = Chance(seed);
    let filter = Filter::default();
    let (mut took, mut found) = (Vec::new(), 0);
    for _ in 0..QUESTIONS {
        let (question, item_kind, feature) = question(&mut chance, seeks_bearing);
        let look = Limits {
            lower: question.size.smallest() - nm(500_000),
            upper: question.size.largest() + nm(500_000),
        };
        let ask = Ask {
            question: &question,
            item_kind,
            feature_kinds: &[feature],
            other_kind: None,
            look,
            filter: &filter,
            itself: None,
            now: 1,
            page: 20,
            after: None,
            misses: 5,
        };
        let started = Instant::now();
        found += black_box(index.fits(&ask)).fits.len();
        took.push(started.elapsed());
    }
    took.sort();
    let mean = took.iter().sum::<Duration>() / QUESTIONS;
    (mean, took[took.len() * 99 / 100], found)
}

fn floor(rows: i64) -> Duration {
    let map: BTreeMap<i64, i64> = (0..rows).map(|row| (row * 7, row)).collect();
    let mut chance = Chance(3);
    let started = Instant::now();
    for _ in 0..QUESTIONS {
        let from = chance.below(u64::try_from(rows * 7).unwrap_or(1));
        black_box(map.range(from..).take(25).map(|(_, row)| *row).sum::<i64>());
    }
    started.elapsed() / QUESTIONS
}

fn main() {
    let asked: Vec<i64> = std::env::args().filter_map(|text| text.parse().ok()).collect();
    let sizes = if asked.is_empty() { vec![1_000, 100_000] } else { asked };
    println!(
        "{:>10} {:>9} {:>9} {:>8} {:>22} {:>22} {:>10} {:>8}",
        "rows",
        "groups",
        "bytes/row",
        "put us",
        "bearing us (p99)",
        "shaft us (p99)",
        "change us",
        "floor us"
    );
    let micros = |time: Duration| time.as_nanos() as f64 / 1_000.0;
    for rows in sizes {
        let before = resident();
        let mut chance = Chance(1);
        let items = items();
        let mut index = StockIndex::loading();
        items.iter().for_each(|item| index.put_item(item.clone()));
        let started = Instant::now();
        for number in 1..=rows {
            match number % 10 < 6 {
                true => index.put_lot(lot(&mut chance, number), 0),
                false => index.put_piece(piece(&mut chance, &items, number), 0),
            }
        }
        index.settle();
        let put = started.elapsed() / u32::try_from(rows).unwrap_or(u32::MAX);
        let bytes = (resident() - before) / rows;
        let (bearing, bearing_p99, bearings) = ask(&index, 11, true);
        let (shaft, shaft_p99, shafts) = ask(&index, 12, false);
        let started = Instant::now();
        for number in (1..=rows).filter(|number| number % 10 >= 6).take(2_000) {
            index.put_piece(piece(&mut chance, &items, number), 0);
        }
        let changes = (rows * 4 / 10).clamp(1, 2_000);
        let change = started.elapsed() / u32::try_from(changes).unwrap_or(1);
        let cell = |mean, p99| format!("{:.1} ({:.1})", micros(mean), micros(p99));
        println!(
            "{rows:>10} {:>9} {bytes:>9} {:>8.2} {:>22} {:>22} {:>10.2} {:>8.2}",
            index.group_count(),
            micros(put),
            cell(bearing, bearing_p99),
            cell(shaft, shaft_p99),
            micros(change),
            micros(floor(rows)),
        );
        assert!(bearings > 0 && shafts > 0, "the questions find something");
    }
}
