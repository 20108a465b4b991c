//! Writers at work while others ask: nobody who names the revision of a change may miss it, and when
//! the writers rest nothing in the index may differ from the books, on any server of the shop.

use std::collections::BTreeMap;
use std::sync::Arc;

use tenths_proto::v1::fit_candidate::Stock;
use tenths_proto::v1::reserve_line::Subject;
use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Chance, Clients, DatabaseKind, Server, Shop, days, done, from_now, mm, patiently,
    request_id,
};
use tokio::task::JoinSet;
use tonic::{Response, Status};

use crate::compare::{Asker, Seen};
use crate::stock;

const WRITERS: usize = 6;
const ROUNDS: usize = 4;
const ACTS: usize = 25;
const QUESTIONS: usize = 60;
const SEED: u64 = 20_261_129;

/// The servers remove the feed of changes behind each other as fast as they can.
const TRIMMING: [&str; 4] = ["--changes-trim-seconds", "1", "--changes-kept", "20"];

/// Two servers over one PostgreSQL database; SQLite has one.
struct Servers {
    shop: Shop,
    second: Option<(Server, Clients)>,
}

impl Servers {
    async fn start(kind: DatabaseKind) -> Self {
        let shop = Shop::start_with(kind, &TRIMMING).await;
        let second = match kind {
            DatabaseKind::Sqlite => None,
            DatabaseKind::Postgres => {
                let server = Server::start(shop.database(), &TRIMMING);
                let clients = Clients::connect(&server).await;
                Some((server, clients))
            }
        };
        Self { shop, second }
    }

    fn clients(&self) -> Vec<Clients> {
        let second = self.second.iter().map(|(_, clients)| clients.clone());
        std::iter::once(self.shop.clients().clone()).chain(second).collect()
    }
}

pub(crate) async fn run(kind: DatabaseKind) {
    let servers = Servers::start(kind).await;
    let sizes = stock::furnish(&servers.shop, SEED).await;
    let bench = Bench::bare(servers.shop.clients());
    let clients = Arc::new(servers.clients());
    let mut writers = Vec::new();
    for number in 0..WRITERS {
        bench.location(&format!("W-{number}"), LocationKind::Shelf).await;
        bench.rebuild(&format!("R-W-{number}")).await;
        writers.push(Writer::new(number, clients.clone()));
    }
    let mut asker = Asker::new(servers.shop.database(), sizes).await;
    let mut chance = Chance::new(SEED);
    let mut seen = 0;
    for _ in 0..ROUNDS {
        let mut working = JoinSet::new();
        for writer in writers.drain(..) {
            working.spawn(writer.work());
        }
        while let Some(writer) = working.join_next().await {
            writers.push(writer.expect("a writer misses nothing"));
        }
        let revision = writers.iter().map(|writer| writer.revision).max().expect("a writer");
        asker.look().await;
        for clients in clients.iter() {
            for _ in 0..QUESTIONS {
                asker.compare(clients, &mut chance, revision).await;
            }
        }
        seen += QUESTIONS * clients.len();
    }
    let changes: usize = writers.iter().map(|writer| writer.changes).sum();
    eprintln!(
        "{kind:?}: {} servers, {changes} changes by {WRITERS} writers, each seen at once; then {:?} \
         (seed {SEED})",
        clients.len(),
        asker.seen
    );
    assert_eq!(asker.seen.questions, seen);
    asker.feed_grows_short().await;
    let Seen { fits, misses, .. } = asker.seen;
    assert!(fits > seen / 2 && misses > seen && changes > WRITERS * ROUNDS * ACTS / 2);
}

/// Somebody with a shelf and a rebuild of their own, who remembers what is on it.
struct Writer {
    number: usize,
    clients: Arc<Vec<Clients>>,
    chance: Chance,
    /// Tag, how many there are, the holds on it.
    shelf: BTreeMap<String, (i64, Vec<(String, i64)>)>,
    next: usize,
    revision: i64,
    changes: usize,
}

impl Writer {
    fn new(number: usize, clients: Arc<Vec<Clients>>) -> Self {
        let chance = Chance::new(SEED + 100 + number as u64);
        let shelf = BTreeMap::new();
        Self { number, clients, chance, shelf, next: 0, revision: 0, changes: 0 }
    }

    async fn work(mut self) -> Self {
        for _ in 0..ACTS {
            let through = self.some_clients();
            let changed = match self.chance.below(6) {
                0 | 1 => self.receive(&through).await,
                2 | 3 => self.hold(&through).await,
                4 => self.release(&through).await,
                _ => self.count_anew(&through).await,
            };
            if changed {
                self.changes += 1;
                self.look_at_shelf().await;
            }
        }
        self
    }

    fn some_clients(&mut self) -> Clients {
        let picked = self.chance.below(self.clients.len() as u64) as usize;
        self.clients[picked].clone()
    }

    fn place(&self) -> String {
        format!("W-{}", self.number)
    }

    /// Another lot, of a bearing that everybody asks for.
    async fn receive(&mut self, through: &Clients) -> bool {
        self.next += 1;
        let tag = format!("L-W-{}-{}", self.number, self.next);
        let quantity = 1 + self.chance.below(5) as i64;
        let item = ["BRG-6205", "BRG-6205-C3", "BRG-6006"][self.chance.below(3) as usize];
        let request = ReceiveLotRequest {
            request_id: request_id(),
            person: "oto".to_owned(),
            tag: tag.clone(),
            item_code: item.to_owned(),
            quantity,
            location_code: self.place(),
            date_code: ["2024-02", ""][self.chance.below(2) as usize].to_owned(),
            ..ReceiveLotRequest::default()
        };
        self.note(
            again(|| {
                let (mut stock, request) = (through.stock(), request.clone());
                async move { stock.receive_lot(request).await }
            })
            .await,
        );
        self.shelf.insert(tag, (quantity, Vec::new()));
        true
    }

