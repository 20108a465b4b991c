//! Goal: whole tables go in and out through the `tenths` binary: bad rows are told by line, nothing
//! is half saved, what goes in comes out, and a large file needs little memory.
//! Method: CSV texts against the real server; the server's peak memory as the kernel counts it.

use std::fmt::Write as _;
use std::fs;
use std::time::Instant;

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, DatabaseKind, Finished, Shop, done, on_both_databases, run_tenths_with_input,
};

on_both_databases!(
    bad_rows_are_told_by_line,
    a_dry_run_saves_nothing,
    good_rows_are_saved_if_asked,
    what_goes_in_comes_out,
    a_repeated_import_has_one_effect,
    a_hundred_thousand_rows,
);

const LOT_COLUMNS: &str = "tag,item,quantity,location,date_code,unit_cost\n";

/// Lines 3, 5 and 6 are bad, each for a reason of its own.
const LOTS_WITH_BAD_ROWS: &str = "tag,item,quantity,location,date_code,unit_cost\n\
    L-10,BRG-6205,4,A-1,2025-03,4.75 USD\n\
    L-11,BRG-6205,minus,A-1,2025-03,4.75 USD\n\
    L-12,BRG-6205,6,A-1,,\n\
    L-13,NO-SUCH-ITEM,1,A-1,,\n\
    L-14,BRG-6205,1,A-1,2025-13,\n";

fn import(shop: &Shop, kind: &str, text: &str, more: &[&str]) -> Finished {
    let file = shop.database().folder().join("rows.csv");
    fs::write(&file, text).expect("a file to import");
    let file = file.to_str().expect("a temporary path is UTF-8").to_owned();
    let mut arguments = vec!["--person", "mara", "import", kind, file.as_str()];
    arguments.extend(more);
    shop.tenths(&arguments)
}

async fn tags_of_lots(shop: &Shop) -> Vec<String> {
    let request = ListLotsRequest { page_size: 500, ..Default::default() };
    let lots = done("list_lots", shop.clients().stock().list_lots(request).await).lots;
    lots.into_iter().map(|lot| lot.tag).collect()
}

/// Each bad line is named with its column; lines that are good are not.
fn names_the_bad_lines(finished: &Finished) {
    let told = &finished.stderr;
    for (line, column) in [("3", "quantity"), ("5", "item"), ("6", "date_code")] {
        let named = told.lines().any(|text| text.contains(line) && text.contains(column));
        assert!(named, "line {line}, {column}: {told}");
    }
    assert!(
        !told.lines().any(|text| text.contains("line 4") || text.contains("line 2:")),
        "{told}"
    );
}

async fn bad_rows_are_told_by_line(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let _bench = Bench::furnished(shop.clients()).await;
    let finished = import(&shop, "lots", LOTS_WITH_BAD_ROWS, &[]);
    assert_eq!(finished.code, 3, "{finished:?}");
    names_the_bad_lines(&finished);
    assert_eq!(tags_of_lots(&shop).await, ["L-1"], "all or nothing");

    let short = format!("{LOT_COLUMNS}L-9,BRG-6205,1\n");
    let finished = import(&shop, "lots", &short, &[]);
    assert_eq!(finished.code, 3, "a row too short: {finished:?}");
    assert!(finished.stderr.contains("line 2"), "{finished:?}");
    for (name, text) in [
        ("an unknown column", "tag,item,quantity,location,date_code,unit_cost,colour\n"),
        ("a missing column", "tag,item\nL-9,BRG-6205\n"),
        ("a column twice", "tag,item,quantity,location,date_code,unit_cost,tag\n"),
        ("nothing at all", ""),
    ] {
        let finished = import(&shop, "lots", text, &[]);
        assert!(matches!(finished.code, 2 | 3 | 9), "{name}: {finished:?}");
        assert!(!finished.stderr.is_empty(), "{name}: no word of it");
        assert_eq!(finished.stdout, "", "{name}: data of a failed import");
    }
    assert_eq!(tags_of_lots(&shop).await, ["L-1"]);
    shop.verify();
}

async fn a_dry_run_saves_nothing(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let _bench = Bench::furnished(shop.clients()).await;
    let finished = import(&shop, "lots", LOTS_WITH_BAD_ROWS, &["--dry-run"]);
    assert_eq!(finished.code, 3, "{finished:?}");
    names_the_bad_lines(&finished);
    let good = format!("{LOT_COLUMNS}L-10,BRG-6205,4,A-1,2025-03,4.75 USD\n");
    import(&shop, "lots", &good, &["--dry-run"]).succeeded("a dry run of good rows");
    assert_eq!(tags_of_lots(&shop).await, ["L-1"]);
    shop.database().no_transaction_stays_open().await;
    shop.verify();
}

