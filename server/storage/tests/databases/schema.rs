//! Goal: the schema that the migrations leave is the one that was reviewed, on both databases.
//!
//! The whole live schema is compared with a text in `golden/`; `TENTHS_BLESS=1` writes it anew.

use crate::raw::Raw;
use crate::support::{Kind, TestDb, on_both};
use std::path::PathBuf;

on_both!(the_schema_is_the_golden_one, no_column_loses_digits_or_order);

/// Every object of the schema as the database itself describes it, in a fixed order.
pub(crate) async fn described(raw: &Raw, kind: Kind) -> String {
    let queries: &[(&str, &str)] = match kind {
        Kind::Sqlite => &[("sqlite_master", SQLITE)],
        Kind::Postgres => POSTGRES,
    };
    let mut text = String::new();
    for (title, query) in queries {
        text.push_str(&format!("# {title}\n"));
        for line in raw.column(query).await {
            text.push_str(&line);
            text.push('\n');
        }
        text.push('\n');
    }
    text
}

const SQLITE: &str = "SELECT type || ' ' || name || ': ' || sql FROM sqlite_master
    WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' ORDER BY type, name";

const POSTGRES: &[(&str, &str)] = &[
    (
        "columns",
        "SELECT table_name || '.' || column_name || ' ' || data_type
             || CASE is_nullable WHEN 'NO' THEN ' NOT NULL' ELSE '' END
             || COALESCE(' COLLATE ' || collation_name, '')
             || COALESCE(' DEFAULT ' || column_default, '')
             || COALESCE(' IDENTITY ' || identity_generation, '')
         FROM information_schema.columns WHERE table_schema = 'public'
         ORDER BY table_name COLLATE \"C\", ordinal_position",
    ),
    (
        "indexes",
        "SELECT indexdef FROM pg_indexes WHERE schemaname = 'public'
         ORDER BY tablename::text COLLATE \"C\", indexname::text COLLATE \"C\"",
    ),
    (
        "constraints",
        "SELECT conrelid::regclass::text || ' ' || conname || ' ' || pg_get_constraintdef(oid)
         FROM pg_constraint WHERE connamespace = 'public'::regnamespace
         ORDER BY conrelid::regclass::text COLLATE \"C\", conname::text COLLATE \"C\"",
    ),
    (
        "triggers",
        "SELECT pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
         ORDER BY tgrelid::regclass::text COLLATE \"C\", tgname::text COLLATE \"C\"",
    ),
    (
        "functions",
        "SELECT pg_get_functiondef(oid) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
         ORDER BY proname::text COLLATE \"C\"",
    ),
];

/// Method: migrate an empty database and compare its description with the golden text.
async fn the_schema_is_the_golden_one(db: TestDb) {
    let store = db.store().await;
    let raw = Raw::connect(&db).await;
    let found = described(&raw, db.kind()).await;
    let name = match db.kind() {
        Kind::Sqlite => "schema_sqlite.txt",
        Kind::Postgres => "schema_postgres.txt",
    };
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "tests", "golden", name].iter().collect();
    if std::env::var_os("TENTHS_BLESS").is_some() {
        std::fs::write(&path, &found).unwrap();
    }
    let golden = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        found == golden,
        "the schema is not that of golden/{name} (TENTHS_BLESS=1 writes it anew):\n{}",
        first_difference(&golden, &found)
    );
    raw.close().await;
    store.close().await;
}

fn first_difference(golden: &str, found: &str) -> String {
    let pairs = golden.lines().map(Some).chain(std::iter::repeat(None));
    let pairs = pairs.zip(found.lines().map(Some).chain(std::iter::repeat(None)));
    pairs
        .enumerate()
        .take(golden.lines().count().max(found.lines().count()))
        .find(|(_, (golden, found))| golden != found)
        .map_or_else(String::new, |(line, (golden, found))| {
            format!("line {}: golden {golden:?}, found {found:?}", line + 1)
        })
}

/// Every column as `table.column type`, the migrations' own table left out.
async fn columns(raw: &Raw, kind: Kind) -> Vec<String> {
    let query = match kind {
        Kind::Sqlite => {
            "SELECT m.name || '.' || c.name || ' ' || lower(c.type)
             FROM sqlite_master m JOIN pragma_table_info(m.name) c
             WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name <> 'seaql_migrations'
             ORDER BY 1"
        }
        Kind::Postgres => {
            "SELECT table_name || '.' || column_name || ' ' || data_type
             FROM information_schema.columns
             WHERE table_schema = 'public' AND table_name <> 'seaql_migrations'
             ORDER BY 1"
        }
    };
    raw.column(query).await
}

/// Method: every column's type is one of the few that keep every digit and compare alike on both
/// databases; lengths, times and money are among the whole numbers by their names.
async fn no_column_loses_digits_or_order(db: TestDb) {
    let store = db.store().await;
    let raw = Raw::connect(&db).await;
    let columns = columns(&raw, db.kind()).await;
    assert!(columns.len() > 150, "only {} columns were found", columns.len());
    let allowed: &[&str] = match db.kind() {
        Kind::Sqlite => &["integer", "bigint", "text", "blob", "boolean"],
        Kind::Postgres => &["bigint", "text", "bytea", "boolean"],
    };
    for column in &columns {
        let (name, kind) = column.split_once(' ').unwrap();
        assert!(allowed.contains(&kind), "{column}: allowed are {allowed:?}");
        let exact = ["_nm", "_at", "_minor", "_delta", ".quantity", ".on_hand", ".held"];
        if exact.iter().any(|ending| name.ends_with(ending)) {
            assert_eq!(kind, "bigint", "{column}");
        }
    }
    raw.close().await;
    store.close().await;
}

/// Goal: no table or column is on one database only. Method: compare the lists of names.
#[tokio::test]
async fn both_databases_have_the_same_tables_and_columns() {
    let mut names = Vec::new();
    for kind in [Kind::Sqlite, Kind::Postgres] {
        let Some(db) = TestDb::create(kind) else { return };
        let store = db.store().await;
        let raw = Raw::connect(&db).await;
        let of_kind: Vec<String> = columns(&raw, kind).await;
        let mut of_kind: Vec<String> =
            of_kind.iter().map(|column| column.split_once(' ').unwrap().0.to_owned()).collect();
        of_kind.sort();
        names.push(of_kind);
        raw.close().await;
        store.close().await;
    }
    assert_eq!(names[0], names[1]);
}
