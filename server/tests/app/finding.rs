//! Goal: who answers from memory knows how far behind it is, says so or refuses, and finds back however
//! far that is.

use crate::shop::{Shop, act, length, lot, piece};
use crate::support::{TestDb, on_both};
use std::time::Duration;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::seats::{Duty, LoadClass, Machine, RingRotation};
use tenths_domain::units::{Entry, Unit};
use tenths_server::app::finding::{
    FindFit, FitAnswer, MeasuredSize, OnStale, Policy, StockFilter, ValueOf, find_fit,
};
use tenths_server::app::fits::Doubt;
use tenths_server::app::index::Filter;
use tenths_server::app::stock::{self, MovePiece};
use tenths_server::app::{App, Error};

on_both!(
    a_replica_that_fell_behind_the_trimming_loads_anew,
    a_late_writer_is_not_lost_by_trimming,
    an_index_older_than_allowed_says_so_or_refuses,
    an_index_that_is_not_loaded_yet_answers_nothing,
    a_revision_that_nobody_wrote_is_not_waited_for_without_end,
);

/// Which shafts have a seat for a bearing of 30 mm.
fn question() -> FindFit {
    FindFit {
        measured: MeasuredSize::Value(Box::new(ValueOf {
            entry: Entry::parse("29.998", Unit::Millimetre).unwrap(),
            kind: FeatureKind::Bore,
            item: None,
            doubt: Doubt::Uncertainty(length("0.001", Unit::Millimetre)),
            material: None,
            temperature: None,
        })),
        sought: ItemKind::Shaft,
        requirement: Some("k5".parse().unwrap()),
        duty: Duty {
            rotation: RingRotation::InnerRotates,
            load: LoadClass::Normal,
            machine: Machine::Motor,
        },
        other: None,
        close_in: None,
        filter: StockFilter::default(),
        page: 20,
        after: None,
        misses: 5,
        min_revision: 0,
        explain: false,
    }
}

/// Tags of what fits, each with the rebuild that holds it.
fn fits(answer: FitAnswer) -> Vec<(String, Option<String>)> {
    let held = |row: tenths_server::app::finding::FitRow| {
        (row.shown.tag, row.shown.hold.map(|hold| hold.rebuild_tag))
    };
    answer.fits.into_iter().map(held).collect()
}

async fn ask(app: &App) -> Result<FitAnswer, Error> {
    find_fit(app, &question()).await
}