async fn good_rows_are_saved_if_asked(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let _bench = Bench::furnished(shop.clients()).await;
    let finished = import(&shop, "lots", LOTS_WITH_BAD_ROWS, &["--skip-bad"]);
    assert_eq!(finished.code, 3, "bad rows exit with 3 either way: {finished:?}");
    names_the_bad_lines(&finished);
    assert_eq!(tags_of_lots(&shop).await, ["L-1", "L-10", "L-12"]);
    shop.verify();
}

/// Items, lots and pieces: exported, imported into an empty shop, exported again, the same.
async fn what_goes_in_comes_out(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.item(tenths_tests::disc_shaft_item("SH-DISC")).await;
    bench.lot("L-2", "BRG-6205", 7).await;
    bench.stocked_shaft("P-104").await;
    bench.piece("P-105", "SH-DISC").await;

    let other = Shop::start(kind).await;
    let bench = Bench::bare(other.clients());
    bench.location("A-1", LocationKind::Shelf).await;
    bench.location("BENCH", LocationKind::Bench).await;
    bench.gauge(tenths_tests::micrometer("M-07")).await;
    for table in ["items", "lots", "pieces"] {
        let first = shop.tenths(&["export", table]).succeeded("export").stdout;
        assert!(first.lines().count() >= 3, "{table}: {first}");
        import(&other, table, &first, &[]).succeeded(table);
        let second = other.tenths(&["export", table]).succeeded("export").stdout;
        assert_eq!(first, second, "{table}");
    }
    let item = GetItemRequest { code: "SH-DISC".to_owned() };
    let one = done("get_item", shop.clients().catalogue().get_item(item.clone()).await).item;
    let two = done("get_item", other.clients().catalogue().get_item(item).await).item;
    assert_eq!(one.expect("an item").features, two.expect("an item").features);
    assert_eq!(bench.get_piece("P-104").await.state(), PieceState::InStock);
    other.verify();
}

/// The same request id again: the same words, the stock counted once.
async fn a_repeated_import_has_one_effect(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let id = tenths_tests::request_id();
    let text = format!("{LOT_COLUMNS}L-10,BRG-6205,4,A-1,2025-03,4.75 USD\n");
    let arguments = ["--person", "mara", "--request-id", &id, "import", "lots", "-"];
    for _ in 0..2 {
        run_tenths_with_input(shop.server().address(), &arguments, &text).succeeded("import");
    }
    assert_eq!(bench.get_lot("L-10").await.on_hand, 4);
    assert_eq!(bench.ledger("L-10").await.len(), 1);
}

/// The most memory that a server may ever have taken to import 100,000 rows of lots.
const PEAK_KIB_MAX: u64 = 128 * 1024;
/// What the index of stock may take beside it: it follows the import meanwhile, or after it.
const INDEX_KIB_MAX: u64 = 96 * 1024;
const ROWS: usize = 100_000;

async fn a_hundred_thousand_rows(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let _bench = Bench::furnished(shop.clients()).await;
    let before_kib = shop.server().peak_memory_kib();
    let mut text = LOT_COLUMNS.to_owned();
    for number in 0..ROWS {
        let quantity = 1 + number % 40;
        writeln!(text, "N-{number},BRG-6205,{quantity},A-1,2025-03,4.75 USD")
            .expect("a string grows");
    }
    let start = Instant::now();
    let finished = import(&shop, "lots", &text, &[]).succeeded("import");
    let seconds = start.elapsed().as_secs_f64();
    let peak_kib = shop.server().peak_memory_kib();
    eprintln!(
        "{kind:?}: {ROWS} rows in {seconds:.1} s; peak memory {before_kib} KiB before, {peak_kib} KiB \
         after, at most {PEAK_KIB_MAX} KiB allowed"
    );
    assert!(peak_kib < PEAK_KIB_MAX, "the import took {peak_kib} KiB");
    assert!(
        format!("{}{}", finished.stdout, finished.stderr).contains("100000")
            || format!("{}{}", finished.stdout, finished.stderr).contains("100,000"),
        "{finished:?}"
    );

    let exported = shop.tenths(&["export", "lots"]).succeeded("export").stdout;
    assert_eq!(exported.lines().count(), ROWS + 2, "the rows, L-1 and the columns");
    let peak_kib = shop.server().peak_memory_kib();
    eprintln!("{kind:?}: peak memory {peak_kib} KiB with the export and the index of stock");
    assert!(peak_kib < PEAK_KIB_MAX + INDEX_KIB_MAX, "the export took {peak_kib} KiB");
    shop.verify();
}
