//! What `tenthsd` is told: one list of settings, read from a file, the environment and flags.
//!
//! Later sources win: built-in defaults, then the file, then the environment, then flags. The
//! outcome is checked once, at start, and every violation is named together with what is allowed.

use crate::app::finding::{OnStale, Policy};
use serde::{Deserialize, Serialize};
use std::net::SocketAddr;
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tenths_domain::substitution::AgeLimit;

mod check;
#[cfg(test)]
mod tests;
mod url;

pub use check::Violation;
use check::{Check, DATABASE_ALLOWED};
pub use url::redacted_url;

const DRAIN_SECONDS: RangeInclusive<u64> = 0..=600;
const DEADLINE_SECONDS_MAX: RangeInclusive<u64> = 1..=3600;
const INDEX_POLL_MILLIS: RangeInclusive<u64> = 10..=60_000;
const INDEX_AGE_SECONDS_MAX: RangeInclusive<u64> = 1..=86_400;
const CHANGES_KEPT: RangeInclusive<u64> = 0..=100_000_000;
const CHANGES_TRIM_SECONDS: RangeInclusive<u64> = 1..=86_400;
const BEARING_AGE_MONTHS_MAX: RangeInclusive<u64> = 0..=600;
const MAX_IN_FLIGHT: RangeInclusive<u64> = 1..=65_536;
const MAX_STREAMS: RangeInclusive<u64> = 1..=65_536;

/// How log lines are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum LogFormat {
    /// For a person at a terminal.
    #[default]
    Human,
    /// One JSON object a line, for a log collector.
    Json,
}

/// The least severe line that is still written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum LogLevel {
    /// Only what failed.
    Error,
    /// What failed or may fail soon.
    Warn,
    /// Starts, stops and one line per rpc.
    #[default]
    Info,
    /// Also one line per health check.
    Debug,
    /// Everything.
    Trace,
}

/// What one source says; a setting that it does not mention is left to the next source.
///
/// The same list serves as flags (with their environment variables) and as keys of the file.
#[derive(Clone, Debug, Default, Deserialize, clap::Args)]
#[serde(deny_unknown_fields)]
pub struct Overrides {
    /// Database: sqlite:///path/shop.db or postgres://user@host/name
    #[arg(long, value_name = "URL", env = "TENTHS_DATABASE", hide_env_values = true)]
    pub database: Option<String>,
    /// Address to listen on; port 0 takes a free one [default: 127.0.0.1:7421]
    #[arg(long, value_name = "IP:PORT", env = "TENTHS_LISTEN")]
    pub listen: Option<String>,
    /// File that receives the bound address once the server listens
    #[arg(long, value_name = "PATH", env = "TENTHS_PORT_FILE")]
    pub port_file: Option<PathBuf>,
    /// Refuse to start when migrations are pending, instead of running them
    #[arg(long, value_name = "BOOL", env = "TENTHS_NO_MIGRATE", num_args = 0..=1,
          require_equals = true, default_missing_value = "true")]
    pub no_migrate: Option<bool>,
    /// Allow a non-loopback address, although traffic is plaintext and callers are not identified
    #[arg(long, value_name = "BOOL", env = "TENTHS_ALLOW_REMOTE", num_args = 0..=1,
          require_equals = true, default_missing_value = "true")]
    pub allow_remote: Option<bool>,
    /// Form of log lines on stderr [default: human]
    #[arg(long, value_name = "FORMAT", env = "TENTHS_LOG_FORMAT")]
    pub log_format: Option<LogFormat>,
    /// Least severe log line written [default: info]
    #[arg(long, value_name = "LEVEL", env = "TENTHS_LOG_LEVEL")]
    pub log_level: Option<LogLevel>,
    /// How long calls may still run after a stop signal, 0 to 600 [default: 8]
    #[arg(long, value_name = "SECONDS", env = "TENTHS_DRAIN_SECONDS")]
    pub drain_seconds: Option<u64>,
    /// Calls in progress over all connections before more are refused, 1 to 65536 [default: 256]
    #[arg(long, value_name = "N", env = "TENTHS_MAX_IN_FLIGHT")]
    pub max_in_flight: Option<u64>,
    /// Streams in progress on one connection, 1 to 65536 [default: 256]
    #[arg(long, value_name = "N", env = "TENTHS_MAX_STREAMS_PER_CONNECTION")]
    pub max_streams_per_connection: Option<u64>,
    /// Longest a unary call may take, whatever its client asks for, 1 to 3600 [default: 60]
    #[arg(long, value_name = "SECONDS", env = "TENTHS_DEADLINE_SECONDS_MAX")]
    pub deadline_seconds_max: Option<u64>,
    /// How often the stock in memory is compared with the database, 10 to 60000 [default: 200]
    #[arg(long, value_name = "MILLISECONDS", env = "TENTHS_INDEX_POLL_MILLIS")]
    pub index_poll_millis: Option<u64>,
    /// How old the stock in memory may be, 1 to 86400 [default: 10]
    #[arg(long, value_name = "SECONDS", env = "TENTHS_INDEX_AGE_SECONDS_MAX")]
    pub index_age_seconds_max: Option<u64>,
    /// What becomes of a question where it is older: say so in the answer, or refuse [default: say]
    #[arg(long, value_name = "POLICY", env = "TENTHS_INDEX_ON_STALE")]
    pub index_on_stale: Option<OnStale>,
    /// How many of the newest changes are kept for servers that follow the database, 0 to 100000000;
    /// one that is further behind loads its stock anew [default: 200000]
    #[arg(long, value_name = "N", env = "TENTHS_CHANGES_KEPT")]
    pub changes_kept: Option<u64>,
    /// How often older changes are removed, 1 to 86400 [default: 60]
    #[arg(long, value_name = "SECONDS", env = "TENTHS_CHANGES_TRIM_SECONDS")]
    pub changes_trim_seconds: Option<u64>,
    /// How old a date-coded rolling bearing may be to be offered, 1 to 600; 0 means any age
    /// [default: 0]
    #[arg(long, value_name = "MONTHS", env = "TENTHS_BEARING_AGE_MONTHS_MAX")]
    pub bearing_age_months_max: Option<u64>,
}

