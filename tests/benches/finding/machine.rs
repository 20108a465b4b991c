//! The facts of the machine that figures were measured on.

use std::fs;
use std::process::Command;
use std::thread;

/// One line: processor, cores, memory, kernel, load before the run.
pub(crate) fn facts() -> String {
    let processor = field("/proc/cpuinfo", "model name").unwrap_or_else(|| "unknown".to_owned());
    let cores = thread::available_parallelism().map_or(0, usize::from);
    let memory = field("/proc/meminfo", "MemTotal").unwrap_or_else(|| "unknown".to_owned());
    let kernel = fs::read_to_string("/proc/sys/kernel/osrelease").unwrap_or_default();
    let load = fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load = load.split_whitespace().next().unwrap_or("unknown").to_owned();
    format!(
        "{processor}, {cores} cores for client, server and databases together, {memory}, Linux {}, \
         load average {load} at the start",
        kernel.trim()
    )
}

fn field(path: &str, name: &str) -> Option<String> {
    let text = fs::read_to_string(path).ok()?;
    let line = text.lines().find(|line| line.starts_with(name))?;
    Some(line.split_once(':')?.1.trim().to_owned())
}

/// What this was built from, as git names it.
pub(crate) fn commit() -> String {
    let output = Command::new("git").args(["describe", "--always", "--dirty"]).output();
    let text = output.ok().filter(|output| output.status.success()).map(|output| output.stdout);
    text.map_or_else(
        || "an unknown commit".to_owned(),
        |text| String::from_utf8_lossy(&text).trim().to_owned(),
    )
}
