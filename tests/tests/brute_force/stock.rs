//! The stock of the tests: a few items in few sizes, so that most of it crowds where the questions are.

use std::collections::BTreeMap;
use std::fmt::Write;

use tenths_proto::v1::feature::Tolerance;
use tenths_proto::v1::{
    Feature, FeatureKind, Gauge, GetBearingRequest, GetLimitsRequest, Item, ItemKind, LocationKind,
    Material, SettingMethod, SizeRange,
};
use tenths_tests::{
    Bench, Chance, Clients, Shop, bearing_item, days, done, from_now, hold_lot, hold_piece, length,
    mm, nm,
};

use crate::books::Books;

/// Bores in mm, the one that most things have first, and the bearings of each with their outside
/// diameters in mm.
pub(crate) const BORES: [(i64, [(&str, i64); 3]); 3] = [
    (25, [("6205", 52), ("6005", 47), ("6305", 62)]),
    (30, [("6206", 62), ("6006", 55), ("6306", 72)]),
    (20, [("6204", 47), ("6004", 42), ("6304", 52)]),
];
/// Suffixes of numbers, with the clearance group and the closure that they mean.
const SUFFIXES: [(&str, &str, &str); 3] =
    [("", "CN", "open"), ("-C3", "C3", "open"), ("-2RS", "CN", "seal_both_sides")];
/// Classes of seats.
pub(crate) const SEATS: [&str; 3] = ["k5", "j6", "m5"];
/// Shelves.
pub(crate) const SHELVES: [&str; 4] = ["S-1", "S-2", "S-3", "S-4"];
/// How many pieces and lots there are.
const PIECES: usize = 800;
const LOTS: usize = 250;

/// Limits of size in nanometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Limits {
    pub(crate) lower: i64,
    pub(crate) upper: i64,
}

