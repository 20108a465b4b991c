//! A small shop to try the use cases on: a clock that is set by hand, people, and what they need.

use crate::support::TestDb;
use std::fmt::Debug;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use tenths_domain::ids::FeatureId;
use tenths_domain::item::{Feature, FeatureKind, ItemKind, Tolerance};
use tenths_domain::measure::{SettingMethod, parse_readings};
use tenths_domain::state::{BuiltUp, LocationKind, PieceCondition};
use tenths_domain::units::{Entry, Length, Unit};
use tenths_server::app::catalogue::CreateItem;
use tenths_server::app::holds::{LineSubject, Reserve, Until};
use tenths_server::app::judging::{AssessPiece, Manner};
use tenths_server::app::measuring::{NewReadings, RecordReadings, RegisterGauge};
use tenths_server::app::rebuilds::OpenRebuild;
use tenths_server::app::stock::{AcceptPiece, CreateLocation, NewPiece, ReceiveLot};
use tenths_server::app::{
    Act, App, Clock, Error, Request, View, catalogue, holds, judging, measuring, rebuilds, stock,
};
use tenths_storage::{ItemFeature, Store, Work, verify};

/// When every test starts, in Unix microseconds: 2026-09-21 14:13 UTC.
pub(crate) const START: i64 = 1_790_000_000_000_000;
/// An hour in microseconds.
pub(crate) const HOUR: i64 = 3_600_000_000;

/// The use cases over one database, as one person works with them.
#[derive(Clone)]
pub(crate) struct Shop {
    pub(crate) app: App,
    store: Store,
    now: Arc<AtomicI64>,
    person: &'static str,
    requests: Arc<AtomicU64>,
}

/// Does a use case that takes a command, as a request of its own.
macro_rules! act {
    ($shop:expr, $use_case:path, $order:expr) => {{
        let order = $order;
        $shop
            .act(move |act| {
                let order = order.clone();
                Box::pin(async move { $use_case(act, &order).await })
            })
            .await
    }};
}
pub(crate) use act;

/// Reads with a use case that takes a snapshot and what is given.
macro_rules! look {
    ($shop:expr, $use_case:path $(, $given:expr)* $(,)?) => {
        $shop.look(move |view| Box::pin(async move { $use_case(view $(, $given)*).await })).await
    };
}
pub(crate) use look;

impl Shop {
    /// Opens an empty shop.
    pub(crate) async fn open(db: &TestDb) -> Self {
        let store = db.store().await;
        let now = Arc::new(AtomicI64::new(START));
        let clock = Arc::clone(&now);
        let clock = Clock::from_fn(move || clock.load(Ordering::SeqCst));
        Shop {
            app: App::new(store.clone(), clock),
            store,
            now,
            person: "Mara",
            requests: Arc::new(AtomicU64::new(1)),
        }
    }

    /// The same shop as another person works with it.
    pub(crate) fn as_person(&self, person: &'static str) -> Self {
        Shop { person, ..self.clone() }
    }

    /// Another server over the same database, with a stock of its own in memory and the same clock.
    pub(crate) fn replica(&self) -> App {
        let clock = Arc::clone(&self.now);
        App::new(self.store.clone(), Clock::from_fn(move || clock.load(Ordering::SeqCst)))
    }

    /// Lets time pass.
    pub(crate) fn pass(&self, micros: i64) {
        self.now.fetch_add(micros, Ordering::SeqCst);
    }

    /// The time.
    pub(crate) fn now(&self) -> i64 {
        self.now.load(Ordering::SeqCst)
    }

    /// A request with this id for a payload of this digest.
    pub(crate) fn request(&self, id: &str, digest: u8) -> Request {
        Request {
            request_id: id.to_owned(),
            person: self.person.to_owned(),
            method: "Test",
            fingerprint: [digest; 32],
        }
    }

    /// Does something as a request of its own.
    pub(crate) async fn act<T, F>(&self, work: F) -> Result<T, Error>
    where
        T: Debug + Send + 'static,
        F: for<'a> Fn(&'a Act<'a>) -> Work<'a, T, Error> + Send + Sync + 'static,
    {
        let id = format!("q-{}", self.requests.fetch_add(1, Ordering::SeqCst));
        let work = Arc::new(work);
        let found = Arc::new(Mutex::new(None));
        let kept = Arc::clone(&found);
        self.app
            .once(self.request(&id, 0), move |act| {
                let (work, kept) = (Arc::clone(&work), Arc::clone(&kept));
                Box::pin(async move {
                    let done = work(act).await?;
                    let answer = format!("{done:?}").into_bytes();
                    *kept.lock().unwrap() = Some(done);
                    Ok(answer)
                })
            })
            .await?;
        let done = found.lock().unwrap().take();
        Ok(done.unwrap())
    }

