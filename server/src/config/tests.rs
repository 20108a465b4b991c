//! Which source wins, and what is refused.

use super::*;

fn file(text: &str) -> Result<Overrides, ConfigError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.toml");
    std::fs::write(&path, text).unwrap();
    Overrides::from_file(&path)
}

fn violations(given: Overrides) -> Vec<String> {
    match Config::resolve(given) {
        Err(ConfigError::Invalid(found)) => found.iter().map(ToString::to_string).collect(),
        Err(other) => panic!("another error: {other}"),
        Ok(_) => Vec::new(),
    }
}

#[test]
fn defaults_hold_where_nothing_is_given() {
    let config = Config::resolve(Overrides::default()).unwrap();
    assert_eq!(config.listen.to_string(), "127.0.0.1:7421");
    assert_eq!((config.drain_seconds, config.max_in_flight), (8, 256));
    assert_eq!((config.max_streams_per_connection, config.deadline_seconds_max), (256, 60));
    assert_eq!((config.no_migrate, config.allow_remote), (false, false));
    assert_eq!((config.log_format, config.log_level), (LogFormat::Human, LogLevel::Info));
    let missing = config.database().unwrap_err().to_string();
    assert!(missing.contains("database") && missing.contains("TENTHS_DATABASE"), "{missing}");
}

#[test]
fn every_key_of_the_file_is_taken_and_a_stronger_source_wins_key_by_key() {
    let weaker = file(
        "database = 'sqlite:///file.db'\nlisten = '127.0.0.1:1'\nport_file = 'port'\n\
         no_migrate = true\nallow_remote = true\nlog_format = 'json'\nlog_level = 'debug'\n\
         drain_seconds = 1\nmax_in_flight = 2\nmax_streams_per_connection = 3\n\
         deadline_seconds_max = 4\nindex_poll_millis = 50\nindex_age_seconds_max = 6\n\
         index_on_stale = 'refuse'\nchanges_kept = 7\nchanges_trim_seconds = 8\n\
         bearing_age_months_max = 45\n",
    )
    .unwrap();
    let from_file = Config::resolve(weaker.clone()).unwrap();
    assert_eq!(
        toml::to_string(&from_file).unwrap(),
        "database = \"sqlite:///file.db\"\nlisten = \"127.0.0.1:1\"\nport_file = \"port\"\n\
         no_migrate = true\nallow_remote = true\nlog_format = \"json\"\nlog_level = \"debug\"\n\
         drain_seconds = 1\nmax_in_flight = 2\nmax_streams_per_connection = 3\n\
         deadline_seconds_max = 4\nindex_poll_millis = 50\nindex_age_seconds_max = 6\n\
         index_on_stale = \"refuse\"\nchanges_kept = 7\nchanges_trim_seconds = 8\n\
         bearing_age_months_max = 45\n"
    );
    let stronger = Overrides {
        listen: Some("127.0.0.1:9".into()),
        no_migrate: Some(false),
        drain_seconds: Some(0),
        ..Overrides::default()
    };
    let both = Config::resolve(stronger.or(weaker)).unwrap();
    assert_eq!(both.listen.port(), 9);
    assert_eq!((both.no_migrate, both.drain_seconds), (false, 0));
    assert_eq!((both.database().unwrap(), both.max_in_flight), ("sqlite:///file.db", 2));
}

#[test]
fn the_file_is_refused_by_line_and_key_without_repeating_its_values() {
    let unknown = file("listen = '127.0.0.1:1'\ndrain_second = 3\n").unwrap_err().to_string();
    assert!(unknown.contains("shop.toml line 2, at `drain_second`"), "{unknown}");
    assert!(unknown.contains("drain_seconds"), "names what is known: {unknown}");
    let kind = file("\n\ndrain_seconds = 'long'").unwrap_err().to_string();
    assert!(kind.contains("line 3, at `drain_seconds`") && kind.contains("u64"), "{kind}");
    let format = file("log_format = 'xml'").unwrap_err().to_string();
    assert!(format.contains("`log_format`") && format.contains("`json`"), "{format}");
    let secret = file("database = 'postgres://u:hunter2@h/d' x").unwrap_err().to_string();
    assert!(secret.contains("line 1") && !secret.contains("hunter2"), "{secret}");
    let missing = Overrides::from_file(Path::new("/nowhere/shop.toml")).unwrap_err().to_string();
    assert!(missing.contains("/nowhere/shop.toml"), "{missing}");
}

