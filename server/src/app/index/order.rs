//! Numbers of groups in order of a size.

use std::collections::BTreeSet;
use std::ops::Bound;

/// A size and the number of a group, in twelve bytes where a pair of both takes sixteen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Spot {
    /// The upper half of the size; with the lower half it is in the order of sizes.
    high: i32,
    low: u32,
    group: u32,
}

impl Spot {
    fn new(size: i64, group: u32) -> Self {
        // Halves of the size, cut on purpose.
        Spot { high: (size >> 32) as i32, low: size as u32, group }
    }

    fn pair(self) -> (i64, u32) {
        ((i64::from(self.high) << 32) | i64::from(self.low), self.group)
    }
}

/// Groups in order of a size, then of their numbers.
#[derive(Debug, Default)]
pub(super) struct Order(BTreeSet<Spot>);

impl Order {
    /// Of all these at once: full nodes, where one by one they end half empty.
    pub(super) fn of(spots: impl Iterator<Item = (i64, u32)>) -> Self {
        Order(spots.map(|(size, group)| Spot::new(size, group)).collect())
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    pub(super) fn insert(&mut self, size: i64, group: u32) {
        self.0.insert(Spot::new(size, group));
    }

    pub(super) fn remove(&mut self, size: i64, group: u32) {
        self.0.remove(&Spot::new(size, group));
    }

    /// The smallest size.
    pub(super) fn first(&self) -> Option<i64> {
        self.0.first().map(|spot| spot.pair().0)
    }

    /// The largest size.
    pub(super) fn last(&self) -> Option<i64> {
        self.0.last().map(|spot| spot.pair().0)
    }

    /// All of them, upward.
    pub(super) fn all(&self) -> impl Iterator<Item = (i64, u32)> {
        self.0.iter().map(|spot| spot.pair())
    }

    /// From this size and number on, upward.
    pub(super) fn from(&self, size: i64, group: u32) -> impl Iterator<Item = (i64, u32)> {
        self.0.range(Spot::new(size, group)..).map(|spot| spot.pair())
    }

    /// Below this size, downward.
    pub(super) fn below(&self, size: i64) -> impl Iterator<Item = (i64, u32)> {
        let end = Bound::Excluded(Spot::new(size, 0));
        self.0.range((Bound::Unbounded, end)).rev().map(|spot| spot.pair())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Goal: sizes come out as they went in and in their order, of either sign and any length.
    /// Method: about every power of two, one by one and at once.
    #[test]
    fn sizes_come_out_in_their_order() {
        let powers = (0..63).map(|power| 1_i64 << power);
        let sizes = powers.flat_map(|size| [size - 1, size, -size, 1 - size]);
        let mut spots: Vec<(i64, u32)> =
            sizes.zip(0..).chain([(i64::MAX, 7), (i64::MIN, 7)]).collect();
        let at_once = Order::of(spots.iter().copied());
        let mut singly = Order::default();
        spots.iter().for_each(|(size, group)| singly.insert(*size, *group));
        spots.sort_unstable();
        for order in [&at_once, &singly] {
            assert_eq!(order.all().collect::<Vec<_>>(), spots);
            assert_eq!((order.first(), order.last()), (Some(i64::MIN), Some(i64::MAX)));
        }
        for at in 0..spots.len() {
            let (size, group) = spots[at];
            assert_eq!(singly.from(size, group).collect::<Vec<_>>(), spots[at..]);
            let below = spots.iter().rev().filter(|one| one.0 < size).copied();
            assert!(singly.below(size).eq(below), "{size}");
        }
        spots.iter().for_each(|(size, group)| singly.remove(*size, *group));
        assert_eq!(singly.len(), 0);
    }
}
