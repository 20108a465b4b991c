//! Why a command failed, and how that is told: one plain line per violation, then a next step.

use std::error::Error;
use std::io;
use tonic::{Code, ConnectError, Status};
use tonic_types::{ErrorDetails, StatusExt};

/// Why a command failed.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The arguments make no sense; nothing was sent.
    Usage(String),
    /// The server refused, or could not be reached.
    Rpc { status: Box<Status>, server: String, request_id: String, is_change: bool },
    /// An import had bad rows, already told one by one.
    BadRows { bad: i64 },
    /// A file says nothing that can be asked; nothing was sent.
    File(String),
    /// Rows of a file had no answer; each says why in its place.
    RowProblems { bad: usize },
    /// The server answers, but not that it serves.
    NotServing(String),
    /// The output could not be written.
    Output(io::Error),
    /// Something on this machine, such as a file that cannot be read.
    Local(anyhow::Error),
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Failure::Output(error)
    }
}

impl From<anyhow::Error> for Failure {
    fn from(error: anyhow::Error) -> Self {
        Failure::Local(error)
    }
}

impl Failure {
    /// The lines for standard error.
    pub(crate) fn lines(&self) -> Vec<String> {
        match self {
            Failure::Usage(message) => vec![
                format!("error: {message}"),
                "hint: add --help to the command to see its arguments and an example".to_owned(),
            ],
            Failure::Rpc { status, server, request_id, is_change } => {
                rpc_lines(status, server, is_change.then_some(request_id))
            }
            Failure::File(message) => vec![format!("error: {message}")],
            Failure::BadRows { bad } => vec![
                format!("error: {bad} bad rows, listed above"),
                "hint: correct them and import again, or save the others with --skip-bad"
                    .to_owned(),
            ],
            Failure::RowProblems { bad } => vec![
                format!("error: rows with a problem: {bad}; the column \"problem\" says why"),
                "hint: the other rows are answered; correct these and ask for them again"
                    .to_owned(),
            ],
            Failure::NotServing(state) => vec![
                format!("error: the server answers, but says {state}"),
                "hint: see the log of tenthsd".to_owned(),
            ],
            Failure::Output(error) => vec![format!("error: cannot write the output: {error}")],
            Failure::Local(error) => vec![format!("error: {error:#}")],
        }
    }
}

/// An answer that breaks the contract, such as a response without its resource.
pub(crate) fn broken_answer(what: &str) -> Failure {
    Failure::Local(anyhow::anyhow!(
        "the server's answer has no {what}; tenths and tenthsd may be of different versions"
    ))
}

/// What an rpc failed with; the request id is that of a change, a question has none.
fn rpc_lines(status: &Status, server: &str, change: Option<&String>) -> Vec<String> {
    if never_arrived(status) {
        return vec![
            format!("error: cannot reach {server}: {}", root_cause(status)),
            "hint: start it with `tenthsd serve --database sqlite:///path/shop.db`, or point to \
             another with --server http://HOST:PORT or TENTHS_SERVER"
                .to_owned(),
        ];
    }
    let details = status.get_error_details();
    let mut lines = violation_lines(&details);
    let asked = lines.iter().any(|line| line.starts_with("question: "));
    if lines.is_empty() && status.source().is_some() {
        lines.push(format!("error: lost the connection to {server}: {}", root_cause(status)));
    } else if lines.is_empty() {
        lines.push(format!("error: {}", message_of(status)));
    }
    lines.extend(subject_line(status, &details));
    if !asked && lines.iter().any(|line| line.contains("override_reason")) {
        lines.push("hint: override_reason is --sure \"REASON\" here; it is recorded".to_owned());
    }
    lines.extend(hint(status.code(), asked, change.is_some()).map(|hint| format!("hint: {hint}")));
    let is_lost =
        matches!(status.code(), Code::DeadlineExceeded | Code::Unavailable | Code::Cancelled);
    if let Some(request_id) = change.filter(|_| is_lost) {
        lines.push(format!(
            "hint: whether a change was made is not known; the same command with \
             --request-id {request_id} makes it once at most"
        ));
    }
    lines
}

