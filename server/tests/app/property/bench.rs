//! One database on which histories are run, one after the other.

use super::Figures;
use super::act::{MINUTE, act_on};
use super::listing::{Labels, listing};
use super::op::{History, Op};
use crate::shop::{Shop, act, used};
use crate::support::{Kind, TestDb, psql};
use proptest::test_runner::TestCaseError;
use tenths_domain::state::{LocationKind, Method};
use tenths_domain::units::Unit;
use tenths_server::app::reconditioning::{self, EnqueueJob};
use tenths_server::app::{Error, stock};

/// A database with a shop on it.
pub(crate) struct Bench {
    /// The migrated and stocked original; each history has a copy on SQLite. On PostgreSQL, where
    /// copies are slow, it is emptied and stocked again instead.
    original: TestDb,
    copy: Option<TestDb>,
    shop: Option<Shop>,
    labels: Labels,
}

impl Bench {
    /// Makes the original.
    pub(crate) async fn open(db: TestDb) -> Self {
        let shop = match db.kind() {
            Kind::Sqlite => {
                let shop = Shop::stocked(&db).await;
                put_to_work(&shop).await;
                shop.close().await;
                None
            }
            Kind::Postgres => {
                // Histories ask what is answered, not what outlives a power cut.
                let asynchronous = "DO $$ BEGIN EXECUTE format('ALTER DATABASE %I SET \
                    synchronous_commit = off', current_database()); END $$";
                psql(db.url(), asynchronous);
                Some(Shop::open(&db).await)
            }
        };
        Bench { original: db, copy: None, shop, labels: Labels::default() }
    }

    fn shop(&self) -> &Shop {
        self.shop.as_ref().expect("a history is under way")
    }

    /// Begins a history with the stocked shop.
    pub(crate) async fn start_anew(&mut self) {
        self.labels = Labels::default();
        match self.original.kind() {
            Kind::Sqlite => {
                self.end().await;
                let copy = self.original.copy();
                self.shop = Some(Shop::open(&copy).await);
                self.copy = Some(copy);
            }
            Kind::Postgres => {
                // The index knows of no emptying behind the triggers' back: a new one is opened.
                if let Some(shop) = self.shop.take() {
                    shop.close().await;
                }
                psql(self.original.url(), EMPTY);
                let shop = Shop::open(&self.original).await;
                shop.stock_up().await;
                put_to_work(&shop).await;
                self.shop = Some(shop);
            }
        }
    }

    /// Ends a history.
    pub(crate) async fn end(&mut self) {
        if self.original.kind() == Kind::Sqlite {
            if let Some(shop) = self.shop.take() {
                shop.close().await;
            }
            self.copy = None;
        }
    }

    /// Does a step and answers with what was said, its row numbers replaced. A refused step must
    /// leave no trace; that is looked at on SQLite now and then, for its price.
    pub(crate) async fn step(
        &mut self,
        index: usize,
        history: &History,
        figures: &Figures,
    ) -> Result<String, TestCaseError> {
        let looked_at = self.original.kind() == Kind::Sqlite && index % 9 == 4;
        let before = if looked_at { Some(self.listing().await) } else { None };
        let (said, done) = self.said(index, history, figures).await?;
        if let Some(before) = before
            && !done
        {
            if self.listing().await != before {
                let text = format!("step {index} was refused and left a trace: {said}");
                return Err(TestCaseError::fail(text));
            }
            Figures::count(&figures.traceless);
        }
        Ok(self.labels.relabel(&said))
    }

    async fn said(
        &self,
        index: usize,
        history: &History,
        figures: &Figures,
    ) -> Result<(String, bool), TestCaseError> {
        let (index, op) = match &history[index] {
            Op::Repeat { back } => match index.checked_sub(usize::from(*back)) {
                Some(earlier) => {
                    Figures::count(&figures.repeats);
                    (earlier, &history[earlier])
                }
                None => return Ok(("ok nothing to repeat".to_owned(), true)),
            },
            op => (index, op),
        };
        match op {
            Op::Pass { minutes } => {
                self.shop().pass(*minutes * MINUTE);
                Ok(("ok".to_owned(), true))
            }
            Op::Expire => {
                let ended = self.shop().app.expire_due().await;
                let ended = ended.map_err(|error| TestCaseError::fail(format!("{error:?}")))?;
                Ok((format!("ok {ended} ended"), true))
            }
            Op::Repeat { .. } => Ok(("ok a repeat of a repeat".to_owned(), true)),
            op => self.asked(index, op).await,
        }
    }

