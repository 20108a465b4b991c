//! Many questions at once: each is answered as it would be alone, in order, and a bad one spoils no
//! other.

use super::pairs::{measured, seat_under_ring};
use std::time::Instant;
use tenths_proto::v1::*;
use tenths_tests::{Chance, Clients, DatabaseKind, Outcomes, Shop, done, inch, length, mm, nm};
use tonic::Code;

const ROWS: usize = 10_000;
const CLASSES: [&str; 16] = [
    "k5", "h6", "g6", "js7", "f7", "m6", "p6", "n5", "H7", "K6", "M6", "N7", "JS8", "F8", "P7",
    "E9",
];

/// Questions over every step to 500 mm, a share of them in inches and a share without an answer.
fn questions() -> Vec<LimitsQuestion> {
    let mut chance = Chance::new(3);
    let one = |row: usize| {
        let class = CLASSES[row % CLASSES.len()];
        let whole = 1 + chance.below(499);
        let size = match row % 10 {
            0 => inch(&format!("{}.{:04}", whole % 19, 1 + chance.below(9_999))),
            // No class, or none at that size: cd is for sizes to 50 mm (ISO 286-1, from memory).
            7 => return LimitsQuestion { size: mm("200"), tolerance_class: "cd6".to_owned() },
            8 => {
                return LimitsQuestion {
                    size: mm(&whole.to_string()),
                    tolerance_class: "q9".to_owned(),
                };
            }
            _ => mm(&format!("{whole}.{:03}", chance.below(1_000))),
        };
        LimitsQuestion { size, tolerance_class: class.to_owned() }
    };
    (0..ROWS).map(one).collect()
}

/// What `GetLimits` alone says to a question, in the shape of an answer among many.
async fn alone(c: &Clients, question: &LimitsQuestion) -> Result<LimitsAnswer, Code> {
    let request = GetLimitsRequest {
        size: question.size.clone(),
        tolerance_class: question.tolerance_class.clone(),
    };
    let found = c.fits().get_limits(request).await.map_err(|status| status.code())?.into_inner();
    Ok(LimitsAnswer {
        lower_deviation_nm: nm(&found.lower_deviation),
        upper_deviation_nm: nm(&found.upper_deviation),
        lower_nm: nm(&found.lower),
        upper_nm: nm(&found.upper),
        unconfirmed: found.unconfirmed,
        problem: String::new(),
    })
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn ten_thousand_limits_are_each_as_if_asked_alone() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let questions = questions();
    let request = BatchGetLimitsRequest { questions: questions.clone() };
    let start = Instant::now();
    let answers =
        done("10,000", shop.clients().standards().batch_get_limits(request).await).answers;
    // A figure, not a promise: the debug build, and the client's encoding and decoding with it.
    eprintln!(
        "BatchGetLimits: {ROWS} rows in {:.1} ms at the client",
        start.elapsed().as_secs_f64() * 1e3
    );
    assert_eq!(answers.len(), ROWS);
    let refused = answers.iter().filter(|answer| !answer.problem.is_empty()).count();
    assert!((2_000..3_000).contains(&refused), "{refused} without an answer");
    let mut outcomes = Outcomes::default();
    for (row, (question, answer)) in questions.iter().zip(&answers).enumerate() {
        if answer.problem.is_empty() {
            let width = answer.upper_deviation_nm - answer.lower_deviation_nm;
            let closes = width > 0 && answer.upper_nm - answer.lower_nm == width;
            outcomes
                .note("closes", closes.then_some(()).ok_or_else(|| format!("{row}: {answer:?}")));
        }
        if row % 41 == 0 || row == ROWS - 1 {
            let alone = alone(shop.clients(), question).await;
            let same = match &alone {
                Ok(alone) => alone == answer,
                Err(code) => *code == Code::InvalidArgument && !answer.problem.is_empty(),
            };
            let verdict = same.then_some(());
            let wrong = || format!("{row} {question:?}: {answer:?}, alone {alone:?}");
            outcomes.note("as alone", verdict.ok_or_else(wrong));
        }
    }
    outcomes.finish();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn many_bearings_and_keys_are_each_as_if_asked_alone() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut standards = shop.clients().standards();
    let bearing =
        |text: &str| GetBearingRequest { designation: text.to_owned(), ring_class: String::new() };
    let questions = ["6205", "banana", "6305-2RS C3", "", "6003 C4"].map(bearing).to_vec();
    let request = BatchGetBearingsRequest { questions: questions.clone() };
    let answers = done("bearings", standards.batch_get_bearings(request).await).answers;
    assert_eq!(answers.len(), questions.len());
    for (question, answer) in questions.into_iter().zip(answers) {
        let alone = standards.get_bearing(question.clone()).await.ok().map(|one| one.into_inner());
        assert_eq!(answer.bearing, alone, "{question:?}");
        assert_eq!(
            answer.problem.is_empty(),
            alone.is_some(),
            "{question:?}: {:?}",
            answer.problem
        );
    }
    let key = |shaft| GetKeyRequest { shaft, ..Default::default() };
    let questions =
        vec![key(mm("25")), key(None), key(inch("1-1/8")), key(length("0.001", LengthUnit::Mm))];
    let request = BatchGetKeysRequest { questions: questions.clone() };
    let answers = done("keys", standards.batch_get_keys(request).await).answers;
    assert_eq!(answers.len(), questions.len());
    let refused: Vec<bool> = answers.iter().map(|answer| !answer.problem.is_empty()).collect();
    assert_eq!(refused, [false, true, false, true], "{answers:?}");
    for (question, answer) in questions.into_iter().zip(answers) {
        let alone = standards.get_key(question.clone()).await.ok().map(|one| one.into_inner());
        assert_eq!(answer.key, alone, "{question:?}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn many_fits_are_each_as_if_asked_alone() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let mut fits = shop.clients().fits();
    let seat = |size: &str| seat_under_ring(measured(size, size, "2"));
    let mut questions = vec![seat("30.005"), JudgeFitRequest::default(), seat("29.990")];
    let unknown =
        MeasuredSize { min: mm("30"), gauge_tag: "X-404".to_owned(), ..Default::default() };
    let kind = Some(size_knowledge::Kind::Measured(unknown));
    questions.push(seat_under_ring(Some(SizeKnowledge { kind })));
    let request = BatchJudgeFitsRequest { questions: questions.clone() };
    let answers = done("fits", fits.batch_judge_fits(request).await).answers;
    let refused: Vec<bool> = answers.iter().map(|answer| !answer.problem.is_empty()).collect();
    assert_eq!(refused, [false, true, false, true], "{answers:?}");
    assert!(answers[3].problem.contains("X-404"), "{}", answers[3].problem);
    for (question, answer) in questions.into_iter().zip(answers) {
        let alone = fits.judge_fit(question).await.ok().map(|one| one.into_inner());
        assert_eq!(answer.fit, alone);
    }
}
