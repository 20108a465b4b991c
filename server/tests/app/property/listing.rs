//! The whole shop as text, and row numbers taken out of texts.

use crate::shop::{Shop, length, look};
use std::collections::HashMap;
use std::fmt::Debug;
use std::time::Duration;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation};
use tenths_domain::units::{Entry, Unit};
use tenths_server::app::finding::{
    self, FindFit, FitAnswer, Freshness, MeasuredSize, StockFilter, ValueOf,
};
use tenths_server::app::fits::Doubt;
use tenths_server::app::measuring::ReadingsNamed;
use tenths_server::app::stock::PiecesFilter;
use tenths_server::app::{
    Error, catalogue, holds, judging, measuring, rebuilds, receiving, reconditioning, stock,
};
use tenths_storage::Page;

const ALL: Page = Page { after: 0, limit: 10_000 };

const MOTOR: Duty =
    Duty { rotation: RingRotation::InnerRotates, load: LoadClass::Normal, machine: Machine::Motor };

/// The answer without what differs between two databases of the same history.
fn without_freshness(answer: FitAnswer) -> FitAnswer {
    FitAnswer { freshness: Freshness { revision: 0, age: Duration::ZERO }, ..answer }
}

/// Every list, and two questions of what fits.
pub(crate) async fn listing(shop: &Shop) -> String {
    let mut text = String::new();
    let mut add = |name: &str, found: &dyn Debug| text.push_str(&format!("{name}: {found:#?}\n"));
    add("items", &look!(shop, catalogue::list_items, ALL, None));
    add("locations", &look!(shop, stock::list_locations, ALL));
    add("cores", &look!(shop, receiving::list_cores, ALL, None));
    add("pieces", &look!(shop, stock::list_pieces, ALL, PiecesFilter::default()));
    add("lots", &look!(shop, stock::list_lots, ALL, None));
    add("ledger", &look!(shop, stock::list_ledger, ALL, None, None));
    add("gauges", &look!(shop, measuring::list_gauges, ALL));
    add("readings", &look!(shop, measuring::list_readings, ALL, ReadingsNamed::default()));
    add("assessments", &look!(shop, judging::list_assessments, ALL, None, None));
    add("jobs", &look!(shop, reconditioning::list_jobs, ALL, None, None));
    add("rebuilds", &look!(shop, rebuilds::list_rebuilds, ALL, None));
    add("holds", &look!(shop, holds::list_reservations, ALL, None, None));
    for (value, kind, sought, fit) in [
        ("0.9390", FeatureKind::Bore, ItemKind::Shaft, "H7/f7"),
        ("1.1814", FeatureKind::RollingSeat, ItemKind::RollingBearing, "k5"),
    ] {
        let order = FindFit {
            measured: MeasuredSize::Value(Box::new(ValueOf {
                entry: Entry::parse(value, Unit::Inch).unwrap(),
                kind,
                item: Some(ItemKind::Bushing),
                doubt: Doubt::Uncertainty(length("0.0002", Unit::Inch)),
                material: None,
                temperature: None,
            })),
            sought,
            requirement: Some(fit.parse().unwrap()),
            duty: MOTOR,
            other: None,
            close_in: None,
            filter: StockFilter::default(),
            page: 20,
            after: None,
            misses: 20,
            min_revision: 0,
            explain: true,
        };
        shop.app.look_at_stock().await.unwrap();
        let answer = finding::find_fit(&shop.app, &order).await.map(without_freshness);
        add("what fits", &answer);
    }
    text.push_str(&shop.decisions().await.unwrap());
    text
}

impl Shop {
    /// The decisions on every piece, which no use case lists.
    pub(crate) async fn decisions(&self) -> Result<String, Error> {
        self.look(|view| {
            Box::pin(async move {
                let pieces = view.tx.pieces_page(ALL, None, None, None).await?;
                let mut text = String::new();
                for piece in pieces {
                    let made = view.tx.decisions_on(piece.id).await?;
                    text.push_str(&format!("{made:#?}\n"));
                }
                Ok(text)
            })
        })
        .await
    }
}

/// Row numbers as they were first seen.
#[derive(Debug, Default)]
pub(crate) struct Labels(HashMap<String, usize>);

impl Labels {
    /// Replaces every row number by the order in which it was first seen among those of its kind
    /// (`PieceId(17)` becomes `PieceId#3`); numbers that have no kind (`id: 17`, the list
    /// `readings: [..]`, a reading in a sentence) are left out.
    pub(crate) fn relabel(&mut self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
            let (before, after) = rest.split_at(at);
            out.push_str(before);
            let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
            let (number, after) = after.split_at(end);
            match kind_of(&out) {
                Some(Kind::Typed(kind)) => {
                    let known = self.0.len();
                    let label = self.0.entry(format!("{kind}{number}")).or_insert(known);
                    out.push_str(&format!("#{label}"));
                }
                Some(Kind::Untyped) => out.push('_'),
                None => out.push_str(number),
            }
            rest = after;
        }
        out.push_str(rest);
        out
    }
}

enum Kind {
    Typed(String),
    Untyped,
}

/// What a number that follows `before` is.
fn kind_of(before: &str) -> Option<Kind> {
    let trimmed = before.trim_end();
    if let Some(head) = trimmed.strip_suffix('(') {
        let start = head.rfind(|c: char| !c.is_ascii_alphanumeric()).map_or(0, |at| at + 1);
        let name = &head[start..];
        if name.ends_with("Id") && name.len() > 2 {
            return Some(Kind::Typed(name.to_owned()));
        }
    }
    let bare = trimmed.ends_with(" id:") || trimmed.ends_with("reading");
    // Inside `readings: [1, 2`: only digits, commas and spaces since the bracket.
    let listed = trimmed.rfind('[').is_some_and(|at| {
        trimmed[..at].ends_with("readings: ")
            && trimmed[at + 1..].chars().all(|c| "_, \n".contains(c))
    });
    // The subject of a refusal about a reading is its number.
    let subject = trimmed.ends_with("READING_VOID\", subject: \"");
    (bare || listed || subject).then_some(Kind::Untyped)
}

#[test]
fn row_numbers_are_replaced_by_the_order_of_sight() {
    let mut labels = Labels::default();
    let text = "PieceId(17) LotId(17) PieceId(4) PieceId(17), id: 9, tag: \"P-17\", qty 3";
    let expected = "PieceId(#0) LotId(#1) PieceId(#2) PieceId(#0), id: _, tag: \"P-17\", qty 3";
    assert_eq!(labels.relabel(text), expected);
    let text = "readings: [12, 13], n: [1, 2], reading 12 is void";
    assert_eq!(labels.relabel(text), "readings: [_, _], n: [1, 2], reading _ is void");
}
