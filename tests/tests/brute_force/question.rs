//! Questions by chance of what fits, each for the wire and for SQL.

use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::{
    ClassPair, ClearanceLimits, CloseIn, FeatureKind, FindFitRequest, FitRequirement, ItemKind,
    Length, LengthUnit, Material, MeasuredPart, Money, OtherEnd, PieceCondition, PieceFeature,
    StockFilter,
};
use tenths_tests::{Chance, length};

use crate::judge::{End, Judge};
use crate::stock::{Limits, SEATS, SHELVES, Sizes, common};
use crate::table::Times;

/// A measured place of a piece in stock.
#[derive(Clone, Debug)]
pub(crate) struct MeasuredPlace {
    pub(crate) tag: String,
    pub(crate) feature: String,
    pub(crate) kind: FeatureKind,
    pub(crate) low: i64,
    pub(crate) high: i64,
    pub(crate) uncertainty: i64,
}

/// What questions are made of.
pub(crate) struct World {
    pub(crate) sizes: Sizes,
    pub(crate) times: Times,
    pub(crate) measured: Vec<MeasuredPlace>,
}

/// What is measured, what is sought and what that must give, before a size is drawn.
struct Mate {
    measured: FeatureKind,
    on: ItemKind,
    nominal: i64,
    sought: ItemKind,
    judge: (&'static str, &'static str, bool),
    required: Kind,
    window: Limits,
}

/// A question of what fits.
pub(crate) fn fit(world: &World, chance: &mut Chance) -> (FindFitRequest, Judge) {
    let mate = mate(world, chance);
    let place = piece_of(world, chance, &mate);
    let low = mate.nominal + micrometres(chance, -12, 45) + odd(chance);
    let uncertainty = [300, 1_000, 2_500, 9_000][chance.below(4) as usize];
    let mut end = End {
        low,
        high: low,
        uncertainty,
        allowed: vec![(mate.nominal, mate.window)],
        close_in: (0, 0),
    };
    let mut measured = MeasuredPart {
        size: Some(Size::Value(text(low))),
        kind: mate.measured.into(),
        item: mate.on.into(),
        expanded_uncertainty: Some(text(uncertainty)),
        ..MeasuredPart::default()
    };
    let mut itself = String::new();
    if let Some(place) = place {
        (end.low, end.high, end.uncertainty) = (place.low, place.high, place.uncertainty);
        itself.clone_from(&place.tag);
        let piece = PieceFeature { piece_tag: place.tag, feature: place.feature };
        measured = MeasuredPart { size: Some(Size::PieceFeature(piece)), ..Default::default() };
    }
    let close_in = (mate.measured == FeatureKind::Journal && chance.below(2) == 0).then(|| {
        let least = chance.below(6) as i64 * 1_000;
        (least, least + chance.below(8) as i64 * 1_000)
    });
    end.close_in = close_in.unwrap_or_default();
    let housing = housing(world, chance, &mate);
    let (filter, sql) = filter(world, chance);
    let (item_kind, feature_kinds, is_hole) = mate.judge;
    let judge = Judge {
        item_kind,
        feature_kinds,
        is_hole,
        first: end,
        other: housing.as_ref().map(|(_, end)| end.clone()),
        filter: sql,
        itself,
        fits: 1 + chance.below(6) as usize,
        misses: 1 + chance.below(4) as usize,
    };
    let request = FindFitRequest {
        measured: Some(measured),
        sought: mate.sought.into(),
        requirement: Some(FitRequirement { kind: Some(mate.required) }),
        other: housing.map(|(other, _)| other),
        close_in: close_in.map(|(min, max)| CloseIn { min: Some(text(min)), max: Some(text(max)) }),
        filter,
        page_size: judge.fits as i32,
        misses_max: judge.misses as i32,
        ..FindFitRequest::default()
    };
    (request, judge)
}

