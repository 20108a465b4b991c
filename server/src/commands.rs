//! The commands of `tenthsd`: results on stdout, everything else on stderr.

use crate::ServeArgs;
use anyhow::Context;
use clap::ArgMatches;
use clap::parser::ValueSource;
use std::future::Future;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tenths_server::config::{Config, Overrides, redacted_url};
use tenths_server::serve::{self, Ended};
use tenths_server::shutdown::Signals;
use tenths_server::telemetry;
use tenths_storage::Store;
use tenths_storage::verify::{self, Report};

/// `verify` found a break.
const BROKEN: u8 = 1;
/// The command could not be done.
pub(crate) const UNABLE: u8 = 2;
/// As a shell tells of a process that an interrupt has ended.
const ENDED_AT_ONCE: u8 = 130;
/// For threads that are busy with the operating system when everything else is done.
const THREADS_END: Duration = Duration::from_secs(1);
const CLOSE: Duration = Duration::from_secs(5);

/// Writes an error and its causes to stderr, one a line.
pub(crate) fn tell(error: &anyhow::Error) {
    let mut text = String::new();
    let mut lead = "tenthsd: ";
    let mut told = String::new();
    for cause in error.chain().map(ToString::to_string) {
        // Some libraries repeat a cause in the text of what it caused.
        if told.ends_with(&cause) {
            continue;
        }
        for line in cause.lines() {
            text.push_str(&format!("{lead}{line}\n"));
        }
        lead = "  because: ";
        told = cause;
    }
    // Without stderr there is nobody to tell.
    let _ = std::io::stderr().write_all(text.as_bytes());
}

pub(crate) fn serve(args: ServeArgs) -> anyhow::Result<ExitCode> {
    let config = start(args)?;
    let ended = block_on(async {
        let signals = Signals::install().context("cannot listen to signals")?;
        Ok(serve::run(&config, signals).await?)
    })?;
    Ok(match ended {
        Ended::Stopped => ExitCode::SUCCESS,
        Ended::AtOnce => ExitCode::from(ENDED_AT_ONCE),
    })
}

pub(crate) fn migrate(args: ServeArgs) -> anyhow::Result<ExitCode> {
    let config = start(args)?;
    let url = config.database()?;
    let ran = block_on(async {
        let store = Store::open(url).await?;
        let pending = store.pending_migrations().await?;
        store.migrate().await?;
        close(&store).await;
        Ok(pending)
    })?;
    let shown = redacted_url(url);
    say(&match ran {
        0 => format!("{shown}: no migration was pending\n"),
        ran => format!("{shown}: brought up to date; migrations run: {ran}\n"),
    })?;
    Ok(ExitCode::SUCCESS)
}

pub(crate) fn verify(args: ServeArgs) -> anyhow::Result<ExitCode> {
    let config = start(args)?;
    let url = config.database()?;
    if let Some(file) = sqlite_file(url).filter(|file| !file.exists()) {
        anyhow::bail!("there is no database file {}", file.display());
    }
    let now_us = i64::try_from(SystemTime::now().duration_since(UNIX_EPOCH)?.as_micros())?;
    let report = block_on(async {
        let store = Store::open(url).await?;
        let pending = store.pending_migrations().await?;
        anyhow::ensure!(pending == 0, "migrations are pending: {pending}; run `tenthsd migrate`");
        let report = verify::run(&store, now_us).await?;
        close(&store).await;
        Ok(report)
    })?;
    let breaks: usize = report.checks.iter().map(|check| check.breaks.len()).sum();
    say(&described(&report, breaks))?;
    Ok(if breaks == 0 { ExitCode::SUCCESS } else { ExitCode::from(BROKEN) })
}

