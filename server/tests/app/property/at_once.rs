//! Goal: whatever people do at the same moment, nobody meets an error of the database, equal requests
//! get equal answers, and the shop stays sound.

use super::act::MINUTE;
use super::bench::{ask, put_to_work};
use super::op::{History, Op, histories};
use crate::shop::Shop;
use crate::support::{TestDb, on_both};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, TestRunner};
use std::collections::HashMap;
use std::sync::Arc;
use tenths_server::app::Error;

on_both!(eight_people_at_once_keep_the_shop_sound);

/// How many histories follow each other in the same shop.
const ROUNDS: usize = 12;
/// How many people share a history.
const PEOPLE: usize = 8;

/// One person's share of a history: every eighth step. Answers with the answer to each request.
async fn share(
    shop: Shop,
    round: usize,
    person: usize,
    history: Arc<History>,
) -> Vec<(String, Vec<u8>)> {
    let mut answers = Vec::new();
    for index in (person..history.len()).step_by(PEOPLE) {
        let (asked, op) = match &history[index] {
            // The same request as another person's, perhaps at this very moment.
            Op::Repeat { back } if usize::from(*back) <= index => {
                let earlier = index - usize::from(*back);
                (earlier, &history[earlier])
            }
            op => (index, op),
        };
        let id = format!("round-{round}-step-{asked}");
        let done = match op {
            Op::Pass { minutes } => {
                shop.pass(*minutes * MINUTE);
                continue;
            }
            Op::Expire => shop.app.expire_due().await.map(|_| Vec::new()),
            op => ask(&shop, &id, op).await,
        };
        match done {
            Ok(answer) if !answer.is_empty() => answers.push((id, answer)),
            Err(error @ (Error::Storage(_) | Error::Io { .. })) => panic!("{op:?}: {error:?}"),
            Ok(_) | Err(_) => {}
        }
    }
    answers
}

/// Method: random histories, each shared by eight people who go through their steps at the same
/// time, one history after the other in one shop; after each, every invariant is checked.
async fn eight_people_at_once_keep_the_shop_sound(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    put_to_work(&shop).await;
    let mut runner = TestRunner::new(Config::default());
    let mut done = 0;
    for round in 0..ROUNDS {
        let history = Arc::new(histories().new_tree(&mut runner).unwrap().current());
        let people: Vec<_> = (0..PEOPLE)
            .map(|person| tokio::spawn(share(shop.clone(), round, person, Arc::clone(&history))))
            .collect();
        let mut first: HashMap<String, Vec<u8>> = HashMap::new();
        for person in people {
            for (id, answer) in person.await.unwrap() {
                let known = first.entry(id.clone()).or_insert_with(|| answer.clone());
                assert!(*known == answer, "{id} was answered in two ways");
                done += 1;
            }
        }
        shop.app.expire_due().await.unwrap();
        shop.assert_sound().await;
    }
    eprintln!("{:?}: {done} acts of {PEOPLE} people in {ROUNDS} histories at once", db.kind());
    assert!(done > 100, "only {done} acts were done");
    shop.close().await;
}
