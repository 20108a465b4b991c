//! `tenthsd`: the Tenths backend as a process.
//!
//! Arguments in, exit code out; what the commands do is in [`commands`].

mod commands;

use clap::{Args, CommandFactory, FromArgMatches, Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;
use tenths_server::config::{LogFormat, LogLevel, Overrides};

/// An answer to what fits is a thousand small texts, made on one thread and let go on another.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const EXIT_CODES: &str = "\
Settings: defaults, then the file (--config), then the environment, then flags; the last one wins.
Exit codes: 0 done; 1 `verify` found a break; 2 could not do it; 130 ended at once by a second signal.";

/// The Tenths backend: parts by measured dimension, over gRPC.
#[derive(Parser)]
#[command(name = "tenthsd", version, after_help = EXIT_CODES)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Serve until told to stop (SIGTERM or SIGINT), bringing the database up to date first
    #[command(after_help = "Example:\n  tenthsd serve --database sqlite:///var/lib/tenths/shop.db")]
    Serve(ServeArgs),
    /// Bring the database up to date, and say what was done
    #[command(
        after_help = "Example:\n  tenthsd migrate --database sqlite:///var/lib/tenths/shop.db"
    )]
    Migrate(StoreArgs),
    /// Check what must always hold of the database; changes nothing
    #[command(
        after_help = "Example:\n  tenthsd verify --database sqlite:///var/lib/tenths/shop.db"
    )]
    Verify(StoreArgs),
    /// Show settings
    #[command(subcommand)]
    Config(ConfigCommand),
}

#[derive(Subcommand)]
enum ConfigCommand {
    /// Print the settings in force as a configuration file, each with where it comes from
    #[command(
        after_help = "Example:\n  tenthsd config print --config shop.toml --drain-seconds 20"
    )]
    Print(ServeArgs),
}

#[derive(Args)]
struct ServeArgs {
    /// Settings file (TOML); its keys are the flags' names with _ for -
    #[arg(long, value_name = "FILE", env = "TENTHS_CONFIG")]
    config: Option<PathBuf>,
    #[command(flatten)]
    given: Overrides,
}

#[derive(Args)]
struct StoreArgs {
    /// Settings file (TOML), of which only the database and the log settings matter here
    #[arg(long, value_name = "FILE", env = "TENTHS_CONFIG")]
    config: Option<PathBuf>,
    /// Database: sqlite:///path/shop.db or postgres://user@host/name
    #[arg(long, value_name = "URL", env = "TENTHS_DATABASE", hide_env_values = true)]
    database: Option<String>,
    /// Form of log lines on stderr [default: human]
    #[arg(long, value_name = "FORMAT", env = "TENTHS_LOG_FORMAT")]
    log_format: Option<LogFormat>,
    /// Least severe log line written [default: info]
    #[arg(long, value_name = "LEVEL", env = "TENTHS_LOG_LEVEL")]
    log_level: Option<LogLevel>,
}

impl From<StoreArgs> for ServeArgs {
    fn from(args: StoreArgs) -> Self {
        let StoreArgs { config, database, log_format, log_level } = args;
        let given = Overrides { database, log_format, log_level, ..Overrides::default() };
        Self { config, given }
    }
}

fn main() -> ExitCode {
    let matches = Cli::command().get_matches();
    let cli = Cli::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
    let done = match cli.command {
        Command::Serve(args) => commands::serve(args),
        Command::Migrate(args) => commands::migrate(args.into()),
        Command::Verify(args) => commands::verify(args.into()),
        Command::Config(ConfigCommand::Print(args)) => {
            let print = matches.subcommand().and_then(|(_, config)| config.subcommand());
            commands::config_print(args, print.map(|(_, print)| print))
        }
    };
    done.unwrap_or_else(|error| {
        commands::tell(&error);
        ExitCode::from(commands::UNABLE)
    })
}