/// What the standards say at every size of the stock, as the server answers it: by class, `bore` or
/// `od` of a bearing, and nominal size in mm.
pub(crate) type Sizes = BTreeMap<(&'static str, i64), Limits>;

/// Fills the shop.
pub(crate) async fn furnish(shop: &Shop, seed: u64) -> Sizes {
    let bench = Bench::bare(shop.clients());
    for shelf in SHELVES {
        bench.location(shelf, LocationKind::Shelf).await;
    }
    for (tag, unit_text, uncertainty) in GAUGES {
        bench.gauge(gauge(tag, unit_text, uncertainty)).await;
    }
    let sizes = sizes(shop.clients()).await;
    for item in items() {
        bench.item(item).await;
    }
    let mut chance = Chance::new(seed);
    import(shop, "lots", &lots(&mut chance));
    import(shop, "pieces", &pieces(&mut chance));
    hold(&bench, &mut chance).await;
    twist(shop).await;
    shop.clients().settle().await;
    sizes
}

/// Tag, one step and the expanded uncertainty in mm; the last is found wrong in the end.
const GAUGES: [(&str, &str, &str); 4] = [
    ("G-1", "0.001", "0.002"),
    ("G-2", "0.001", "0.0046"),
    ("G-3", "0.0001", "0.0004"),
    ("G-4", "0.001", "0.002"),
];

fn gauge(tag: &str, resolution: &str, uncertainty: &str) -> Gauge {
    Gauge {
        tag: tag.to_owned(),
        description: "micrometer".to_owned(),
        resolution: mm(resolution),
        expanded_uncertainty: mm(uncertainty),
        setting_method: SettingMethod::GaugeBlock.into(),
        calibration_due_time: from_now(days(200)),
        ..Gauge::default()
    }
}

async fn sizes(clients: &Clients) -> Sizes {
    let mut sizes = Sizes::new();
    for (bore, rings) in BORES {
        for class in SEATS.into_iter().chain(["f7", "H7"]) {
            sizes.insert((class, bore), class_limits(clients, class, bore).await);
        }
        sizes.insert(("s6", bore + 8), class_limits(clients, "s6", bore + 8).await);
        for (number, outside) in rings {
            let request = GetBearingRequest { designation: number.into(), ..Default::default() };
            let found = done("get_bearing", clients.standards().get_bearing(request).await);
            sizes.insert(("bore", bore), range(&found.bore_limits));
            sizes.insert(("od", outside), range(&found.outside_diameter_limits));
            for class in ["H7", "H6"] {
                sizes.insert((class, outside), class_limits(clients, class, outside).await);
            }
        }
    }
    sizes
}

fn range(found: &Option<SizeRange>) -> Limits {
    let found = found.as_ref().expect("limits of a ring");
    Limits { lower: nm(&found.lower), upper: nm(&found.upper) }
}

async fn class_limits(clients: &Clients, class: &str, size_mm: i64) -> Limits {
    let request =
        GetLimitsRequest { size: mm(&size_mm.to_string()), tolerance_class: class.to_owned() };
    let found = done("get_limits", clients.fits().get_limits(request).await);
    Limits { lower: nm(&found.lower), upper: nm(&found.upper) }
}

/// The table of what the catalogue means: limits of each feature, group and closure of each item.
pub(crate) fn catalogue_rows(sizes: &Sizes) -> Vec<(String, &'static str, Limits, String, String)> {
    let mut rows = Vec::new();
    let mut note = |code: &str, feature, limits, group: &str, closure: &str| {
        rows.push((code.to_owned(), feature, limits, group.to_owned(), closure.to_owned()));
    };
    for (bore, rings) in BORES {
        for (number, outside) in rings {
            for (suffix, group, closure) in SUFFIXES {
                let code = format!("BRG-{number}{suffix}");
                note(&code, "bore", sizes[&("bore", bore)], group, closure);
                note(&code, "od", sizes[&("od", outside)], group, closure);
            }
            note(&format!("BELL-{outside}"), "bore-a", sizes[&("H7", outside)], "", "");
        }
        note(&format!("BUSH-{bore}"), "bore", sizes[&("H7", bore)], "", "");
        note(&format!("BUSH-{bore}"), "od", sizes[&("s6", bore + 8)], "", "");
        for class in ["k5", "j6"] {
            for seat in ["seat-a", "seat-b"] {
                note(&format!("SHAFT-{bore}-{class}"), seat, sizes[&(class, bore)], "", "");
            }
        }
        note(&format!("JSHAFT-{bore}"), "journal", sizes[&("f7", bore)], "", "");
    }
    rows.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    rows.dedup_by(|a, b| (&a.0, a.1) == (&b.0, b.1));
    rows
}

fn items() -> Vec<Item> {
    use FeatureKind::{Bore, HousingBore, Journal, OutsideDiameter, RollingSeat};
    let mut items = Vec::new();
    for (bore, rings) in BORES {
        for (number, outside) in rings {
            for (suffix, ..) in SUFFIXES {
                let number = format!("{number}{suffix}");
                items.push(bearing_item(&format!("BRG-{number}"), &number));
            }
            let housing = vec![feature("bore-a", HousingBore, outside, "H7")];
            let material = if outside % 2 == 0 { Material::CastIron } else { Material::Aluminium };
            items.push(item(format!("BELL-{outside}"), ItemKind::Housing, material, housing));
        }
        let bushing =
            vec![feature("bore", Bore, bore, "H7"), feature("od", OutsideDiameter, bore + 8, "s6")];
        let material = if bore == 25 { Material::Bronze } else { Material::PorousBronze };
        items.push(item(format!("BUSH-{bore}"), ItemKind::Bushing, material, bushing));
        for class in ["k5", "j6"] {
            let seats = ["seat-a", "seat-b"].map(|name| feature(name, RollingSeat, bore, class));
            let code = format!("SHAFT-{bore}-{class}");
            items.push(item(code, ItemKind::Shaft, Material::Steel, seats.into()));
        }
        let journal = vec![feature("journal", Journal, bore, "f7")];
        items.push(item(format!("JSHAFT-{bore}"), ItemKind::Shaft, Material::Steel, journal));
        // Of this one only the nominal size is known until it is measured.
        let plain = Feature { tolerance: None, ..feature("journal", Journal, bore, "f7") };
        items.push(item(format!("PLAIN-{bore}"), ItemKind::Shaft, Material::Steel, vec![plain]));
    }
    items.sort_by(|a, b| a.code.cmp(&b.code));
    items.dedup_by(|a, b| a.code == b.code);
    items
}

fn item(code: String, kind: ItemKind, material: Material, features: Vec<Feature>) -> Item {
    let (kind, material) = (kind.into(), material.into());
    let description = "a part of the tests".to_owned();
    Item { code, kind, description, material, features, ..Item::default() }
}

fn feature(name: &str, kind: FeatureKind, nominal_mm: i64, class: &str) -> Feature {
    Feature {
        name: name.to_owned(),
        kind: kind.into(),
        nominal: length(&nominal_mm.to_string(), tenths_proto::v1::LengthUnit::Mm),
        tolerance: Some(Tolerance::ToleranceClass(class.to_owned())),
        limit_source: "drawing".to_owned(),
        ..Feature::default()
    }
}

fn pick<'a, T>(chance: &mut Chance, of: &'a [T]) -> &'a T {
    &of[chance.below(of.len() as u64) as usize]
}

