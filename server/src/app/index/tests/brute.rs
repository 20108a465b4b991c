//! The same stock as plain lists, and every row judged.

use super::shop::Asked;
use crate::app::index::{Filter, SizeWindow, StockId};
use std::collections::BTreeMap;
use std::sync::Arc;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::fit::SizeBelief;
use tenths_domain::ids::{ItemId, LocationId, LotId, PieceId};
use tenths_domain::item::{FeatureKind, Limits, Side, Tolerance};
use tenths_domain::matching::{Answer, Candidate, Caps, Condition, OtherFeature, Place, answer};
use tenths_domain::state::PieceCondition;
use tenths_domain::units::Length;
use tenths_storage::{Item, StockedLot, StockedPiece, StockedSize};

/// Whether a lot, the tag, the feature.
pub(super) type Name = (bool, String, String);

#[derive(Default)]
pub(super) struct Plain {
    pub(super) items: BTreeMap<ItemId, Arc<Item>>,
    pub(super) pieces: BTreeMap<PieceId, StockedPiece>,
    pub(super) lots: BTreeMap<LotId, StockedLot>,
}

/// A place of a row, worked out anew.
#[derive(Clone)]
struct Spot {
    name: Name,
    item: Arc<Item>,
    kind: FeatureKind,
    nominal: Length,
    belief: Option<SizeBelief>,
    range: (Length, Length),
    ring: Option<ToleranceClass>,
    condition: PieceCondition,
    available: i64,
    date_code: String,
    locations: Vec<LocationId>,
}

impl Plain {
    pub(super) fn remove(&mut self, id: StockId) {
        match id {
            StockId::Piece(id) => drop(self.pieces.remove(&id)),
            StockId::Lot(id) => drop(self.lots.remove(&id)),
        }
    }

    fn spots(&self, now: i64) -> Vec<Spot> {
        let mut spots = Vec::new();
        for piece in self.pieces.values() {
            let item = &self.items[&piece.item];
            let available = i64::from(piece.hold.as_ref().is_none_or(|hold| hold.until_at <= now));
            for feature in &item.features {
                let size = piece.sizes.iter().find(|size| size.feature == feature.id);
                if size.is_some_and(|size| size.is_doubted) {
                    continue;
                }
                let name = (false, piece.tag.clone(), feature.feature.name.clone());
                spots.push(Spot {
                    condition: piece.condition,
                    available,
                    locations: vec![piece.location],
                    ..spot(name, item, feature, size)
                });
            }
        }
        for lot in self.lots.values() {
            let item = &self.items[&lot.item];
            let on_hand: i64 = lot.stock.iter().map(|here| here.on_hand).sum();
            let live = lot.holds.iter().filter(|hold| hold.until_at > now);
            let held: i64 = live.map(|hold| hold.quantity).sum();
            for feature in &item.features {
                let name = (true, lot.tag.clone(), feature.feature.name.clone());
                spots.push(Spot {
                    available: on_hand - held,
                    date_code: lot.date_code.clone(),
                    locations: lot.stock.iter().map(|here| here.location).collect(),
                    ..spot(name, item, feature, None)
                });
            }
        }
        spots
    }

    pub(super) fn answer(
        &self,
        asked: &Asked,
        filter: &Filter<'_>,
        now: i64,
        misses: usize,
    ) -> Answer<Name> {
        let spots = self.spots(now);
        let near =
            |spot: &&Spot| spot.range.0 <= asked.look.upper && spot.range.1 >= asked.look.lower;
        let candidates = spots
            .iter()
            .filter(|spot| spot.item.kind == asked.sought && asked.features.contains(&spot.kind))
            .filter(near)
            .filter(|spot| passes(spot, filter))
            .filter_map(|spot| {
                let other = asked.other.and_then(|kind| {
                    let same = |one: &&Spot| {
                        one.name.0 == spot.name.0 && one.name.1 == spot.name.1 && one.kind == kind
                    };
                    spots.iter().find(same)
                });
                if asked.other.is_some() && other.is_none() {
                    return None;
                }
                candidate(spot, other)
            });
        answer(&asked.question, candidates, Caps { fits: usize::MAX, misses })
    }

    pub(super) fn within(
        &self,
        windows: &[SizeWindow],
        filter: &Filter<'_>,
        now: i64,
    ) -> Vec<(String, String)> {
        let spots = self.spots(now);
        let is_in = |spot: &Spot, window: &SizeWindow| {
            spot.kind == window.feature
                && spot.range.0 >= window.lower
                && spot.range.1 <= window.upper
        };
        let mut found: Vec<&Spot> = spots
            .iter()
            .filter(|spot| is_in(spot, &windows[0]) && passes(spot, filter))
            .filter(|spot| {
                windows[1..].iter().all(|window| {
                    let mut own = spots
                        .iter()
                        .filter(|one| one.name.0 == spot.name.0 && one.name.1 == spot.name.1);
                    own.any(|one| is_in(one, window))
                })
            })
            .collect();
        found.sort_by_key(|spot| {
            let undated = spot.date_code.is_empty();
            (spot.range.0, spot.available <= 0, undated, spot.date_code.clone(), spot.name.clone())
        });
        found.into_iter().map(|spot| (spot.name.1.clone(), spot.name.2.clone())).collect()
    }
}

fn passes(spot: &Spot, filter: &Filter<'_>) -> bool {
    (filter.conditions.is_empty() || filter.conditions.contains(&spot.condition))
        && (filter.locations.is_empty()
            || filter.locations.iter().any(|one| spot.locations.contains(one)))
        && filter.free_at.is_none_or(|_| spot.available > 0)
}

fn spot(
    name: Name,
    item: &Arc<Item>,
    feature: &tenths_storage::ItemFeature,
    size: Option<&StockedSize>,
) -> Spot {
    let own = &feature.feature;
    let target = size.and_then(|size| size.target);
    let nominal = match target {
        None => own.nominal,
        Some(Limits { lower, upper }) => match own.kind.side() {
            Side::External => upper,
            Side::Internal => lower,
        },
    };
    let limits = target.or_else(|| own.limits().unwrap().map(|(limits, _)| limits));
    let measured =
        size.and_then(|one| SizeBelief::measured(one.min?, one.max?, one.uncertainty?).ok());
    let belief = measured.or_else(|| SizeBelief::toleranced(limits?).ok());
    let ring = match own.tolerance {
        Tolerance::Iso492(class) => Some(class),
        _ => None,
    };
    Spot {
        name,
        item: item.clone(),
        kind: own.kind,
        nominal,
        belief,
        range: belief.map_or((nominal, nominal), |one| (one.smallest(), one.largest())),
        ring,
        condition: PieceCondition::New,
        available: 0,
        date_code: String::new(),
        locations: Vec::new(),
    }
}

fn candidate<'a>(spot: &'a Spot, other: Option<&Spot>) -> Option<Candidate<'a, Name>> {
    let other = match other {
        None => None,
        Some(spot) => Some(OtherFeature {
            feature: spot.kind,
            nominal: spot.nominal,
            size: spot.belief?,
            ring: spot.ring,
        }),
    };
    Some(Candidate {
        key: spot.name.clone(),
        place: Place { item: spot.item.kind, feature: spot.kind, material: spot.item.material },
        nominal: spot.nominal,
        size: spot.belief?,
        ring: spot.ring,
        condition: match spot.condition {
            PieceCondition::New => Condition::New,
            _ => Condition::Used,
        },
        available: spot.available,
        date_code: Some(&*spot.date_code).filter(|code| !code.is_empty()),
        other,
    })
}