/// Removes all rows of the feed that may go. Other databases of the same PostgreSQL server can hold
/// that up for a moment.
async fn trim(app: &App) {
    for _ in 0..600 {
        if app.trim_changes(0).await.unwrap() > 0 {
            return;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("nothing was ever removed");
}

/// Looks until everything that was written so far is seen for good.
async fn catch_up(app: &App) {
    for _ in 0..600 {
        app.look_at_stock().await.unwrap();
        let stand = app.feed().stand();
        if stand.revision == stand.newest {
            return;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("a transaction stays open");
}

/// Method: two servers over one database look; then shafts are held, one of the servers follows and
/// removes the feed behind it, the other follows only then. It must load everything anew, once, and
/// answer like the first; the first, which had seen what it removed, must not load anew.
async fn a_replica_that_fell_behind_the_trimming_loads_anew(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let late = shop.replica();
    for app in [&shop.app, &late] {
        catch_up(app).await;
    }
    let before = fits(ask(&late).await.unwrap());
    assert_eq!(before.len(), 3, "{before:?}");
    shop.hold("R-1", vec![piece("P-2")]).await;
    shop.hold("R-2", vec![piece("P-1")]).await;
    catch_up(&shop.app).await;
    // The rows of the newest write stay, so there must be one more for those of the holds to go.
    shop.hold("R-1", vec![piece("P-3")]).await;
    catch_up(&shop.app).await;
    trim(&shop.app).await;

    late.look_at_stock().await.unwrap();
    shop.app.look_at_stock().await.unwrap();
    assert_eq!((late.feed().stand().reloads, shop.app.feed().stand().reloads), (1, 0));
    let [followed, reloaded] =
        [fits(ask(&shop.app).await.unwrap()), fits(ask(&late).await.unwrap())];
    assert_eq!(followed, reloaded);
    let held = [("P-1", "R-2"), ("P-2", "R-1"), ("P-3", "R-1")];
    let held = held.map(|(tag, by)| (tag.to_owned(), Some(by.to_owned())));
    assert_eq!(reloaded, held);
    // From there on it follows as before.
    late.look_at_stock().await.unwrap();
    assert_eq!(late.feed().stand().reloads, 1);
    shop.close().await;
}

/// Method: four people hold, move and move back at once, while one server follows and another removes
/// the feed as fast as it can. Afterwards the follower must know what one knows that loads it all.
async fn a_late_writer_is_not_lost_by_trimming(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let follower = shop.replica();
    follower.look_at_stock().await.unwrap();
    let people = [("Ada", "P-1"), ("Oto", "P-2"), ("Mara", "P-3"), ("Ivo", "P-1")];
    let writers: Vec<_> = people
        .map(|(person, tag)| tokio::spawn(move_about(shop.as_person(person), tag)))
        .into_iter()
        .collect();
    while writers.iter().any(|writer| !writer.is_finished()) {
        shop.app.trim_changes(0).await.unwrap();
        follower.look_at_stock().await.unwrap();
    }
    for writer in writers {
        writer.await.unwrap();
    }
    catch_up(&follower).await;
    let fresh = shop.replica();
    catch_up(&fresh).await;
    let (followed, loaded) = (in_memory(&follower), in_memory(&fresh));
    assert_eq!(followed, loaded);
    assert!(loaded.contains(&"L-1 2 A-01".to_owned()), "eight of ten are held: {loaded:?}");
    shop.close().await;
}

async fn move_about(shop: Shop, tag: &'static str) {
    for turn in 0..20 {
        if turn % 10 == 0 {
            shop.hold("R-1", vec![lot("L-1", 1)]).await;
        }
        let location_code = ["B-01", "A-01"][turn % 2].to_owned();
        let order = MovePiece { tag: tag.to_owned(), etag: None, location_code };
        // Who finds it moved there already by somebody else is told so.
        let _ = act!(shop, stock::move_piece, order);
    }
}

/// Everything in stock as a server has it in memory: tag, how many are free, where.
fn in_memory(app: &App) -> Vec<String> {
    let index = app.feed().index(app.now());
    let mut found = Vec::new();
    for item in index.items() {
        for row in index.of_item(item.id, &Filter::default(), 100) {
            let places: Vec<_> = row.stock(app.now()).iter().map(|here| here.code).collect();
            found.push(format!("{} {} {}", row.tag(), row.available(app.now()), places.join(",")));
        }
    }
    found.sort();
    found
}

/// Method: a policy that allows no age at all, so that every index is too old, with either way to go
/// on; and one that allows an hour.
async fn an_index_older_than_allowed_says_so_or_refuses(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.app.look_at_stock().await.unwrap();
    let under = |age, on_stale| {
        let policy = Policy { index_age_max: age, on_stale, ..Policy::default() };
        shop.app.clone().with_policy(policy)
    };
    let hour = Duration::from_secs(3_600);
    for on_stale in [OnStale::Say, OnStale::Refuse] {
        let answer = ask(&under(hour, on_stale)).await.unwrap();
        assert!(!answer.notes.iter().any(|note| note.contains("compared")), "{:?}", answer.notes);
    }
    let answer = ask(&under(Duration::ZERO, OnStale::Say)).await.unwrap();
    assert_eq!(answer.fits.len(), 3);
    assert!(answer.freshness.age > Duration::ZERO);
    let said = "what was taken or came since is not in this answer";
    assert!(answer.notes.iter().any(|note| note.contains(said)), "{:?}", answer.notes);
    match ask(&under(Duration::ZERO, OnStale::Refuse)).await {
        Err(Error::Unavailable { reason, description }) => {
            assert_eq!(reason, "INDEX_STALE");
            assert!(description.contains("more than the 0 s allowed"), "{description}");
        }
        other => panic!("it is not refused: {other:?}"),
    }
    shop.close().await;
}

/// Method: ask a server that has not looked at its books yet.
async fn an_index_that_is_not_loaded_yet_answers_nothing(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    match ask(&shop.replica()).await {
        Err(Error::Unavailable { reason, .. }) => assert_eq!(reason, "INDEX_LOADING"),
        other => panic!("it is not refused: {other:?}"),
    }
    shop.close().await;
}

/// Method: name a revision far ahead; the answer must be a refusal that says where the index stands.
async fn a_revision_that_nobody_wrote_is_not_waited_for_without_end(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.app.look_at_stock().await.unwrap();
    let order = FindFit { min_revision: i64::MAX / 2, ..question() };
    match find_fit(&shop.app, &order).await {
        Err(Error::Unavailable { reason, description }) => {
            assert_eq!(reason, "REVISION_NOT_REACHED");
            assert!(description.contains("this is revision"), "{description}");
        }
        other => panic!("it is not refused: {other:?}"),
    }
    shop.close().await;
}
