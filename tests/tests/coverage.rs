//! Goal: every rpc of the contract is served and exercised, and none can be added without its test.
//! Method: the contract's own descriptors against (1) what a tour really called and got answered,
//! (2) the checked-in list `tests/rpcs.csv` of where each rpc is tested and how the CLI reaches it,
//! (3) what the server's log says after every command of `tenths` was typed, and (4) an empty request
//! to each.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::time::Duration;

use prost::Message;
use prost_types::{FileDescriptorSet, MethodDescriptorProto};
use tenths_proto::FILE_DESCRIPTOR_SET;
use tenths_tests::{DatabaseKind, Outcomes, Shop, call_with_empty_message, on_both_databases};
use tonic::Code;

#[path = "coverage/commands.rs"]
mod commands;
#[path = "coverage/operations.rs"]
mod operations;
#[path = "coverage/planning.rs"]
mod planning;
#[path = "coverage/standards.rs"]
mod standards;
#[path = "coverage/tour.rs"]
mod tour;

on_both_databases!(a_tour_calls_every_rpc, an_empty_request_is_answered_by_every_rpc);

/// Every rpc as `tenths.v1.Service/Method`, with its description.
fn contract() -> BTreeMap<String, MethodDescriptorProto> {
    let descriptors = FileDescriptorSet::decode(FILE_DESCRIPTOR_SET).expect("our own descriptors");
    let ours = descriptors.file.into_iter().filter(|file| file.package() == "tenths.v1");
    let services = ours.flat_map(|file| file.service);
    let methods = services.flat_map(|service| {
        let name = service.name().to_owned();
        let named = move |method: MethodDescriptorProto| {
            (format!("tenths.v1.{name}/{}", method.name()), method)
        };
        service.method.into_iter().map(named).collect::<Vec<_>>()
    });
    methods.collect()
}

async fn a_tour_calls_every_rpc(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    tour::call_every_rpc(shop.clients()).await;
    standards::tour(shop.clients()).await;
    let expected: BTreeSet<String> = contract().into_keys().collect();
    let called = shop.clients().called();
    let missed: Vec<_> = expected.difference(&called).collect();
    assert!(missed.is_empty(), "the tour does not call {missed:?}");
    shop.verify();
}

/// The server's log says which rpcs were called and answered with OK.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_command_line_reaches_every_rpc() {
    let shop = Shop::start(DatabaseKind::Sqlite).await;
    commands::type_every_command(&shop);
    // A line is written when its call has ended, which may be a moment after the client knows.
    let missed = || {
        let log = shop.server().log_text();
        let reached = |rpc: &String| log.contains(&format!("{rpc} OK in "));
        contract().into_keys().filter(|rpc| !reached(rpc)).collect::<Vec<String>>()
    };
    for _ in 0..30 {
        if !missed().is_empty() {
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    }
    assert!(missed().is_empty(), "no command reaches {:?}", missed());
    shop.verify();
}

/// No rpc is UNIMPLEMENTED; one that changes something refuses an empty request, one that reads
/// either answers it or says what is missing.
async fn an_empty_request_is_answered_by_every_rpc(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let mut outcomes = Outcomes::default();
    for (rpc, method) in contract() {
        let result = call_with_empty_message(shop.clients(), &rpc).await;
        let code = result.err().map_or(Code::Ok, |status| status.code());
        // The status of the index and the policy in force are asked without saying anything.
        let asks_nothing = ["GetIndexStatus", "GetPolicy"].contains(&method.name());
        let is_listing = method.name().starts_with("List") || asks_nothing;
        let allowed: &[Code] = if is_listing { &[Code::Ok] } else { &[Code::InvalidArgument] };
        let verdict = allowed.contains(&code).then_some(());
        outcomes.note(&rpc, verdict.ok_or_else(|| format!("{code:?}, expected {allowed:?}")));
    }
    outcomes.finish();
    shop.verify();
}

/// One line of the checked-in list.
struct Listed {
    rpc: String,
    tested_in: Vec<String>,
    command: String,
}

fn listed() -> Vec<Listed> {
    let text = include_str!("../rpcs.csv");
    let lines = text.lines().skip(1).filter(|line| !line.is_empty());
    let parse = |line: &str| {
        let [rpc, tested_in, command] = line.split(',').collect::<Vec<_>>()[..] else {
            panic!("not three columns: {line:?}");
        };
        let tested_in = tested_in.split(' ').map(str::to_owned).collect();
        Listed { rpc: rpc.to_owned(), tested_in, command: command.to_owned() }
    };
    lines.map(parse).collect()
}

#[test]
fn the_list_names_every_rpc_once() {
    let names: Vec<String> = listed().into_iter().map(|line| line.rpc).collect();
    let contract: Vec<String> = contract().into_keys().collect();
    let mut sorted = names.clone();
    sorted.sort();
    assert_eq!(sorted, contract, "tests/rpcs.csv and the contract differ");
}

/// Each named file calls the rpc: in Rust by its method, in Python by its name.
#[test]
fn the_files_on_the_list_call_their_rpcs() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut outcomes = Outcomes::default();
    for Listed { rpc, tested_in, .. } in listed() {
        let method = rpc.rsplit('/').next().expect("an rpc has a method");
        assert!(!tested_in.is_empty(), "{rpc} is tested nowhere");
        for file in tested_in {
            let needle = if file.ends_with(".py") {
                format!("\"{method}\"")
            } else {
                format!(".{}(", snake_case(method))
            };
            let text = fs::read_to_string(folder.join(&file)).unwrap_or_default();
            let verdict = text.contains(&needle).then_some(());
            outcomes.note(&rpc, verdict.ok_or_else(|| format!("{file} has no {needle}")));
        }
    }
    outcomes.finish();
}

/// `tenths COMMAND --help` is there for every rpc.
#[test]
fn every_rpc_has_its_command() {
    let mut outcomes = Outcomes::default();
    for Listed { rpc, command, .. } in listed() {
        let mut arguments: Vec<&str> = command.split(' ').collect();
        arguments.push("--help");
        let finished = tenths_tests::run_tenths(([127, 0, 0, 1], 1).into(), &arguments);
        let is_help = finished.code == 0 && finished.stdout.contains("Usage:");
        let verdict = is_help.then_some(());
        outcomes.note(&rpc, verdict.ok_or_else(|| format!("tenths {command}: {finished:?}")));
    }
    outcomes.finish();
}

fn snake_case(method: &str) -> String {
    let mut text = String::new();
    for letter in method.chars() {
        if letter.is_ascii_uppercase() && !text.is_empty() {
            text.push('_');
        }
        text.push(letter.to_ascii_lowercase());
    }
    text
}
