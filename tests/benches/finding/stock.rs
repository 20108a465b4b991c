//! The stock of the benchmark's shop, row by row: the same seed gives the same rows, so that every
//! table can be written in a pass of its own, on both databases alike.
//!
//! Of 100 rows: 42 lots of rolling bearings, 18 lots of bushings, 20 shafts with two measured seats
//! (one in ten new and not measured), 8 shafts with a measured journal (a quarter reground), 10
//! housings with a measured bore, 2 rolling bearings that were taken off (never offered). Sizes
//! crowd: the most common of 21 bores has 27 % of the stock, the next 14 %. Three in 100 are held.

use std::collections::HashMap;

use tenths_tests::Chance;

use crate::catalogue::{BORES_MM, GAUGES, LOCATIONS, Limits, REBUILDS, SEAT_CLASSES, Sizes};

/// When the first row came in: 2026-11-01, in Unix microseconds.
const FIRST_DAY: i64 = 1_793_491_200_000_000;
/// Most that a worn seat or journal is below its limits, in nanometres.
const WEAR_MAX: u64 = 60_000;

/// The row numbers of a feature and its item, as the database gave them.
pub(crate) type Ids = HashMap<(String, String), (i64, i64)>;

/// One stocked row.
#[derive(Clone, Debug)]
pub(crate) struct Stocked {
    /// Its number in its own table, from 1.
    pub(crate) id: i64,
    /// The item's row number.
    pub(crate) item: i64,
    /// Where it is.
    pub(crate) location: i64,
    /// When it came in.
    pub(crate) created_at: i64,
    /// The hold on it, if any.
    pub(crate) hold: Option<Hold>,
    /// What is special to a lot or a piece.
    pub(crate) kind: Kind,
}

/// An active hold of one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hold {
    /// Its number, from 1.
    pub(crate) id: i64,
    /// For which rebuild.
    pub(crate) rebuild: i64,
}

/// A lot or a piece.
#[derive(Clone, Debug)]
pub(crate) enum Kind {
    /// A lot of new stock.
    Lot {
        /// How many there are.
        quantity: i64,
        /// Months since 2021-01.
        date_month: u64,
        /// Cost of one in minor units.
        cost_minor: i64,
    },
    /// A tagged piece.
    Piece {
        /// new, used or reconditioned.
        condition: &'static str,
        /// The measured features.
        sizes: Vec<Measured>,
    },
}

/// The readings of one feature of a piece.
#[derive(Clone, Debug)]
pub(crate) struct Measured {
    /// The feature's row number.
    pub(crate) feature: i64,
    /// Index into [`GAUGES`].
    pub(crate) gauge: usize,
    /// The part's temperature in tenths of a degree Celsius.
    pub(crate) temperature_tenths: i64,
    /// Steps of the gauge across 0 and 90 degrees.
    pub(crate) steps: [i64; 2],
    /// The limits that it was reground to.
    pub(crate) target: Option<Limits>,
}

impl Measured {
    /// A reading as the gauge showed it, in nanometres.
    pub(crate) fn value_nm(&self, index: usize) -> i64 {
        self.steps[index] * GAUGES[self.gauge].step_nm
    }

    /// The same at 20 C: steel, 11.5 parts in a million for each degree.
    pub(crate) fn at_20c_nm(&self, index: usize) -> i64 {
        let value = self.value_nm(index);
        value - value / 1_000 * 115 * (self.temperature_tenths - 200) / 100_000
    }

    /// The smaller and the larger at 20 C.
    pub(crate) fn range(&self) -> (i64, i64) {
        let (first, second) = (self.at_20c_nm(0), self.at_20c_nm(1));
        (first.min(second), first.max(second))
    }
}

/// Picks an index by how common it is: the n-th is 1/n as common as the first.
pub(crate) fn common(chance: &mut Chance, choices: usize) -> usize {
    const UNIT: u64 = 1_000_000;
    let weights = || (1..=choices as u64).map(|rank| UNIT / rank);
    let mut left = chance.below(weights().sum());
    weights()
        .position(|weight| {
            let found = left < weight;
            left = left.saturating_sub(weight);
            found
        })
        .expect("the number is below the sum of the weights")
}

/// A number from `limits`, more often from their middle.
pub(crate) fn within(chance: &mut Chance, limits: Limits) -> i64 {
    let width = u64::try_from(limits.upper - limits.lower).expect("limits in order");
    let half = |chance: &mut Chance| chance.below(width / 2 + 1) as i64;
    limits.lower + half(chance) + half(chance)
}

/// Makes the rows of a shop.
pub(crate) struct Stock<'a> {
    sizes: &'a Sizes,
    ids: &'a Ids,
    housings: Vec<i64>,
    chance: Chance,
    left: u64,
    lots: i64,
    pieces: i64,
    holds: i64,
}

impl<'a> Stock<'a> {
    /// The rows of a seed, the same each time.
    pub(crate) fn new(sizes: &'a Sizes, ids: &'a Ids, rows: u64, seed: u64) -> Self {
        let chance = Chance::new(seed);
        let housings = sizes.housings();
        Self { sizes, ids, housings, chance, left: rows, lots: 0, pieces: 0, holds: 0 }
    }

    fn bore_mm(&mut self) -> i64 {
        BORES_MM[common(&mut self.chance, BORES_MM.len())]
    }