fn mate(world: &World, chance: &mut Chance) -> Mate {
    use FeatureKind::{Bore, HousingBore, Journal, OutsideDiameter, RollingSeat};
    let (bore, rings) = common(chance);
    let (_, outside) = rings[chance.below(3) as usize];
    let seat = SEATS[chance.below(3) as usize];
    let hole = ["H7", "H6"][chance.below(2) as usize];
    let size = |class, nominal| world.sizes[&(class, nominal)];
    let seat_window = clearance(size("bore", bore), size(seat, bore));
    let housing_window = clearance(size(hole, outside), size("od", outside));
    let running = clearance(size("H7", bore), size("f7", bore));
    let bearing = ItemKind::RollingBearing;
    let (measured, on, nominal, sought, judge, required, window) = match chance.below(10) {
        0..=3 => {
            let judge = ("rolling_bearing", "'bore'", true);
            (
                RollingSeat,
                ItemKind::Unspecified,
                bore,
                bearing,
                judge,
                classes("", seat),
                seat_window,
            )
        }
        4 => {
            let judge = ("rolling_bearing", "'outside_diameter'", false);
            let required = classes(hole, "");
            (HousingBore, ItemKind::Unspecified, outside, bearing, judge, required, housing_window)
        }
        5 => {
            let judge = ("shaft", "'rolling_seat'", false);
            (Bore, bearing, bore, ItemKind::Shaft, judge, classes("", seat), seat_window)
        }
        6 => {
            let judge = ("shaft", "'journal', 'shaft_extension'", false);
            let on = ItemKind::Bushing;
            (Bore, on, bore, ItemKind::Shaft, judge, classes("H7", "f7"), running)
        }
        7 => {
            let judge = ("housing", "'housing_bore'", true);
            let required = classes(hole, "");
            let sought = ItemKind::Housing;
            (OutsideDiameter, bearing, outside, sought, judge, required, housing_window)
        }
        _ => {
            let judge = ("bushing", "'bore'", true);
            let (required, window) = by_clearance(micrometres(chance, -20, 40), chance);
            (Journal, ItemKind::Unspecified, bore, ItemKind::Bushing, judge, required, window)
        }
    };
    let nominal = nominal * 1_000_000;
    let mut mate = Mate { measured, on, nominal, sought, judge, required, window };
    if chance.below(4) == 0 {
        let middle = (mate.window.lower + mate.window.upper) / 2;
        let least = middle / 1_000 * 1_000 - micrometres(chance, 0, 25);
        (mate.required, mate.window) = by_clearance(least, chance);
    }
    mate
}

/// The clearance that a hole and a shaft within their limits can have.
fn clearance(hole: Limits, shaft: Limits) -> Limits {
    Limits { lower: hole.lower - shaft.upper, upper: hole.upper - shaft.lower }
}

fn classes(hole: &str, shaft: &str) -> Kind {
    Kind::ClassPair(ClassPair { hole_class: hole.to_owned(), shaft_class: shaft.to_owned() })
}

fn by_clearance(lower: i64, chance: &mut Chance) -> (Kind, Limits) {
    let upper = lower + micrometres(chance, 0, 45);
    let limits = ClearanceLimits { min: Some(text(lower)), max: Some(text(upper)) };
    (Kind::Clearance(limits), Limits { lower, upper })
}

/// In one question of eight a piece that is in stock itself.
fn piece_of(world: &World, chance: &mut Chance, mate: &Mate) -> Option<MeasuredPlace> {
    if chance.below(8) > 0 {
        return None;
    }
    let near = |place: &&MeasuredPlace| {
        place.kind == mate.measured && (place.low - mate.nominal).abs() < 500_000
    };
    let places: Vec<&MeasuredPlace> = world.measured.iter().filter(near).collect();
    let picked = chance.below(places.len().max(1) as u64) as usize;
    places.get(picked).map(|place| (*place).clone())
}

