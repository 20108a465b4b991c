//! Running `tenthsd` with an environment of its own.

use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_secs(30);

/// `tenthsd`, with nothing of the environment of this test.
pub(crate) fn tenthsd(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tenthsd"));
    command.args(arguments).env_clear().stdin(Stdio::null());
    command
}

pub(crate) fn output(mut command: Command) -> Output {
    command.output().expect("tenthsd runs")
}

pub(crate) fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("output is UTF-8")
}

pub(crate) fn database_in(folder: &Path) -> String {
    format!("sqlite://{}", folder.join("shop.db").display())
}

/// A server that is killed when the test is done with it.
pub(crate) struct Server {
    process: Child,
    pub(crate) address: String,
}

impl Server {
    /// Waits until it listens.
    pub(crate) fn start(folder: &Path, more: &[&str]) -> Self {
        let port_file = folder.join("port");
        let mut command = tenthsd(&["serve", "--listen", "127.0.0.1:0", "--log-format", "json"]);
        command.arg("--database").arg(database_in(folder));
        command.arg("--port-file").arg(&port_file).args(more).stderr(Stdio::piped());
        let mut process = command.spawn().expect("tenthsd starts");
        let began = Instant::now();
        loop {
            if let Ok(address) = std::fs::read_to_string(&port_file) {
                return Self { process, address: address.trim_end().to_owned() };
            }
            if let Some(status) = process.try_wait().expect("its state is known") {
                panic!("tenthsd ended with {status}: {}", log(&mut process));
            }
            assert!(began.elapsed() < PATIENCE, "tenthsd does not listen");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    pub(crate) fn signal(&self, name: &str) {
        let process = self.process.id().to_string();
        let sent = Command::new("kill").args([format!("-{name}"), process]).status();
        assert!(sent.expect("kill runs").success());
    }

    /// Its exit code, its log, and how long it still took.
    pub(crate) fn wait(mut self) -> (Option<i32>, String, Duration) {
        let began = Instant::now();
        while began.elapsed() < PATIENCE {
            if let Some(status) = self.process.try_wait().expect("its state is known") {
                let took = began.elapsed();
                return (status.code(), log(&mut self.process), took);
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("tenthsd did not end");
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It has ended already in most tests; then there is nothing to kill.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn log(process: &mut Child) -> String {
    let mut log = String::new();
    process.stderr.as_mut().expect("piped").read_to_string(&mut log).expect("log is UTF-8");
    log
}