    /// Reads within one snapshot.
    pub(crate) async fn look<T, F>(&self, work: F) -> Result<T, Error>
    where
        T: Send + 'static,
        F: for<'a> FnOnce(View<'a>) -> Work<'a, T, Error> + Send + 'static,
    {
        self.app.read(work).await
    }

    /// The invariants that do not hold now.
    pub(crate) async fn broken(&self) -> Vec<verify::Check> {
        let mut checks = verify::run(&self.store, self.now()).await.unwrap().checks;
        checks.retain(|one| !one.breaks.is_empty());
        checks
    }

    /// Every invariant must hold now.
    pub(crate) async fn assert_sound(&self) {
        let broken = self.broken().await;
        assert!(broken.is_empty(), "{broken:#?}");
    }

    /// Every invariant must hold at the end; then the database is closed.
    pub(crate) async fn close(self) {
        self.assert_sound().await;
        self.store.close().await;
    }
}

/// A size written in a unit.
pub(crate) fn length(text: &str, unit: Unit) -> Length {
    Entry::parse(text, unit).unwrap().length
}

/// A feature without limits.
pub(crate) fn feature(name: &str, kind: FeatureKind, text: &str, unit: Unit) -> ItemFeature {
    ItemFeature {
        id: FeatureId(0),
        nominal_text: text.to_owned(),
        nominal_unit: unit,
        feature: Feature {
            name: name.to_owned(),
            kind,
            nominal: length(text, unit),
            tolerance: Tolerance::None,
            wear_limit: None,
            recondition_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            reference_station: None,
            limit_source: "shop".to_owned(),
        },
    }
}

/// The disc journal of a drive motor: 0.938 in, at most 0.002 in of wear, not worth starting below
/// 0.920 in, `REF` where nothing wears.
pub(crate) fn disc_journal() -> ItemFeature {
    let mut journal = feature("journal", FeatureKind::Journal, "0.938", Unit::Inch);
    journal.feature.wear_limit = Some(length("0.002", Unit::Inch));
    journal.feature.recondition_limit = Some(length("0.920", Unit::Inch));
    journal.feature.reference_station = Some("REF".to_owned());
    journal
}

/// A rolling-bearing seat of 30 mm, k5.
pub(crate) fn seat() -> ItemFeature {
    let mut seat = feature("seat", FeatureKind::RollingSeat, "30", Unit::Millimetre);
    seat.feature.tolerance = Tolerance::Class("k5".parse().unwrap());
    seat
}

/// An item.
pub(crate) fn item(code: &str, kind: ItemKind, features: Vec<ItemFeature>) -> CreateItem {
    let designation = if kind == ItemKind::RollingBearing { "6206" } else { "" };
    CreateItem {
        code: code.to_owned(),
        kind,
        description: String::new(),
        designation: designation.to_owned(),
        material: None,
        set: tenths_domain::substitution::SetSize::ONE,
        no_substitute: false,
        features,
    }
}

/// A used piece.
pub(crate) fn used(tag: &str, item_code: &str) -> NewPiece {
    NewPiece {
        tag: Some(tag.to_owned()),
        item_code: item_code.to_owned(),
        condition: PieceCondition::Used,
        location_code: "A-01".to_owned(),
        material: None,
        hardness: String::new(),
        built_up: BuiltUp::No,
        note: String::new(),
    }
}

/// A gauge that is good to two tenths.
pub(crate) fn micrometer(tag: &str) -> RegisterGauge {
    RegisterGauge {
        tag: tag.to_owned(),
        description: "micrometer 0 to 1 in".to_owned(),
        resolution: Entry::parse("0.0001", Unit::Inch).unwrap(),
        uncertainty: Entry::parse("0.0002", Unit::Inch).unwrap(),
        setting_method: SettingMethod::GaugeBlock,
        calibration_due_at: START + 1000 * HOUR,
        side: None,
        size_min: None,
        size_max: None,
        material: None,
    }
}

/// What was read on a feature, as a tech calls it out.
pub(crate) fn read(feature: &str, gauge: &str, line: &str) -> NewReadings {
    NewReadings {
        feature: feature.to_owned(),
        gauge_tag: gauge.to_owned(),
        readings: parse_readings(line, Some(Unit::Inch)).unwrap(),
        temperature: None,
        gauge_temperature: None,
    }
}

/// Readings of a piece, without an override.
pub(crate) fn record(piece: &str, readings: NewReadings) -> RecordReadings {
    RecordReadings { piece_tag: piece.to_owned(), readings, override_reason: String::new() }
}

/// An assessment of a whole piece.
pub(crate) fn assess(piece: &str) -> AssessPiece {
    AssessPiece { piece_tag: piece.to_owned(), feature: None, manner: Manner::default() }
}

