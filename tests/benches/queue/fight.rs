//! The fight: workers, replicas and a database, and what may break.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use tenths_tests::Chance;
use tokio::task::JoinSet;

use crate::Outcome;
use crate::books::{Books, let_lapse};
use crate::fill::{self, Filled};
use crate::replicas::Replicas;
use crate::worker::{Floor, Log, Worker};

const REPLICAS: usize = 3;
/// How often the leases of claims that were walked away from are let lapse.
const ROUND: Duration = Duration::from_millis(100);
/// A replica is killed whenever another share of the operations has ended.
const CRASHES: usize = 8;

/// Lets the workers at the queue, prints what came of it, and tells whether all of it holds.
///
/// # Errors
/// A database that does not answer.
pub(crate) async fn run(workers: u16, operations: u32) -> Outcome<bool> {
    let filled = fill::one_job().await?;
    let jobs = operations.div_ceil(filled.route);
    filled.copy_to(jobs).await?;
    let mut replicas = Replicas::start(&filled.database, REPLICAS).await;
    let floor = Arc::new(Floor {
        total: usize::try_from(jobs * filled.route)?,
        route: i32::try_from(filled.route)?,
        ..Floor::default()
    });
    println!(
        "\n{workers} workers, {} operations of {jobs} jobs, {REPLICAS} replicas on PostgreSQL. A \
         lease is a minute at least: the leases of claims that a worker walked away from are set \
         back in the database to let them lapse.",
        floor.total
    );
    let start = Instant::now();
    let mut crew = JoinSet::new();
    for number in 0..u64::from(workers) {
        let (doors, chance) = (replicas.doors(), Chance::new(number));
        let worker = Worker { doors, chance, floor: floor.clone(), log: Log::default() };
        crew.spawn(async move { (worker.work().await, Instant::now()) });
    }
    let crashes = disturb(&filled, &mut replicas, &floor, &crew).await?;
    let (mut logs, mut end) = (Vec::new(), start);
    while let Some(worker) = crew.join_next().await {
        let (log, ended) = worker?;
        logs.push(log);
        end = end.max(ended);
    }
    let books = Books::read(&filled.sql).await?;
    Ok(report(&logs, &books, floor.total, crashes, end - start))
}

/// Lets leases lapse and kills replicas until the operations have ended or everybody went home.
async fn disturb(
    filled: &Filled,
    replicas: &mut Replicas,
    floor: &Floor,
    crew: &JoinSet<(Log, Instant)>,
) -> Outcome<usize> {
    let (mut crashes, mut chance) = (0, Chance::new(1));
    loop {
        let ended = floor.ended.load(Ordering::Relaxed);
        // A worker that gave up has seen a minute of nothing.
        if ended >= floor.total || crew.is_empty() {
            return Ok(crashes);
        }
        if ended * (CRASHES + 1) >= floor.total * (crashes + 1) {
            let number = usize::try_from(chance.below(REPLICAS as u64))?;
            replicas.crash(number, &filled.database).await;
            crashes += 1;
        }
        let abandoned = std::mem::take(&mut *floor.abandoned.lock().expect("no holder panics"));
        let_lapse(&filled.sql, &abandoned).await?;
        tokio::time::sleep(ROUND).await;
    }
}

/// Prints the figures; whether nothing broke.
fn report(logs: &[Log], books: &Books, total: usize, crashes: usize, took: Duration) -> bool {
    let mut times: HashMap<&(String, i32), usize> = HashMap::new();
    for operation in logs.iter().flat_map(|log| &log.ended) {
        *times.entry(operation).or_default() += 1;
    }
    let once = times.values().filter(|times| **times == 1).count();
    let sum = |of: fn(&Log) -> usize| logs.iter().map(of).sum::<usize>();
    let accepted = sum(|log| log.late_accepted);
    println!();
    println!("| figure | found | must be |");
    println!("|---|---|---|");
    println!("| operations answered as ended exactly once | {once} | {total} |");
    println!("| operations ended, by their rows | {} | {total} |", books.ended);
    println!("| acts that ended one, by the rows of requests | {} | {total} |", books.acts);
    println!("| late tokens accepted | {accepted} | 0 |");
    println!("| jobs stuck beyond their lease | {} | 0 |", books.stuck);
    println!("| jobs left open | {} | 0 |", books.open);
    let wrong: Vec<&String> = logs.iter().flat_map(|log| &log.wrong).collect();
    println!("| answers that should not be | {} | 0 |", wrong.len());
    println!("| late tokens refused | {} | |", sum(|log| log.late_refused));
    println!("| claims walked away from | {} | |", sum(|log| log.abandoned));
    println!("| replicas killed and started again | {crashes} | |");
    println!("| operations ended a second | {:.0} | |", total as f64 / took.as_secs_f64());
    for text in wrong.iter().take(10) {
        println!("wrong: {text}");
    }
    let holds = [once, books.ended, books.acts].iter().all(|found| *found == total)
        && [accepted, books.stuck, books.open, wrong.len()].iter().all(|found| *found == 0);
    println!("\n{}", if holds { "All of it holds." } else { "BROKEN." });
    holds
}
