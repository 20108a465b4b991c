//! The real binaries as child processes: `tenthsd` serving, and one-shot runs of either binary.

use std::fs::{self, File};
use std::io::Write;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use crate::Database;

/// How long a server may take until it has written its address.
const START_MAX: Duration = Duration::from_secs(30);
/// How long a one-shot run may take before it counts as hung.
const RUN_MAX: Duration = Duration::from_secs(300);

/// What a one-shot run left behind.
#[derive(Debug)]
pub struct Finished {
    /// The exit code; -1 if a signal ended the run.
    pub code: i32,
    /// What it wrote as data.
    pub stdout: String,
    /// What it told a person.
    pub stderr: String,
}

impl Finished {
    /// The run, if it exited with 0; panics with what it said otherwise.
    pub fn succeeded(self, what: &str) -> Self {
        assert_eq!(self.code, 0, "{what}: exit {}\n{}\n{}", self.code, self.stdout, self.stderr);
        self
    }
}

/// A `tenthsd serve` of the test's own; killed when dropped.
#[derive(Debug)]
pub struct Server {
    child: Child,
    address: SocketAddr,
    log: PathBuf,
}

impl Server {
    /// Starts a server on a free port of the loopback address and waits until it listens.
    pub fn start(database: &Database, arguments: &[&str]) -> Self {
        Self::start_within(database, arguments, START_MAX)
    }

    /// The same with a patience of its own, for a database that takes long to open.
    pub fn start_within(database: &Database, arguments: &[&str], patience: Duration) -> Self {
        let port_file = database.folder().join("port");
        let log = database.folder().join("tenthsd.log");
        // A file left by an earlier server of the same database would be read too soon.
        let _ = fs::remove_file(&port_file);
        let log_file = File::options().create(true).append(true).open(&log).expect("a log file");
        let child = command("tenthsd")
            .args(["serve", "--listen", "127.0.0.1:0", "--database", database.url()])
            .arg("--port-file")
            .arg(&port_file)
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(log_file.try_clone().expect("a second handle of the log file"))
            .stderr(log_file)
            .spawn()
            .expect("tenthsd starts");
        // Owned before the wait, so that a server that never listens is still stopped.
        let unbound = SocketAddr::from(([127, 0, 0, 1], 0));
        let mut server = Self { child, address: unbound, log };
        server.address = server.wait_for_address(&port_file, patience);
        server
    }

    fn wait_for_address(&mut self, port_file: &Path, patience: Duration) -> SocketAddr {
        let start = Instant::now();
        loop {
            let text = fs::read_to_string(port_file).unwrap_or_default();
            if let Ok(address) = text.trim().parse() {
                return address;
            }
            if let Some(status) = self.child.try_wait().expect("the state of tenthsd") {
                panic!("tenthsd ended with {status}:\n{}", self.log_text());
            }
            let waited = start.elapsed();
            assert!(waited < patience, "no address after {waited:?}:\n{}", self.log_text());
            thread::sleep(Duration::from_millis(5));
        }
    }

    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Everything it has logged.
    pub fn log_text(&self) -> String {
        fs::read_to_string(&self.log).unwrap_or_default()
    }

    /// The most memory it ever had in use, in KiB, as the kernel counted it.
    pub fn peak_memory_kib(&self) -> u64 {
        self.status_kib("VmHWM:")
    }

    /// The memory that it has in use now, in KiB, as the kernel counts it.
    pub fn resident_memory_kib(&self) -> u64 {
        self.status_kib("VmRSS:")
    }