fn message_of(status: &Status) -> String {
    match status.message() {
        "" => status.code().description().to_owned(),
        message => message.to_owned(),
    }
}

/// Whether no server was there to take the call.
fn never_arrived(status: &Status) -> bool {
    let mut cause = status.source();
    while let Some(error) = cause {
        if error.is::<ConnectError>() {
            return true;
        }
        cause = error.source();
    }
    false
}

/// The innermost reason: "Connection refused" says more than "transport error".
fn root_cause(status: &Status) -> String {
    let mut cause: &dyn Error = status;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    cause.to_string()
}

/// One line per violation that the server named.
fn violation_lines(details: &ErrorDetails) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(request) = details.bad_request() {
        for violation in &request.field_violations {
            lines.push(labelled("error", &violation.field, &violation.description));
        }
    }
    if let Some(failure) = details.precondition_failure() {
        for violation in &failure.violations {
            let label = if violation.r#type == "ENTRY_TRAP" { "question" } else { "error" };
            lines.push(labelled(label, &violation.subject, &violation.description));
        }
    }
    lines
}

fn labelled(label: &str, subject: &str, description: &str) -> String {
    // Some descriptions name their subject already; saying it twice helps nobody.
    if subject.is_empty() || description.starts_with(subject) {
        format!("{label}: {description}")
    } else {
        format!("{label}: {subject}: {description}")
    }
}

/// What kind of thing is missing or taken, unless the message says so already.
fn subject_line(status: &Status, details: &ErrorDetails) -> Option<String> {
    let resource = details.resource_info()?;
    let told = status.message().contains(&resource.resource_name);
    (!told).then(|| format!("about: {} {}", resource.resource_type, resource.resource_name))
}

