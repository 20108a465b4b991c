//! Goal: a server that is killed, or that loses its database, in the middle of questions never answers
//! one wrongly: what it does answer is right, or says how old it is.
//! Method: a fixed set of questions whose answers are known; askers that keep asking while the server,
//! then the database, goes away and comes back. Every answer that comes is held against the known one.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use tenths_proto::v1::measured_part::Size;
use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, DatabaseKind, Server, Shop, bearings_for_seat, done, mm, on_both_databases,
};
use tokio::task::JoinSet;
use tonic::{Code, Status};

on_both_databases!(
    a_server_killed_in_the_middle_of_questions_never_answers_wrongly,
    a_lost_database_is_told_and_never_answered_for_wrongly,
);

/// For how long something is waited for that must come.
const PATIENCE: Duration = Duration::from_secs(60);

fn seat(size: &str) -> FindFitRequest {
    FindFitRequest {
        measured: Some(MeasuredPart {
            size: mm(size).map(Size::Value),
            kind: FeatureKind::RollingSeat.into(),
            expanded_uncertainty: mm("0.0005"),
            ..MeasuredPart::default()
        }),
        sought: ItemKind::RollingBearing.into(),
        page_size: 200,
        ..FindFitRequest::default()
    }
}

fn questions() -> Vec<FindFitRequest> {
    (0..30).map(|um| seat(&format!("25.0{:02}", um))).collect()
}

/// An answer without how old it is, and without the note that says it is too old.
fn of_stock(answer: FindFitResponse) -> FindFitResponse {
    let notes = answer.notes.into_iter().filter(|note| !is_about_age(note)).collect();
    FindFitResponse { freshness: None, notes, ..answer }
}

fn is_about_age(note: &str) -> bool {
    note.contains("last compared with the books")
}

async fn answers(clients: &Clients) -> Vec<FindFitResponse> {
    let mut found = Vec::new();
    for question in questions() {
        let answer = done("find_fit", clients.finding().find_fit(question).await);
        found.push(of_stock(answer));
    }
    found
}

async fn stocked(shop: &Shop) -> Bench {
    let bench = Bench::furnished(shop.clients()).await;
    for number in 2..=40 {
        bench.lot(&format!("L-{number}"), "BRG-6205", 1).await;
    }
    shop.clients().settle().await;
    bench
}

/// Asks until told to stop; every answer must be the known one. Answers with how many there were, and
/// with the last refusal.
async fn keep_asking(
    clients: Clients,
    known: Arc<Vec<FindFitResponse>>,
    stop: Arc<AtomicBool>,
) -> (usize, Option<Status>) {
    let (mut answered, mut refused) = (0, None);
    while !stop.load(Ordering::Relaxed) {
        for (question, known) in questions().into_iter().zip(known.iter()) {
            match clients.finding().find_fit(question).await {
                Ok(answer) => {
                    assert_eq!(of_stock(answer.into_inner()), *known);
                    answered += 1;
                }
                Err(status) => refused = Some(status),
            }
        }
    }
    (answered, refused)
}

