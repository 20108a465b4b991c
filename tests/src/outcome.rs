//! What came back: the answer of a call that must work, or the whole shape of a refusal.

use std::fmt::Debug;
use std::time::Duration;

use tonic::{Code, Response, Status};
use tonic_types::{ErrorDetails, StatusExt};

/// The answer of a call that must work; panics with code, text and details if it was refused.
#[track_caller]
pub fn done<T>(what: &str, result: Result<Response<T>, Status>) -> T {
    match result {
        Ok(response) => response.into_inner(),
        Err(status) => panic!("{what}: {}", describe(&status)),
    }
}

/// The refusal of a call that must not work, with its details; checks the code and `ErrorInfo`.
#[track_caller]
pub fn refused<T: Debug>(
    what: &str,
    code: Code,
    result: Result<Response<T>, Status>,
) -> (Status, ErrorDetails) {
    match result {
        Ok(response) => panic!("{what}: not refused: {:?}", response.into_inner()),
        Err(status) => {
            if let Err(reason) = (Expected { code, ..Expected::default() }).judge(&status) {
                panic!("{what}: {reason}");
            }
            let details = status.get_error_details();
            (status, details)
        }
    }
}

/// Calls again while the server says that it is busy or that it lost a race, as a client should;
/// answers with how often it had to. Bounded, so that a server that is busy for ever fails the test.
pub async fn patiently<T, C, F>(mut call: C) -> (Result<T, Status>, usize)
where
    C: FnMut() -> F,
    F: Future<Output = Result<Response<T>, Status>>,
{
    let mut retries = 0;
    loop {
        match call().await {
            Err(status) if is_busy(status.code()) && retries < RETRIES_MAX => {
                retries += 1;
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
            result => return (result.map(Response::into_inner), retries),
        }
    }
}

const RETRIES_MAX: usize = 500;

fn is_busy(code: Code) -> bool {
    matches!(code, Code::Unavailable | Code::Aborted | Code::ResourceExhausted)
}

/// What a refusal must look like.
#[derive(Clone, Copy, Debug)]
pub struct Expected<'a> {
    /// The code.
    pub code: Code,
    /// Fields that `BadRequest` must name: each exactly, or by a place inside it.
    pub fields: &'a [&'a str],
    /// What `ResourceInfo` must name; empty asks for none.
    pub resource: &'a str,
    /// Words that the violations of `PreconditionFailure` must hold; empty asks for none.
    pub precondition: &'a [&'a str],
}

impl Default for Expected<'_> {
    fn default() -> Self {
        Self { code: Code::Unknown, fields: &[], resource: "", precondition: &[] }
    }
}

impl Expected<'_> {
    /// Says what is wrong with a refusal, if anything is.
    pub fn judge(&self, status: &Status) -> Result<(), String> {
        let details = status.get_error_details();
        let wrong = |what: String| Err(format!("{what} in {}", describe(status)));
        if status.code() != self.code {
            return wrong(format!("expected {:?}", self.code));
        }
        if status.message().is_empty() {
            return wrong("no message".to_owned());
        }
        match details.error_info() {
            Some(info) if !info.reason.is_empty() && !info.domain.is_empty() => {}
            _ => return wrong("no ErrorInfo with reason and domain".to_owned()),
        }
        let violations = details.bad_request().map(|bad| bad.field_violations.clone());
        let violations = violations.unwrap_or_default();
        if self.code == Code::InvalidArgument && violations.is_empty() {
            return wrong("no BadRequest".to_owned());
        }
        if let Some(silent) = violations.iter().find(|violation| violation.description.is_empty()) {
            return wrong(format!("no description of {:?}", silent.field));
        }
        for field in self.fields {
            if !violations.iter().any(|violation| is_at(&violation.field, field)) {
                return wrong(format!("{field} is not named"));
            }
        }
        let resource = details.resource_info().map(|info| info.resource_name.clone());
        if !self.resource.is_empty() && resource.as_deref() != Some(self.resource) {
            return wrong(format!("ResourceInfo does not name {:?}", self.resource));
        }
        let failures = details.precondition_failure().map(|found| found.violations.clone());
        let failures = failures.unwrap_or_default();
        if self.code == Code::FailedPrecondition && failures.is_empty() {
            return wrong("no PreconditionFailure".to_owned());
        }
        for word in self.precondition {
            let said = failures.iter().any(|failure| {
                [&failure.r#type, &failure.subject, &failure.description]
                    .iter()
                    .any(|text| text.contains(word))
            });
            if !said {
                return wrong(format!("no violation says {word:?}"));
            }
        }
        Ok(())
    }
}

/// Whether a violation's field is the expected one, or a place inside it.
fn is_at(field: &str, expected: &str) -> bool {
    match field.strip_prefix(expected) {
        Some(rest) => rest.is_empty() || rest.starts_with('.') || rest.starts_with('['),
        None => false,
    }
}

fn describe(status: &Status) -> String {
    let details = status.get_error_details();
    let mut text = format!("{:?} {:?}", status.code(), status.message());
    if let Some(info) = details.error_info() {
        text += &format!(" ErrorInfo({}, {})", info.reason, info.domain);
    }
    for violation in details.bad_request().iter().flat_map(|bad| &bad.field_violations) {
        text += &format!(" Bad({}: {})", violation.field, violation.description);
    }
    if let Some(info) = details.resource_info() {
        text += &format!(" Resource({}, {})", info.resource_type, info.resource_name);
    }
    for failure in details.precondition_failure().iter().flat_map(|found| &found.violations) {
        text +=
            &format!(" Failed({}, {}: {})", failure.r#type, failure.subject, failure.description);
    }
    text
}

/// Collects what went wrong over a table of cases, so that one run shows all of it.
#[derive(Debug, Default)]
pub struct Outcomes {
    count: usize,
    wrong: Vec<String>,
}

impl Outcomes {
    /// Notes one case that must be refused.
    pub fn refused<T: Debug>(
        &mut self,
        name: &str,
        expected: Expected<'_>,
        result: Result<Response<T>, Status>,
    ) {
        let verdict = match result {
            Ok(response) => Err(format!("not refused: {:?}", response.into_inner())),
            Err(status) => expected.judge(&status),
        };
        self.note(name, verdict);
    }

    /// Notes one case, with what was wrong about it.
    pub fn note(&mut self, name: &str, verdict: Result<(), String>) {
        self.count += 1;
        if let Err(reason) = verdict {
            self.wrong.push(format!("{name}: {reason}"));
        }
    }

    /// Panics with every wrong case, or if there was none at all.
    #[track_caller]
    pub fn finish(self) {
        assert!(self.count > 0, "no case was tried");
        let wrong = self.wrong;
        assert!(wrong.is_empty(), "{} of {} wrong:\n{}", wrong.len(), self.count, wrong.join("\n"));
    }
}