impl Overrides {
    /// Reads a TOML file.
    ///
    /// # Errors
    /// A file that cannot be read, an unknown key, or a value of the wrong type; the line and key
    /// are named. The line itself is not repeated, since it may hold a password.
    pub fn from_file(path: &Path) -> Result<Self, ConfigError> {
        let text = std::fs::read_to_string(path)
            .map_err(|source| ConfigError::Read { path: path.to_owned(), source })?;
        toml::from_str(&text).map_err(|error| {
            let start = error.span().map_or(0, |span| span.start);
            let before = text.get(..start).unwrap_or_default();
            let line = before.matches('\n').count() + 1;
            let key = text.lines().nth(line - 1).and_then(|line| line.split('=').next());
            ConfigError::Parse {
                path: path.to_owned(),
                line,
                key: key.unwrap_or_default().trim().to_owned(),
                reason: error.message().to_owned(),
            }
        })
    }

    /// These settings, completed by those of a weaker source.
    #[must_use]
    pub fn or(self, weaker: Self) -> Self {
        Self {
            database: self.database.or(weaker.database),
            listen: self.listen.or(weaker.listen),
            port_file: self.port_file.or(weaker.port_file),
            no_migrate: self.no_migrate.or(weaker.no_migrate),
            allow_remote: self.allow_remote.or(weaker.allow_remote),
            log_format: self.log_format.or(weaker.log_format),
            log_level: self.log_level.or(weaker.log_level),
            drain_seconds: self.drain_seconds.or(weaker.drain_seconds),
            max_in_flight: self.max_in_flight.or(weaker.max_in_flight),
            max_streams_per_connection: self
                .max_streams_per_connection
                .or(weaker.max_streams_per_connection),
            deadline_seconds_max: self.deadline_seconds_max.or(weaker.deadline_seconds_max),
            index_poll_millis: self.index_poll_millis.or(weaker.index_poll_millis),
            index_age_seconds_max: self.index_age_seconds_max.or(weaker.index_age_seconds_max),
            index_on_stale: self.index_on_stale.or(weaker.index_on_stale),
            changes_kept: self.changes_kept.or(weaker.changes_kept),
            changes_trim_seconds: self.changes_trim_seconds.or(weaker.changes_trim_seconds),
            bearing_age_months_max: self.bearing_age_months_max.or(weaker.bearing_age_months_max),
        }
    }
}

/// The settings in force: complete and checked.
#[derive(Clone, Debug, Serialize)]
pub struct Config {
    database: Option<String>,
    /// Where to listen.
    pub listen: SocketAddr,
    /// Where to write the bound address.
    pub port_file: Option<PathBuf>,
    /// Refuse to start when migrations are pending.
    pub no_migrate: bool,
    /// A non-loopback address is allowed.
    pub allow_remote: bool,
    /// Form of log lines.
    pub log_format: LogFormat,
    /// Least severe log line written.
    pub log_level: LogLevel,
    /// How long calls may still run after a stop signal.
    pub drain_seconds: u64,
    /// Calls in progress over all connections.
    pub max_in_flight: u32,
    /// Streams in progress on one connection.
    pub max_streams_per_connection: u32,
    /// Longest a unary call may take.
    pub deadline_seconds_max: u64,
    /// How often the stock in memory is compared with the database.
    pub index_poll_millis: u64,
    /// How old the stock in memory may be.
    pub index_age_seconds_max: u64,
    /// What becomes of a question where it is older.
    pub index_on_stale: OnStale,
    /// How many of the newest changes are kept.
    pub changes_kept: u64,
    /// How often older ones are removed.
    pub changes_trim_seconds: u64,
    /// How old a date-coded rolling bearing may be; 0 means any age.
    pub bearing_age_months_max: u64,
}

