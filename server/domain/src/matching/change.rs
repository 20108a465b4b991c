//! Nothing fits: the smallest changes that would do. One limit relaxed, one act of the trade, or one
//! purchase.

use super::act::Act;
use super::question::{Answer, Miss, MissSide, Place, Question};
use crate::bearings::boundary;
use crate::bearings::iso492::{self, ToleranceClass};
use crate::fit::{ClearanceWindow, SizeBelief, judge};
use crate::item::{ItemKind, Limits, Side};
use crate::units::Length;
use crate::verdict::Verdict;

/// Rings are looked for whose nominal size is within this of the measured size.
const RING_WITHIN: Length = Length::from_nm(200_000);
/// The classes that are bought, the cheapest first.
const BOUGHT: [ToleranceClass; 4] = [
    ToleranceClass::Normal,
    ToleranceClass::Class6,
    ToleranceClass::Class5,
    ToleranceClass::Class4,
];

/// Which end of a question with two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The first, or the only one.
    First,
    /// The other end.
    Other,
}

/// A change after which something would fit.
#[derive(Clone, Debug, PartialEq)]
pub enum Change<K> {
    /// Allow more at one end of the requirement.
    Relax {
        /// What would fit then.
        key: K,
        /// At which end of the part.
        end: End,
        /// On which side.
        side: MissSide,
        /// By how much.
        by: Length,
        /// The requirement as it would be.
        window: ClearanceWindow,
    },
    /// Do one thing to one part.
    Work {
        /// What would fit then.
        key: K,
        /// At which end of the part.
        end: End,
        /// What to do.
        act: Act,
    },
    /// Buy a bearing with rings of this class.
    BuyRing {
        /// Its nominal size at the measured place.
        nominal: Length,
        /// The class, the widest that fits.
        class: ToleranceClass,
        /// Basic numbers of that size.
        numbers: Vec<String>,
    },
    /// Buy, or have made, a mate within these limits; of a bushing, once pressed.
    BuySize {
        /// The limits.
        limits: Limits,
    },
}

/// The smallest change of each kind that would make something fit, given that nothing does: an
/// answer with its nearest misses. `sought` is the place that would mate.
pub fn smallest_changes<K: Clone>(
    question: &Question,
    sought: Place,
    answer: &Answer<K>,
) -> Vec<Change<K>> {
    let blocked: Vec<_> = answer.misses.iter().filter_map(blocked_once).collect();
    let mut changes = Vec::new();
    if let Some((miss, end)) = blocked.iter().find(|(miss, _)| miss.worst() > Length::ZERO) {
        changes.push(relaxed(miss, *end));
    }
    let works = blocked.iter().filter_map(|(miss, end)| {
        let act = match end {
            End::First => miss.act,
            End::Other => miss.other.as_ref().and_then(|other| other.act),
        };
        act.map(|act| (miss.key.clone(), *end, act))
    });
    if let Some((key, end, act)) = works.min_by_key(|(.., act)| act.cost()) {
        changes.push(Change::Work { key, end, act });
    }
    changes.extend(purchase(question, sought));
    changes
}

/// A miss at one end only: one change mends it.
fn blocked_once<K>(miss: &Miss<K>) -> Option<(&Miss<K>, End)> {
    let Some(other) = &miss.other else { return Some((miss, End::First)) };
    let first_misses = miss.by > Length::ZERO || miss.act.is_some();
    match (first_misses, other.side.is_some()) {
        (true, false) => Some((miss, End::First)),
        (false, true) => Some((miss, End::Other)),
        _ => None,
    }
}

fn relaxed<K: Clone>(miss: &Miss<K>, end: End) -> Change<K> {
    let (window, fit, side, by) = match (&miss.other, end) {
        (Some(other), End::Other) => {
            (other.window, other.fit, other.side.unwrap_or(MissSide::Both), other.by)
        }
        _ => (miss.window, miss.fit, miss.side, miss.by),
    };
    let window = ClearanceWindow {
        min: window.min.min(fit.clearance_min),
        max: window.max.max(fit.clearance_max),
    };
    Change::Relax { key: miss.key.clone(), end, side, by, window }
}

/// The widest class of ring, or else the size, that would fit the measured place.
fn purchase<K>(question: &Question, sought: Place) -> Option<Change<K>> {
    if sought.item == ItemKind::RollingBearing {
        return ring(question, sought.feature.side());
    }
    let nominal = question.size.smallest();
    let window = question.requirement.window(nominal, question.ring).ok()?;
    let (smallest, largest) = (question.size.smallest(), question.size.largest());
    let limits = match sought.feature.side() {
        Side::Internal => Limits { lower: largest + window.min, upper: smallest + window.max },
        Side::External => Limits { lower: largest - window.max, upper: smallest - window.min },
    };
    (limits.lower <= limits.upper).then_some(Change::BuySize { limits })
}

fn ring<K>(question: &Question, side: Side) -> Option<Change<K>> {
    let middle = question.size.smallest();
    let near = match side {
        Side::Internal => boundary::by_dimensions_within(middle, None, None, RING_WITHIN),
        Side::External => boundary::by_outside_diameter_within(middle, RING_WITHIN),
    };
    let nominal = |found: &boundary::Found| match side {
        Side::Internal => found.dimensions.bore,
        Side::External => found.dimensions.outside_diameter,
    };
    for class in BOUGHT {
        for found in &near {
            let size = nominal(found);
            if ring_fits(question, side, size, class) {
                let same = near.iter().filter(|one| nominal(one) == size);
                let numbers = same.map(|one| one.basic.clone()).collect();
                return Some(Change::BuyRing { nominal: size, class, numbers });
            }
        }
    }
    None
}

fn ring_fits(question: &Question, side: Side, nominal: Length, class: ToleranceClass) -> bool {
    let deviations = match side {
        Side::Internal => iso492::mean_bore_deviations(nominal, class),
        Side::External => iso492::mean_outside_diameter_deviations(nominal, class),
    };
    let Some(ring) =
        deviations.ok().and_then(|found| SizeBelief::toleranced(found.about(nominal)).ok())
    else {
        return false;
    };
    let Ok(window) = question.requirement.window(nominal, Some(class)) else { return false };
    let (bore, shaft) = match side {
        Side::Internal => (ring, question.size),
        Side::External => (question.size, ring),
    };
    let fit = judge(&bore, &shaft, window);
    fit.clearance_min >= window.min
        && fit.clearance_max <= window.max
        && fit.judgement.verdict <= Verdict::NotProven
}
