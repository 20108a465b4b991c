//! Where settings come from, as `tenthsd config print` tells it.

use crate::support::{output, tenthsd, text};

#[test]
fn flags_beat_the_environment_beats_the_file_beats_defaults() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.toml");
    let settings = "drain_seconds = 1\nmax_in_flight = 1\ndeadline_seconds_max = 1\n";
    std::fs::write(&file, settings).unwrap();
    let mut command = tenthsd(&["config", "print", "--drain-seconds", "3", "--no-migrate"]);
    command.env("TENTHS_CONFIG", &file);
    command.env("TENTHS_DRAIN_SECONDS", "2").env("TENTHS_MAX_IN_FLIGHT", "2");
    command.env("TENTHS_DATABASE", "postgres://shop:hunter2@db/shop");
    let printed = output(command);
    assert_eq!(
        text(&printed.stdout),
        "database = \"postgres://shop:***@db/shop\"  # environment\n\
         listen = \"127.0.0.1:7421\"  # default\n\
         no_migrate = true  # flag\n\
         allow_remote = false  # default\n\
         log_format = \"human\"  # default\n\
         log_level = \"info\"  # default\n\
         drain_seconds = 3  # flag\n\
         max_in_flight = 2  # environment\n\
         max_streams_per_connection = 256  # default\n\
         deadline_seconds_max = 1  # file\n\
         index_poll_millis = 200  # default\n\
         index_age_seconds_max = 10  # default\n\
         index_on_stale = \"say\"  # default\n\
         changes_kept = 200000  # default\n\
         changes_trim_seconds = 60  # default\n\
         bearing_age_months_max = 0  # default\n"
    );
    assert_eq!((text(&printed.stderr).as_str(), printed.status.code()), ("", Some(0)));
}

#[test]
fn what_is_printed_is_a_settings_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.toml");
    let first = output(tenthsd(&["config", "print", "--drain-seconds", "5"])).stdout;
    assert!(text(&first).starts_with("# database is not set\n"), "{}", text(&first));
    std::fs::write(&file, &first).unwrap();
    let mut again = tenthsd(&["config", "print", "--config"]);
    again.arg(&file);
    let second = text(&output(again).stdout);
    assert!(second.contains("drain_seconds = 5  # file\n"), "{second}");
}

#[test]
fn refused_settings_exit_with_2_and_say_what_is_allowed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.toml");
    std::fs::write(&file, "lisen = '127.0.0.1:7421'\n").unwrap();
    let mut unknown_key = tenthsd(&["serve", "--config"]);
    unknown_key.arg(&file);
    let mut bad_number = tenthsd(&["serve"]);
    bad_number.env("TENTHS_DRAIN_SECONDS", "soon");
    for (command, parts) in [
        (unknown_key, ["line 1", "unknown field `lisen`"]),
        (bad_number, ["soon", "--drain-seconds"]),
        (tenthsd(&["serve"]), ["database: (none)", "sqlite:///path/shop.db"]),
        (tenthsd(&["serve", "--max-in-flight", "0"]), ["max_in_flight: 0", "1 to 65536"]),
        (tenthsd(&["serve", "--listen", "0.0.0.0:1"]), ["0.0.0.0:1", "--allow-remote"]),
    ] {
        let refused = output(command);
        let told = text(&refused.stderr);
        assert_eq!(refused.status.code(), Some(2), "{told}");
        for part in parts {
            assert!(told.contains(part), "{part} is not in {told}");
        }
    }
}