/// A bore and its bearings: six in ten times the first.
pub(crate) fn common(chance: &mut Chance) -> (i64, [(&'static str, i64); 3]) {
    let place = [0, 0, 0, 0, 0, 0, 1, 1, 2, 2][chance.below(10) as usize];
    BORES[place]
}

fn lots(chance: &mut Chance) -> String {
    let mut text = "tag,item,quantity,location,date_code,unit_cost\n".to_owned();
    for number in 0..LOTS {
        let (bore, rings) = common(chance);
        let item = if chance.below(4) == 0 {
            format!("BUSH-{bore}")
        } else {
            format!("BRG-{}{}", pick(chance, &rings).0, pick(chance, &SUFFIXES).0)
        };
        let date = pick(chance, &["", "2023-11", "2024-02", "2024-02", "2025-07"]);
        let cost = pick(chance, &["", "4.75 USD", "9.10 USD", "4.00 EUR"]);
        let first = chance.below(SHELVES.len() as u64) as usize;
        let places = 1 + usize::from(chance.below(4) == 0);
        for place in 0..places {
            let shelf = SHELVES[(first + place) % SHELVES.len()];
            let quantity = 1 + chance.below(4);
            // Writing to a String cannot fail.
            let _ = writeln!(text, "L-{number},{item},{quantity},{shelf},{date},{cost}");
        }
    }
    text
}

fn pieces(chance: &mut Chance) -> String {
    let mut text = "tag,item,condition,location,state,gauge,dimensions\n".to_owned();
    for number in 0..PIECES {
        let (bore, rings) = common(chance);
        let (_, outside) = *pick(chance, &rings);
        let used = *pick(chance, &["used", "used", "new", "reconditioned"]);
        let shaft = pick(chance, &["k5", "j6"]);
        let (item, condition, places): (_, _, Vec<(&str, i64, i64)>) = match chance.below(20) {
            0..=9 => (
                format!("SHAFT-{bore}-{shaft}"),
                used,
                vec![("seat-a", bore, 0), ("seat-b", bore, 0)],
            ),
            10..=12 => (format!("JSHAFT-{bore}"), used, vec![("journal", bore, -30)]),
            13 => (format!("PLAIN-{bore}"), used, vec![("journal", bore, -30)]),
            14..=16 => (format!("BELL-{outside}"), used, vec![("bore-a", outside, 5)]),
            17 => (format!("BUSH-{bore}"), used, vec![("bore", bore, 10), ("od", bore + 8, 45)]),
            _ => {
                let (number, outside) = *pick(chance, &rings);
                let item = format!("BRG-{number}{}", pick(chance, &SUFFIXES).0);
                (item, "new", vec![("bore", bore, -14), ("od", outside, -14)])
            }
        };
        let mut measured = Vec::new();
        for (feature, nominal, from) in places {
            if chance.below(10) > 0 {
                measured.push(readings(chance, feature, nominal, from));
            }
        }
        let gauge = pick(chance, &["G-1", "G-1", "G-1", "G-2", "G-2", "G-3", "G-3", "G-3", "G-4"]);
        let (shelf, dimensions) = (pick(chance, &SHELVES), measured.join("; "));
        let gauge = if measured.is_empty() { "" } else { gauge };
        let _ =
            writeln!(text, "P-{number},{item},{condition},{shelf},in_stock,{gauge},{dimensions}");
    }
    text
}

/// One or two readings, whole micrometres from `from` to `from` + 20 off the nominal size.
fn readings(chance: &mut Chance, feature: &str, nominal_mm: i64, from: i64) -> String {
    let first = nominal_mm * 1_000 + from + chance.below(21) as i64;
    let second = first + chance.below(4) as i64;
    let text = |um: i64| format!("{}.{:03} mm", um / 1_000, um % 1_000);
    format!("{feature}@A0={}; {feature}@B0={}", text(first), text(second))
}

fn import(shop: &Shop, kind: &str, table: &str) {
    let path = shop.database().folder().join(format!("{kind}.csv"));
    std::fs::write(&path, table).expect("a file of the test's own");
    let path = path.to_str().expect("a plain path");
    shop.tenths(&["--person", "mara", "import", kind, path]).succeeded("an import");
}

/// Holds one in six, half of them for two days, the others for twenty.
async fn hold(bench: &Bench, chance: &mut Chance) {
    bench.rebuild("R-1").await;
    let (mut short, mut long) = (Vec::new(), Vec::new());
    for number in 0..PIECES {
        if chance.below(6) == 0 {
            let some = if chance.below(2) == 0 { &mut short } else { &mut long };
            some.push(hold_piece(&format!("P-{number}")));
        }
    }
    for number in 0..LOTS {
        if chance.below(3) == 0 {
            let some = if chance.below(2) == 0 { &mut short } else { &mut long };
            some.push(hold_lot(&format!("L-{number}"), 1));
        }
    }
    for (lines, held_for) in [(short, days(2)), (long, days(20))] {
        for part in lines.chunks(150) {
            let mut request = bench.reserve_request("R-1", part.to_vec());
            request.until_time = from_now(held_for);
            done("reserve", bench.clients().rebuilds().reserve(request).await);
        }
    }
}

/// What no import brings: bearings that were taken off, places finished to another size, a gauge
/// found wrong. The books are written over the server's head; it must see that too.
async fn twist(shop: &Shop) {
    let books = Books::open(shop.database()).await;
    let bearings = "SELECT id FROM items WHERE kind = 'rolling_bearing'";
    let seats = "SELECT id FROM features WHERE kind IN ('rolling_seat', 'journal')";
    // Finished smaller, in the same step of sizes of the standards as the catalogue's size.
    let reground = "SELECT id FROM pieces WHERE condition = 'reconditioned'";
    for sql in [
        format!(
            "UPDATE pieces SET condition = 'used' WHERE id % 3 = 0 AND item_id IN ({bearings})"
        ),
        format!(
            "UPDATE piece_sizes SET round = 1, target_lower_nm = min_nm / 10000 * 10000 - 40000, \
             target_upper_nm = min_nm / 10000 * 10000 - 25000 WHERE min_nm IS NOT NULL \
             AND piece_id % 2 = 0 AND feature_id IN ({seats}) AND piece_id IN ({reground})"
        ),
        // Of some of these the size after the work is not read yet.
        "UPDATE piece_sizes SET min_nm = NULL, max_nm = NULL, uncertainty_nm = NULL, \
         reading_count = 0 WHERE round = 1 AND piece_id % 4 = 0"
            .to_owned(),
        "UPDATE gauges SET state = 'found_wrong' WHERE tag = 'G-4'".to_owned(),
    ] {
        books.run(&sql).await;
    }
}
