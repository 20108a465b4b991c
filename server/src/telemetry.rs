//! Log lines on stderr, for a person or for a collector.
//!
//! Only the crates of this project log at the chosen level. Libraries are held at warnings, because
//! at debug level some of them write what passes through them: headers, statements, values.

use crate::config::{LogFormat, LogLevel};
use std::io::IsTerminal;
use tracing::level_filters::LevelFilter;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;
use tracing_subscriber::{Layer, Registry, fmt};

/// Every crate of this project starts with this word.
const OWN_CRATES: &str = "tenths";

/// Sends the log of this process to stderr. Called once, by `main`.
///
/// # Errors
/// Something in this process logs already.
pub fn start(
    format: LogFormat,
    level: LogLevel,
) -> Result<(), tracing_subscriber::util::TryInitError> {
    let ansi = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    let lines = match format {
        LogFormat::Human => fmt::layer().with_ansi(ansi).with_writer(std::io::stderr).boxed(),
        LogFormat::Json => json(std::io::stderr),
    };
    Registry::default().with(lines.with_filter(filter(level))).try_init()
}

/// JSON lines with the fields at the top level, as collectors expect them.
fn json<W>(writer: W) -> Box<dyn Layer<Registry> + Send + Sync>
where
    W: for<'a> fmt::MakeWriter<'a> + Send + Sync + 'static,
{
    fmt::layer().json().flatten_event(true).with_current_span(false).with_writer(writer).boxed()
}

fn filter(level: LogLevel) -> Targets {
    let own = match level {
        LogLevel::Error => LevelFilter::ERROR,
        LogLevel::Warn => LevelFilter::WARN,
        LogLevel::Info => LevelFilter::INFO,
        LogLevel::Debug => LevelFilter::DEBUG,
        LogLevel::Trace => LevelFilter::TRACE,
    };
    Targets::new().with_default(own.min(LevelFilter::WARN)).with_target(OWN_CRATES, own)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tracing::Level;

    #[test]
    fn own_crates_follow_the_level_and_libraries_stay_at_warnings() {
        let trace = filter(LogLevel::Trace);
        assert!(trace.would_enable("tenths_server::layers::trace", &Level::TRACE));
        assert!(trace.would_enable("tenthsd", &Level::TRACE));
        for library in ["sqlx::query", "h2::codec", "hyper", "sea_orm_migration"] {
            assert!(trace.would_enable(library, &Level::WARN), "{library}");
            assert!(!trace.would_enable(library, &Level::INFO), "{library}");
        }
        let error = filter(LogLevel::Error);
        assert!(!error.would_enable("tenths_storage", &Level::WARN));
        assert!(!error.would_enable("hyper", &Level::WARN));
    }
}
