//! Every documented command line parses, and every command documents one.

use super::*;
use clap::CommandFactory;

/// A line as a shell would split it: blanks separate, double quotes hold together.
pub(crate) fn words_of(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quoted) = (Vec::new(), String::new(), false);
    for character in line.chars() {
        match character {
            '"' => quoted = !quoted,
            ' ' | '\n' if !quoted => words.extend(Some(std::mem::take(&mut word))),
            _ => word.push(character),
        }
    }
    words.push(word);
    words.retain(|word| !word.is_empty());
    words
}

/// The command of a line written without the program's name.
pub(crate) fn parse(line: &str) -> Command {
    try_parse(line).unwrap_or_else(|error| panic!("{line}: {error}")).command
}

fn try_parse(line: &str) -> Result<Arguments, clap::Error> {
    Arguments::read(std::iter::once("tenths".to_owned()).chain(words_of(line)))
}

/// The path of every command without subcommands, with each example from its help; an empty one
/// where it has none.
pub(crate) fn examples() -> Vec<(String, String)> {
    let mut found = Vec::new();
    collect(&Arguments::command(), "", &mut found);
    found
}

fn collect(command: &clap::Command, path: &str, found: &mut Vec<(String, String)>) {
    for sub in command.get_subcommands().filter(|sub| sub.get_name() != "help") {
        let path = format!("{path} {}", sub.get_name()).trim_start().to_owned();
        if sub.has_subcommands() {
            collect(sub, &path, found);
            continue;
        }
        let help = sub.get_after_help().map(ToString::to_string).unwrap_or_default();
        let listed = help.split("Example:\n").nth(1);
        let listed = listed.and_then(|rest| rest.split("\n\n").next()).unwrap_or_default();
        for example in listed.split('\n').map(str::trim) {
            found.push((path.clone(), example.to_owned()));
        }
    }
}

#[test]
fn the_arguments_are_sound() {
    Arguments::command().debug_assert();
}

#[test]
fn every_command_documents_a_line_that_parses() {
    let examples = examples();
    assert!(examples.len() > 50, "{} commands", examples.len());
    for (path, example) in examples {
        let line = example.strip_prefix("tenths ").unwrap_or_default();
        assert!(line.starts_with(&path), "{path}: its example is {example:?}");
        parse(line);
    }
    let top = Arguments::command().get_after_help().unwrap().to_string();
    parse(top.split("  tenths ").nth(1).unwrap());
}

#[test]
fn other_lines_that_people_type() {
    for line in [
        "item feature SHAFT-40 journal-c --lower 0.9360in --upper 0.9385in --clear wear-limit",
        "item list --kind retaining-ring --page-size 100 --page-token abc",
        "core log --item PUMP-2 --owner shop --grade R --reason cracked --at YARD-1",
        "core teardown C-1 --piece item=S,at=B --piece item=T,at=B",
        "find bearing --housing 52.01mm --hole-class H6",
        "find bearing --seat 25mm",
        "find bearing --seat 0.9845in --housing 52.01mm --machine pump --load heavy --free",
        "find bearing --seat 25mm --group C3 --closure open,seal_both_sides --condition new --at A-1",
        "find size --journal 0.984..0.985in --width 6in..",
        "find replacement BRG-6205 --machine spindle --all",
        "hold 2 3:4 --for R-318",
        "find bearing --seat 0.9845in --clearance -0.02..0.0mm",
        "find shaft --size 25mm --kind outside_diameter --hole-class H7 --class k6",
        "limits --from - --output json",
        "bearing 6205 C3 --ring-class 6",
        "bearing \"6205-2RS C3\"",
        "bearing --bore 25mm --od 52mm --width 15mm --within 0.1mm",
        "seat --size 62mm --housing --rotation outer-rotates --load heavy",
        "extension --size 28mm --standard iec",
        "retaining-ring --size 62mm --on bore",
        "fit --nominal 25mm --class H7/k6",
        "fit --size 1in --class RC4 --shaft 0.9988in",
        "fit --size 0.75in --running two_thou_per_inch --bore 0.7515in --shaft 0.75in",
        "fit --bore-at-least 25mm --shaft 25.01mm --clearance -0.02..-0.001mm",
        "fit --from pairs.csv --rule simple-acceptance",
        "strength --power \"1.5 kW\" --rpm 1450",
        "gauge update M-07 --side internal --from-size 10mm --to-size 30mm",
        "item add BRG-05 --kind rolling_bearing --designation 6205",
        "hold R-318 --lot L-22:2",
        "hold R-318 --piece P-1 --piece P-2 --for 12h",
        "holds H-12",
        "hold-extend H-12 --by 3d --reason \"plating is late\"",
        "consume R-318",
        "recon claim",
        "import pieces - --skip-bad",
        "--unit in --output json --server shop:7421 --timeout 5 ledger --all",
        "ledger --unit mm --output csv --request-id 6f2c0f4e-0d3c-4d8e-9a52-2b1a8c1d9e10",
    ] {
        parse(line);
    }
}

