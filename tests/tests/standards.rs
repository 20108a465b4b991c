//! Goal: what the program says of standards, fits and assembly is what the published tables say,
//! can be traced to them, and bad input is refused by name with the nearest valid thing.
//! Method: the real server on SQLite, asked over gRPC; each published value stands beside its source.
//! The rpcs that answer many questions at once are compared with the ones that answer one.

#[path = "standards/advice.rs"]
mod advice;
#[path = "standards/bad.rs"]
mod bad;
#[path = "standards/bulk.rs"]
mod bulk;
#[path = "standards/pairs.rs"]
mod pairs;
#[path = "standards/tables.rs"]
mod tables;

use tenths_proto::v1::{SizeRange, Trace};
use tenths_tests::nm;

/// Both ends of a range that must be there, in nanometres.
#[track_caller]
fn ends(range: &Option<SizeRange>) -> (i64, i64) {
    let range = range.as_ref().expect("a range");
    (nm(&range.lower), nm(&range.upper))
}

/// Every value behind an answer says what it is, how much, and where it is from.
#[track_caller]
fn traced(traces: &[Trace], sources: &[&str]) {
    assert!(!traces.is_empty(), "an answer without traces");
    for trace in traces {
        let complete =
            [&trace.what, &trace.value, &trace.source].iter().all(|text| !text.is_empty());
        assert!(complete, "a trace with a gap: {trace:?}");
    }
    for source in sources {
        let named = traces.iter().any(|trace| trace.source.contains(source));
        assert!(named, "no trace names {source:?}: {traces:#?}");
    }
}
