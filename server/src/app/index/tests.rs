//! Goal: an answer by the index is the answer by brute force, in the same order, whatever was put in,
//! taken out, held and let go before. Method: random stock, crowded on a few sizes, and random
//! questions; brute force judges every row by [`matching::answer`] over a plain list.

mod brute;
mod shop;

use super::{Ask, Filter, SizeAsk, SizeWindow, StockId, StockIndex};
use brute::Plain;
use proptest::prelude::*;
use shop::{Act, act, question, size_windows};
use std::collections::HashSet;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::state::PieceCondition;
use tenths_domain::units::Length;

const NOW: i64 = 1_000;

/// Both stocks after the same acts, of which so many of the first are loaded at once as far as they
/// only put in, and nothing twice.
fn stocked(acts: &[Act], loaded: usize) -> (StockIndex, Plain) {
    let (mut index, mut plain) = (StockIndex::loading(), Plain::default());
    for item in shop::items() {
        index.put_item(item.clone());
        plain.items.insert(item.id, item);
    }
    let mut put = HashSet::new();
    let mut is_new = |act: &Act| match act {
        Act::Piece(piece) => put.insert(StockId::Piece(piece.id)),
        Act::Lot(lot) => put.insert(StockId::Lot(lot.id)),
        Act::Remove(_) => false,
    };
    let count = acts.iter().take(loaded).take_while(|act| is_new(act)).count();
    let (at_once, singly) = acts.split_at(count);
    at_once.iter().for_each(|act| do_act(&mut index, &mut plain, act));
    index.settle();
    singly.iter().for_each(|act| do_act(&mut index, &mut plain, act));
    index.expire(NOW);
    (index, plain)
}

fn do_act(index: &mut StockIndex, plain: &mut Plain, act: &Act) {
    match act {
        Act::Piece(piece) => {
            index.put_piece(piece.clone(), 0);
            plain.pieces.insert(piece.id, piece.clone());
        }
        Act::Lot(lot) => {
            index.put_lot(lot.clone(), 0);
            plain.lots.insert(lot.id, lot.clone());
        }
        Act::Remove(id) => {
            index.remove(*id);
            plain.remove(*id);
        }
    }
}

fn filter(pick: u8) -> Filter<'static> {
    match pick {
        0 => Filter { conditions: vec![PieceCondition::Used], ..Filter::default() },
        1 => Filter { free_at: Some(NOW), ..Filter::default() },
        2 => Filter { locations: vec![shop::shelf(1)], ..Filter::default() },
        _ => Filter::default(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_fit_is_found_as_by_brute_force(
        acts in prop::collection::vec(act(), 0..120),
        loaded in 0_usize..120,
        asked in question(),
        page in 1_usize..6,
        misses in 0_usize..6,
        pick in 0_u8..6,
    ) {
        let (index, plain) = stocked(&acts, loaded);
        let filter = filter(pick);
        let all = plain.answer(&asked, &filter, NOW, misses);
        let mut after = None;
        let mut seen = 0;
        loop {
            let ask = Ask {
                question: &asked.question,
                item_kind: asked.sought,
                feature_kinds: &asked.features,
                other_kind: asked.other,
                look: asked.look,
                filter: &filter,
                itself: None,
                now: NOW,
                page,
                after: after.as_ref(),
                misses,
            };
            let found = index.fits(&ask);
            for (fit, row) in &found.fits {
                let expected = &all.fits[seen];
                prop_assert_eq!(fit.key.tag, &expected.key.1);
                prop_assert_eq!(fit.key.feature, &expected.key.2);
                prop_assert_eq!(fit.fit, expected.fit);
                prop_assert_eq!(fit.window, expected.window);
                prop_assert_eq!(row.tag(), fit.key.tag);
                seen += 1;
            }
            let missed: Vec<_> = found.misses.iter().map(|(miss, _)| miss).collect();
            prop_assert_eq!(missed.len(), all.misses.len());
            for (miss, expected) in missed.iter().zip(&all.misses) {
                prop_assert_eq!((miss.key.tag, miss.by), (&*expected.key.1, expected.by));
                prop_assert_eq!((miss.act, miss.side), (expected.act, expected.side));
            }
            after = found.next;
            if after.is_none() {
                break;
            }
        }
        prop_assert_eq!(seen, all.fits.len());
    }

    #[test]
    fn windows_of_size_find_what_is_within_them(
        acts in prop::collection::vec(act(), 0..120),
        loaded in 0_usize..120,
        windows in size_windows(),
        page in 1_usize..6,
        pick in 0_u8..6,
    ) {
        let (index, plain) = stocked(&acts, loaded);
        let filter = filter(pick);
        let all = plain.within(&windows, &filter, NOW);
        let (mut after, mut seen) = (None, Vec::new());
        loop {
            let ask = SizeAsk {
                item_kinds: &[],
                windows: &windows,
                filter: &filter,
                now: NOW,
                page,
                after: after.as_ref(),
            };
            let found = index.sizes(&ask);
            let rows = found.rows.iter();
            seen.extend(rows.map(|(row, feature)| (row.tag().to_owned(), (*feature).to_owned())));
            after = found.next;
            if after.is_none() {
                break;
            }
        }
        prop_assert_eq!(seen, all);
    }
}

/// Goal: a hold that ran out is no hold, though nobody wrote it down; method: one lot, asked before
/// and after.
#[test]
fn a_hold_runs_out_by_itself() {
    let mut index = StockIndex::new();
    for item in shop::items() {
        index.put_item(item);
    }
    let lot = shop::lot(1, 0, 2, Some((2, 500)));
    index.put_lot(lot.clone(), 100);
    assert_eq!(index.next_end(), Some(500));
    let held = |index: &StockIndex, now: i64| {
        let found = index.of_item(lot.item, &Filter::default(), 5);
        (found[0].available(now), found[0].stock(now)[0].held)
    };
    assert_eq!(held(&index, 100), (0, 2));
    index.expire(500);
    assert_eq!(held(&index, 500), (2, 0));
    assert_eq!(index.next_end(), None);
}

/// Goal: what was put in is wholly gone once taken out; method: count what is left.
#[test]
fn taking_out_leaves_nothing() {
    let mut index = StockIndex::new();
    for item in shop::items() {
        index.put_item(item);
    }
    for number in 1..50 {
        index.put_lot(shop::lot(number, number as usize, 1, None), 0);
    }
    assert!(index.group_count() > 0 && index.len() == 49);
    for number in 1..50 {
        index.remove(StockId::Lot(tenths_domain::ids::LotId(number)));
    }
    assert_eq!((index.len(), index.group_count()), (0, 0));
    let windows = [SizeWindow {
        feature: FeatureKind::Bore,
        lower: Length::ZERO,
        upper: Length::from_nm(1_000_000_000),
    }];
    let ask = SizeAsk {
        item_kinds: &[ItemKind::RollingBearing],
        windows: &windows,
        filter: &Filter::default(),
        now: 0,
        page: 5,
        after: None,
    };
    assert!(index.sizes(&ask).rows.is_empty());
}
