//! The three forms of one answer.

use super::*;
use std::sync::{Arc, Mutex};
use tenths_proto::v1;

/// A writer whose text can be read back.
#[derive(Clone, Default)]
pub(crate) struct Sink(Arc<Mutex<Vec<u8>>>);

impl Sink {
    pub(crate) fn text(&self) -> String {
        String::from_utf8(self.0.lock().unwrap().clone()).unwrap()
    }
}

impl Write for Sink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn printed(format: Format, print: impl Fn(&mut Printer) -> Result<(), Failure>) -> String {
    let sink = Sink::default();
    let mut printer = Printer::new(format, None, Box::new(sink.clone()), Box::new(io::sink()));
    print(&mut printer).unwrap();
    sink.text()
}

fn lot() -> v1::GetLotResponse {
    let stock = |code: &str| v1::LotStock { location_code: code.into(), on_hand: 3, held: 1 };
    let lot = v1::Lot {
        tag: "L-22".into(),
        item_code: "BRG-05".into(),
        kind: v1::ItemKind::RollingBearing.into(),
        on_hand: 6,
        held: 2,
        stock: vec![stock("A-1"), stock("B-2")],
        receive_time: Some(prost_types::Timestamp { seconds: 1_790_000_000, nanos: 5 }),
        ..Default::default()
    };
    v1::GetLotResponse { lot: Some(lot) }
}

#[test]
fn a_row_as_a_table_and_as_csv() {
    let table = printed(Format::Table, |printer| printer.rows(&lot(), &["lot"]));
    assert_eq!(
        table,
        "tag   item    on_hand  held  locations  received\n\
         L-22  BRG-05  6        2     A-1, B-2   2026-09-21 14:13\n"
    );
    let csv = printed(Format::Csv, |printer| printer.rows(&lot(), &["lot"]));
    assert_eq!(
        csv,
        "tag,item,kind,on_hand,held,locations,date_code,unit_cost,received\n\
         L-22,BRG-05,rolling_bearing,6,2,\"A-1, B-2\",,,2026-09-21T14:13:20Z\n"
    );
}

#[test]
fn a_record_shows_its_fields_and_its_lists() {
    let record = printed(Format::Table, |printer| printer.record(&lot(), "lot"));
    assert_eq!(
        record,
        "tag           L-22\n\
         item_code     BRG-05\n\
         kind          rolling_bearing\n\
         on_hand       6\n\
         held          2\n\
         receive_time  2026-09-21 14:13\n\
         \n\
         location  on_hand  held\n\
         A-1       3        1\n\
         B-2       3        1\n"
    );
}

#[test]
fn json_is_the_whole_answer() {
    let json = printed(Format::Json, |printer| printer.record(&lot(), "lot"));
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["lot"]["kind"], "rolling_bearing");
    assert_eq!(value["lot"]["stock"][1]["location_code"], "B-2");
    assert_eq!(value["lot"]["unit_cost"], serde_json::Value::Null);
}

#[test]
fn nothing_is_said_to_be_nothing_beside_the_data() {
    let (out, notes) = (Sink::default(), Sink::default());
    let mut printer =
        Printer::new(Format::Table, None, Box::new(out.clone()), Box::new(notes.clone()));
    printer.rows(&v1::ListLotsResponse::default(), &["lots"]).unwrap();
    assert_eq!((out.text().as_str(), notes.text().as_str()), ("", "nothing found\n"));
}

#[test]
fn two_parts_are_two_headed_tables() {
    let answer = v1::FindFitResponse {
        fits: vec![v1::Fit { verdict: verdict("proven in"), ..Default::default() }],
        misses: vec![v1::Miss {
            side: v1::MissSide::TooTight.into(),
            act: "grind 0.01 mm off".into(),
            ..Default::default()
        }],
        ..Default::default()
    };
    let table = printed(Format::Table, |printer| printer.rows(&answer, &["fits", "misses"]));
    assert!(table.starts_with("fits:\n") && table.contains("\n\nmisses:\n"), "{table}");
    assert!(table.ends_with("act: grind 0.01 mm off\n"), "{table}");
}

fn verdict(text: &str) -> Option<v1::Verdict> {
    Some(v1::Verdict { text: text.into(), ..Default::default() })
}

fn reading(id: i64, station: &str, degrees: i32, nm: i64) -> v1::Reading {
    let mm = |nm: i64| {
        let value = format!("{}.{:03}", nm / 1_000_000, nm % 1_000_000 / 1_000);
        Some(v1::Length { value, unit: v1::LengthUnit::Mm.into(), nm })
    };
    v1::Reading {
        id,
        piece_tag: "P-213".into(),
        feature: "seal-land".into(),
        station: station.into(),
        orientation_deg: degrees,
        value: mm(nm),
        value_at_20c: mm(nm),
        gauge_tag: "M-01M".into(),
        person: "iven".into(),
        time: Some(prost_types::Timestamp { seconds: 1_795_596_596, nanos: 0 }),
        ..Default::default()
    }
}

