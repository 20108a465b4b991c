//! The contestant on SQLite: in this process, so with no wire at all; a read-only connection and a
//! thread for each question in flight.

use std::sync::Arc;

use rusqlite::{Connection, OpenFlags, Row, params_from_iter};

use super::{COUNT, Depth, FITS, MISSES, NEAREST, Parameters};

/// Pages kept by each connection, in KiB.
const CACHE_KIB: u32 = 32 * 1_024;
/// How much of the file is mapped into memory, in bytes.
const MAPPED: u64 = 16 << 30;

/// SQLite numbers its parameters with a question mark.
fn numbered(sql: &str) -> String {
    sql.replace('$', "?")
}

fn open(url: &str) -> rusqlite::Result<Connection> {
    let path = url.trim_start_matches("sqlite://");
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    connection.execute_batch(&format!(
        "PRAGMA cache_size = -{CACHE_KIB}; PRAGMA mmap_size = {MAPPED};"
    ))?;
    Ok(connection)
}

/// Something that answers the question of a number.
///
/// # Errors
/// A file that cannot be opened.
pub(crate) fn asker(
    url: &str,
    questions: Arc<Vec<Parameters>>,
    depth: Depth,
) -> rusqlite::Result<impl FnMut(usize) + Send> {
    let connection = open(url)?;
    let [fits, count, misses, nearest] = [FITS, COUNT, MISSES, NEAREST].map(numbered);
    Ok(move |number: usize| {
        let question = questions[number];
        let rows = match depth {
            Depth::Whole => {
                let found = read(&connection, &fits, &question.fits());
                read(&connection, &count, &question.window());
                read(&connection, &misses, &question.window());
                found
            }
            Depth::NearestOnly => read(&connection, &nearest, &question.nearest()),
        };
        assert!(rows <= 20, "no more than were asked for");
    })
}

/// Reads every column of every row, as whoever shows them must; answers with how many rows.
fn read(connection: &Connection, sql: &str, parameters: &[i64]) -> usize {
    let touch = |row: &Row<'_>| {
        let columns = row.as_ref().column_count();
        (0..columns).try_for_each(|index| {
            std::hint::black_box(row.get_ref(index)?);
            Ok(())
        })
    };
    let all = |connection: &Connection| {
        let mut statement = connection.prepare_cached(sql)?;
        let rows = statement.query_map(params_from_iter(parameters), touch)?;
        rows.collect::<rusqlite::Result<Vec<()>>>()
    };
    all(connection).expect("SQLite answers").len()
}

/// The version.
pub(crate) fn facts() -> String {
    format!("SQLite {}", rusqlite::version())
}

/// How many fit each question.
///
/// # Errors
/// A file that cannot be read.
pub(crate) fn counts(url: &str, questions: &[Parameters]) -> rusqlite::Result<Vec<i64>> {
    let connection = open(url)?;
    let mut statement = connection.prepare(&numbered(COUNT))?;
    questions
        .iter()
        .map(|question| statement.query_row(params_from_iter(question.window()), |row| row.get(0)))
        .collect()
}