/// Asks until there is an answer.
async fn first_answer(clients: &Clients) -> FindFitResponse {
    let start = Instant::now();
    loop {
        match clients.finding().find_fit(seat("25.006")).await {
            Ok(answer) => return answer.into_inner(),
            Err(status) => assert_eq!(status.code(), Code::Unavailable, "{status:?}"),
        }
        assert!(start.elapsed() < PATIENCE, "no answer");
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

/// Four askers of one server, which is killed among them; on PostgreSQL four more of another server
/// over the same database, which must not notice. The killed one comes back with the same answers.
async fn a_server_killed_in_the_middle_of_questions_never_answers_wrongly(kind: DatabaseKind) {
    let mut shop = Shop::start(kind).await;
    stocked(&shop).await;
    let known = Arc::new(answers(shop.clients()).await);
    let second = (kind == DatabaseKind::Postgres).then(|| Server::start(shop.database(), &[]));
    let stop = Arc::new(AtomicBool::new(false));
    let (mut killed, mut spared) = (JoinSet::new(), JoinSet::new());
    for _ in 0..4 {
        killed.spawn(keep_asking(shop.another_client().await, known.clone(), stop.clone()));
    }
    if let Some(second) = &second {
        let clients = Clients::connect(second).await;
        first_answer(&clients).await;
        for _ in 0..4 {
            spared.spawn(keep_asking(clients.clone(), known.clone(), stop.clone()));
        }
    }
    tokio::time::sleep(Duration::from_millis(500)).await;
    shop.server_mut().kill();
    tokio::time::sleep(Duration::from_millis(300)).await;
    stop.store(true, Ordering::Relaxed);
    let mut total = 0;
    while let Some(asker) = killed.join_next().await {
        let (answered, refused) = asker.expect("no wrong answer");
        let refused = refused.expect("the server went away");
        let gone = [Code::Unavailable, Code::Unknown, Code::Cancelled];
        assert!(gone.contains(&refused.code()), "a kill looks like a lost connection: {refused:?}");
        total += answered;
    }
    while let Some(asker) = spared.join_next().await {
        let (answered, refused) = asker.expect("no wrong answer");
        assert!(answered > 0 && refused.is_none(), "the other server goes on: {refused:?}");
        total += answered;
    }
    eprintln!("{kind:?}: {total} answers, all right");
    assert!(total > 0, "the kill came before any answer");
    shop.restart().await;
    first_answer(shop.clients()).await;
    assert_eq!(answers(shop.clients()).await, *known);
}

/// PostgreSQL alone: a SQLite database goes with its server. One server says how old its answers are,
/// one refuses; a question that needs the books is refused by both. When the database is back, what was
/// written meanwhile is seen.
async fn a_lost_database_is_told_and_never_answered_for_wrongly(kind: DatabaseKind) {
    if kind == DatabaseKind::Sqlite {
        return;
    }
    let age = ["--index-age-seconds-max", "1"];
    let shop = Shop::start_with(kind, &age).await;
    let bench = stocked(&shop).await;
    bench.stocked_shaft("P-1").await;
    shop.clients().settle().await;
    let known = Arc::new(answers(shop.clients()).await);
    let refusing =
        Server::start(shop.database(), &[&age[..], &["--index-on-stale", "refuse"]].concat());
    let strict = Clients::connect(&refusing).await;
    first_answer(&strict).await;

    let stop = Arc::new(AtomicBool::new(false));
    let mut askers = JoinSet::new();
    for clients in [shop.clients(), &strict] {
        askers.spawn(keep_asking(clients.clone(), known.clone(), stop.clone()));
    }
    shop.database().cut_off();
    let answer =
        until(shop.clients(), |answer| matches!(answer, Ok(answer) if has_age(answer))).await;
    let answer = answer.expect("it is answered");
    let fresh = answer.freshness.expect("how fresh").age.expect("an age");
    assert!(fresh.seconds >= 1, "{fresh:?}");
    let refused = until(&strict, Result::is_err).await.expect_err("it is refused");
    assert_eq!(refused.code(), Code::Unavailable);
    assert!(refused.message().contains("more than the 1 s allowed"), "{refused:?}");
    for clients in [shop.clients(), &strict] {
        let needs_books = clients.finding().find_fit(bearings_for_seat("P-1", "k5")).await;
        let status = needs_books.expect_err("nobody knows the piece now");
        assert_eq!(status.code(), Code::Unavailable, "{status:?}");
    }

    shop.database().let_in();
    stop.store(true, Ordering::Relaxed);
    while let Some(asker) = askers.join_next().await {
        asker.expect("no wrong answer");
    }
    until(&strict, Result::is_ok).await.expect("it is answered again");
    bench.lot("L-LATER", "BRG-6205", 1).await;
    for clients in [shop.clients(), &strict] {
        clients.settle().await;
        let answer = first_answer(clients).await;
        assert!(!has_age(&answer), "{:?}", answer.notes);
        assert_eq!(answer.fits.len(), 41);
    }
    shop.verify();
}

fn has_age(answer: &FindFitResponse) -> bool {
    answer.notes.iter().any(|note| is_about_age(note))
}

/// Asks until an answer is as it must become.
async fn until(
    clients: &Clients,
    is_wanted: impl Fn(&Result<FindFitResponse, Status>) -> bool,
) -> Result<FindFitResponse, Status> {
    let start = Instant::now();
    loop {
        let answer = clients.finding().find_fit(seat("25.006")).await;
        let answer = answer.map(tonic::Response::into_inner);
        if is_wanted(&answer) {
            return answer;
        }
        assert!(start.elapsed() < PATIENCE, "it stays {answer:?}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}
