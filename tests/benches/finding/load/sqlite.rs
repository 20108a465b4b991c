//! Bulk into a SQLite file that no server has open.

use std::time::Duration;

use rusqlite::types::{ToSqlOutput, Value, ValueRef};
use rusqlite::{Connection, ToSql, params_from_iter};

use super::{CONTESTANT, FILL_CONTESTANT, IDS, INDEX_CONTESTANT, Load, facts, limits};
use crate::rows::{Cell, Facts, REQUEST, TABLES, Table};
use crate::stock::{Ids, Stock};

/// What is taken away for the load, as the file itself words it.
struct Aside {
    drops: Vec<String>,
    restores: Vec<String>,
}

impl ToSql for Cell {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self {
            Cell::Int(number) => ToSqlOutput::Owned(Value::Integer(*number)),
            Cell::Text(text) => ToSqlOutput::Borrowed(ValueRef::Text(text.as_bytes())),
            Cell::False => ToSqlOutput::Owned(Value::Integer(0)),
            Cell::Null => ToSqlOutput::Owned(Value::Null),
        })
    }
}

/// Fills the database of this URL.
///
/// # Errors
/// A statement that SQLite refuses.
pub(crate) fn load(url: &str, load: Load<'_>) -> rusqlite::Result<()> {
    let path = url.trim_start_matches("sqlite://");
    let mut connection = Connection::open(path)?;
    connection.busy_timeout(Duration::from_secs(5))?;
    // The file is thrown away if anything fails here: nothing needs to survive a crash.
    connection.execute_batch(
        "PRAGMA foreign_keys = OFF; PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;
         PRAGMA cache_size = -1000000; PRAGMA temp_store = MEMORY;",
    )?;
    let aside = set_aside(&connection)?;
    connection.execute_batch(&aside.drops.join(";"))?;
    let ids = ids(&connection)?;
    let transaction = connection.transaction()?;
    transaction
        .execute("INSERT INTO requests VALUES (?1, 'load', 'mara', X'00', X'00', 0)", [REQUEST])?;
    for table in TABLES {
        fill(&transaction, table, &facts(), Stock::new(load.sizes, &ids, load.rows, load.seed))?;
    }
    transaction.commit()?;
    connection.execute_batch(&aside.restores.join(";"))?;
    contestant(&connection, load, &ids)?;
    connection.execute_batch("ANALYZE; PRAGMA journal_mode = WAL;")
}

fn set_aside(connection: &Connection) -> rusqlite::Result<Aside> {
    let tables: Vec<String> = TABLES.iter().map(|table| format!("'{}'", table.name)).collect();
    // What has no words of its own belongs to a UNIQUE and cannot be dropped.
    let sql = format!(
        "SELECT type, name, sql FROM sqlite_master WHERE type IN ('index', 'trigger')
         AND sql IS NOT NULL AND tbl_name IN ({})",
        tables.join(",")
    );
    let mut statement = connection.prepare(&sql)?;
    let mut aside = Aside { drops: Vec::new(), restores: Vec::new() };
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (kind, name): (String, String) = (row.get(0)?, row.get(1)?);
        aside.drops.push(format!("DROP {kind} {name}"));
        aside.restores.push(row.get(2)?);
    }
    Ok(aside)
}

fn ids(connection: &Connection) -> rusqlite::Result<Ids> {
    let mut statement = connection.prepare(IDS)?;
    let rows = statement
        .query_map([], |row| Ok(((row.get(0)?, row.get(1)?), (row.get(2)?, row.get(3)?))))?;
    rows.collect()
}

fn fill(
    connection: &Connection,
    table: Table,
    facts: &Facts,
    stock: Stock<'_>,
) -> rusqlite::Result<()> {
    let width = table.columns.len();
    let marks = vec!["?"; width].join(",");
    let sql = format!("INSERT INTO {} ({}) VALUES ({marks})", table.name, table.columns.join(","));
    let mut statement = connection.prepare(&sql)?;
    let mut cells = Vec::new();
    for row in stock {
        (table.fill)(&row, facts, &mut cells);
        for one in cells.chunks_exact(width) {
            statement.execute(params_from_iter(one))?;
        }
        cells.clear();
    }
    Ok(())
}

fn contestant(connection: &Connection, load: Load<'_>, ids: &Ids) -> rusqlite::Result<()> {
    let tables = CONTESTANT.replace("{id}", "INTEGER PRIMARY KEY").replace("{code}", "TEXT");
    connection.execute_batch(&tables)?;
    for (feature, place, limits) in limits(load.sizes, ids) {
        connection.execute(
            "INSERT INTO bench_limits VALUES (?1, ?2, ?3, ?4)",
            [feature, place.number(), limits.lower, limits.upper],
        )?;
    }
    connection.execute_batch(FILL_CONTESTANT)?;
    connection.execute_batch(INDEX_CONTESTANT)
}
