//! A stock of the tests' own: a few items, crowded on few sizes, and questions near them.

use crate::app::index::{SizeWindow, StockId};
use proptest::prelude::*;
use std::sync::Arc;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::fit::{ClearanceWindow, Requirement, SizeBelief};
use tenths_domain::ids::{FeatureId, ItemId, LocationId, LotId, PieceId};
use tenths_domain::item::{Feature, FeatureKind, ItemKind, Limits, Tolerance};
use tenths_domain::matching::{OtherEnd, Place, Question};
use tenths_domain::state::PieceCondition;
use tenths_domain::substitution::SetSize;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Length, Unit};
use tenths_storage::{
    Item, ItemFeature, StockedAt, StockedHold, StockedLot, StockedLotHold, StockedPiece,
    StockedSize,
};

const BORE: i64 = 25_000_000;
const OUTSIDE: i64 = 52_000_000;

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

pub(super) fn shelf(number: i64) -> LocationId {
    LocationId(number)
}

fn feature(
    id: i64,
    name: &str,
    kind: FeatureKind,
    nominal: i64,
    tolerance: Tolerance,
) -> ItemFeature {
    ItemFeature {
        id: FeatureId(id),
        nominal_text: String::new(),
        nominal_unit: Unit::Millimetre,
        feature: Feature {
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
        },
    }
}

fn item(
    id: i64,
    kind: ItemKind,
    material: Option<Material>,
    features: Vec<ItemFeature>,
) -> Arc<Item> {
    Arc::new(Item {
        id: ItemId(id),
        code: format!("I-{id}"),
        kind,
        description: String::new(),
        designation: String::new(),
        material,
        set: SetSize::new(1).expect("one"),
        no_substitute: false,
        created_at: 0,
        revision: 1,
        features,
    })
}

/// Two bearings that differ in class, two bushings, two shafts (one with two like seats), a housing.
pub(super) fn items() -> Vec<Arc<Item>> {
    use FeatureKind::*;
    let ring = |class| Tolerance::Iso492(class);
    let within = |nominal: i64, low: i64, high: i64| {
        Tolerance::Explicit(Limits { lower: nm(nominal + low), upper: nm(nominal + high) })
    };
    let bearing = |id: i64, class| {
        let bore = feature(id * 10, "bore", Bore, BORE, ring(class));
        let outside = feature(id * 10 + 1, "od", OutsideDiameter, OUTSIDE, ring(class));
        let width = feature(id * 10 + 2, "width", Width, 15_000_000, Tolerance::None);
        item(id, ItemKind::RollingBearing, None, vec![bore, outside, width])
    };
    let bushing = |id: i64, material| {
        let bore = feature(id * 10, "bore", Bore, BORE, within(BORE, 20_000, 41_000));
        let outside = within(32_000_000, 30_000, 46_000);
        let outside = feature(id * 10 + 1, "od", OutsideDiameter, 32_000_000, outside);
        item(id, ItemKind::Bushing, material, vec![bore, outside])
    };
    let seat =
        |id: i64, name: &str| feature(id, name, RollingSeat, BORE, within(BORE, 2_000, 11_000));
    vec![
        bearing(1, ToleranceClass::Normal),
        bearing(2, ToleranceClass::Class5),
        bushing(3, Some(Material::Bronze)),
        bushing(4, None),
        item(5, ItemKind::Shaft, Some(Material::Steel), vec![seat(50, "a"), seat(51, "b")]),
        item(
            6,
            ItemKind::Shaft,
            Some(Material::Steel),
            vec![feature(60, "j", Journal, BORE, Tolerance::None)],
        ),
        item(
            7,
            ItemKind::Housing,
            Some(Material::Aluminium),
            vec![feature(70, "h", HousingBore, OUTSIDE, within(OUTSIDE, 0, 19_000))],
        ),
    ]
}

/// What happens to the stock.
#[derive(Clone, Debug)]
pub(super) enum Act {
    Piece(StockedPiece),
    Lot(StockedLot),
    Remove(StockId),
}