/// What is the same for every reading takes no column; what was asked stands below.
#[test]
fn readings_show_what_is_out_of_the_ordinary() {
    let asked = v1::Reading {
        trap:
            "reading 1 (B0 = 21.78 mm) is 0.2000 mm from its fellows (median 21.9800 mm): digits \
               swapped?"
                .into(),
        override_reason: "lip groove at B, read twice".into(),
        ..reading(601, "B", 0, 21_780_000)
    };
    let void = || {
        let reason = "wrong shaft".into();
        Some(v1::ReadingVoid { reason, ..Default::default() })
    };
    let readings = vec![
        asked,
        v1::Reading { void: void(), ..reading(602, "A", 0, 21_980_000) },
        v1::Reading { void: void(), ..reading(603, "A", 90, 21_980_000) },
    ];
    let answer = v1::ListReadingsResponse { readings: readings.clone(), ..Default::default() };
    assert_eq!(
        printed(Format::Table, |printer| printer.rows(&answer, &["readings"])),
        "\
id   piece  feature    at   value      gauge  person  time
601  P-213  seal-land  B0   21.780 mm  M-01M  iven    2026-11-25 08:49
602  P-213  seal-land  A0   21.980 mm  M-01M  iven    2026-11-25 08:49
603  P-213  seal-land  A90  21.980 mm  M-01M  iven    2026-11-25 08:49
601 asked: reading 1 (B0 = 21.78 mm) is 0.2000 mm from its fellows (median 21.9800 mm): digits
  swapped?
601 kept_because: lip groove at B, read twice
602, 603 voided_because: wrong shaft
"
    );

    let late = v1::Reading {
        gauge_out_of_calibration: true,
        round: 1,
        value_at_20c: reading(0, "A", 0, 21_979_000).value,
        ..readings[2].clone()
    };
    let answer = v1::RecordReadingsResponse {
        readings: vec![reading(602, "A", 0, 21_980_000), v1::Reading { void: None, ..late }],
        ..Default::default()
    };
    let table = printed(Format::Table, |printer| printer.rows(&answer, &["readings"]));
    assert_eq!(
        table,
        "\
id   piece  feature    at   value      at_20c     gauge  gauge_overdue  person  time              round
602  P-213  seal-land  A0   21.980 mm             M-01M                 iven    2026-11-25 08:49
603  P-213  seal-land  A90  21.980 mm  21.979 mm  M-01M  yes            iven    2026-11-25 08:49  1
"
    );
}

#[test]
fn what_a_list_shortens_is_whole_in_show_and_in_csv() {
    let reason = "0.003 in worn at C, limit 0.002; bushings to suit are in stock";
    let job = v1::Job {
        tag: "J-4".into(),
        piece_tag: "P-301".into(),
        feature: "disc".into(),
        method: v1::Method::Regrind.into(),
        due_time: Some(prost_types::Timestamp { seconds: 1_795_910_399, nanos: 0 }),
        state: v1::JobState::Claimed.into(),
        worker: "iven".into(),
        lease_until_time: Some(prost_types::Timestamp { seconds: 1_795_600_000, nanos: 0 }),
        reason: reason.into(),
        ..Default::default()
    };
    let list = v1::ListJobsResponse { jobs: vec![job.clone()], ..Default::default() };
    assert_eq!(
        printed(Format::Table, |printer| printer.rows(&list, &["jobs"])),
        "\
tag  piece  feature  method   due               state    worker  reason
J-4  P-301  disc     regrind  2026-11-28 23:59  claimed  iven    0.003 in worn at C, limit 0.002; b…
J-4 lease_until: 2026-11-25 09:46
"
    );
    let csv = printed(Format::Csv, |printer| printer.rows(&list, &["jobs"]));
    assert!(csv.contains("2026-11-28T23:59:59Z,claimed,iven,2026-11-25T09:46:40Z"), "{csv}");
    assert!(csv.contains(reason), "{csv}");
    let job = v1::GetJobResponse { job: Some(job) };
    let show = printed(Format::Table, |printer| printer.record(&job, "job"));
    assert!(show.contains(&format!("reason            {reason}\n")), "{show}");
}

/// A narrow terminal breaks sentences, and still nothing is lost.
#[test]
fn notes_and_records_are_wrapped() {
    let (out, notes) = (Sink::default(), Sink::default());
    let printer = Printer::new(Format::Table, None, Box::new(out.clone()), Box::new(notes.clone()));
    let mut printer = Printer { columns: 40, ..printer };
    let sentence = "measure the actual pair before fitting, press only with guards";
    printer.notes("caution", &[sentence.to_owned()]).unwrap();
    assert_eq!(
        notes.text(),
        "caution: measure the actual pair before\n  fitting, press only with guards\n"
    );
    let item = v1::Item { code: "SH-1".into(), description: sentence.into(), ..Default::default() };
    printer.record(&v1::GetItemResponse { item: Some(item) }, "item").unwrap();
    assert_eq!(
        out.text(),
        "\
code         SH-1
description  measure the actual pair
             before fitting, press only
             with guards
"
    );
}
