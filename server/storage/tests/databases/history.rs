//! Goal: history is only ever added to.

use crate::raw::Raw;
use crate::support::{Kind, TestDb, on_both};
use crate::used_shop;

on_both!(history_refuses_to_be_changed_or_removed);

/// The tables whose rows are history, as the design names them.
const HISTORY: &[&str] = &[
    "ledger",
    "readings",
    "reading_voids",
    "assessments",
    "assessment_findings",
    "assessment_readings",
    "decisions",
    "requests",
    "policies",
    "repair_decisions",
];

/// Method: in a used shop, try by raw SQL to update and to delete rows of every table of history,
/// one row and all rows, and on PostgreSQL to truncate it; each must be refused by name and leave
/// every row as it was.
async fn history_refuses_to_be_changed_or_removed(db: TestDb) {
    used_shop::fill(&db).await;
    let raw = Raw::connect(&db).await;
    for table in HISTORY {
        let count = format!("SELECT COUNT(*) FROM {table}");
        let before = raw.number(&count).await;
        assert!(before > 0, "{table} has no rows to try");
        let column = if *table == "requests" { "method" } else { "id" };
        let mut acts = vec![
            format!("UPDATE {table} SET {column} = {column}"),
            format!("DELETE FROM {table}"),
            format!("DELETE FROM {table} WHERE {column} = (SELECT MIN({column}) FROM {table})"),
        ];
        if db.kind() == Kind::Postgres {
            acts.push(format!("TRUNCATE {table} CASCADE"));
        }
        for act in acts {
            let refused = raw.run_whole(&act).await.expect_err(&act).to_string();
            let expected = format!("rows of {table} are never changed or removed");
            // Truncating one table may meet another that refuses first.
            let named = refused.contains(&expected)
                || (act.starts_with("TRUNCATE") && refused.contains("are never changed"));
            assert!(named, "{act}: {refused}");
        }
        assert_eq!(raw.number(&count).await, before, "{table}");
    }
    raw.close().await;
}