pub(super) fn lot(id: i64, pick: usize, on_hand: i64, hold: Option<(i64, i64)>) -> StockedLot {
    let date_codes = ["", "2024-11", "2025-02", "2025-07"];
    let hold = hold.map(|(quantity, until_at)| StockedLotHold {
        location: shelf(1),
        quantity: quantity.min(on_hand),
        until_at,
    });
    StockedLot {
        id: LotId(id),
        tag: format!("L-{}", id % 7 * 100 + id),
        item: ItemId(1 + (pick % 4) as i64),
        date_code: date_codes[pick / 4 % 4].to_owned(),
        unit_cost: None,
        created_at: 0,
        stock: vec![StockedAt { location: shelf(1), on_hand }],
        holds: hold.into_iter().collect(),
    }
}

fn sizes(item: i64) -> impl Strategy<Value = Vec<StockedSize>> {
    let all = items();
    let item = all.into_iter().find(|one| one.id.0 == item).expect("one of the items");
    let count = item.features.len();
    // Crowded: whole micrometres mostly, as gauges read, and odd nanometres, as temperature leaves.
    let offset = prop_oneof![3 => (-8_i64..25).prop_map(|um| um * 1_000), 1 => -9_000_i64..26_000];
    let width = prop_oneof![3 => (0_i64..4).prop_map(|um| um * 1_000), 1 => 0_i64..22_000];
    let uncertainty = proptest::sample::select(vec![500_i64, 1_000, 1_300, 2_500, 4_600, 40_000]);
    let known = 0_u8..10;
    let one = (offset, width, uncertainty, known);
    prop::collection::vec(one, count).prop_map(move |drawn| {
        let features = item.features.iter().zip(drawn);
        features
            .filter(|(_, (.., known))| *known > 0)
            .map(|(feature, (offset, width, uncertainty, known))| {
                let low = feature.feature.nominal + nm(offset);
                let finished = Limits { lower: low - nm(3_000), upper: low + nm(9_000) };
                StockedSize {
                    feature: feature.id,
                    round: 0,
                    min: (known > 1).then_some(low),
                    max: (known > 1).then_some(low + nm(width)),
                    uncertainty: (known > 1).then_some(nm(uncertainty)),
                    target: (known == 9).then_some(finished),
                    is_doubted: known == 2,
                }
            })
            .collect()
    })
}

fn piece() -> impl Strategy<Value = StockedPiece> {
    let condition = proptest::sample::select(PieceCondition::ALL.to_vec());
    let hold = proptest::option::weighted(0.3, 500_i64..1_500);
    let item = proptest::sample::select(vec![1_i64, 2, 3, 5, 5, 5, 6, 6, 7, 7]);
    item.prop_flat_map(move |item| {
        (Just(item), 1_i64..60, condition.clone(), hold.clone(), sizes(item), 0_i64..3)
    })
    .prop_map(|(item, id, condition, hold, sizes, at)| StockedPiece {
        id: PieceId(id),
        tag: format!("P-{}", id % 7 * 100 + id),
        item: ItemId(item),
        condition,
        material: None,
        location: shelf(at),
        created_at: 0,
        sizes,
        hold: hold.map(|until_at| StockedHold {
            tag: "H-1".to_owned(),
            rebuild_tag: "R-1".to_owned(),
            person: "ada".to_owned(),
            until_at,
        }),
    })
}

pub(super) fn act() -> impl Strategy<Value = Act> {
    let hold = proptest::option::weighted(0.4, (1_i64..4, 500_i64..1_500));
    let lots = (1_i64..60, 0_usize..16, 1_i64..4, hold);
    prop_oneof![
        5 => piece().prop_map(Act::Piece),
        4 => lots.prop_map(|(id, pick, on_hand, hold)| Act::Lot(lot(id, pick, on_hand, hold))),
        1 => (1_i64..60).prop_map(|id| Act::Remove(StockId::Piece(PieceId(id)))),
        1 => (1_i64..60).prop_map(|id| Act::Remove(StockId::Lot(LotId(id)))),
    ]
}

/// A question with where to look.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    pub(super) question: Question,
    pub(super) sought: ItemKind,
    pub(super) features: Vec<FeatureKind>,
    pub(super) other: Option<FeatureKind>,
    pub(super) look: Limits,
}

fn near(nominal: i64) -> impl Strategy<Value = SizeBelief> {
    let uncertainty = proptest::sample::select(vec![300_i64, 1_000, 2_500, 9_000]);
    (-5_i64..22, 0_i64..4, uncertainty).prop_map(move |(offset, width, uncertainty)| {
        let low = nm(nominal + offset * 1_000);
        SizeBelief::measured(low, low + nm(width * 1_000), nm(uncertainty)).expect("in order")
    })
}

