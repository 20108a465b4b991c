//! Asks the server and SQL the same and holds the answers against each other.

use std::time::{Duration, Instant};

use tenths_proto::v1::fit_candidate::Stock;
use tenths_proto::v1::{
    FeatureKind, FindAllFitsRequest, FindFitRequest, FindFitResponse, Fit, FitCandidate,
};
use tenths_tests::{Chance, Clients, Database, days, done, from_now, nm};

use crate::books::Books;
use crate::judge::Judge;
use crate::question::{MeasuredPlace, World, fit};
use crate::sizes::by_size;
use crate::stock::Sizes;
use crate::table::{self, Times};

/// How much was seen; a comparison of nothing with nothing proves nothing.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Seen {
    pub(crate) questions: usize,
    pub(crate) fits: usize,
    pub(crate) misses: usize,
    /// By verdict: proven in, probable in, not proven.
    pub(crate) verdicts: [usize; 3],
    pub(crate) two_ends: usize,
    pub(crate) sized: usize,
    pub(crate) whole: usize,
}

impl Seen {
    /// Both.
    pub(crate) fn add(&mut self, other: Seen) {
        self.questions += other.questions;
        self.fits += other.fits;
        self.misses += other.misses;
        for (mine, more) in self.verdicts.iter_mut().zip(other.verdicts) {
            *mine += more;
        }
        self.two_ends += other.two_ends;
        self.sized += other.sized;
        self.whole += other.whole;
    }

    /// Panics unless every part of an answer was compared often enough to tell.
    pub(crate) fn assert_telling(&self, questions: usize) {
        assert_eq!(self.questions, questions);
        let parts = [self.fits, self.misses, self.two_ends * 100, self.sized, self.whole * 400];
        let parts = parts.into_iter().chain(self.verdicts.map(|count| count * 20));
        assert!(parts.into_iter().all(|count| count > questions), "{self:?}");
    }
}

/// Somebody who asks both.
pub(crate) struct Asker {
    books: Books,
    world: World,
    pub(crate) seen: Seen,
}

impl Asker {
    /// With a table of what the books say now.
    pub(crate) async fn new(database: &Database, sizes: Sizes) -> Self {
        let books = Books::open(database).await;
        table::create(&books, &sizes).await;
        let [now, later] = [days(0), days(5)].map(|ahead| {
            let at = from_now(ahead).expect("a time");
            at.seconds * 1_000_000 + i64::from(at.nanos) / 1_000
        });
        let times = Times { now, later };
        let mut asker = Asker {
            books,
            world: World { sizes, times, measured: Vec::new() },
            seen: Seen::default(),
        };
        asker.look().await;
        asker
    }

    /// Looks at the books anew.
    pub(crate) async fn look(&mut self) {
        table::fill(&self.books, self.world.times).await;
        let sql = "SELECT tag, feature, feature_kind, low, high, uncertainty FROM brute
             WHERE is_lot = 0 AND uncertainty > 0 AND is_wrong = 0 AND condition <> 'reconditioned'
             AND item_kind IN ('shaft', 'housing') ORDER BY tag, feature";
        let kinds = [
            ("rolling_seat", FeatureKind::RollingSeat),
            ("journal", FeatureKind::Journal),
            ("housing_bore", FeatureKind::HousingBore),
        ];
        let place = |row: Vec<String>| {
            let kind = kinds.iter().find(|(word, _)| *word == row[2]);
            let number = |at: usize| row[at].parse().expect("a number");
            MeasuredPlace {
                kind: kind.expect("one of the kinds").1,
                low: number(3),
                high: number(4),
                uncertainty: number(5),
                tag: row[0].clone(),
                feature: row[1].clone(),
            }
        };
        self.world.measured = self.books.rows(sql).await.into_iter().map(place).collect();
    }

