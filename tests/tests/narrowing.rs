//! Goal: every word that narrows a question leaves in what it names and leaves out the rest, on the
//! wire and on the command line alike.
//! Method: lots and pieces that differ in one thing each; every word alone, on every kind of question.

use tenths_proto::v1::find_replacement_request::Wanted;
use tenths_proto::v1::fit_candidate::Stock;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, DatabaseKind, Expected, Outcomes, Shop, bearing_item, days, done, from_now,
    hold_lot, mm, on_both_databases,
};
use tonic::Code;

on_both_databases!(
    each_word_narrows_every_question,
    what_narrowing_leaves_out_is_not_called_absent,
    each_word_of_the_command_line_narrows,
    words_that_mean_nothing_are_refused,
);

/// L-1 (dated, 4.75 USD, A-1), L-2 of group C3, L-3 sealed, L-4 on another shelf, L-5 dear, L-6 held for
/// two days.
async fn furnish(shop: &Shop) {
    let bench = Bench::furnished(shop.clients()).await;
    bench.location("B-9", LocationKind::Shelf).await;
    bench.rebuild("R-1").await;
    for (tag, number) in [("L-2", "6205-C3"), ("L-3", "6205-2RS")] {
        bench.item(bearing_item(&format!("BRG-{number}"), number)).await;
        bench.lot(tag, &format!("BRG-{number}"), 1).await;
    }
    let dear = Some(Money { amount: "19.00".to_owned(), currency: "USD".to_owned() });
    let unusual = [
        ReceiveLotRequest {
            location_code: "B-9".to_owned(),
            tag: "L-4".to_owned(),
            ..bench.receipt(1)
        },
        ReceiveLotRequest { unit_cost: dear, tag: "L-5".to_owned(), ..bench.receipt(1) },
        ReceiveLotRequest { tag: "L-6".to_owned(), ..bench.receipt(1) },
    ];
    for request in unusual {
        done("receive_lot", shop.clients().stock().receive_lot(request).await);
    }
    let lines = vec![hold_lot("L-6", 1)];
    let request =
        ReserveRequest { until_time: from_now(days(2)), ..bench.reserve_request("R-1", lines) };
    done("reserve", shop.clients().rebuilds().reserve(request).await);
    shop.clients().settle().await;
}

const ALL: [&str; 6] = ["L-1", "L-2", "L-3", "L-4", "L-5", "L-6"];

fn without(left_out: &[&str]) -> Vec<&'static str> {
    ALL.into_iter().filter(|tag| !left_out.contains(tag)).collect()
}

/// Each word, with what it must leave in.
fn words() -> Vec<(&'static str, StockFilter, Vec<&'static str>)> {
    let only = StockFilter::default;
    let most = Some(Money { amount: "5.00".to_owned(), currency: "USD".to_owned() });
    vec![
        ("nothing", only(), ALL.to_vec()),
        (
            "new",
            StockFilter { conditions: vec![PieceCondition::New.into()], ..only() },
            ALL.to_vec(),
        ),
        ("used", StockFilter { conditions: vec![PieceCondition::Used.into()], ..only() }, vec![]),
        ("location", StockFilter { location_codes: vec!["B-9".into()], ..only() }, vec!["L-4"]),
        ("material", StockFilter { materials: vec![Material::Bronze.into()], ..only() }, vec![]),
        ("steel", StockFilter { materials: vec![Material::Steel.into()], ..only() }, ALL.to_vec()),
        ("group", StockFilter { clearance_groups: vec!["C3".into()], ..only() }, vec!["L-2"]),
        ("CN", StockFilter { clearance_groups: vec!["CN".into()], ..only() }, without(&["L-2"])),
        ("seals", StockFilter { closures: vec!["seal_both_sides".into()], ..only() }, vec!["L-3"]),
        ("price", StockFilter { price_max: most, ..only() }, without(&["L-5"])),
        ("free", StockFilter { free_only: true, ..only() }, without(&["L-6"])),
        (
            "free in five days",
            StockFilter { free_only: true, available_at: from_now(days(5)), ..only() },
            ALL.to_vec(),
        ),
        (
            "free tomorrow",
            StockFilter { free_only: true, available_at: from_now(days(1)), ..only() },
            without(&["L-6"]),
        ),
    ]
}

fn tags<'a>(candidates: impl Iterator<Item = &'a Option<FitCandidate>>) -> Vec<String> {
    let mut tags: Vec<String> = candidates
        .map(|one| match one.as_ref().and_then(|one| one.stock.as_ref()) {
            Some(Stock::LotTag(tag) | Stock::PieceTag(tag)) => tag.clone(),
            None => panic!("no tag"),
        })
        .collect();
    tags.sort();
    tags
}

fn seat() -> FindFitRequest {
    FindFitRequest {
        measured: Some(MeasuredPart {
            size: mm("25.006").map(Size::Value),
            kind: FeatureKind::RollingSeat.into(),
            expanded_uncertainty: mm("0.001"),
            ..MeasuredPart::default()
        }),
        sought: ItemKind::RollingBearing.into(),
        ..FindFitRequest::default()
    }
}

