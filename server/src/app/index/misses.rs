//! The nearest misses so far.

use super::fits::Picked;

/// The nearest rows, at least as many as are wanted, and all that are as near as the last of them.
pub(super) struct Nearest {
    most: usize,
    /// By how much they miss, in order.
    found: Vec<(i64, Vec<Picked>)>,
    rows: usize,
}

impl Nearest {
    pub(super) fn new(most: usize) -> Self {
        Nearest { most, found: Vec::new(), rows: 0 }
    }

    /// What misses by more than this is not among the nearest.
    pub(super) fn bound(&self) -> i64 {
        match self.found.last() {
            _ if self.most == 0 => -1,
            Some((by, _)) if self.rows >= self.most => *by,
            _ => i64::MAX,
        }
    }

    pub(super) fn offer(&mut self, by: i64, members: Vec<Picked>) {
        if members.is_empty() || by > self.bound() {
            return;
        }
        self.rows += members.len();
        let at = self.found.partition_point(|(other, _)| *other <= by);
        self.found.insert(at, (by, members));
        // What stands behind enough nearer ones is let go, but never a part of equals.
        while let Some((last, members)) = self.found.last() {
            let nearer = self.found.iter().filter(|(by, _)| by < last);
            if nearer.map(|(_, members)| members.len()).sum::<usize>() < self.most {
                break;
            }
            self.rows -= members.len();
            self.found.pop();
        }
    }

    pub(super) fn into_members(self) -> impl Iterator<Item = Picked> {
        self.found.into_iter().flat_map(|(_, members)| members)
    }
}