/// One line a check, each break on a line of its own below it, and a sum at the end.
fn described(report: &Report, breaks: usize) -> String {
    let width = report.checks.iter().map(|check| check.name.len()).max().unwrap_or_default();
    let mut text = String::new();
    for check in &report.checks {
        let outcome = match check.breaks.len() {
            0 => "ok".to_owned(),
            1 => "1 break".to_owned(),
            many => format!("{many} breaks"),
        };
        text.push_str(&format!(
            "{:<width$}  {:>9} rows  {outcome}\n",
            check.name, check.rows_checked
        ));
        for found in &check.breaks {
            text.push_str(&format!("  break: {found}\n"));
        }
    }
    let rows: i64 = report.checks.iter().map(|check| check.rows_checked).sum();
    text.push_str(&format!("{} checks, {rows} rows, breaks: {breaks}\n", report.checks.len()));
    text
}

pub(crate) fn config_print(
    args: ServeArgs,
    flags: Option<&ArgMatches>,
) -> anyhow::Result<ExitCode> {
    let file_keys = match &args.config {
        Some(path) => keys(path)?,
        None => Vec::new(),
    };
    let config = resolve(args)?.redacted();
    let mut text = String::new();
    if config.database().is_err() {
        text.push_str("# database is not set\n");
    }
    for line in toml::to_string(&config)?.lines() {
        let key = line.split(' ').next().unwrap_or_default();
        let source = match flags.and_then(|flags| flags.value_source(key)) {
            Some(ValueSource::CommandLine) => "flag",
            Some(ValueSource::EnvVariable) => "environment",
            _ if file_keys.iter().any(|known| known == key) => "file",
            _ => "default",
        };
        text.push_str(&format!("{line}  # {source}\n"));
    }
    say(&text)?;
    Ok(ExitCode::SUCCESS)
}

fn keys(path: &Path) -> anyhow::Result<Vec<String>> {
    // Read for its errors first: they name line and key without repeating a value.
    Overrides::from_file(path)?;
    let table: toml::Table = std::fs::read_to_string(path)?.parse()?;
    Ok(table.into_iter().map(|(key, _)| key).collect())
}

fn resolve(args: ServeArgs) -> anyhow::Result<Config> {
    let file = match &args.config {
        Some(path) => Overrides::from_file(path)?,
        None => Overrides::default(),
    };
    Ok(Config::resolve(args.given.or(file))?)
}

/// Settings first, then the log that they ask for.
fn start(args: ServeArgs) -> anyhow::Result<Config> {
    let config = resolve(args)?;
    config.database()?;
    telemetry::start(config.log_format, config.log_level)?;
    Ok(config)
}

fn block_on<T>(work: impl Future<Output = anyhow::Result<T>>) -> anyhow::Result<T> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    let done = runtime.block_on(work);
    runtime.shutdown_timeout(THREADS_END);
    done
}

async fn close(store: &Store) {
    if tokio::time::timeout(CLOSE, store.close()).await.is_err() {
        tracing::warn!("the database did not close in time");
    }
}

/// The file of a SQLite URL.
fn sqlite_file(url: &str) -> Option<&Path> {
    let path = url.strip_prefix("sqlite://")?;
    Some(Path::new(path.split_once('?').map_or(path, |(path, _)| path)))
}

fn say(text: &str) -> anyhow::Result<()> {
    std::io::stdout().write_all(text.as_bytes()).context("cannot write to stdout")
}

#[cfg(test)]
mod tests {
    use super::*;
    use tenths_storage::verify::Check;

    #[test]
    fn a_report_has_a_line_for_each_check_and_each_break() {
        let broken = vec!["lot 4: held 5, on hand 3".to_owned(), "lot 9: on hand -1".to_owned()];
        let checks = vec![
            Check { name: "ledger", rows_checked: 1204, breaks: vec![] },
            Check { name: "lots on hand", rows_checked: 88, breaks: broken },
        ];
        assert_eq!(
            described(&Report { checks }, 2),
            "ledger             1204 rows  ok\n\
             lots on hand         88 rows  2 breaks\n  \
             break: lot 4: held 5, on hand 3\n  \
             break: lot 9: on hand -1\n\
             2 checks, 1292 rows, breaks: 2\n"
        );
    }

    #[test]
    fn only_sqlite_urls_name_a_file() {
        assert_eq!(sqlite_file("sqlite:///a/shop.db?mode=rwc"), Some(Path::new("/a/shop.db")));
        assert_eq!(sqlite_file("postgres://h/d"), None);
    }
}
