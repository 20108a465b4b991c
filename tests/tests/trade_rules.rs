//! Goal: every rule of the trade holds in what is found, whichever question is asked.
//! Method: one test a rule, named after it, with the real server on both databases. The rules are
//! common practice with no published source unless said; those of fits alone are also tested in the
//! domain.

use tenths_proto::v1::find_replacement_request::Wanted;
use tenths_proto::v1::fit_candidate::Stock;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, DatabaseKind, Expected, Outcomes, Shop, bearing_item, days, done, from_now,
    hold_lot, hold_piece, mm, nm, on_both_databases,
};
use tonic::Code;

on_both_databases!(
    a_rolling_seat_is_never_ground_undersize,
    a_removed_rolling_bearing_is_never_offered,
    a_bushing_is_judged_on_the_bore_that_it_has_once_pressed,
    porous_bronze_is_never_reamed,
    what_may_not_be_substituted_is_replaced_by_the_same_alone,
    the_oldest_date_code_comes_first,
    a_bearing_older_than_the_shop_allows_is_not_offered,
    a_matched_pair_is_never_split,
    what_is_held_is_shown_with_its_holder_and_the_time,
);

fn part(kind: FeatureKind, size: &str) -> Option<MeasuredPart> {
    Some(MeasuredPart {
        size: mm(size).map(Size::Value),
        kind: kind.into(),
        expanded_uncertainty: mm("0.001"),
        ..MeasuredPart::default()
    })
}

fn bearing_for(seat: &str) -> FindFitRequest {
    FindFitRequest {
        measured: part(FeatureKind::RollingSeat, seat),
        sought: ItemKind::RollingBearing.into(),
        misses_max: 20,
        ..FindFitRequest::default()
    }
}

async fn ask(clients: &Clients, request: FindFitRequest) -> FindFitResponse {
    clients.settle().await;
    done("find_fit", clients.finding().find_fit(request).await)
}

async fn of_bore(clients: &Clients, range: [&str; 2]) -> FindBySizeResponse {
    clients.settle().await;
    let [lower, upper] = range.map(mm);
    let windows = vec![SizeWindow { kind: FeatureKind::Bore.into(), lower, upper }];
    let request = FindBySizeRequest { windows, ..FindBySizeRequest::default() };
    done("find_by_size", clients.finding().find_by_size(request).await)
}

async fn instead_of(clients: &Clients, number: &str) -> FindReplacementResponse {
    clients.settle().await;
    let wanted = Some(Wanted::Designation(number.to_owned()));
    let machine = Machine::Motor.into();
    let request = FindReplacementRequest { wanted, machine, ..Default::default() };
    done("find_replacement", clients.finding().find_replacement(request).await)
}

fn tag(candidate: Option<FitCandidate>) -> String {
    match candidate.and_then(|one| one.stock) {
        Some(Stock::PieceTag(tag) | Stock::LotTag(tag)) => tag,
        None => panic!("no tag"),
    }
}

/// What each kind of question offers, in its order.
async fn offered(clients: &Clients) -> [Vec<String>; 3] {
    let fits = ask(clients, bearing_for("25.006")).await.fits;
    let sized = of_bore(clients, ["24.98", "25.01"]).await.rows;
    let replacing = instead_of(clients, "6205").await.replacements;
    [
        fits.into_iter().map(|fit| tag(fit.candidate)).collect(),
        sized.into_iter().map(|row| tag(row.candidate)).collect(),
        replacing.into_iter().map(|row| tag(row.candidate)).collect(),
    ]
}

/// Seats from worn by a millimetre to oversize by a tenth: built up or replaced, never
/// ground to a smaller step; and the shaft is never what is ground to suit a bearing in hand.
async fn a_rolling_seat_is_never_ground_undersize(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.stocked_shaft("P-1").await;
    let mut acts = Vec::new();
    for seat in ["24.600", "24.900", "24.990", "25.001", "25.012", "25.031", "25.100"] {
        let found = ask(shop.clients(), bearing_for(seat)).await;
        assert!(found.fits.is_empty() && !found.misses.is_empty(), "{seat}: {found:?}");
        let nothing = found.nothing_fits.expect("why nothing fits");
        acts.extend(nothing.changes.into_iter().map(|change| change.text));
        acts.extend(found.misses.into_iter().map(|miss| miss.act));
    }
    let bore = MeasuredPart {
        item: ItemKind::RollingBearing.into(),
        ..part(FeatureKind::Bore, "24.980").expect("a part")
    };
    let request = FindFitRequest {
        measured: Some(bore),
        sought: ItemKind::Shaft.into(),
        ..bearing_for("25")
    };
    let tight = ask(shop.clients(), request).await;
    assert_eq!(tight.misses[0].side(), MissSide::TooTight);
    acts.extend(tight.misses.into_iter().map(|miss| miss.act));
    assert!(acts.iter().any(|act| act.starts_with("build the shaft up")), "{acts:?}");
    assert!(!acts.iter().any(|act| act.contains("off the shaft")), "{acts:?}");
}