/// The next step that is known for a code alone.
fn hint(code: Code, asked: bool, is_change: bool) -> Option<&'static str> {
    match code {
        Code::FailedPrecondition if asked => Some(
            "nothing was saved; correct the readings, or repeat the command with \
             --sure \"REASON\" if they are right",
        ),
        // A question saves nothing anyway.
        Code::InvalidArgument if !is_change => Some("correct the values and repeat"),
        Code::InvalidArgument => Some("nothing was saved; correct the values and repeat"),
        Code::NotFound => Some("check the tag or code; the `list` commands show what there is"),
        Code::AlreadyExists => Some("tags and codes are never reused; choose another one"),
        Code::FailedPrecondition if !is_change => Some("`show` tells how things stand now"),
        Code::FailedPrecondition => Some("nothing was saved; `show` tells how things stand now"),
        Code::Aborted => Some("somebody changed it meanwhile; read it again, then repeat"),
        Code::Unavailable => Some("the server is busy or stopping; repeat in a moment"),
        Code::DeadlineExceeded => Some("give it longer with --timeout SECONDS"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tonic_types::{FieldViolation, PreconditionViolation};

    fn lines(code: Code, message: &str, details: ErrorDetails) -> Vec<String> {
        let status = Box::new(Status::with_error_details(code, message, details));
        let (server, request_id) = ("http://127.0.0.1:7421".into(), "id-1".into());
        Failure::Rpc { status, server, request_id, is_change: true }.lines()
    }

    #[test]
    fn every_field_violation_has_its_line() {
        let details = ErrorDetails::with_bad_request(vec![
            FieldViolation::new("item.code", "is empty; 1 to 40 characters are allowed"),
            FieldViolation::new("item.kind", "is not given"),
        ]);
        assert_eq!(
            lines(Code::InvalidArgument, "2 fields are wrong", details),
            [
                "error: item.code: is empty; 1 to 40 characters are allowed",
                "error: item.kind: is not given",
                "hint: nothing was saved; correct the values and repeat",
            ]
        );
    }

    #[test]
    fn a_question_saves_nothing_and_does_not_say_so() {
        for code in [Code::InvalidArgument, Code::FailedPrecondition] {
            let status = Status::new(code, "no");
            let lines = rpc_lines(&status, "http://127.0.0.1:7421", None);
            assert!(!lines.iter().any(|line| line.contains("saved")), "{lines:?}");
        }
    }

    #[test]
    fn an_entry_trap_is_a_question_with_its_way_to_confirm() {
        let details = ErrorDetails::with_precondition_failure(vec![PreconditionViolation::new(
            "ENTRY_TRAP",
            "B90",
            "1.1890 in is far from its fellows: are two digits swapped?",
        )]);
        let lines = lines(Code::FailedPrecondition, "a reading is suspicious", details);
        assert_eq!(
            lines[0],
            "question: B90: 1.1890 in is far from its fellows: are two digits swapped?"
        );
        assert!(lines[1].contains("--sure \"REASON\""), "{lines:?}");
    }

    #[test]
    fn a_refused_hold_names_its_holder_once() {
        let details = ErrorDetails::with_precondition_failure(vec![PreconditionViolation::new(
            "HELD",
            "P-104",
            "P-104 is held by mara for R-12 until 2026-12-01T17:00:00Z",
        )]);
        let lines = lines(Code::FailedPrecondition, "cannot hold", details);
        assert_eq!(lines[0], "error: P-104 is held by mara for R-12 until 2026-12-01T17:00:00Z");
    }

    #[test]
    fn the_contracts_word_for_being_sure_is_translated() {
        let details = ErrorDetails::with_precondition_failure(vec![PreconditionViolation::new(
            "NOT_REUSE",
            "P-104",
            "P-104 is for recondition; give override_reason to accept it all the same",
        )]);
        let lines = lines(Code::FailedPrecondition, "not for reuse", details);
        assert!(lines[1].contains("--sure \"REASON\""), "{lines:?}");
    }

    #[test]
    fn an_unknown_tag_is_named_even_if_the_message_is_bare() {
        let details = ErrorDetails::with_resource_info("piece", "P-9", "", "");
        let lines = lines(Code::NotFound, "no such piece", details);
        assert_eq!(lines[..2], ["error: no such piece", "about: piece P-9"]);
    }

    #[test]
    fn the_servers_unavailable_is_told_apart_from_no_server() {
        let busy = lines(Code::Unavailable, "the database is busy", ErrorDetails::new());
        assert_eq!(busy[0], "error: the database is busy");
        assert!(busy[2].contains("--request-id id-1"), "{busy:?}");
        let mut status = Status::unavailable("tcp connect error");
        let refused = ConnectError(Box::new(io::Error::other("connection refused")));
        status.set_source(std::sync::Arc::new(refused));
        let lines = rpc_lines(&status, "http://127.0.0.1:7421", Some(&"id-1".to_owned()));
        assert_eq!(lines[0], "error: cannot reach http://127.0.0.1:7421: connection refused");
        assert!(lines[1].contains("tenthsd serve --database sqlite:///path/shop.db"));
    }

    /// A connection lost on the way leaves open whether a change was made.
    #[test]
    fn a_lost_connection_names_the_request_id() {
        let mut status = Status::unavailable("transport error");
        status.set_source(std::sync::Arc::new(io::Error::other("connection reset")));
        let question = rpc_lines(&status, "http://127.0.0.1:7421", None);
        assert!(!question.iter().any(|line| line.contains("change")), "{question:?}");
        let lines = rpc_lines(&status, "http://127.0.0.1:7421", Some(&"id-1".to_owned()));
        assert_eq!(
            lines[0],
            "error: lost the connection to http://127.0.0.1:7421: connection reset"
        );
        assert!(lines.iter().any(|line| line.contains("--request-id id-1")), "{lines:?}");
    }
}
