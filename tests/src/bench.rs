//! The common first moves of a test, each one call: a place, a gauge, an item, stock, a rebuild.

use tenths_proto::v1::{
    AcceptPieceRequest, AssessPieceRequest, AssessPieceResponse, BuiltUp, ClaimJobRequest,
    ClaimJobResponse, Core, CoreGrade, CreateItemRequest, CreateLocationRequest,
    CreatePieceRequest, EnqueueJobRequest, Gauge, GetLotRequest, GetPieceRequest, Item, Job,
    LedgerEntry, ListLedgerEntriesRequest, Location, LocationKind, LogCoreRequest, Lot, Method,
    Money, NewReadings, OpenRebuildRequest, OwnerKind, Piece, PieceCondition, Reading, Rebuild,
    ReceiveLotRequest, RecordReadingsRequest, RegisterGaugeRequest, Reservation, ReserveLine,
    ReserveRequest, ReserveResponse,
};

use tonic::Status;

use crate::{
    Clients, bearing_item, days, done, from_now, micrometer, patiently, request_id, shaft_item,
};

/// The first moves of a test, as `mara` would do them.
#[derive(Clone, Debug)]
pub struct Bench {
    clients: Clients,
    person: String,
}

impl Bench {
    /// A bench over these clients, with nothing on it.
    pub fn bare(clients: &Clients) -> Self {
        Self { clients: clients.clone(), person: "mara".to_owned() }
    }

    /// A bench with shelf A-1, yard YARD, bench BENCH, gauge M-07, shaft item SH-25, bearing item
    /// BRG-6205 and twenty of it as lot L-1 on A-1.
    pub async fn furnished(clients: &Clients) -> Self {
        let bench = Self::bare(clients);
        bench.location("A-1", LocationKind::Shelf).await;
        bench.location("YARD", LocationKind::CoreYard).await;
        bench.location("BENCH", LocationKind::Bench).await;
        bench.gauge(micrometer("M-07")).await;
        bench.item(shaft_item("SH-25")).await;
        bench.item(bearing_item("BRG-6205", "6205")).await;
        bench.lot("L-1", "BRG-6205", 20).await;
        bench
    }

    /// The clients it acts through.
    pub fn clients(&self) -> &Clients {
        &self.clients
    }

    /// Adds a location.
    pub async fn location(&self, code: &str, kind: LocationKind) -> Location {
        let location = Location { code: code.to_owned(), kind: kind.into(), ..Location::default() };
        let request = CreateLocationRequest {
            request_id: request_id(),
            person: self.person.clone(),
            location: Some(location),
        };
        let answer = done("create_location", self.clients.stock().create_location(request).await);
        answer.location.expect("the location as stored")
    }

    /// Registers a gauge.
    pub async fn gauge(&self, gauge: Gauge) -> Gauge {
        let request = RegisterGaugeRequest {
            request_id: request_id(),
            person: self.person.clone(),
            gauge: Some(gauge),
        };
        let answer = done("register_gauge", self.clients.measuring().register_gauge(request).await);
        answer.gauge.expect("the gauge as stored")
    }

    /// Adds an item.
    pub async fn item(&self, item: Item) -> Item {
        let request = CreateItemRequest {
            request_id: request_id(),
            person: self.person.clone(),
            item: Some(item),
        };
        let answer = done("create_item", self.clients.catalogue().create_item(request).await);
        answer.item.expect("the item as stored")
    }

    /// Receives a lot on A-1.
    pub async fn lot(&self, tag: &str, item_code: &str, quantity: i64) -> Lot {
        let request = ReceiveLotRequest {
            tag: tag.to_owned(),
            item_code: item_code.to_owned(),
            ..self.receipt(quantity)
        };
        let answer = done("receive_lot", self.clients.stock().receive_lot(request).await);
        answer.lot.expect("the lot as stored")
    }

