//! The fits found so far, and which of them can be among the best.

use super::fits::Picked;
use std::ops::Range;
use tenths_domain::verdict::Verdict;

/// The fits of one family, or of all, and whether there are enough.
pub(super) struct Tally {
    need: usize,
    /// Rows in the order in which they were found, those of one note together.
    pub(super) rows: Vec<Picked>,
    /// Verdict, distance, and which rows.
    notes: Vec<(Verdict, i64, Range<usize>)>,
    /// Rows by verdict, of distances that the walk has left behind.
    left_behind: [usize; Verdict::ALL.len()],
    /// How many of `notes` are counted there.
    counted: usize,
    /// The distance at which it is worth asking again what could still come.
    ask_at: i64,
}

impl Tally {
    pub(super) fn new(need: usize) -> Self {
        Tally {
            need,
            rows: Vec::new(),
            notes: Vec::new(),
            left_behind: [0; Verdict::ALL.len()],
            counted: 0,
            ask_at: 0,
        }
    }

    /// Notes of the rows that were added since the last note how sure and how far off they are.
    pub(super) fn note(&mut self, verdict: Verdict, off: i64) {
        let from = self.notes.last().map_or(0, |(_, _, rows)| rows.end);
        if from < self.rows.len() {
            self.notes.push((verdict, off, from..self.rows.len()));
        }
    }

    /// Whether nothing from this distance on can be among the best: there are enough, nearer, of a
    /// verdict that none out there betters.
    pub(super) fn is_settled(&mut self, off: i64, reach: i64, best: impl Fn() -> Verdict) -> bool {
        while let Some((verdict, at, rows)) = self.notes.get(self.counted)
            && *at < off
        {
            self.left_behind[*verdict as usize] += rows.len();
            self.counted += 1;
        }
        let mut rows = 0;
        let enough = Verdict::ALL.iter().find(|verdict| {
            rows += self.left_behind[**verdict as usize];
            rows >= self.need
        });
        let Some(enough) = enough else { return false };
        if *enough == Verdict::ProvenIn {
            return true;
        }
        if off < self.ask_at {
            return false;
        }
        self.ask_at = off + (reach - off) / 16;
        best() >= *enough
    }

    /// Adds those of another.
    pub(super) fn add(&mut self, other: Tally) {
        let before = self.rows.len();
        self.rows.extend(other.rows);
        let moved = |rows: Range<usize>| rows.start + before..rows.end + before;
        self.notes.extend(other.notes.into_iter().map(|(v, off, rows)| (v, off, moved(rows))));
    }

    /// Keeps the rows that can be among the best; whether others were let go.
    pub(super) fn keep_best(&mut self) -> bool {
        self.notes.sort_by_key(|(verdict, off, _)| (*verdict, *off));
        let mut rows = Vec::with_capacity(self.rows.len());
        let mut kept = 0;
        let mut last = None;
        for (verdict, off, range) in &mut self.notes {
            if rows.len() >= self.need && last != Some((*verdict, *off)) {
                break;
            }
            last = Some((*verdict, *off));
            let from = rows.len();
            rows.extend_from_slice(&self.rows[range.clone()]);
            *range = from..rows.len();
            kept += 1;
        }
        let is_cut = kept < self.notes.len();
        self.notes.truncate(kept);
        self.rows = rows;
        is_cut
    }
}