async fn asked(clients: &Clients, filter: StockFilter) -> [Vec<String>; 3] {
    let mut finding = clients.finding();
    let filter = Some(filter);
    let request = FindFitRequest { filter: filter.clone(), ..seat() };
    let fits = done("find_fit", finding.find_fit(request).await);
    let bore = FeatureKind::Bore.into();
    let request = FindBySizeRequest {
        item: ItemKind::RollingBearing.into(),
        windows: vec![SizeWindow { kind: bore, lower: mm("24.9"), upper: mm("25.1") }],
        filter: filter.clone(),
        ..FindBySizeRequest::default()
    };
    let sized = done("find_by_size", finding.find_by_size(request).await);
    let request = FindReplacementRequest {
        wanted: Some(Wanted::Designation("6205".to_owned())),
        machine: Machine::Motor.into(),
        filter,
        ..FindReplacementRequest::default()
    };
    let replacing = done("find_replacement", finding.find_replacement(request).await);
    [
        tags(fits.fits.iter().map(|fit| &fit.candidate)),
        tags(sized.rows.iter().map(|row| &row.candidate)),
        tags(replacing.replacements.iter().map(|row| &row.candidate)),
    ]
}

async fn each_word_narrows_every_question(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    furnish(&shop).await;
    for (word, filter, expected) in words() {
        for (question, found) in
            ["fits", "sizes", "replacements"].iter().zip(asked(shop.clients(), filter).await)
        {
            assert_eq!(found, expected, "{word}, {question}");
        }
    }
    // Kind: a shaft of that size is no bearing.
    let request = FindFitRequest { sought: ItemKind::Bushing.into(), ..seat() };
    let mut finding = shop.clients().finding();
    finding.find_fit(request).await.expect_err("a rolling seat takes no bushing");
    let request = FindBySizeRequest {
        item: ItemKind::Bushing.into(),
        windows: vec![SizeWindow {
            kind: FeatureKind::Bore.into(),
            lower: mm("24.9"),
            upper: mm("25.1"),
        }],
        ..FindBySizeRequest::default()
    };
    assert!(done("find_by_size", finding.find_by_size(request).await).rows.is_empty());
}

async fn what_narrowing_leaves_out_is_not_called_absent(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    furnish(&shop).await;
    let used = StockFilter { conditions: vec![PieceCondition::Used.into()], ..<_>::default() };
    let request = FindFitRequest { filter: Some(used), ..seat() };
    let answer = done("find_fit", shop.clients().finding().find_fit(request).await);
    let why = answer.nothing_fits.clone().map(|nothing| nothing.why).unwrap_or_default();
    assert!(why.contains("L-1 fits") && why.contains("ask without it"), "{why}");
    assert!(answer.notes.iter().all(|note| !note.contains("that kind is in stock")), "{answer:?}");
}

async fn each_word_of_the_command_line_narrows(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    furnish(&shop).await;
    let much_later = "2099-01-01";
    let cases: [(&[&str], Vec<&str>); 10] = [
        (&[], ALL.to_vec()),
        (&["--condition", "new"], ALL.to_vec()),
        (&["--condition", "used,reconditioned"], vec![]),
        (&["--at", "B-9"], vec!["L-4"]),
        (&["--material", "bronze"], vec![]),
        (&["--group", "c3"], vec!["L-2"]),
        (&["--closure", "seal_both_sides"], vec!["L-3"]),
        (&["--price-max", "5.00 USD"], without(&["L-5"])),
        (&["--free"], without(&["L-6"])),
        (&["--free", "--available-at", much_later], ALL.to_vec()),
    ];
    for question in [
        &["find", "bearing", "--seat", "25.006mm", "--uncertainty", "0.001mm"][..],
        &["find", "size", "--bore", "24.9..25.1mm"],
        &["find", "replacement", "6205", "--machine", "motor"],
    ] {
        for (words, expected) in &cases {
            let line = [&["--output", "json"], question, words].concat();
            let finished = shop.tenths(&line).succeeded("a question");
            let found: Vec<&str> = ALL
                .into_iter()
                .filter(|tag| finished.stdout.contains(&format!("{tag:?}")))
                .collect();
            assert_eq!(found, *expected, "{line:?}: {}", finished.stdout);
        }
    }
}

async fn words_that_mean_nothing_are_refused(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    furnish(&shop).await;
    let only = StockFilter::default;
    let no_money = Some(Money { amount: "much".to_owned(), currency: "USD".to_owned() });
    let mut outcomes = Outcomes::default();
    for (name, filter, field) in [
        ("condition", StockFilter { conditions: vec![77], ..only() }, "filter.conditions[0]"),
        (
            "location",
            StockFilter { location_codes: vec!["X".into()], ..only() },
            "filter.location_codes[0]",
        ),
        ("material", StockFilter { materials: vec![77], ..only() }, "filter.materials[0]"),
        (
            "group",
            StockFilter { clearance_groups: vec!["C9".into()], ..only() },
            "filter.clearance_groups[0]",
        ),
        ("closure", StockFilter { closures: vec!["half".into()], ..only() }, "filter.closures[0]"),
        ("price", StockFilter { price_max: no_money, ..only() }, "filter.price_max"),
    ] {
        let request = FindFitRequest { filter: Some(filter), ..seat() };
        let fields = [field];
        let expected =
            Expected { code: Code::InvalidArgument, fields: &fields, ..Expected::default() };
        outcomes.refused(name, expected, shop.clients().finding().find_fit(request).await);
    }
    outcomes.finish();
}