    /// A receipt of bearings on A-1 under a fresh request id, to be sent or changed.
    pub fn receipt(&self, quantity: i64) -> ReceiveLotRequest {
        ReceiveLotRequest {
            request_id: request_id(),
            person: self.person.clone(),
            item_code: "BRG-6205".to_owned(),
            quantity,
            location_code: "A-1".to_owned(),
            date_code: "2025-03".to_owned(),
            unit_cost: Some(money("4.75")),
            ..ReceiveLotRequest::default()
        }
    }

    /// Logs a core of item SH-25 in the yard.
    pub async fn core(&self, tag: &str) -> Core {
        let request = self.core_request(tag);
        let answer = done("log_core", self.clients.receiving().log_core(request).await);
        answer.core.expect("the core as stored")
    }

    /// A core of the shop's own, under a fresh request id, to be sent or changed.
    pub fn core_request(&self, tag: &str) -> LogCoreRequest {
        LogCoreRequest {
            request_id: request_id(),
            person: self.person.clone(),
            tag: tag.to_owned(),
            description: "coolant pump, bearing noisy".to_owned(),
            owner: OwnerKind::Shop.into(),
            door_grade: CoreGrade::B.into(),
            grade_reasons: vec!["one seat worn".to_owned()],
            deposit: Some(money("180.00")),
            location_code: "YARD".to_owned(),
            ..LogCoreRequest::default()
        }
    }

    /// Adds a used piece on the bench, not measured yet.
    pub async fn piece(&self, tag: &str, item_code: &str) -> Piece {
        let request = CreatePieceRequest {
            request_id: request_id(),
            person: self.person.clone(),
            tag: tag.to_owned(),
            item_code: item_code.to_owned(),
            condition: PieceCondition::Used.into(),
            location_code: "BENCH".to_owned(),
            built_up: BuiltUp::No.into(),
            ..CreatePieceRequest::default()
        };
        let answer = done("create_piece", self.clients.stock().create_piece(request).await);
        answer.piece.expect("the piece as stored")
    }

    /// Records readings of a piece.
    pub async fn read(&self, piece_tag: &str, readings: NewReadings) -> Vec<Reading> {
        let request = RecordReadingsRequest {
            request_id: request_id(),
            person: self.person.clone(),
            piece_tag: piece_tag.to_owned(),
            readings: Some(readings),
            ..RecordReadingsRequest::default()
        };
        let mut measuring = self.clients.measuring();
        done("record_readings", measuring.record_readings(request).await).readings
    }

    /// Assesses every measured feature of a piece.
    pub async fn assess(&self, piece_tag: &str) -> AssessPieceResponse {
        let request = AssessPieceRequest {
            request_id: request_id(),
            person: self.person.clone(),
            piece_tag: piece_tag.to_owned(),
            ..AssessPieceRequest::default()
        };
        done("assess_piece", self.clients.measuring().assess_piece(request).await)
    }

    /// Puts a piece into stock on A-1.
    pub async fn accept(&self, piece_tag: &str) -> Piece {
        let request = AcceptPieceRequest {
            request_id: request_id(),
            person: self.person.clone(),
            tag: piece_tag.to_owned(),
            location_code: "A-1".to_owned(),
            ..AcceptPieceRequest::default()
        };
        let answer = done("accept_piece", self.clients.stock().accept_piece(request).await);
        answer.piece.expect("the piece as stored")
    }

    /// Adds a shaft of SH-25 that measures well, assesses it and puts it into stock.
    pub async fn stocked_shaft(&self, tag: &str) -> Piece {
        self.piece(tag, "SH-25").await;
        let line = "A0 0.9845 A90 0.9845 B0 0.9844 B90 0.9845";
        self.read(tag, crate::readings_in_inches("seat-a", "M-07", line)).await;
        self.assess(tag).await;
        self.accept(tag).await
    }