/// It may not even come into stock, so no question finds it; US Army TM 11-6125-240-34 has the rule.
/// `brute_force.rs` puts some there past the server and finds none of them offered.
async fn a_removed_rolling_bearing_is_never_offered(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    Bench::furnished(shop.clients()).await;
    let request = CreatePieceRequest {
        request_id: tenths_tests::request_id(),
        person: "mara".to_owned(),
        item_code: "BRG-6205".to_owned(),
        condition: PieceCondition::Used.into(),
        location_code: "A-1".to_owned(),
        built_up: BuiltUp::No.into(),
        ..CreatePieceRequest::default()
    };
    let mut outcomes = Outcomes::default();
    let expected =
        Expected { code: Code::InvalidArgument, fields: &["condition"], ..Expected::default() };
    outcomes.refused("taken in", expected, shop.clients().stock().create_piece(request).await);
    outcomes.finish();
    for tags in offered(shop.clients()).await {
        assert_eq!(tags, ["L-1"]);
    }
}

fn bushing(code: &str, material: Material, bore: [&str; 2]) -> Item {
    let feature = |name: &str, kind: FeatureKind, nominal: &str, range: [&str; 2]| Feature {
        name: name.to_owned(),
        kind: kind.into(),
        nominal: mm(nominal),
        tolerance: Some(feature::Tolerance::Limits(SizeLimits {
            lower: mm(range[0]),
            upper: mm(range[1]),
        })),
        ..Feature::default()
    };
    Item {
        code: code.to_owned(),
        kind: ItemKind::Bushing.into(),
        description: "bushing".to_owned(),
        material: material.into(),
        features: vec![
            feature("bore", FeatureKind::Bore, "19", bore),
            feature("od", FeatureKind::OutsideDiameter, "22", ["22.020", "22.025"]),
        ],
        ..Item::default()
    }
}

/// A clearance of 20 to 50 um on a journal of 19.000 mm.
fn bushing_for_journal() -> FindFitRequest {
    let limits = ClearanceLimits { min: mm("0.020"), max: mm("0.050") };
    FindFitRequest {
        measured: part(FeatureKind::Journal, "19.000"),
        sought: ItemKind::Bushing.into(),
        requirement: Some(FitRequirement { kind: Some(Kind::Clearance(limits)) }),
        ..FindFitRequest::default()
    }
}

/// One bushing would fit as it lies on the shelf, one fits as pressed: by the close-in that is
/// expected, and by what a steel housing does to it.
async fn a_bushing_is_judged_on_the_bore_that_it_has_once_pressed(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.item(bushing("BU-FREE", Material::Bronze, ["19.025", "19.030"])).await;
    bench.item(bushing("BU-PRESSED", Material::Bronze, ["19.052", "19.055"])).await;
    bench.lot("L-FREE", "BU-FREE", 4).await;
    bench.lot("L-PRESSED", "BU-PRESSED", 4).await;
    let tags = |found: &FindFitResponse| -> Vec<String> {
        found.fits.iter().map(|fit| tag(fit.candidate.clone())).collect()
    };
    let free = ask(shop.clients(), bushing_for_journal()).await;
    assert_eq!(tags(&free), ["L-FREE"]);
    assert!(free.notes.iter().any(|note| note.contains("free bore")), "{:?}", free.notes);

    let close_in = Some(CloseIn { min: mm("0.010"), max: mm("0.015") });
    let expected = ask(shop.clients(), FindFitRequest { close_in, ..bushing_for_journal() }).await;
    assert_eq!(tags(&expected), ["L-PRESSED"]);
    let (min, max) = (&expected.fits[0].installed_min, &expected.fits[0].installed_max);
    assert_eq!((nm(min), nm(max)), (19_037_000, 19_045_000));

    let housing = MeasuredPart {
        material: Material::Steel.into(),
        ..part(FeatureKind::HousingBore, "22.000").expect("a part")
    };
    let press = ClearanceLimits { min: mm("-0.030"), max: mm("-0.010") };
    let other = OtherEnd {
        measured: Some(housing),
        requirement: Some(FitRequirement { kind: Some(Kind::Clearance(press)) }),
        outside_diameter: mm("60"),
    };
    let request = FindFitRequest { other: Some(other), ..bushing_for_journal() };
    let pressed = ask(shop.clients(), request).await;
    assert_eq!(tags(&pressed), ["L-PRESSED"]);
    let smallest = nm(&pressed.fits[0].installed_min);
    assert!(smallest < 19_052_000 && smallest > 19_052_000 - 25_000, "{smallest}");
}

