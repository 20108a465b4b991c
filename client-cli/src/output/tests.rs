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
        "tag   item    kind             on_hand  held  locations  received\n\
         L-22  BRG-05  rolling_bearing  6        2     A-1, B-2   2026-09-21T14:13:20Z\n"
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
         receive_time  2026-09-21T14:13:20Z\n\
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
        fits: vec![v1::Fit::default()],
        misses: vec![v1::Miss { act: "grind 0.01 mm off".into(), ..Default::default() }],
        ..Default::default()
    };
    let table = printed(Format::Table, |printer| printer.rows(&answer, &["fits", "misses"]));
    assert!(table.starts_with("fits:\n") && table.contains("\n\nmisses:\n"), "{table}");
    assert!(table.ends_with("grind 0.01 mm off\n"), "{table}");
}
