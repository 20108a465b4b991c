//! The exit codes, documented once: for people, for scripts and for the tests.

use crate::failure::Failure;
use std::error::Error;
use std::process::ExitCode;
use tonic::Code;

/// What every help text says of the exit codes.
pub(crate) const HELP: &str = "\
Exit codes:
  0  done
  2  the arguments make no sense (nothing was sent)
  3  refused as invalid; an import with bad rows; a file of questions that is empty
     or has a problem in a row
  4  not found
  5  exists already
  6  the state of things forbids it, or a question has to be answered first
  7  changed meanwhile: read it again
  8  the server cannot be reached, is busy or took too long
  9  anything else

Data goes to standard output, everything else to standard error. Tables show times to the minute in
UTC and fit a line of the terminal, or of COLUMNS, or of 100; what they shorten is whole in `show`
and with --output json or csv.

Example:
  tenths --person mara core log --description \"2 hp coolant pump\" --owner shop --grade A --at YARD-1";

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    Done = 0,
    Usage = 2,
    Invalid = 3,
    NotFound = 4,
    Exists = 5,
    State = 6,
    Changed = 7,
    Unreachable = 8,
    Other = 9,
}

impl Exit {
    /// The exit of an rpc that answered with `code`.
    pub(crate) fn of_rpc(code: Code) -> Exit {
        match code {
            Code::Ok => Exit::Done,
            Code::InvalidArgument => Exit::Invalid,
            Code::NotFound => Exit::NotFound,
            Code::AlreadyExists => Exit::Exists,
            Code::FailedPrecondition => Exit::State,
            Code::Aborted => Exit::Changed,
            Code::Unavailable | Code::DeadlineExceeded => Exit::Unreachable,
            Code::Cancelled
            | Code::Unknown
            | Code::PermissionDenied
            | Code::ResourceExhausted
            | Code::OutOfRange
            | Code::Unimplemented
            | Code::Internal
            | Code::DataLoss
            | Code::Unauthenticated => Exit::Other,
        }
    }

    /// The exit of a command that failed.
    pub(crate) fn of_failure(failure: &Failure) -> Exit {
        match failure {
            Failure::Usage(_) => Exit::Usage,
            // Nothing that a server said: the connection was lost on the way.
            Failure::Rpc { status, .. } if status.source().is_some() => Exit::Unreachable,
            Failure::Rpc { status, .. } => Exit::of_rpc(status.code()),
            Failure::BadRows { .. } | Failure::RowProblems { .. } | Failure::File(_) => {
                Exit::Invalid
            }
            Failure::NotServing(_) => Exit::Unreachable,
            // Whoever read our output has seen enough, as `head` does.
            Failure::Output(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Exit::Done,
            Failure::Output(_) | Failure::Local(_) => Exit::Other,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit as u8)
    }
}

/// Says on standard error what went wrong, if anything, and gives the exit code.
pub(crate) fn code_of(result: Result<(), Failure>) -> ExitCode {
    let Err(failure) = result else { return Exit::Done.into() };
    let exit = Exit::of_failure(&failure);
    if exit != Exit::Done {
        eprintln!("{}", failure.lines().join("\n"));
    }
    exit.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io;

    /// Every gRPC code has its exit, and the number is the one that HELP promises.
    #[test]
    fn every_code_has_the_documented_exit() {
        let named = [(3, 3), (5, 4), (6, 5), (9, 6), (10, 7), (14, 8), (4, 8), (0, 0)];
        for number in 0..=16 {
            let documented =
                named.iter().find(|(code, _)| *code == number).map_or(9, |(_, exit)| *exit);
            assert_eq!(Exit::of_rpc(Code::from_i32(number)) as i32, documented, "code {number}");
        }
        for exit in [0, 2, 3, 4, 5, 6, 7, 8, 9] {
            assert!(HELP.contains(&format!("\n  {exit}  ")), "exit {exit} is not documented");
        }
    }

    #[test]
    fn failures_before_and_after_the_rpc_have_their_exits() {
        let broken = io::Error::from(io::ErrorKind::BrokenPipe);
        for (failure, exit) in [
            (Failure::Usage("x".into()), Exit::Usage),
            (Failure::BadRows { bad: 1 }, Exit::Invalid),
            (Failure::File("x".into()), Exit::Invalid),
            (Failure::RowProblems { bad: 1 }, Exit::Invalid),
            (Failure::NotServing("not_serving".into()), Exit::Unreachable),
            (Failure::Output(broken), Exit::Done),
            (Failure::Output(io::Error::other("disk full")), Exit::Other),
            (Failure::Local(anyhow::anyhow!("x")), Exit::Other),
        ] {
            assert_eq!(Exit::of_failure(&failure), exit, "{failure:?}");
        }
    }
}