/// The same bore, 10 um too tight, in three materials.
async fn porous_bronze_is_never_reamed(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    for (code, material) in [
        ("BU-BRONZE", Material::Bronze),
        ("BU-POROUS", Material::PorousBronze),
        ("BU-UNKNOWN", Material::Unspecified),
    ] {
        bench.item(bushing(code, material, ["19.010", "19.011"])).await;
        bench.lot(&format!("L-{code}"), code, 1).await;
    }
    let found = ask(shop.clients(), bushing_for_journal()).await;
    assert_eq!(found.misses.len(), 3, "{found:?}");
    for miss in found.misses {
        let tag = tag(miss.fit.and_then(|fit| fit.candidate));
        let is_cut = miss.act.contains("out of the bore");
        assert_eq!(is_cut, tag == "L-BU-BRONZE", "{tag}: {}", miss.act);
    }
}

/// The other half of the rule, which way a clearance group may be substituted, is in `finding.rs`.
async fn what_may_not_be_substituted_is_replaced_by_the_same_alone(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let fixed = Item { no_substitute: true, ..bearing_item("BRG-FIXED", "6205") };
    bench.item(fixed).await;
    bench.item(bearing_item("BRG-6205-C3", "6205-C3")).await;
    bench.lot("L-2", "BRG-6205-C3", 1).await;
    shop.clients().settle().await;
    let usual = instead_of(shop.clients(), "6205").await.replacements;
    assert_eq!(usual.len(), 2);
    let request = FindReplacementRequest {
        wanted: Some(Wanted::ItemCode("BRG-FIXED".to_owned())),
        machine: Machine::Motor.into(),
        ..FindReplacementRequest::default()
    };
    let answer = shop.clients().finding().find_replacement(request).await;
    let found = done("find_replacement", answer);
    let tags: Vec<String> = found.replacements.into_iter().map(|row| tag(row.candidate)).collect();
    assert_eq!(tags, ["L-1"], "{:?}", found.notes);
}

async fn dated_lot(bench: &Bench, tag: &str, date_code: &str) {
    let request = ReceiveLotRequest {
        tag: tag.to_owned(),
        date_code: date_code.to_owned(),
        ..bench.receipt(1)
    };
    done("receive_lot", bench.clients().stock().receive_lot(request).await);
}

/// Undated stock comes after dated stock.
async fn the_oldest_date_code_comes_first(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    // Lot L-1 of it is dated 2025-03.
    let bench = Bench::furnished(shop.clients()).await;
    for (tag, date_code) in
        [("L-2", "2025-11"), ("L-3", ""), ("L-4", "2023-01"), ("L-5", "2025-02")]
    {
        dated_lot(&bench, tag, date_code).await;
    }
    for tags in offered(shop.clients()).await {
        assert_eq!(tags, ["L-4", "L-5", "L-1", "L-2", "L-3"]);
    }
}

/// The policy is a setting of the server; what has no date cannot be told to be too old.
async fn a_bearing_older_than_the_shop_allows_is_not_offered(kind: DatabaseKind) {
    let shop = Shop::start_with(kind, &["--bearing-age-months-max", "36"]).await;
    let bench = Bench::furnished(shop.clients()).await;
    let seconds = from_now(days(0)).expect("a time").seconds;
    // Of January of this year, near enough.
    let year = 1970 + seconds / 31_556_952;
    dated_lot(&bench, "L-NEW", &format!("{year}-01")).await;
    dated_lot(&bench, "L-OLD", &format!("{}-01", year - 5)).await;
    dated_lot(&bench, "L-UNDATED", "").await;
    let at_once = offered(shop.clients()).await;
    for tags in &at_once {
        assert!(!tags.contains(&"L-OLD".to_owned()), "{at_once:?}");
        for tag in ["L-NEW", "L-UNDATED"] {
            assert!(tags.contains(&tag.to_owned()), "{at_once:?}");
        }
    }
    let notes = [
        ask(shop.clients(), bearing_for("25.006")).await.notes,
        of_bore(shop.clients(), ["24.98", "25.01"]).await.notes,
        instead_of(shop.clients(), "6205").await.notes,
    ];
    for notes in notes {
        assert!(notes.iter().any(|note| note.contains("older than the shop allows")), "{notes:?}");
    }
}

