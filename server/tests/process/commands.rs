//! `migrate`, `verify` and `serve` on one database file.

use crate::support::{Server, database_in, output, tenthsd, text};

#[test]
fn migrate_tells_what_it_did_and_verify_what_it_checked() {
    let folder = tempfile::tempdir().unwrap();
    let database = database_in(folder.path());

    let missing = output(tenthsd(&["verify", "--database", &database]));
    assert_eq!(missing.status.code(), Some(2));
    assert!(text(&missing.stderr).contains("there is no database file"));
    assert!(!folder.path().join("shop.db").exists(), "verify makes nothing");

    let ran = output(tenthsd(&["migrate", "--database", &database]));
    assert_eq!(ran.status.code(), Some(0), "{}", text(&ran.stderr));
    assert!(text(&ran.stdout).contains("migrations run: "), "{}", text(&ran.stdout));
    let again = output(tenthsd(&["migrate", "--database", &database]));
    assert!(text(&again.stdout).contains("no migration was pending"), "{}", text(&again.stdout));

    let verified = output(tenthsd(&["verify", "--database", &database]));
    assert_eq!(verified.status.code(), Some(0), "{}", text(&verified.stderr));
    let told = text(&verified.stdout);
    let (checks, sum) = told.trim_end().rsplit_once('\n').expect("checks and a sum");
    assert!(checks.lines().all(|line| line.contains(" rows  ok")), "{told}");
    assert_eq!(sum.split(' ').next(), Some(checks.lines().count().to_string().as_str()), "{told}");
}

#[test]
fn no_migrate_refuses_a_new_database() {
    let folder = tempfile::tempdir().unwrap();
    let mut serve = tenthsd(&["serve", "--no-migrate", "--listen", "127.0.0.1:0", "--database"]);
    serve.arg(database_in(folder.path()));
    let refused = output(serve);
    let told = text(&refused.stderr);
    assert_eq!(refused.status.code(), Some(2), "{told}");
    assert!(told.contains("run `tenthsd migrate`"), "{told}");
}

#[test]
fn an_address_in_use_is_named_with_its_cause() {
    let folder = tempfile::tempdir().unwrap();
    let first = Server::start(folder.path(), &[]);
    let mut second = tenthsd(&["serve", "--listen", &first.address, "--database"]);
    second.arg(database_in(folder.path()));
    let refused = output(second);
    let told = text(&refused.stderr);
    assert_eq!(refused.status.code(), Some(2), "{told}");
    assert!(told.contains(&format!("tenthsd: cannot listen on {}", first.address)), "{told}");
    assert!(told.contains("because: Address already in use"), "{told}");
}

#[test]
fn every_command_has_help_with_an_example() {
    for command in [&["serve"][..], &["migrate"], &["verify"], &["config", "print"]] {
        let help = output(tenthsd(&[command, &["--help"]].concat()));
        let told = text(&help.stdout);
        let example = format!("tenthsd {}", command.join(" "));
        assert!(told.contains("Example:\n") && told.contains(&example), "{told}");
    }
}