#[test]
fn all_violations_are_told_at_once_with_field_value_and_what_is_allowed() {
    let found = violations(Overrides {
        database: Some("mysql://root:pw@db/shop".into()),
        listen: Some("localhost:7421".into()),
        drain_seconds: Some(601),
        max_in_flight: Some(0),
        max_streams_per_connection: Some(65_537),
        deadline_seconds_max: Some(0),
        ..Overrides::default()
    });
    assert_eq!(
        found,
        [
            "database: \"mysql://root:***@db/shop\" is not allowed; \
             allowed: sqlite:///path/shop.db or postgres://user@host/name",
            "listen: \"localhost:7421\" is not allowed; \
             allowed: IP:PORT, as 127.0.0.1:7421 or [::1]:7421",
            "drain_seconds: 601 is not allowed; allowed: 0 to 600",
            "max_in_flight: 0 is not allowed; allowed: 1 to 65536",
            "max_streams_per_connection: 65537 is not allowed; allowed: 1 to 65536",
            "deadline_seconds_max: 0 is not allowed; allowed: 1 to 3600",
        ]
    );
}

#[test]
fn an_address_that_others_can_reach_needs_to_be_allowed() {
    let listen = |address: &str, allow| Overrides {
        listen: Some(address.into()),
        allow_remote: allow,
        ..Overrides::default()
    };
    for address in ["0.0.0.0:7421", "[::]:7421", "192.0.2.1:0", "[::ffff:192.0.2.1]:1"] {
        let found = violations(listen(address, None));
        assert!(found.len() == 1 && found[0].contains("--allow-remote"), "{address}: {found:?}");
        assert_eq!(violations(listen(address, Some(true))), [""; 0], "{address}");
    }
    for address in ["127.0.0.1:0", "127.8.8.8:1", "[::1]:7421", "[::ffff:127.0.0.1]:1"] {
        assert_eq!(violations(listen(address, None)), [""; 0], "{address}");
    }
}

#[test]
fn a_database_is_a_file_or_a_server() {
    let database = |url: &str| Overrides { database: Some(url.into()), ..Overrides::default() };
    for url in ["", "shop.db", "sqlite:shop.db", "sqlite://", "postgres://", "http://h/d"] {
        assert_eq!(violations(database(url)).len(), 1, "{url:?}");
    }
    for url in ["sqlite://shop.db", "sqlite:///a/shop.db", "postgres://h/d", "postgresql://h/d"] {
        assert_eq!(violations(database(url)), [""; 0], "{url:?}");
    }
}

#[test]
fn passwords_are_not_shown() {
    for (url, shown) in [
        ("postgres://u:p%40w@h:5432/d", "postgres://u:***@h:5432/d"),
        ("postgres://u:p@w@h/d", "postgres://u:***@h/d"),
        ("postgres://u@h/d", "postgres://u@h/d"),
        ("postgres://h/d?user=u&password=pw&a=b", "postgres://h/d?user=u&password=***&a=b"),
        ("sqlite:///a/shop.db?mode=rwc", "sqlite:///a/shop.db?mode=rwc"),
    ] {
        assert_eq!(redacted_url(url), shown);
    }
    let given = Overrides { database: Some("postgres://u:pw@h/d".into()), ..Overrides::default() };
    let shown = Config::resolve(given).unwrap().redacted();
    assert_eq!(shown.database().unwrap(), "postgres://u:***@h/d");
}