    fn status_kib(&self, field: &str) -> u64 {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id()))
            .expect("the status of a running process");
        let line = status.lines().find_map(|line| line.strip_prefix(field));
        let number = line.and_then(|rest| rest.split_whitespace().next());
        number.and_then(|text| text.parse().ok()).expect("an amount in KiB")
    }

    /// Ends it at once, as a crash would.
    pub fn kill(&mut self) {
        self.child.kill().expect("tenthsd can be killed");
        self.child.wait().expect("tenthsd has ended");
    }

    /// Asks it to stop (SIGTERM) and waits at most `patience`; `None` if it is still running then.
    pub fn terminate(&mut self, patience: Duration) -> Option<ExitStatus> {
        let asked = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status();
        assert!(asked.expect("kill runs").success(), "tenthsd could not be asked to stop");
        wait_at_most(&mut self.child, patience)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if thread::panicking() {
            let text = self.log_text();
            let lines: Vec<&str> = text.lines().collect();
            eprintln!("-- end of the log of tenthsd --");
            for line in &lines[lines.len().saturating_sub(20)..] {
                eprintln!("{line}");
            }
        }
        // Killing a process that has ended already is no failure.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Runs `tenthsd` once, for example `verify`.
pub fn run_tenthsd(arguments: &[&str]) -> Finished {
    run(command("tenthsd").args(arguments), "")
}

/// Runs `tenths` once against a server.
pub fn run_tenths(address: SocketAddr, arguments: &[&str]) -> Finished {
    run_tenths_with_input(address, arguments, "")
}

/// Runs `tenths` once against a server, with text on its standard input.
pub fn run_tenths_with_input(address: SocketAddr, arguments: &[&str], input: &str) -> Finished {
    let server = format!("http://{address}");
    run(command("tenths").env("TENTHS_SERVER", server).args(arguments), input)
}

/// Starts `tenths` against a server, feeds it text, and kills it before the text has ended, as a
/// machine that is switched off would.
pub fn kill_tenths_midway(address: SocketAddr, arguments: &[&str], input: &str, after: Duration) {
    let mut child = command("tenths")
        .env("TENTHS_SERVER", format!("http://{address}"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the binary starts");
    let mut stdin = child.stdin.take().expect("a piped stdin");
    let fed = stdin.write_all(input.as_bytes());
    thread::sleep(after);
    child.kill().expect("tenths can be killed");
    child.wait().expect("tenths has ended");
    fed.expect("tenths reads while it is not killed");
    // Held open until here: an end of the text would be an end of the rows.
    drop(stdin);
}

fn run(command: &mut Command, input: &str) -> Finished {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    let mut stdin = child.stdin.take().expect("a piped stdin");
    let input = input.to_owned();
    // Written and read on threads of their own: a full pipe would stop both sides for ever.
    let feed = thread::spawn(move || {
        // A program that does not read its input closes the pipe; that is its right.
        let _ = stdin.write_all(input.as_bytes());
    });
    let stdout = drain(child.stdout.take().expect("a piped stdout"));
    let stderr = drain(child.stderr.take().expect("a piped stderr"));
    let status = wait_at_most(&mut child, RUN_MAX);
    if status.is_none() {
        let _ = child.kill();
        let _ = child.wait();
    }
    feed.join().expect("the input is written");
    let finished = Finished {
        code: status.and_then(|status| status.code()).unwrap_or(-1),
        stdout: stdout.join().expect("the output is read"),
        stderr: stderr.join().expect("the messages are read"),
    };
    assert!(status.is_some(), "still running after {RUN_MAX:?}: {finished:?}");
    finished
}

fn drain<R: std::io::Read + Send + 'static>(mut pipe: R) -> thread::JoinHandle<String> {
    thread::spawn(move || {
        let mut bytes = Vec::new();
        pipe.read_to_end(&mut bytes).expect("a pipe can be read");
        String::from_utf8(bytes).expect("the binaries write UTF-8")
    })
}

fn wait_at_most(child: &mut Child, patience: Duration) -> Option<ExitStatus> {
    let start = Instant::now();
    loop {
        if let Some(status) = child.try_wait().expect("the state of a child") {
            return Some(status);
        }
        if start.elapsed() > patience {
            return None;
        }
        thread::sleep(Duration::from_millis(5));
    }
}

/// A command for a binary of this build, free of settings from the caller's environment.
fn command(name: &str) -> Command {
    let path = binary(name);
    let mut command = Command::new(path);
    for (variable, _) in std::env::vars_os() {
        let foreign = variable.to_string_lossy().starts_with("TENTHS_");
        if foreign {
            command.env_remove(variable);
        }
    }
    command.env("NO_COLOR", "1");
    // What is searched follows the books closely, and nothing is remembered between tests.
    command.env("TENTHS_INDEX_POLL_MILLIS", "20").env("TENTHS_STATE", "/dev/null/none");
    command
}

/// Test executables are in `target/PROFILE/deps`; the binaries are one folder up.
fn binary(name: &str) -> PathBuf {
    let test = std::env::current_exe().expect("the path of this test");
    let folder = test.parent().and_then(Path::parent).expect("target/PROFILE");
    let path = folder.join(name);
    assert!(path.exists(), "no {name} in this build; run `cargo build --workspace` first");
    path
}
