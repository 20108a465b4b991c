//! Goal: what the server answers from its index is what SQL finds that looks at every row, in the same
//! order: same verdicts, same clearances, same misses (invariant 8), whatever was asked and whatever
//! was written meanwhile, by whichever server.
//! Method: a shop whose stock crowds on a few sizes; questions by chance to the real server; the same
//! question as SQL over the same database (`judge.rs`), which shares no code with the server: the
//! windows come from the limits of the standards, the probabilities from a formula of its own. Not
//! asked of SQL are bushings between a journal and a housing, whose close-in is worked out by thick
//! cylinders; the server's own tests judge those by brute force too.

#[path = "brute_force/books.rs"]
mod books;
#[path = "brute_force/chance_within.rs"]
mod chance_within;
#[path = "brute_force/compare.rs"]
mod compare;
#[path = "brute_force/judge.rs"]
mod judge;
#[path = "brute_force/question.rs"]
mod question;
#[path = "brute_force/race.rs"]
mod race;
#[path = "brute_force/sizes.rs"]
mod sizes;
#[path = "brute_force/stock.rs"]
mod stock;
#[path = "brute_force/table.rs"]
mod table;

use std::sync::Arc;
use std::time::Instant;

use compare::Asker;
use tenths_tests::{Chance, DatabaseKind, Shop, on_both_databases};
use tokio::task::JoinSet;

on_both_databases!(
    ten_thousand_questions_are_answered_as_by_sql_over_every_row,
    writers_never_part_the_index_from_the_books,
);

/// How many questions, and how many askers ask them.
const QUESTIONS: usize = 10_000;
const ASKERS: usize = 4;
const SEED: u64 = 20_261_128;

async fn ten_thousand_questions_are_answered_as_by_sql_over_every_row(kind: DatabaseKind) {
    let start = Instant::now();
    let shop = Arc::new(Shop::start(kind).await);
    let sizes = stock::furnish(&shop, SEED).await;
    let furnished = start.elapsed();
    let mut askers = JoinSet::new();
    for number in 0..ASKERS {
        let (shop, sizes) = (shop.clone(), sizes.clone());
        askers.spawn(async move {
            let mut asker = Asker::new(shop.database(), sizes).await;
            let mut chance = Chance::new(SEED + 1 + number as u64);
            for _ in 0..QUESTIONS / ASKERS {
                asker.compare(shop.clients(), &mut chance, 0).await;
            }
            asker.seen
        });
    }
    let mut seen = compare::Seen::default();
    while let Some(asker) = askers.join_next().await {
        seen.add(asker.expect("an asker finds no difference"));
    }
    eprintln!(
        "{kind:?}: {seen:?} (seed {SEED}), furnished in {} ms, {} ms in all",
        furnished.as_millis(),
        start.elapsed().as_millis()
    );
    seen.assert_telling(QUESTIONS);
}

async fn writers_never_part_the_index_from_the_books(kind: DatabaseKind) {
    race::run(kind).await;
}