/// Five of a set of two: two sets are there to be had, and half of one cannot be held.
async fn a_matched_pair_is_never_split(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.rebuild("R-1").await;
    bench.item(Item { set_of: 2, ..bearing_item("BRG-PAIR", "6205") }).await;
    bench.lot("L-PAIR", "BRG-PAIR", 5).await;
    let found = ask(shop.clients(), bearing_for("25.006")).await;
    let pair = |found: FindFitResponse| {
        let mut candidates = found.fits.into_iter().filter_map(|fit| fit.candidate);
        let found = candidates.find(|one| one.item_code == "BRG-PAIR").expect("the pair");
        (found.available, found.set_of)
    };
    assert_eq!(pair(found), (4, 2));
    let mut outcomes = Outcomes::default();
    for quantity in [1, 3] {
        let request = bench.reserve_request("R-1", vec![hold_lot("L-PAIR", quantity)]);
        let answer = shop.clients().rebuilds().reserve(request).await;
        let expected = Expected {
            code: Code::FailedPrecondition,
            precondition: &["L-PAIR"],
            ..Expected::default()
        };
        outcomes.refused("half a pair", expected, answer);
    }
    outcomes.finish();
    bench.reserve("R-1", vec![hold_lot("L-PAIR", 2)]).await;
    assert_eq!(pair(ask(shop.clients(), bearing_for("25.006")).await), (2, 2));
    // For a single bearing a pair is a question, since it stays together; for a pair nothing else.
    let rows = instead_of(shop.clients(), "6205").await.replacements;
    let row = rows.into_iter().find(|row| tag(row.candidate.clone()) == "L-PAIR");
    assert_eq!(row.expect("the pair").acceptance(), Acceptance::Ask);
    let request = FindReplacementRequest {
        wanted: Some(Wanted::ItemCode("BRG-PAIR".to_owned())),
        ..FindReplacementRequest::default()
    };
    let found = shop.clients().finding().find_replacement(request).await;
    let rows = done("find_replacement", found).replacements;
    let tags: Vec<String> = rows.into_iter().map(|row| tag(row.candidate)).collect();
    assert_eq!(tags, ["L-PAIR"]);
}

/// Held stock comes after what is free, with who holds it until when; only who asks for what is free
/// does not see it.
async fn what_is_held_is_shown_with_its_holder_and_the_time(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.rebuild("R-1").await;
    for tag in ["P-1", "P-2"] {
        bench.stocked_shaft(tag).await;
    }
    let until_time = from_now(days(2));
    let lines = vec![hold_piece("P-1"), hold_lot("L-1", 20)];
    let request = ReserveRequest { until_time, ..bench.reserve_request("R-1", lines) };
    done("reserve", shop.clients().rebuilds().reserve(request).await);

    let bore = MeasuredPart {
        item: ItemKind::RollingBearing.into(),
        ..part(FeatureKind::Bore, "24.997").expect("a part")
    };
    let shafts = FindFitRequest {
        measured: Some(bore),
        sought: ItemKind::Shaft.into(),
        ..FindFitRequest::default()
    };
    let found = ask(shop.clients(), shafts.clone()).await;
    let all = found.fits.into_iter().chain(found.misses.into_iter().filter_map(|m| m.fit));
    let rows: Vec<FitCandidate> = all.filter_map(|fit| fit.candidate).collect();
    let holds: Vec<_> =
        rows.iter().map(|row| (tag(Some(row.clone())), row.available, row.hold.clone())).collect();
    assert_eq!((holds[0].0.as_str(), holds[0].1, &holds[0].2), ("P-2", 1, &None));
    assert_eq!((holds[1].0.as_str(), holds[1].1), ("P-1", 0));
    let hold = holds[1].2.clone().expect("the hold");
    assert_eq!((hold.person.as_str(), hold.rebuild_tag.as_str()), ("mara", "R-1"));
    let seconds = |time: &Option<prost_types::Timestamp>| time.as_ref().map(|time| time.seconds);
    assert_eq!(seconds(&hold.until_time), seconds(&until_time));

    let lots = ask(shop.clients(), bearing_for("25.006")).await;
    let lot = lots.fits[0].candidate.clone().expect("the lot");
    assert_eq!((lot.available, lot.lot_holds.len()), (0, 1));
    assert_eq!(lot.lot_holds[0].quantity, 20);
    assert_eq!(seconds(&lot.lot_holds[0].until_time), seconds(&until_time));

    let free = StockFilter { free_only: true, ..StockFilter::default() };
    for request in [shafts, bearing_for("25.006")] {
        let request = FindFitRequest { filter: Some(free.clone()), ..request };
        let found = ask(shop.clients(), request).await;
        let all = found.fits.into_iter().chain(found.misses.into_iter().filter_map(|m| m.fit));
        let tags: Vec<String> = all.map(|fit| tag(fit.candidate)).collect();
        assert!(!tags.contains(&"P-1".to_owned()) && !tags.contains(&"L-1".to_owned()), "{tags:?}");
    }
}
