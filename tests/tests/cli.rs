//! Goal: `tenths` can be relied on by people and scripts: data on stdout and nothing else there, the
//! documented exit codes, and words that help.
//! Method: the real binary against a real server, one SQLite shop a test.

use std::net::{SocketAddr, TcpListener};

use tenths_tests::{Bench, DatabaseKind, Finished, Shop, hold_piece, run_tenths, run_tenthsd};

async fn shop() -> (Shop, Bench) {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    let bench = Bench::furnished(shop.clients()).await;
    (shop, bench)
}

/// An address that nobody listens on: bound a moment ago, closed again.
fn nobody() -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    listener.local_addr().expect("its address")
}

/// A refusal: nothing on stdout, words on stderr, the code.
#[track_caller]
fn refused(finished: Finished, code: i32, words: &[&str]) {
    assert_eq!(finished.code, code, "{finished:?}");
    assert_eq!(finished.stdout, "", "no data on a refusal");
    for word in words {
        assert!(finished.stderr.contains(word), "no {word:?} in {}", finished.stderr);
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn each_way_to_fail_has_its_code() {
    let (shop, bench) = shop().await;
    bench.stocked_shaft("P-104").await;
    bench.rebuild("R-1").await;
    bench.rebuild("R-2").await;
    bench.reserve("R-1", vec![hold_piece("P-104")]).await;
    let run = |arguments: &[&str]| shop.tenths(&[&["--person", "oto"], arguments].concat());

    refused(run(&["no-such-command"]), 2, &["no-such-command"]);
    refused(run(&["limits", "--size", "25mm"]), 2, &["--class"]);
    refused(run(&["limits", "--size", "25mm", "--class", "q99"]), 3, &["q99"]);
    refused(run(&["piece", "show", "P-404"]), 4, &["P-404"]);
    refused(run(&["location", "add", "A-1", "--kind", "shelf"]), 5, &["A-1"]);
    refused(run(&["hold", "R-2", "--piece", "P-104"]), 6, &["P-104", "mara", "R-1"]);
    let old = bench.get_piece("P-104").await.etag;
    run(&["piece", "update", "P-104", "--note", "first"]).succeeded("update");
    let late = ["piece", "update", "P-104", "--note", "second", "--etag", &old];
    refused(run(&late), 7, &["read it again"]);
    refused(shop.tenths(&["piece", "scrap", "P-104", "--reason", "bent"]), 2, &["--person"]);
}

#[test]
fn a_server_that_is_not_there_is_told_with_what_to_start() {
    let address = nobody();
    let finished = run_tenths(address, &["piece", "list"]);
    refused(finished, 8, &["tenthsd serve", &address.to_string()]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_slip_at_entry_is_a_question_with_its_answer() {
    let (shop, bench) = shop().await;
    bench.piece("P-104", "SH-25").await;
    let line = "A0 0.9845 A90 0.9845 B0 0.9485 B90 0.9844";
    let read = ["--person", "oto", "read", "P-104", "--feature", "seat-a", "--gauge", "M-07"];
    let asked = shop.tenths(&[&read[..], &["--in", line]].concat());
    refused(asked, 6, &["question:", "0.9485", "--sure"]);
    shop.tenths(&[&read[..], &["--in", line, "--sure", "a nick"]].concat()).succeeded("read");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn output_is_a_table_json_or_csv() {
    let (shop, bench) = shop().await;
    bench.lot("L-2", "BRG-6205", 7).await;
    let table = shop.tenths(&["lot", "list"]).succeeded("table").stdout;
    assert!(table.contains("L-1") && table.contains("L-2"), "{table}");

    let json = shop.tenths(&["--output", "json", "lot", "list"]).succeeded("json").stdout;
    let json: serde_json::Value = serde_json::from_str(&json).expect("one JSON document");
    let lots = json["lots"].as_array().expect("the answer's lots");
    let tags: Vec<_> = lots.iter().map(|lot| lot["tag"].as_str()).collect();
    assert_eq!(tags, [Some("L-1"), Some("L-2")]);

    let csv = shop.tenths(&["--output", "csv", "lot", "list"]).succeeded("csv").stdout;
    let mut lines = csv.lines();
    let columns = lines.next().expect("a line of columns").split(',').count();
    let rows: Vec<&str> = lines.collect();
    assert_eq!(rows.len(), 2, "{csv}");
    assert!(columns > 2 && rows[1].contains("L-2"), "{csv}");
    for text in [&table, &csv] {
        assert!(!text.contains('\u{1b}'), "no colours where NO_COLOR is set: {text:?}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn lists_go_on_where_they_stopped() {
    let (shop, bench) = shop().await;
    for number in 0..5 {
        bench.rebuild(&format!("R-{number}")).await;
    }
    let list = |more: &[&str]| {
        let arguments =
            [&["--output", "json", "rebuild", "list", "--page-size", "2"], more].concat();
        let text = shop.tenths(&arguments).succeeded("list").stdout;
        serde_json::from_str::<serde_json::Value>(&text).expect("one JSON document")
    };
    let first = list(&[]);
    let token = ["next_page_token", "nextPageToken"].iter().find_map(|name| first[name].as_str());
    let second = list(&["--page-token", token.expect("a token for the next page")]);
    assert_eq!(
        (&first["rebuilds"][1]["tag"], &second["rebuilds"][0]["tag"]),
        (&"R-1".into(), &"R-2".into())
    );
    let all = list(&["--all"]);
    assert_eq!(all["rebuilds"].as_array().map(Vec::len), Some(5));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_assessment_shows_where_the_shaft_is_worn() {
    let (shop, bench) = shop().await;
    bench.item(tenths_tests::disc_shaft_item("SH-DISC")).await;
    bench.piece("P-104", "SH-DISC").await;
    let line = "R0 0.938 A0 0.938 B0 0.937 C0 0.935";
    let person = ["--person", "iven"];
    let read = ["read", "P-104", "--feature", "journal", "--gauge", "M-07", "--in", line];
    shop.tenths(&[&person[..], &read].concat()).succeeded("read");
    let shown =
        shop.tenths(&[&person[..], &["assess", "P-104"]].concat()).succeeded("assess").stdout;
    assert!(shown.contains("0.003"), "the wear in inches, as it was read: {shown}");
    for station in ["A", "B", "C", "R"] {
        let drawn = shown.lines().any(|line| line.trim_start().starts_with(station));
        assert!(drawn, "station {station} is in the profile: {shown}");
    }
    let metric = [&person[..], &["--unit", "mm", "assess", "P-104"]].concat();
    let metric = shop.tenths(&metric).succeeded("assess").stdout;
    assert!(metric.contains("0.0762"), "the same wear in millimetres: {metric}");
}

#[test]
fn help_has_an_example_for_every_command() {
    let mut pending = vec![Vec::<String>::new()];
    let mut leaves = 0;
    while let Some(command) = pending.pop() {
        let mut arguments: Vec<&str> = command.iter().map(String::as_str).collect();
        arguments.push("--help");
        let help = run_tenths(nobody(), &arguments).succeeded("--help").stdout;
        let listed = help.split_once("Commands:\n").map(|(_, rest)| rest);
        let names = listed.into_iter().flat_map(str::lines).take_while(|line| !line.is_empty());
        // Names are two spaces in; a description that wraps is further in.
        let names = names.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
        let names: Vec<&str> = names.filter_map(|line| line.split_whitespace().next()).collect();
        if names.is_empty() {
            leaves += 1;
            assert!(help.contains("Example:\n  tenths "), "{command:?} has no example");
        }
        let commands = names.into_iter().filter(|name| *name != "help");
        pending.extend(commands.map(|name| [command.clone(), vec![name.to_owned()]].concat()));
    }
    assert!(leaves > 40, "{leaves} commands found");
}

#[test]
fn tenthsd_says_what_is_wrong_with_its_arguments() {
    for (arguments, word) in [
        (&["serve", "--database", "mysql://shop"][..], "mysql"),
        (&["serve", "--database", "sqlite:///no/such/folder/shop.db"][..], "shop.db"),
        (&["verify", "--database", "sqlite:///no/such/folder/shop.db"][..], "shop.db"),
        (&["fly"][..], "fly"),
    ] {
        let finished = run_tenthsd(arguments);
        assert!(finished.code > 0, "{arguments:?}: {finished:?}");
        assert!(finished.stderr.contains(word), "{arguments:?}: {finished:?}");
    }
}
