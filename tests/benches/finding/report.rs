//! The table of one shop.

use std::time::Duration;

use crate::drive::Timing;

/// Who was asked.
#[derive(Clone, Debug)]
pub(crate) struct Asked {
    /// The name in the table.
    pub(crate) name: String,
    /// One measurement for each number in flight, in the order of the arguments.
    pub(crate) timings: Vec<Timing>,
}

/// What was found of one shop.
#[derive(Clone, Debug)]
pub(crate) struct Report {
    /// Stocked rows.
    pub(crate) rows: u64,
    /// The database and its version.
    pub(crate) database: String,
    /// How long the rows took to load, with the contestant's table.
    pub(crate) loaded: Duration,
    /// From the start of the process until it listens.
    pub(crate) listening: Duration,
    /// From the start of the process until the first question is answered.
    pub(crate) answering: Duration,
    /// Resident memory in KiB: of a server on an empty database, after the start, after questions.
    pub(crate) resident_kib: [u64; 3],
    /// Mean size of a question and of its answer in bytes.
    pub(crate) payload: (usize, usize),
    /// Of so many questions, on how many SQL counts as many fits as the shop.
    pub(crate) agreed: (usize, usize),
    /// Ours first.
    pub(crate) asked: Vec<Asked>,
}

impl Report {
    /// Prints it as text that is also Markdown.
    pub(crate) fn print(&self, in_flight: &[u16]) {
        let [empty, started, after] = self.resident_kib;
        let per_row = |kib: u64| (kib.saturating_sub(empty) * 1_024) as f64 / self.rows as f64;
        println!("\n### {} rows, {}\n", self.rows, self.database);
        println!(
            "Loaded in {:.1} s. Listening after {:.2} s, first answer after {:.2} s. Resident {} MiB \
             after the first answer ({} MiB with an empty database): {:.0} bytes a row; {:.0} after \
             the questions. A question is {} bytes, its answer {}. SQL counts as many fits as the \
             shop in {} of {} questions.\n",
            self.loaded.as_secs_f64(),
            self.listening.as_secs_f64(),
            self.answering.as_secs_f64(),
            started / 1_024,
            empty / 1_024,
            per_row(started),
            per_row(after),
            self.payload.0,
            self.payload.1,
            self.agreed.0,
            self.agreed.1,
        );
        println!(
            "| asked | in flight | answered | failed | a second | p50 ms | p99 ms | rate of ours / this | p99 of ours / this |"
        );
        println!("|---|---|---|---|---|---|---|---|---|");
        for (index, in_flight) in in_flight.iter().enumerate() {
            let ours = &self.asked[0].timings[index];
            for asked in &self.asked {
                println!("{}", line(&asked.name, *in_flight, &asked.timings[index], ours));
            }
        }
    }
}

fn line(name: &str, in_flight: u16, timing: &Timing, ours: &Timing) -> String {
    let (p50, p99) = (timing.percentile_ms(0.5), timing.percentile_ms(0.99));
    format!(
        "| {name} | {in_flight} | {} | {} | {:.0} | {p50:.3} | {p99:.3} | {} | {} |",
        timing.answered(),
        timing.failed(),
        timing.rate(),
        ratio(ours.rate(), timing.rate()),
        ratio(ours.percentile_ms(0.99), p99),
    )
}

/// A ratio with the places that its size deserves.
fn ratio(ours: f64, this: f64) -> String {
    let ratio = ours / this;
    let places = if ratio >= 100.0 {
        0
    } else if ratio >= 0.1 {
        2
    } else {
        5
    };
    format!("{ratio:.places$}")
}
