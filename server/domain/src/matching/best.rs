//! The best few of many, in bounded memory.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Keeps the `cap` smallest ranks offered, each with a value that is made only if it is kept.
pub(super) struct Best<R, V> {
    cap: usize,
    /// The worst kept is on top.
    heap: BinaryHeap<Entry<R, V>>,
}

struct Entry<R, V> {
    rank: R,
    value: V,
}

impl<R: Ord, V> Best<R, V> {
    pub(super) fn new(cap: usize) -> Self {
        Best { cap, heap: BinaryHeap::new() }
    }

    /// Keeps the rank and makes its value, unless enough better ones are kept already.
    pub(super) fn offer(&mut self, rank: R, value: impl FnOnce() -> V) {
        if self.heap.len() < self.cap {
            self.heap.push(Entry { rank, value: value() });
        } else if let Some(mut worst) = self.heap.peek_mut()
            && rank < worst.rank
        {
            *worst = Entry { rank, value: value() };
        }
    }

    /// Everything kept, the smallest rank first.
    pub(super) fn into_sorted(self) -> impl Iterator<Item = (R, V)> {
        self.heap.into_sorted_vec().into_iter().map(|entry| (entry.rank, entry.value))
    }
}

impl<R: Ord, V> Ord for Entry<R, V> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.rank.cmp(&other.rank)
    }
}

impl<R: Ord, V> PartialOrd for Entry<R, V> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<R: Ord, V> PartialEq for Entry<R, V> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<R: Ord, V> Eq for Entry<R, V> {}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(cap: usize, ranks: &[i32]) -> Vec<(i32, i32)> {
        let mut best = Best::new(cap);
        for &rank in ranks {
            best.offer(rank, || rank * 10);
        }
        best.into_sorted().collect()
    }

    #[test]
    fn the_smallest_are_kept_in_order_whatever_the_order_of_offers() {
        let wanted = vec![(1, 10), (2, 20), (3, 30)];
        assert_eq!(kept(3, &[5, 3, 4, 1, 2]), wanted);
        assert_eq!(kept(3, &[1, 2, 3, 4, 5]), wanted);
        assert_eq!(kept(9, &[3, 1, 2]), wanted);
        assert_eq!(kept(0, &[3, 1, 2]), []);
    }

    #[test]
    fn a_value_is_made_only_if_it_is_kept() {
        let mut best = Best::new(1);
        let mut made = 0;
        for rank in [1, 2, 3, 0] {
            best.offer(rank, || made += 1);
        }
        assert_eq!(made, 2);
    }
}
