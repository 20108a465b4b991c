//! The radial internal clearance that is left in a rolling bearing once its rings are fitted.
//!
//! The clearance falls by a share of each ring's effective interference: the published relation is
//! dr = D1 f1 + D2 f2, with factors from a diagram by bore and outside diameter. The diagram was not
//! read; its usual values are from memory, so every answer here is unconfirmed.

use super::{AssemblyError, Interference, Source};
use crate::units::Length;

/// A radial internal clearance, least and most; negative is preload.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct RadialClearance {
    /// The least.
    pub min: Length,
    /// The most.
    pub max: Length,
}

/// How much of an interference shows inside the bearing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FittingFactors {
    /// Least and most share of the inner ring's effective interference, in hundredths.
    pub inner_hundredths: (i64, i64),
    /// Least and most share of the outer ring's, in hundredths.
    pub outer_hundredths: (i64, i64),
    /// Least and most that roughness takes off an interference.
    pub smoothing: (Length, Length),
    /// Where they are from.
    pub source: Source,
}

impl FittingFactors {
    /// Solid steel shaft, thick steel or iron housing, ground seats.
    pub const USUAL: FittingFactors = FittingFactors {
        inner_hundredths: (75, 85),
        outer_hundredths: (85, 85),
        smoothing: (Length::from_nm(2_000), Length::from_nm(5_000)),
        source: Source::unconfirmed(
            "relation: a bearing maker's catalogue, clearance reduction by interference fits (web \
             copy); factors 0.75 to 0.85 and 0.85, smoothing 2 to 5 um: from memory",
        ),
    };
}

/// What is left, and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClearanceLeft {
    /// The clearance left, in the order least, most.
    pub left: RadialClearance,
    /// Whether preload is possible: the least is below zero.
    pub may_preload: bool,
    /// Where the factors are from.
    pub source: Source,
}

/// The radial clearance left after fitting, at both extremes. `hotter_inner` is what the inner
/// ring's running hotter takes away besides (5 to 10 um is common in motors; zero for a cold
/// bearing). Shares are rounded to the nanometre against the answer: down for what is left at most,
/// up for what is taken at least.
///
/// ```
/// use tenths_domain::assembly::{FittingFactors, Interference, RadialClearance, clearance_left};
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// // 30 mm bore, normal clearance, k5 seat (2 to 21 um), sliding outer ring.
/// let normal = RadialClearance { min: nm(5_000), max: nm(20_000) };
/// let seat = Interference::new(nm(2_000), nm(21_000)).unwrap();
/// let none = Interference::new(nm(-20_000), nm(0)).unwrap();
/// let found = clearance_left(normal, seat, none, nm(0), &FittingFactors::USUAL).unwrap();
/// assert_eq!((found.left.min, found.left.max), (nm(-11_150), nm(20_000)));
/// assert!(found.may_preload && !found.source.is_confirmed);
/// ```
pub fn clearance_left(
    clearance: RadialClearance,
    inner: Interference,
    outer: Interference,
    hotter_inner: Length,
    factors: &FittingFactors,
) -> Result<ClearanceLeft, AssemblyError> {
    if clearance.min > clearance.max {
        let (least, most) = (clearance.min, clearance.max);
        return Err(AssemblyError::Reversed { what: "internal clearance", least, most });
    }
    let (smoothing_least, smoothing_most) = factors.smoothing;
    let most_taken = share_up(inner.most - smoothing_least, factors.inner_hundredths.1)
        + share_up(outer.most - smoothing_least, factors.outer_hundredths.1);
    let least_taken = share_down(inner.least - smoothing_most, factors.inner_hundredths.0)
        + share_down(outer.least - smoothing_most, factors.outer_hundredths.0);
    let min = clearance.min - most_taken - hotter_inner;
    Ok(ClearanceLeft {
        left: RadialClearance { min, max: clearance.max - least_taken },
        may_preload: min < Length::ZERO,
        source: factors.source,
    })
}

fn share_up(interference: Length, hundredths: i64) -> Length {
    -share_down_signed(-interference.max(Length::ZERO).nm() * hundredths)
}

fn share_down(interference: Length, hundredths: i64) -> Length {
    share_down_signed(interference.max(Length::ZERO).nm() * hundredths)
}

fn share_down_signed(product: i64) -> Length {
    Length::from_nm(product.div_euclid(100))
}