    async fn asked(&self, index: usize, op: &Op) -> Result<(String, bool), TestCaseError> {
        let answer = ask(self.shop(), &format!("step-{index}"), op).await;
        match answer {
            Ok(answer) => Ok((format!("ok {}", String::from_utf8_lossy(&answer)), true)),
            // The database's own refusals are no answer of a use case.
            Err(error @ (Error::Storage(_) | Error::Io { .. })) => {
                Err(TestCaseError::fail(format!("step {index}: {error:?}")))
            }
            Err(error) => Ok((format!("refused {error:?}"), false)),
        }
    }

    /// Everything in the shop, row numbers replaced apart from those of the answers.
    pub(crate) async fn listing(&self) -> String {
        Labels::default().relabel(&listing(self.shop()).await)
    }

    /// Every invariant must hold.
    pub(crate) async fn check_sound(&self) -> Result<(), TestCaseError> {
        // What ran out is ended by the background, which a history need not have called.
        let ended = self.shop().app.expire_due().await;
        ended.map_err(|error| TestCaseError::fail(format!("{error:?}")))?;
        let broken = self.shop().broken().await;
        if broken.is_empty() {
            return Ok(());
        }
        Err(TestCaseError::fail(format!("{:?} is not sound: {broken:#?}", self.original.kind())))
    }
}

/// Asks for a step under this request id; answers with what the use case answered, encoded.
pub(crate) async fn ask(shop: &Shop, id: &str, op: &Op) -> Result<Vec<u8>, Error> {
    let op = op.clone();
    shop.app
        .once(shop.request(id, 1), move |act| {
            let op = op.clone();
            Box::pin(async move { Ok(act_on(act, &op).await?.into_bytes()) })
        })
        .await
        .map(|done| done.answer)
}

/// Four shafts under inspection, one of them measured; two more in the queue; two cores and a second
/// lot: so that most of what can happen can happen from the first step on.
pub(crate) async fn put_to_work(shop: &Shop) {
    let plater = stock::CreateLocation {
        code: "PLATER".to_owned(),
        kind: LocationKind::Vendor,
        description: String::new(),
    };
    act!(shop, stock::create_location, plater).unwrap();
    for number in 4..10 {
        act!(shop, stock::create_piece, used(&format!("P-{number}"), "SH-30")).unwrap();
    }
    shop.measure_well("P-4").await;
    for op in [
        Op::ReceiveLot { quantity: 6, shelf: 4 },
        Op::LogCore { shelf: 0 },
        Op::LogCore { shelf: 4 },
    ] {
        act!(shop, act_on, op).unwrap();
    }
    for (piece, method) in [("P-8", Method::Polish), ("P-9", Method::BuildUp)] {
        let order = EnqueueJob {
            piece_tag: piece.to_owned(),
            feature: "journal".to_owned(),
            method,
            target: None,
            target_unit: Unit::Inch,
            reason: "worn".to_owned(),
            due_at: None,
            location_code: None,
            at_vendor: false,
            rebuild_tag: None,
        };
        act!(shop, reconditioning::enqueue_job, order).unwrap();
    }
}

/// Empties every table but that of the migrations, history too: only a superuser's session can.
const EMPTY: &str = "SET session_replication_role = replica;
    DO $$ DECLARE one record; BEGIN
        FOR one IN SELECT tablename FROM pg_tables
            WHERE schemaname = 'public' AND tablename <> 'seaql_migrations'
        LOOP EXECUTE format('DELETE FROM %I', one.tablename); END LOOP;
    END $$";
