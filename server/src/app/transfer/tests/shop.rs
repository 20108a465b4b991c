//! A shop to import into.

use crate::app::act::Act;
use crate::app::measuring::{RegisterGauge, register_gauge};
use crate::app::stock::{CreateLocation, create_location};
use crate::app::transfer::{BadRow, Finished, Import, ImportOrder, Row, Summary, Table};
use crate::app::{App, Clock, Error, Request};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use tempfile::TempDir;
use tenths_domain::measure::SettingMethod;
use tenths_domain::state::LocationKind;
use tenths_domain::units::{Entry, Unit};
use tenths_storage::{Store, Work, verify};

pub(super) const NOW: i64 = 1_790_000_000_000_000;
pub(super) const LOT_COLUMNS: &str = "tag|item|quantity|location|date_code|unit_cost";
pub(super) const ITEM_COLUMNS: &str = "code|kind|description|designation|material|feature|\
    feature_kind|nominal|tolerance|wear_limit|recondition_limit|out_of_round_limit|taper_limit|\
    reference_station|limit_source|set_of|no_substitute";
pub(super) const PIECE_COLUMNS: &str =
    "tag|item|condition|location|material|hardness|built_up|state|gauge|dimensions|note";

/// Items that most tests know.
pub(super) const ITEMS: [&str; 4] = [
    "BRG-6205|rolling_bearing|deep groove ball bearing|6205|steel||||||||||||",
    "SH-30|shaft|pump shaft||steel|seat-a|rolling_seat|30 mm|k5|0.01 mm|29.5 mm||0.005 mm||drawing 7||",
    "SH-30|shaft|pump shaft||steel|journal|journal|1-3/16 in|1.186..1.187 in|0.002 in||||REF|common practice||",
    "PLATE|other|name plate|||||||||||||2|yes",
];

/// How an import ended, and every problem that was told.
#[derive(Debug)]
pub(super) struct Ended {
    pub(super) summary: Summary,
    pub(super) bad: Vec<BadRow>,
    /// Whether it was answered from an earlier one.
    pub(super) before: bool,
}

impl Ended {
    /// Line and column of every problem.
    pub(super) fn places(&self) -> Vec<(i64, &str)> {
        self.bad.iter().map(|bad| (bad.line, bad.column.as_str())).collect()
    }

    /// Received, saved, bad.
    pub(super) fn counts(&self) -> (i64, i64, i64) {
        assert_eq!(self.summary.committed, self.summary.saved > 0, "{self:?}");
        (self.summary.received, self.summary.saved, self.summary.bad)
    }
}

pub(super) struct Shop {
    pub(super) app: App,
    pub(super) table: Table,
    pub(super) dry_run: bool,
    pub(super) skip_bad_rows: bool,
    pub(super) id: u128,
    pub(super) acts: AtomicI64,
    pub(super) _folder: TempDir,
}

impl Shop {
    /// A shop with two places and a gauge.
    pub(super) async fn open() -> Shop {
        let folder = tempfile::tempdir().unwrap();
        let url = format!("sqlite://{}", folder.path().join("shop.db").display());
        let store = Store::open(&url).await.unwrap();
        store.migrate().await.unwrap();
        let app = App::new(store, Clock::from_fn(|| NOW));
        let shop = Shop {
            app,
            table: Table::Lots,
            dry_run: false,
            skip_bad_rows: false,
            id: 0,
            acts: AtomicI64::new(0),
            _folder: folder,
        };
        shop.act(|act| Box::pin(furnish(act))).await;
        shop
    }

    /// The same with the items that most tests know.
    pub(super) async fn stocked() -> Shop {
        let mut shop = Shop::open().await;
        let ended = shop.import(Table::Items, ITEM_COLUMNS, &ITEMS).await;
        assert_eq!(ended.counts(), (4, 4, 0), "{ended:?}");
        Shop { table: Table::Lots, ..shop }
    }