/// One question of four for a bearing on a seat names the housing too.
fn housing(world: &World, chance: &mut Chance, mate: &Mate) -> Option<(OtherEnd, End)> {
    let bore = mate.nominal / 1_000_000;
    let rings = crate::stock::BORES.into_iter().find(|(one, _)| *one == bore)?.1;
    if mate.measured != FeatureKind::RollingSeat || chance.below(4) > 0 {
        return None;
    }
    let (_, outside) = rings[chance.below(3) as usize];
    let class = ["H7", "H6"][chance.below(2) as usize];
    // What is allowed depends on the bearing: its outside diameter has a nominal size of its own.
    let window = |outside| clearance(world.sizes[&(class, outside)], world.sizes[&("od", outside)]);
    let allowed = rings.map(|(_, outside)| (outside * 1_000_000, window(outside)));
    let low = outside * 1_000_000 + micrometres(chance, -4, 36) + odd(chance);
    let uncertainty = [500, 2_000, 5_000][chance.below(3) as usize];
    let measured = MeasuredPart {
        size: Some(Size::Value(text(low))),
        kind: FeatureKind::HousingBore.into(),
        expanded_uncertainty: Some(text(uncertainty)),
        ..MeasuredPart::default()
    };
    let other = OtherEnd {
        measured: Some(measured),
        requirement: Some(FitRequirement { kind: Some(classes(class, "")) }),
        outside_diameter: None,
    };
    let allowed = allowed.to_vec();
    Some((other, End { low, high: low, uncertainty, allowed, close_in: (0, 0) }))
}

/// Every second question narrows.
pub(crate) fn filter(world: &World, chance: &mut Chance) -> (Option<StockFilter>, String) {
    let later = world.times.later;
    let shelf = SHELVES[chance.below(SHELVES.len() as u64) as usize];
    let at = prost_types::Timestamp {
        seconds: later / 1_000_000,
        nanos: (later % 1_000_000 * 1_000) as i32,
    };
    let dollars = Money { amount: "4.75".to_owned(), currency: "USD".to_owned() };
    let only = StockFilter::default();
    let (filter, sql) = match chance.below(16) {
        0 => (
            StockFilter { conditions: vec![PieceCondition::Used.into()], ..only },
            "AND b.condition = 'used'".to_owned(),
        ),
        1 => (
            StockFilter { location_codes: vec![shelf.to_owned()], ..only },
            format!("AND b.places LIKE '%,{shelf},%'"),
        ),
        2 => (
            StockFilter {
                materials: vec![Material::Bronze.into(), Material::Steel.into()],
                ..only
            },
            "AND b.material IN ('bronze', 'steel')".to_owned(),
        ),
        3 => (
            StockFilter { clearance_groups: vec!["C3".to_owned()], ..only },
            "AND b.clearance_group = 'C3'".to_owned(),
        ),
        4 => (
            StockFilter { closures: vec!["open".to_owned()], ..only },
            "AND b.closure = 'open'".to_owned(),
        ),
        5 => (
            StockFilter { price_max: Some(dollars), ..only },
            "AND b.currency = 'USD' AND b.cost_minor <= 475".to_owned(),
        ),
        6 => (StockFilter { free_only: true, ..only }, "AND b.free_now > 0".to_owned()),
        7 => (
            StockFilter { free_only: true, available_at: Some(at), ..only },
            "AND b.free_later > 0".to_owned(),
        ),
        _ => return (None, String::new()),
    };
    (Some(filter), sql)
}

/// Nanometres of whole micrometres between two.
pub(crate) fn micrometres(chance: &mut Chance, from: i64, to: i64) -> i64 {
    (from + chance.below((to - from) as u64) as i64) * 1_000
}

/// Mostly nothing: gauges read whole steps; sometimes what the temperature leaves.
fn odd(chance: &mut Chance) -> i64 {
    if chance.below(5) == 0 { chance.below(1_000) as i64 } else { 0 }
}

/// Nanometres as a person writes them in millimetres.
pub(crate) fn text(nm: i64) -> Length {
    let sign = if nm < 0 { "-" } else { "" };
    let text = format!("{sign}{}.{:06}", nm.abs() / 1_000_000, nm.abs() % 1_000_000);
    length(&text, LengthUnit::Mm).expect("a length")
}