    fn ids(&self, code: &str, feature: &str) -> (i64, i64) {
        self.ids[&(code.to_owned(), feature.to_owned())]
    }

    fn ring_item(&mut self) -> i64 {
        let bore = common(&mut self.chance, BORES_MM.len());
        let series = common(&mut self.chance, 3);
        let ring = &self.sizes.rings[bore * 3 + series];
        let group = if self.chance.below(3) == 0 { "-C3" } else { "" };
        self.ids(&crate::catalogue::bearing_code(&format!("{}{group}", ring.number)), "bore").0
    }

    fn lot(&mut self, item: i64) -> (i64, Kind) {
        let kind = Kind::Lot {
            quantity: 1 + self.chance.below(40) as i64,
            date_month: self.chance.below(70),
            cost_minor: 150 + self.chance.below(9_000) as i64,
        };
        (item, kind)
    }

    fn seat_shaft(&mut self) -> (i64, Kind) {
        let bore = self.bore_mm();
        let class = SEAT_CLASSES[common(&mut self.chance, SEAT_CLASSES.len())];
        let limits = self.sizes.class(class, bore * 1_000_000);
        let code = format!("SHAFT-{bore}-{class}");
        let item = self.ids(&code, "seat-a").0;
        if self.chance.below(10) == 0 {
            return (item, Kind::Piece { condition: "new", sizes: Vec::new() });
        }
        let sizes = ["seat-a", "seat-b"].map(|name| {
            let size = self.worn(limits, -1);
            self.measured(self.ids(&code, name).1, size, None)
        });
        (item, Kind::Piece { condition: "used", sizes: sizes.into() })
    }

    fn journal_shaft(&mut self) -> (i64, Kind) {
        let bore = self.bore_mm();
        let limits = self.sizes.class("f7", bore * 1_000_000);
        let (item, feature) = self.ids(&format!("JSHAFT-{bore}"), "journal");
        if self.chance.below(4) != 0 {
            let size = self.worn(limits, -1);
            let sizes = vec![self.measured(feature, size, None)];
            return (item, Kind::Piece { condition: "used", sizes });
        }
        let undersize = 250_000 * (1 + self.chance.below(2) as i64);
        let target = Limits { lower: limits.lower - undersize, upper: limits.upper - undersize };
        let size = within(&mut self.chance, target);
        let sizes = vec![self.measured(feature, size, Some(target))];
        (item, Kind::Piece { condition: "reconditioned", sizes })
    }

    fn housing(&mut self) -> (i64, Kind) {
        let bore = common(&mut self.chance, BORES_MM.len());
        let series = common(&mut self.chance, 3);
        let nominal = self.sizes.rings[bore * 3 + series].outside_nm;
        debug_assert!(self.housings.contains(&nominal), "every ring has its housing");
        let limits = self.sizes.class("H7", nominal);
        let (item, feature) = self.ids(&format!("BELL-{}", nominal / 1_000_000), "bore-a");
        let size = self.worn(limits, 1);
        let sizes = vec![self.measured(feature, size, None)];
        (item, Kind::Piece { condition: "used", sizes })
    }

    /// Seven in ten are within limits; the rest are worn past them, one way.
    fn worn(&mut self, limits: Limits, way: i64) -> i64 {
        let wear = self.chance.below(WEAR_MAX) as i64;
        match (self.chance.below(10), way) {
            (0..7, _) => within(&mut self.chance, limits),
            (_, -1) => limits.lower - wear,
            _ => limits.upper + wear,
        }
    }

    fn measured(&mut self, feature: i64, size: i64, target: Option<Limits>) -> Measured {
        let gauge = common(&mut self.chance, GAUGES.len());
        let step = GAUGES[gauge].step_nm;
        let first = (size + step / 2) / step;
        let second = first + self.chance.below(3) as i64 - 1;
        let temperature_tenths = 180 + 5 * self.chance.below(21) as i64;
        Measured { feature, gauge, temperature_tenths, steps: [first, second], target }
    }
}

impl Iterator for Stock<'_> {
    type Item = Stocked;

    fn next(&mut self) -> Option<Stocked> {
        self.left = self.left.checked_sub(1)?;
        let (item, kind) = match self.chance.below(100) {
            0..42 => {
                let item = self.ring_item();
                self.lot(item)
            }
            42..60 => {
                let bore = self.bore_mm();
                self.lot(self.ids(&format!("BUSH-{bore}"), "bore").0)
            }
            60..80 => self.seat_shaft(),
            80..88 => self.journal_shaft(),
            88..98 => self.housing(),
            _ => (self.ring_item(), Kind::Piece { condition: "used", sizes: Vec::new() }),
        };
        let counter = match kind {
            Kind::Lot { .. } => &mut self.lots,
            Kind::Piece { .. } => &mut self.pieces,
        };
        *counter += 1;
        let id = *counter;
        let location = 1 + self.chance.below(LOCATIONS as u64) as i64;
        let created_at = FIRST_DAY + id * 1_000;
        let hold = (self.chance.below(100) < 3).then(|| {
            self.holds += 1;
            Hold { id: self.holds, rebuild: 1 + self.holds % REBUILDS as i64 }
        });
        Some(Stocked { id, item, location, created_at, hold, kind })
    }
}