impl Config {
    /// Completes what was given with the defaults and checks it.
    ///
    /// # Errors
    /// Every violation at once.
    pub fn resolve(given: Overrides) -> Result<Self, ConfigError> {
        let mut check = Check::default();
        let allow_remote = given.allow_remote.unwrap_or(false);
        let config = Self {
            database: check.database(given.database),
            listen: check.listen(given.listen, allow_remote),
            port_file: given.port_file,
            no_migrate: given.no_migrate.unwrap_or(false),
            allow_remote,
            log_format: given.log_format.unwrap_or_default(),
            log_level: given.log_level.unwrap_or_default(),
            drain_seconds: check.range("drain_seconds", given.drain_seconds, 8, DRAIN_SECONDS),
            max_in_flight: check.count("max_in_flight", given.max_in_flight, MAX_IN_FLIGHT),
            max_streams_per_connection: check.count(
                "max_streams_per_connection",
                given.max_streams_per_connection,
                MAX_STREAMS,
            ),
            deadline_seconds_max: check.range(
                "deadline_seconds_max",
                given.deadline_seconds_max,
                60,
                DEADLINE_SECONDS_MAX,
            ),
            index_poll_millis: check.range(
                "index_poll_millis",
                given.index_poll_millis,
                200,
                INDEX_POLL_MILLIS,
            ),
            index_age_seconds_max: check.range(
                "index_age_seconds_max",
                given.index_age_seconds_max,
                10,
                INDEX_AGE_SECONDS_MAX,
            ),
            index_on_stale: given.index_on_stale.unwrap_or_default(),
            changes_kept: check.range("changes_kept", given.changes_kept, 200_000, CHANGES_KEPT),
            changes_trim_seconds: check.range(
                "changes_trim_seconds",
                given.changes_trim_seconds,
                60,
                CHANGES_TRIM_SECONDS,
            ),
            bearing_age_months_max: check.range(
                "bearing_age_months_max",
                given.bearing_age_months_max,
                0,
                BEARING_AGE_MONTHS_MAX,
            ),
        };
        if check.0.is_empty() { Ok(config) } else { Err(ConfigError::Invalid(check.0)) }
    }

    /// The database to open.
    ///
    /// # Errors
    /// None was given; there is no default, so that no shop starts on an empty book by mistake.
    pub fn database(&self) -> Result<&str, ConfigError> {
        self.database.as_deref().ok_or_else(|| {
            let value = "(none)".to_owned();
            let allowed = format!(
                "{DATABASE_ALLOWED}, given by --database, TENTHS_DATABASE or the configuration file"
            );
            ConfigError::Invalid(vec![Violation { field: "database", value, allowed }])
        })
    }

    /// How long calls may still run after a stop signal.
    #[must_use]
    pub fn drain(&self) -> Duration {
        Duration::from_secs(self.drain_seconds)
    }

    /// What the shop decided about finding.
    #[must_use]
    pub fn finding(&self) -> Policy {
        let months = i64::try_from(self.bearing_age_months_max).unwrap_or(0);
        Policy {
            // 0 months is no limit that can be: any age.
            bearing_age_max: AgeLimit::months(months).ok(),
            index_age_max: Duration::from_secs(self.index_age_seconds_max),
            on_stale: self.index_on_stale,
        }
    }

    /// How many of the newest changes are kept, and how often older ones are removed.
    #[must_use]
    pub fn trimming(&self) -> (u64, Duration) {
        (self.changes_kept, Duration::from_secs(self.changes_trim_seconds))
    }

    /// A copy that may be shown: passwords are replaced.
    #[must_use]
    pub fn redacted(&self) -> Self {
        Self { database: self.database.as_deref().map(redacted_url), ..self.clone() }
    }
}

/// Why the settings cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ConfigError {
    /// The file cannot be read.
    #[error("cannot read the configuration file {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
    /// The file says something that is not a setting.
    #[error("{} line {line}, at `{key}`: {reason}", path.display())]
    Parse {
        /// The file.
        path: PathBuf,
        /// Counted from 1.
        line: usize,
        /// What stands before `=` in that line.
        key: String,
        /// What is wrong.
        reason: String,
    },
    /// Values outside what is allowed.
    #[error("{}", lines(.0))]
    Invalid(Vec<Violation>),
}

fn lines(violations: &[Violation]) -> String {
    violations.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}