    /// Opens a rebuild.
    pub async fn rebuild(&self, tag: &str) -> Rebuild {
        let request = OpenRebuildRequest {
            request_id: request_id(),
            person: self.person.clone(),
            tag: tag.to_owned(),
            description: "coolant pump for the shelf".to_owned(),
            due_time: from_now(days(14)),
            ..OpenRebuildRequest::default()
        };
        let answer = done("open_rebuild", self.clients.rebuilds().open_rebuild(request).await);
        answer.rebuild.expect("the rebuild as stored")
    }

    /// A request to hold things for a rebuild, under a fresh request id.
    pub fn reserve_request(&self, rebuild_tag: &str, lines: Vec<ReserveLine>) -> ReserveRequest {
        ReserveRequest {
            request_id: request_id(),
            person: self.person.clone(),
            rebuild_tag: rebuild_tag.to_owned(),
            lines,
            ..ReserveRequest::default()
        }
    }

    /// Holds things for a rebuild.
    pub async fn reserve(&self, rebuild_tag: &str, lines: Vec<ReserveLine>) -> Vec<Reservation> {
        let request = self.reserve_request(rebuild_tag, lines);
        done("reserve", self.clients.rebuilds().reserve(request).await).reservations
    }

    /// Holds things as a patient client would; answers with the outcome and the retries it took.
    pub async fn try_reserve(
        &self,
        request: ReserveRequest,
    ) -> (Result<ReserveResponse, Status>, usize) {
        patiently(|| {
            let (mut rebuilds, request) = (self.clients.rebuilds(), request.clone());
            async move { rebuilds.reserve(request).await }
        })
        .await
    }

    /// Claims the next job as a patient client would.
    pub async fn try_claim_next(&self) -> Result<ClaimJobResponse, Status> {
        let request = ClaimJobRequest {
            request_id: request_id(),
            person: self.person.clone(),
            ..ClaimJobRequest::default()
        };
        let claim = patiently(|| {
            let (mut queue, request) = (self.clients.reconditioning(), request.clone());
            async move { queue.claim_job(request).await }
        });
        claim.await.0
    }

    /// Queues a seat for building up.
    pub async fn enqueue(&self, piece_tag: &str) -> Job {
        let request = EnqueueJobRequest {
            request_id: request_id(),
            person: self.person.clone(),
            piece_tag: piece_tag.to_owned(),
            feature: "seat-a".to_owned(),
            method: Method::BuildUp.into(),
            reason: "seat worn".to_owned(),
            ..EnqueueJobRequest::default()
        };
        let mut queue = self.clients.reconditioning();
        done("enqueue_job", queue.enqueue_job(request).await).job.expect("the job as stored")
    }

    /// Reads a piece.
    pub async fn get_piece(&self, tag: &str) -> Piece {
        let request = GetPieceRequest { tag: tag.to_owned() };
        let answer = done("get_piece", self.clients.stock().get_piece(request).await);
        answer.piece.expect("the piece")
    }

    /// Reads a lot.
    pub async fn get_lot(&self, tag: &str) -> Lot {
        let request = GetLotRequest { tag: tag.to_owned() };
        done("get_lot", self.clients.stock().get_lot(request).await).lot.expect("the lot")
    }

    /// Every ledger entry of a tag, page by page.
    pub async fn ledger(&self, tag: &str) -> Vec<LedgerEntry> {
        let mut entries = Vec::new();
        let mut page_token = String::new();
        loop {
            let request = ListLedgerEntriesRequest {
                page_size: 3,
                page_token,
                tag: tag.to_owned(),
                ..ListLedgerEntriesRequest::default()
            };
            let mut stock = self.clients.stock();
            let page = done("list_ledger_entries", stock.list_ledger_entries(request).await);
            assert!(page.entries.len() <= 3, "a page holds no more than was asked for");
            entries.extend(page.entries);
            if page.next_page_token.is_empty() {
                return entries;
            }
            page_token = page.next_page_token;
        }
    }
}

/// An amount in the currency of the tests.
fn money(amount: &str) -> Money {
    Money { amount: amount.to_owned(), currency: "USD".to_owned() }
}
