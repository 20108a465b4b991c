//! Imports against a double that takes rows like the real server.

use crate::commands::reach::run_line;
use crate::failure::Failure;
use crate::output::Format;
use crate::shop_double::ShopDouble;
use std::time::Duration;

async fn import(text: &[u8], format: Format) -> (ShopDouble, Result<(), Failure>, String, String) {
    let double = ShopDouble::default();
    let server = double.serve().await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("items.csv");
    std::fs::write(&file, text).unwrap();
    let line = format!("import items {}", file.display());
    let (outcome, out, notes) = run_line(&server, format, &line).await;
    (double, outcome, out, notes)
}

#[tokio::test]
async fn a_long_file_arrives_in_full() {
    let text = "code,kind\n".to_owned() + &"S-1,shaft\n".repeat(20_000);
    let (double, outcome, out, _) = import(text.as_bytes(), Format::Csv).await;
    outcome.unwrap();
    assert_eq!(out, "received,saved,bad,committed\n20000,20000,0,yes\n");
    assert_eq!(double.import_ended(), Some(true));
}

#[tokio::test]
async fn bad_rows_are_told_by_line_and_fail_the_command() {
    let (_, outcome, out, notes) = import(b"code\nok\nbad\nbad\n", Format::Json).await;
    assert!(matches!(outcome, Err(Failure::BadRows { bad: 2 })));
    assert_eq!(notes, "line 3, code: is bad\nline 4, code: is bad\n");
    let value: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(value["summary"]["committed"], false);
    assert_eq!(value["bad_rows"][1]["line"], 4);
}

/// An end in good order means "save it": a file that breaks off must never reach it.
#[tokio::test]
async fn a_broken_file_breaks_the_call_off() {
    let text = "code,kind\n".to_owned() + &"S-1,shaft\n".repeat(50_000);
    let text = [text.as_bytes(), b"\xff,shaft\n"].concat();
    let (double, outcome, out, _) = import(&text, Format::Table).await;
    let Err(Failure::Local(error)) = outcome else { panic!("{outcome:?}") };
    let error = format!("{error:#}");
    assert!(error.contains("line 50002: not UTF-8"), "{error}");
    assert_eq!(out, "");
    assert!(double.rows_received() > 0, "the fault came before the call: nothing is tried here");
    tokio::time::sleep(Duration::from_millis(300)).await;
    assert_ne!(double.import_ended(), Some(true), "the server took half a file for a whole one");
}

#[tokio::test]
async fn a_missing_file_is_told_by_name() {
    let (outcome, ..) = run_line("127.0.0.1:9", Format::Table, "import items no-such.csv").await;
    let lines = outcome.unwrap_err().lines();
    assert!(lines[0].starts_with("error: cannot read no-such.csv: "), "{lines:?}");
}