fn requirement(class: &'static str) -> impl Strategy<Value = Requirement> {
    let explicit = (-20_i64..20, 0_i64..40).prop_map(|(min, width)| {
        let window = ClearanceWindow { min: nm(min * 1_000), max: nm((min + width) * 1_000) };
        Requirement::clearance(window)
    });
    prop_oneof![Just(class.parse().expect("a class")), explicit]
}

fn asked(
    place: (ItemKind, FeatureKind, i64),
    class: &'static str,
    sought: ItemKind,
    features: Vec<FeatureKind>,
) -> BoxedStrategy<Asked> {
    let (item, feature, nominal) = place;
    (near(nominal), requirement(class))
        .prop_map(move |(size, requirement)| Asked {
            question: Question {
                place: Place { item, feature, material: None },
                size,
                ring: (item == ItemKind::RollingBearing).then_some(ToleranceClass::Normal),
                requirement,
                close_in: None,
                other: None,
                age: None,
            },
            sought,
            features: features.clone(),
            other: None,
            look: Limits {
                lower: size.smallest() - nm(500_000),
                upper: size.largest() + nm(500_000),
            },
        })
        .boxed()
}

pub(super) fn question() -> impl Strategy<Value = Asked> {
    use FeatureKind::*;
    let seat = (ItemKind::Shaft, RollingSeat, BORE);
    let journal = (ItemKind::Shaft, Journal, BORE);
    let single = prop_oneof![
        asked(seat, "k5", ItemKind::RollingBearing, vec![Bore]),
        asked(journal, "H7/f7", ItemKind::Bushing, vec![Bore]),
        asked(
            (ItemKind::Housing, HousingBore, OUTSIDE),
            "H6",
            ItemKind::RollingBearing,
            vec![OutsideDiameter]
        ),
        asked((ItemKind::RollingBearing, Bore, BORE), "k5", ItemKind::Shaft, vec![RollingSeat]),
        asked(
            (ItemKind::Bushing, Bore, BORE),
            "H7/f7",
            ItemKind::Shaft,
            vec![Journal, ShaftExtension]
        ),
        asked(
            (ItemKind::RollingBearing, OutsideDiameter, OUTSIDE),
            "H6",
            ItemKind::Housing,
            vec![HousingBore]
        ),
    ];
    let both = (
        prop_oneof![
            asked(seat, "k5", ItemKind::RollingBearing, vec![Bore]),
            asked(journal, "H7/f7", ItemKind::Bushing, vec![Bore]),
        ],
        near(OUTSIDE),
        near(32_000_000),
        requirement("H6"),
        proptest::option::of(Just(nm(60_000_000))),
    )
        .prop_map(|(mut asked, bearing, bushing, requirement, outside)| {
            let is_bushing = asked.sought == ItemKind::Bushing;
            let place = Place {
                item: ItemKind::Housing,
                feature: HousingBore,
                material: Some(Material::Aluminium),
            };
            asked.question.other = Some(OtherEnd {
                place,
                size: if is_bushing { bushing } else { bearing },
                requirement,
                housing_outside: outside,
            });
            asked.other = Some(OutsideDiameter);
            asked
        });
    prop_oneof![4 => single, 1 => both]
}

pub(super) fn size_windows() -> impl Strategy<Value = Vec<SizeWindow>> {
    let window = |feature: FeatureKind, nominal: i64| {
        (-30_i64..30, 0_i64..60).prop_map(move |(from, width)| SizeWindow {
            feature,
            lower: nm(nominal + from * 1_000),
            upper: nm(nominal + (from + width) * 1_000),
        })
    };
    let width = SizeWindow { feature: FeatureKind::Width, lower: nm(1), upper: nm(20_000_000) };
    prop_oneof![
        window(FeatureKind::Bore, BORE).prop_map(|one| vec![one]),
        window(FeatureKind::RollingSeat, BORE).prop_map(|one| vec![one]),
        window(FeatureKind::Bore, BORE).prop_map(move |one| vec![one, width]),
        (window(FeatureKind::Bore, BORE), window(FeatureKind::OutsideDiameter, OUTSIDE))
            .prop_map(|(bore, outside)| vec![bore, outside]),
    ]
}