    pub(super) async fn act<F>(&self, work: F)
    where
        F: for<'a> Fn(&'a Act<'a>) -> Work<'a, Vec<u8>, Error> + Send + Sync + 'static,
    {
        let request = Request {
            request_id: format!("act {}", self.acts.fetch_add(1, Ordering::Relaxed)),
            person: "mara".into(),
            method: "Test",
            fingerprint: [0; 32],
        };
        self.app.once(request, work).await.unwrap();
    }

    /// Imports under a new id.
    pub(super) async fn import(&mut self, table: Table, columns: &str, lines: &[&str]) -> Ended {
        self.id += 1;
        self.import_again(table, columns, lines).await.unwrap()
    }

    /// Imports under the id of the import before.
    pub(super) async fn import_again(
        &mut self,
        table: Table,
        columns: &str,
        lines: &[&str],
    ) -> Result<Ended, Error> {
        self.table = table;
        let rows: Vec<Row> = lines.iter().zip(2..).map(|(text, line)| row(line, text)).collect();
        let mut import = self.begin(columns).await?;
        let mut bad = Vec::new();
        for batch in rows.chunks(1_000) {
            bad.extend(import.take(batch.to_vec()).await?);
        }
        match import.finish(Arc::new(AtomicI64::new(0))).await? {
            Finished::Before(answer) => {
                let summary = decoded(&answer);
                Ok(Ended { summary, bad, before: true })
            }
            Finished::Now { summary, bad_rows } => {
                bad.extend(bad_rows);
                Ok(Ended { summary, bad, before: false })
            }
        }
    }

    pub(super) async fn begin(&self, columns: &str) -> Result<Import, Error> {
        let order = ImportOrder {
            request_id: format!("request {}", self.id),
            person: "mara".into(),
            method: "ImportRows",
            header: format!("{columns} {} {}", self.dry_run, self.skip_bad_rows).into_bytes(),
            table: self.table,
            columns: columns.split('|').map(str::to_owned).collect(),
            dry_run: self.dry_run,
            skip_bad_rows: self.skip_bad_rows,
            encode: encoded,
        };
        Import::begin(self.app.clone(), order).await
    }

    /// Every row of a table.
    pub(super) async fn export(&self, table: Table) -> Vec<String> {
        let (mut lines, mut after) = (Vec::new(), Some(0));
        while let Some(number) = after {
            let page = self.app.export(table, number).await.unwrap();
            lines.extend(page.rows.iter().map(|row| row.join("|")));
            after = page.next;
        }
        lines
    }

    /// Fails unless every invariant of the database holds.
    pub(super) async fn verify(&self) {
        let report = verify::run(self.app.store(), NOW).await.unwrap();
        assert!(report.is_sound(), "{report:#?}");
    }
}

async fn furnish(act: &Act<'_>) -> Result<Vec<u8>, Error> {
    for code in ["A-1", "B-2"] {
        let new = CreateLocation {
            code: code.into(),
            kind: LocationKind::Shelf,
            description: String::new(),
        };
        create_location(act, &new).await?;
    }
    for tag in ["M-07", "M-08"] {
        let entry = |text| Entry::parse(text, Unit::Inch).unwrap();
        let gauge = RegisterGauge {
            side: None,
            size_min: None,
            size_max: None,
            material: None,
            tag: tag.into(),
            description: "outside micrometer".into(),
            resolution: entry("0.0001"),
            uncertainty: entry("0.0002"),
            setting_method: SettingMethod::MicrometerStandard,
            calibration_due_at: if tag == "M-07" { NOW + 1 } else { NOW - 1 },
        };
        register_gauge(act, &gauge).await?;
    }
    Ok(Vec::new())
}

pub(super) fn row(line: i64, text: &str) -> Row {
    Row { line, values: text.split('|').map(str::to_owned).collect() }
}

fn encoded(summary: &Summary) -> Vec<u8> {
    let Summary { received, saved, bad, .. } = summary;
    format!("{received} {saved} {bad}").into_bytes()
}

fn decoded(answer: &[u8]) -> Summary {
    let text = std::str::from_utf8(answer).unwrap();
    let mut numbers = text.split(' ').map(|number| number.parse().unwrap());
    let mut next = || numbers.next().unwrap();
    Summary { received: next(), saved: next(), bad: next(), committed: true }
}
