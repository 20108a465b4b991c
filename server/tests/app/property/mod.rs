//! One random history of a small shop gives the same answers on SQLite and on PostgreSQL, step by
//! step, and leaves the same shop, sound on both.
//!
//! Without PostgreSQL the histories run on SQLite alone, with the invariants checked. Rows are
//! numbered apart on the two (PostgreSQL gives no number back after a rollback), so answers are
//! compared with every number replaced by the order in which it was first seen.

mod act;
mod at_once;
mod bench;
mod listing;
mod op;
mod pick;

use crate::support::{Kind, TestDb};
use bench::Bench;
use op::{History, Op, histories};
use proptest::test_runner::{Config, TestCaseError, TestError, TestRunner};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Instant;

/// How many histories are run, unless `TENTHS_TEST_HISTORIES` says another number.
const HISTORIES: u32 = 200;
/// How many run beside each other, each on databases of its own.
const WORKERS: u32 = 2;

/// What all histories together did.
#[derive(Debug, Default)]
struct Figures {
    histories: AtomicUsize,
    /// How often each kind of step was done, and how often it was refused.
    steps: Mutex<BTreeMap<String, (usize, usize)>>,
    repeats: AtomicUsize,
    traceless: AtomicUsize,
}

impl Figures {
    fn count(figure: &AtomicUsize) {
        figure.fetch_add(1, Ordering::Relaxed);
    }

    fn count_step(&self, op: &Op, done: bool) {
        let name = format!("{op:?}");
        let name = name.split(' ').next().unwrap_or_default().to_owned();
        let mut steps = self.steps.lock().unwrap();
        let (did, refused) = steps.entry(name).or_default();
        *(if done { did } else { refused }) += 1;
    }
}

/// Runs one history on every database there is, and compares.
async fn same_on_both(
    sides: &mut [Bench],
    history: &History,
    figures: &Figures,
) -> Result<(), TestCaseError> {
    for side in &mut *sides {
        side.start_anew().await;
    }
    for (index, op) in history.iter().enumerate() {
        let mut answers = Vec::new();
        for side in &mut *sides {
            answers.push(side.step(index, history, figures).await?);
        }
        figures.count_step(op, answers[0].starts_with("ok"));
        if let Some(other) = answers.get(1)
            && other != &answers[0]
        {
            let text = differing(&answers[0], other);
            return Err(TestCaseError::fail(format!("step {index}, {op:?}:\n{text}")));
        }
    }
    let mut shops = Vec::new();
    for side in &mut *sides {
        side.check_sound().await?;
        shops.push(side.listing().await);
    }
    if let [sqlite, postgres] = &shops[..]
        && sqlite != postgres
    {
        let text = differing(sqlite, postgres);
        return Err(TestCaseError::fail(format!("the shops differ in the end:\n{text}")));
    }
    for side in &mut *sides {
        side.end().await;
    }
    Figures::count(&figures.histories);
    Ok(())
}

/// Where two texts part, with what stands around it.
fn differing(sqlite: &str, postgres: &str) -> String {
    let pairs = sqlite.chars().zip(postgres.chars());
    let same = pairs.take_while(|(left, right)| left == right).count();
    let around =
        |text: &str| text.chars().skip(same.saturating_sub(120)).take(400).collect::<String>();
    format!("SQLite:     {}\nPostgreSQL: {}", around(sqlite), around(postgres))
}

fn work(cases: u32, figures: &Figures) -> Result<(), TestError<History>> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let sides: Vec<Bench> = [Kind::Sqlite, Kind::Postgres]
        .into_iter()
        .filter_map(TestDb::create)
        .map(|db| runtime.block_on(Bench::open(db)))
        .collect();
    let config =
        Config { cases, max_shrink_iters: 150, failure_persistence: None, ..Config::default() };
    // The runner wants a function that changes nothing.
    let sides = RefCell::new(sides);
    TestRunner::new(config).run(&histories(), |history| {
        runtime.block_on(same_on_both(&mut sides.borrow_mut(), &history, figures))
    })
}

#[test]
fn a_history_gives_the_same_answers_on_both_databases() {
    let wanted = std::env::var("TENTHS_TEST_HISTORIES").ok();
    let wanted = wanted.map_or(HISTORIES, |text| text.parse().expect("a number of histories"));
    let started = Instant::now();
    let figures = Arc::new(Figures::default());
    let workers: Vec<_> = (0..WORKERS)
        .map(|_| {
            let figures = Arc::clone(&figures);
            std::thread::spawn(move || work(wanted.div_ceil(WORKERS), &figures))
        })
        .collect();
    for worker in workers {
        match worker.join().expect("a worker panicked") {
            Ok(()) => {}
            Err(TestError::Fail(reason, history)) => {
                panic!("{}\nby the history {history:#?}", reason.message());
            }
            Err(TestError::Abort(reason)) => panic!("{}", reason.message()),
        }
    }
    let of = |figure: &AtomicUsize| figure.load(Ordering::Relaxed);
    let steps = figures.steps.lock().unwrap().clone();
    let (done, refused) =
        steps.values().fold((0, 0), |sum, (done, refused)| (sum.0 + done, sum.1 + refused));
    eprintln!(
        "{} histories, {} steps ({done} done, {refused} refused; {} repeats, {} refusals seen to \
         leave no trace) in {:.1} s",
        of(&figures.histories),
        done + refused,
        of(&figures.repeats),
        of(&figures.traceless),
        started.elapsed().as_secs_f64()
    );
    eprintln!("kind of step, done and refused: {steps:?}");
    // A generator that is refused everywhere would prove nothing.
    assert!(done > refused, "too many steps are refused");
    assert!(of(&figures.traceless) > 0 && of(&figures.repeats) > 0);
    let never: Vec<_> = steps.iter().filter(|(_, (done, _))| *done == 0).collect();
    assert!(never.is_empty() || wanted < HISTORIES, "never done: {never:?}");
}