/// Acceptance of a piece, for a reason if it needs one.
pub(crate) fn accept(tag: &str, override_reason: &str) -> AcceptPiece {
    AcceptPiece {
        tag: tag.to_owned(),
        etag: None,
        location_code: None,
        override_reason: override_reason.to_owned(),
    }
}

/// A hold on these for an hour.
pub(crate) fn reserve(rebuild: &str, lines: Vec<LineSubject>) -> Reserve {
    Reserve { rebuild_tag: rebuild.to_owned(), lines, until: Until::For(HOUR) }
}

/// A piece to be held.
pub(crate) fn piece(tag: &str) -> LineSubject {
    LineSubject::Piece(tag.to_owned())
}

/// A quantity of a lot to be held, wherever there is enough.
pub(crate) fn lot(tag: &str, quantity: i64) -> LineSubject {
    LineSubject::Lot { tag: tag.to_owned(), quantity, location_code: None }
}

impl Shop {
    /// Two shelves, a gauge, a shaft with a journal and a seat, a bushing, a bearing, three pieces
    /// in stock (`P-1` to `P-3`), ten bushings (`L-1`), two rebuilds.
    pub(crate) async fn stocked(db: &TestDb) -> Self {
        let shop = Shop::open(db).await;
        shop.stock_up().await;
        shop
    }

    /// Puts in what [`Shop::stocked`] has.
    pub(crate) async fn stock_up(&self) {
        for code in ["A-01", "B-01"] {
            let shelf = CreateLocation {
                code: code.to_owned(),
                kind: LocationKind::Shelf,
                description: String::new(),
            };
            act!(self, stock::create_location, shelf).unwrap();
        }
        act!(self, measuring::register_gauge, micrometer("M-07")).unwrap();
        let shaft = item("SH-30", ItemKind::Shaft, vec![disc_journal(), seat()]);
        let bore = feature("bore", FeatureKind::Bore, "15", Unit::Millimetre);
        let bushing = item("BU-15", ItemKind::Bushing, vec![bore]);
        let bearing = item("BR-6206", ItemKind::RollingBearing, Vec::new());
        for item in [shaft, bushing, bearing] {
            act!(self, catalogue::create_item, item).unwrap();
        }
        for tag in ["P-1", "P-2", "P-3"] {
            act!(self, stock::create_piece, used(tag, "SH-30")).unwrap();
            act!(self, stock::accept_piece, accept(tag, "known from before")).unwrap();
        }
        let bushings = ReceiveLot {
            tag: None,
            item_code: "BU-15".to_owned(),
            quantity: 10,
            location_code: "A-01".to_owned(),
            date_code: "2026-03".to_owned(),
            unit_cost: None,
        };
        act!(self, stock::receive_lot, bushings).unwrap();
        for _ in 0..2 {
            let rebuild = OpenRebuild {
                tag: None,
                description: "coolant pump".to_owned(),
                customer: String::new(),
                core_tag: None,
                due_at: None,
                value: None,
            };
            act!(self, rebuilds::open_rebuild, rebuild).unwrap();
        }
    }

    /// Holds lines for a rebuild; answers with the tags of the holds.
    pub(crate) async fn hold(&self, rebuild: &str, lines: Vec<LineSubject>) -> Vec<String> {
        let held = act!(self, holds::reserve, reserve(rebuild, lines)).unwrap();
        held.into_iter().map(|one| one.reservation.tag).collect()
    }

    /// Records good readings of the journal and the seat of a shaft and assesses it.
    pub(crate) async fn measure_well(&self, tag: &str) {
        let journal = read("journal", "M-07", "REF0 0.9380 A0 0.9375 A90 0.9375 B0 0.9374");
        let seat = read("seat", "M-07", "A0 30.006mm A90 30.006mm B0 30.007mm B90 30.006mm");
        for readings in [journal, seat] {
            act!(self, measuring::record_readings, record(tag, readings)).unwrap();
        }
        act!(self, judging::assess_piece, assess(tag)).unwrap();
    }
}

/// The kinds of the obstacles that a use case met, in order.
#[track_caller]
pub(crate) fn obstacles<T: Debug>(done: Result<T, Error>) -> Vec<(&'static str, String)> {
    match done {
        Err(Error::Forbidden(found)) => {
            found.into_iter().map(|one| (one.kind, one.description)).collect()
        }
        other => panic!("it is not forbidden: {other:?}"),
    }
}

/// The kind of the only obstacle; its description must hold every one of `words`.
#[track_caller]
pub(crate) fn forbidden<T: Debug>(done: Result<T, Error>, kind: &str, words: &[&str]) {
    let found = obstacles(done);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, kind, "{found:?}");
    for word in words {
        assert!(found[0].1.contains(word), "{word:?} is not in {found:?}");
    }
}