    /// Waits until the feed of changes is short: to fill the shop alone wrote a thousand rows and more.
    pub(crate) async fn feed_grows_short(&self) {
        let start = Instant::now();
        while self.books.rows("SELECT id FROM changes").await.len() > 200 {
            assert!(start.elapsed() < Duration::from_secs(60), "nobody trims the feed of changes");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Asks one question of both and panics where they differ.
    pub(crate) async fn compare(&mut self, clients: &Clients, chance: &mut Chance, revision: i64) {
        self.seen.questions += 1;
        match chance.below(8) {
            0 => self.compare_sizes(clients, chance, revision).await,
            1 if chance.below(4) == 0 => self.compare_whole(clients, chance, revision).await,
            _ => self.compare_page(clients, chance, revision).await,
        }
    }

    async fn compare_page(&mut self, clients: &Clients, chance: &mut Chance, revision: i64) {
        let (request, judge) = fit(&self.world, chance);
        let request = FindFitRequest { min_revision: revision, ..request };
        let answer = done("find_fit", clients.finding().find_fit(request.clone()).await);
        let expected = self.expected(&judge).await;
        let total = expected.first().filter(|row| row[0] == "0").map_or(0, |row| number(&row[1]));
        let found = told(&answer);
        assert_eq!(
            found,
            expected.iter().map(|row| shown(row)).collect::<Vec<_>>(),
            "{request:#?}"
        );
        let is_more = total > judge.fits as i64;
        assert_eq!(!answer.next_page_token.is_empty(), is_more, "{total} fit {request:#?}");
        self.seen.fits += answer.fits.len();
        self.seen.misses += answer.misses.len();
        self.seen.two_ends += usize::from(judge.other.is_some() && !answer.fits.is_empty());
        self.count(&answer.fits);
    }

    /// Everything that fits, as a stream.
    async fn compare_whole(&mut self, clients: &Clients, chance: &mut Chance, revision: i64) {
        let (request, judge) = fit(&self.world, chance);
        let question = Some(FindFitRequest { min_revision: revision, ..request });
        let request = FindAllFitsRequest { question };
        let mut parts =
            done("find_all_fits", clients.finding().find_all_fits(request.clone()).await);
        let mut fits = Vec::new();
        while let Some(part) = parts.message().await.expect("a whole answer") {
            fits.extend(part.fits);
        }
        let expected = self.expected(&Judge { fits: 1_000_000, misses: 0, ..judge }).await;
        let found: Vec<String> = fits.iter().map(fit_told).collect();
        assert_eq!(
            found,
            expected.iter().map(|row| shown(row)).collect::<Vec<_>>(),
            "{request:#?}"
        );
        self.seen.whole += usize::from(fits.len() > 20);
        self.seen.fits += fits.len();
        self.count(&fits);
    }

    /// Page after page to the end.
    async fn compare_sizes(&mut self, clients: &Clients, chance: &mut Chance, revision: i64) {
        let (mut request, sql) = by_size(&self.world, chance);
        request.min_revision = revision;
        let mut found = Vec::new();
        loop {
            let answer =
                done("find_by_size", clients.finding().find_by_size(request.clone()).await);
            for row in answer.rows {
                // The window that counts is the last of each question.
                let (candidate, size) = (row.candidate.expect("a row"), row.sizes.last().cloned());
                let size = size.expect("a size for each window");
                let (low, high) = (nm(&size.size_min), nm(&size.size_max));
                found.push(format!("{} {} {low} {high}", tag(&candidate), candidate.feature));
            }
            request.page_token = answer.next_page_token;
            if request.page_token.is_empty() {
                break;
            }
        }
        let expected = self.books.rows(&sql).await;
        self.seen.sized += found.len();
        let expected: Vec<String> = expected.into_iter().map(|row| row.join(" ")).collect();
        assert_eq!(found, expected, "{request:#?}");
    }

    async fn expected(&self, judge: &Judge) -> Vec<Vec<String>> {
        self.books.rows(&judge.sql()).await
    }

    fn count(&mut self, fits: &[Fit]) {
        for fit in fits {
            let verdict = fit.verdict.as_ref().expect("a verdict").kind;
            self.seen.verdicts[verdict as usize - 1] += 1;
        }
    }
}

fn number(text: &str) -> i64 {
    text.parse().expect("a number")
}

/// A row of SQL, without how many there are.
fn shown(row: &[String]) -> String {
    let is_fit = row[0] == "0";
    // The server tells the distance itself, SQL twice of it.
    let measure = if is_fit { number(&row[3]) / 2 } else { number(&row[3]) };
    format!("{} {} {measure} {} {} {} {}", row[0], row[2], row[4], row[5], row[6], row[7])
}

fn told(answer: &FindFitResponse) -> Vec<String> {
    let misses = answer.misses.iter().map(|miss| {
        let fit = miss.fit.as_ref().expect("what it would give");
        format!("1 0 {} {}", nm(&miss.by), place_told(fit))
    });
    answer.fits.iter().map(fit_told).chain(misses).collect()
}

fn fit_told(fit: &Fit) -> String {
    let verdict = fit.verdict.as_ref().expect("a verdict").kind;
    let score = fit.score.as_ref().expect("a score");
    format!("0 {verdict} {} {}", nm(&score.off_centre), place_told(fit))
}

fn place_told(fit: &Fit) -> String {
    let candidate = fit.candidate.as_ref().expect("a candidate");
    let (least, most) = (nm(&fit.clearance_min), nm(&fit.clearance_max));
    format!("{} {} {least} {most}", tag(candidate), candidate.feature)
}

fn tag(candidate: &FitCandidate) -> String {
    match &candidate.stock {
        Some(Stock::PieceTag(tag) | Stock::LotTag(tag)) => tag.clone(),
        None => panic!("no tag: {candidate:?}"),
    }
}
