//! Goal: SQLite and PostgreSQL give the same answers to the same history.
//! Method: two real servers, one on each; histories by chance of receipts, holds, readings, jobs and
//! questions over a few things, so that many steps are refused. Each step goes to both with the same
//! request id and the answers are compared, times aside. A failing history is shrunk: every run uses
//! tags of its own, so earlier runs do not matter.

use std::cell::Cell;

use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestRunner};
use tenths_tests::{Bench, DatabaseKind, Shop};
use tokio::runtime::Runtime;

#[path = "parity/answer.rs"]
mod answer;
#[path = "parity/step.rs"]
mod step;

use step::{Step, World};

const HISTORIES: u32 = 200;
const STEPS: usize = 50;

#[test]
fn both_databases_give_the_same_answers() {
    if !DatabaseKind::Postgres.is_at_hand() {
        return;
    }
    let runtime = Runtime::new().expect("a runtime");
    let shops = runtime.block_on(async {
        let shops = [DatabaseKind::Sqlite, DatabaseKind::Postgres].map(Shop::start);
        let [sqlite, postgres] = shops;
        let shops = [sqlite.await, postgres.await];
        for shop in &shops {
            Bench::furnished(shop.clients()).await;
        }
        shops
    });
    let history = prop::collection::vec(any::<[u8; 4]>().prop_map(Step::of), STEPS);
    let config = Config { cases: HISTORIES, failure_persistence: None, ..Config::default() };
    let [number, answered, refused] = [Cell::new(0), Cell::new(0), Cell::new(0)];
    let outcome = TestRunner::new(config).run(&history, |steps| {
        number.set(number.get() + 1);
        let prefix = format!("H{}", number.get());
        let worlds = [World::new(&shops[0], &prefix), World::new(&shops[1], &prefix)];
        for step in steps {
            let (one, other) = runtime.block_on(step.on_both(&worlds));
            let count = if one.starts_with("refused") { &refused } else { &answered };
            count.set(count.get() + 1);
            if one != other {
                let text = format!("{step:?}\n  SQLite:     {one}\n  PostgreSQL: {other}");
                return Err(TestCaseError::fail(text));
            }
        }
        Ok(())
    });
    let [number, answered, refused] = [number.get(), answered.get(), refused.get()];
    eprintln!("{number} histories, {answered} steps answered, {refused} refused, on both the same");
    outcome.unwrap_or_else(|failure| panic!("{failure}"));
    assert!(answered > 1_000 && refused > 1_000, "the histories say too little");
    for shop in &shops {
        shop.verify();
    }
}