    /// A tag of one's own of which at least `free` are free.
    fn pick(&mut self, free: i64) -> Option<String> {
        let left = |(on_hand, holds): &(i64, Vec<(String, i64)>)| {
            on_hand - holds.iter().map(|(_, held)| held).sum::<i64>()
        };
        let tags: Vec<&String> =
            self.shelf.iter().filter(|(_, lot)| left(lot) >= free).map(|(tag, _)| tag).collect();
        let picked = self.chance.below(tags.len().max(1) as u64) as usize;
        tags.get(picked).map(|tag| (*tag).clone())
    }

    async fn hold(&mut self, through: &Clients) -> bool {
        let Some(tag) = self.pick(1) else { return false };
        let line = ReserveLine {
            subject: Some(Subject::LotTag(tag.clone())),
            quantity: 1,
            ..ReserveLine::default()
        };
        let request = ReserveRequest {
            request_id: request_id(),
            person: "oto".to_owned(),
            rebuild_tag: format!("R-W-{}", self.number),
            lines: vec![line],
            until_time: from_now(days(1)),
            ..ReserveRequest::default()
        };
        let answer = self.note(
            again(|| {
                let (mut rebuilds, request) = (through.rebuilds(), request.clone());
                async move { rebuilds.reserve(request).await }
            })
            .await,
        );
        let hold = answer.reservations[0].tag.clone();
        self.shelf.get_mut(&tag).expect("one's own").1.push((hold, 1));
        true
    }

    async fn release(&mut self, through: &Clients) -> bool {
        let held = self.shelf.iter_mut().find(|(_, (_, holds))| !holds.is_empty());
        let Some((hold, _)) = held.and_then(|(_, (_, holds))| holds.pop()) else { return false };
        let request = ReleaseReservationsRequest {
            request_id: request_id(),
            person: "oto".to_owned(),
            tags: vec![hold],
            reason: "not needed".to_owned(),
        };
        self.note(
            again(|| {
                let (mut rebuilds, request) = (through.rebuilds(), request.clone());
                async move { rebuilds.release_reservations(request).await }
            })
            .await,
        );
        true
    }

    /// A count finds more or less than was thought, of what nobody holds maybe nothing.
    async fn count_anew(&mut self, through: &Clients) -> bool {
        let Some(tag) = self.pick(0) else { return false };
        let (on_hand, holds) = &self.shelf[&tag];
        let held: i64 = holds.iter().map(|(_, held)| held).sum();
        let counted = held + self.chance.below(4) as i64;
        if counted == *on_hand {
            return false;
        }
        let request = AdjustLotRequest {
            request_id: request_id(),
            person: "oto".to_owned(),
            tag: tag.clone(),
            location_code: self.place(),
            counted,
            reason: "counted".to_owned(),
            ..AdjustLotRequest::default()
        };
        self.note(
            again(|| {
                let (mut stock, request) = (through.stock(), request.clone());
                async move { stock.adjust_lot(request).await }
            })
            .await,
        );
        self.shelf.get_mut(&tag).expect("one's own").0 = counted;
        true
    }

    /// Keeps the revision that a change answers with.
    fn note<T>(&mut self, response: Response<T>) -> T {
        let told = response.metadata().get("tenths-revision").expect("a change tells its revision");
        let told: i64 = told.to_str().expect("plain").parse().expect("a number");
        self.revision = self.revision.max(told);
        response.into_inner()
    }

    /// What a server says is on the shelf, asked with the revision of the last change, is what was put
    /// there, to the piece, whichever server it is.
    async fn look_at_shelf(&mut self) {
        let window =
            SizeWindow { kind: FeatureKind::Bore.into(), lower: mm("24"), upper: mm("31") };
        let request = FindBySizeRequest {
            windows: vec![window],
            filter: Some(StockFilter { location_codes: vec![self.place()], ..Default::default() }),
            page_size: 200,
            min_revision: self.revision,
            ..FindBySizeRequest::default()
        };
        let clients = self.some_clients();
        let answer = done("find_by_size", clients.finding().find_by_size(request).await);
        let row = |row: SizedRow| {
            let candidate = row.candidate.expect("a lot");
            match candidate.stock {
                Some(Stock::LotTag(tag)) => (tag, candidate.available),
                other => panic!("no lot: {other:?}"),
            }
        };
        let found: BTreeMap<String, i64> = answer.rows.into_iter().map(row).collect();
        let there = self.shelf.iter().filter(|(_, (on_hand, _))| *on_hand > 0);
        let expected: BTreeMap<String, i64> = there
            .map(|(tag, (on_hand, holds))| {
                (tag.clone(), on_hand - holds.iter().map(|(_, held)| held).sum::<i64>())
            })
            .collect();
        assert_eq!(found, expected, "at revision {}", self.revision);
    }
}

/// The whole answer, with its metadata, of a call that is made again while the server is busy.
async fn again<T, C, F>(mut call: C) -> Response<T>
where
    C: FnMut() -> F,
    F: Future<Output = Result<Response<T>, Status>>,
{
    let wrapped = || {
        let answer = call();
        async move { answer.await.map(Response::new) }
    };
    patiently(wrapped).await.0.expect("a change goes through")
}