#[test]
fn lines_that_make_no_sense_are_refused_before_anything_is_sent() {
    for line in [
        "",
        "item",
        "item add SHAFT-40",
        "item add SHAFT-40 --kind spindle",
        "item feature S f --class k5 --ring-class normal",
        "item feature S f --lower 1in",
        "core log --owner shop --at YARD-1",
        "core log --description x --owner shop --at YARD-1 --deposit 180",
        "read P-104 --feature a --gauge M-07",
        "read P-104 --feature a --gauge M-07 --in \"A0 1\" --mm \"A0 25\"",
        "find bearing --class k5",
        "find bearing --seat 25mm --journal 25mm --class k5",
        "find bearing --seat 25mm --class k5 --clearance 0..1mm",
        "find bearing --piece P-104 --class k5",
        "find bearing --size 25mm --class k5",
        "find bushing --journal 25mm --class f7 --close-in-min 0mm",
        "find bushing --journal 25mm --housing-od 60mm",
        "find bearing --seat 25mm --all --fits 5",
        "find size",
        "find replacement",
        "find bearing --seat 25mm --class k5 --gauge M-1 --uncertainty 1um",
        "hold",
        "extend H-12",
        "extend H-12 --for 1d --by 1d",
        "item add SHAFT-40 --kind shaft",
        "gauge add M-7 --resolution 1um --uncertainty 1um --setting none --due 2027-01-01",
        "limits",
        "limits --size 25mm",
        "limits --class k5",
        "limits --size 25mm --class k5 --from sizes.csv",
        "limits --from sizes.csv --explain",
        "bearing",
        "bearing 6205 --bore 25mm",
        "bearing --od 52mm",
        "bearing --bore 25mm --ring-class 6",
        "bearing --from bearings.csv 6205",
        "seat --size 30mm --rotation inner_rotates --load normal",
        "seat --size 30mm --shaft --housing --rotation inner_rotates --load normal",
        "key --keyseat 6mm",
        "key --from keys.csv --shaft 25mm",
        "retaining-ring --size 25mm --on hub",
        "fit",
        "fit --nominal 25mm --bore 25.003mm --shaft 25.008mm",
        "fit --nominal 25mm --bore 25.003mm --bore-class H7 --class H7/k6",
        "fit --nominal 25mm --bore 25.003mm --bore-limits 25..25.02mm --class H7/k6",
        "fit --nominal 25mm --bore-gauge M-07 --class H7/k6",
        "fit --nominal 25mm --bore 25.003mm --bore-gauge M-07 --bore-uncertainty 3um --class k5",
        "fit --nominal 25mm --class H7/k6 --clearance 0..0.02mm",
        "fit --nominal 25mm --running two_thou_per_inch --clearance 0..0.02mm",
        "fit --nominal 25mm --class H7/k6 --running-tolerance 0.02mm",
        "fit --nominal 25mm --class H7/k6 --rule hope",
        "fit --from pairs.csv --class H7/k6",
        "close-in --bore 20mm --od-class p6 --housing 24mm --housing-od 40mm",
        "running-clearance --journal 0.75in",
        "strength --power 2hp",
        "rebuild close R-318 --as open",
        "piece scrap P-1 --reason tired",
        "export everything",
        "--timeout 0 health",
        "--request-id 7 health",
    ] {
        let refused = try_parse(line);
        assert!(refused.is_err(), "{line:?} was taken: {refused:?}");
        assert_eq!(refused.unwrap_err().exit_code(), 2, "{line:?}");
    }
}
