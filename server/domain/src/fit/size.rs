//! What is believed of one side's size: measured, only toleranced, or bounded by a fixed gauge.

use super::FitError;
use crate::item::Limits;
use crate::named::named_enum;
use crate::units::Length;

/// The largest size that a fit is judged for: 10 m. It keeps every sum far from overflow.
pub const SIZE_MAX: Length = Length::from_nm(10_000_000_000);

named_enum! {
    /// What a belief about a size rests on.
    BeliefKind, "kind of belief" {
        /// Readings: the size is where they say, as well as the gauge can tell.
        Measured = "measured",
        /// Limits of size and nothing else: each size within them is as likely as the next.
        Toleranced = "toleranced",
        /// A go or a no-go gauge, or both: a bound on one side or on both, no value.
        Bound = "bound",
    }
}

/// What is believed of the size of one side of a fit.
///
/// Three kinds of not knowing are kept apart, because they count differently:
/// - *form*: a measured part is several sizes at once, from its smallest to its largest reading;
///   the fit must hold at both;
/// - *doubt*: the size is one unknown size in a range, all of them alike likely (an unmeasured part
///   within its limits, a part between its go and its no-go gauge, a bushing that closes in by an
///   unknown amount);
/// - *uncertainty*: the gauge may be off by the expanded uncertainty (k = 2), all readings alike.
///
/// ```
/// use tenths_domain::fit::SizeBelief;
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// let seat = SizeBelief::measured(nm(30_004_000), nm(30_006_000), nm(1_000)).unwrap();
/// assert!(seat.is_measured());
/// assert!(SizeBelief::measured(nm(30_006_000), nm(30_004_000), nm(1_000)).is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SizeBelief {
    smallest: Length,
    largest: Length,
    form: Length,
    expanded_uncertainty: Length,
    kind: BeliefKind,
    open: OpenEnds,
}

/// The ends at which a range does not end: a one-sided bound leaves the other side open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct OpenEnds {
    /// It may be smaller by any amount.
    pub below: bool,
    /// It may be larger by any amount.
    pub above: bool,
}

impl SizeBelief {
    /// A measured size: its smallest and largest reading at 20 deg C and the expanded uncertainty
    /// (k = 2) of one reading, over 0: no gauge is exact.
    pub fn measured(
        smallest: Length,
        largest: Length,
        expanded_uncertainty: Length,
    ) -> Result<Self, FitError> {
        check_range("readings", smallest, largest)?;
        check_uncertainty(expanded_uncertainty)?;
        Ok(SizeBelief {
            smallest,
            largest,
            form: largest - smallest,
            expanded_uncertainty,
            kind: BeliefKind::Measured,
            open: OpenEnds::default(),
        })
    }

    /// An unmeasured size: anywhere within its limits, each size as likely as the next.
    pub fn toleranced(limits: Limits) -> Result<Self, FitError> {
        check_range("limits of size", limits.lower, limits.upper)?;
        Ok(SizeBelief {
            smallest: limits.lower,
            largest: limits.upper,
            form: Length::ZERO,
            expanded_uncertainty: Length::ZERO,
            kind: BeliefKind::Toleranced,
            open: OpenEnds::default(),
        })
    }

    /// A size that fixed gauges bound: at least what the go plug or the no-go ring says, at most
    /// what the no-go plug or the go ring says, one of them or both. The expanded uncertainty
    /// (k = 2) is that of the gauges' own size, wear included; zero takes them as exact.
    ///
    /// ```
    /// use tenths_domain::fit::{BeliefKind, SizeBelief};
    /// use tenths_domain::units::Length;
    /// let nm = Length::from_nm;
    /// // The go plug of 20.000 mm enters, the no-go plug of 20.021 mm does not.
    /// let bore = SizeBelief::bound(Some(nm(20_000_000)), Some(nm(20_021_000)), nm(800)).unwrap();
    /// assert_eq!(bore.kind(), BeliefKind::Bound);
    /// let entered = SizeBelief::bound(Some(nm(20_000_000)), None, nm(800)).unwrap();
    /// assert!(entered.open().above && !entered.open().below);
    /// assert!(SizeBelief::bound(None, None, nm(800)).is_err());
    /// ```
    pub fn bound(
        at_least: Option<Length>,
        at_most: Option<Length>,
        expanded_uncertainty: Length,
    ) -> Result<Self, FitError> {
        let (Some(smallest), Some(largest)) = (at_least.or(at_most), at_most.or(at_least)) else {
            return Err(FitError::NoBound);
        };
        check_range("bounds of size", smallest, largest)?;
        check_bound_uncertainty(expanded_uncertainty)?;
        Ok(SizeBelief {
            smallest,
            largest,
            form: Length::ZERO,
            expanded_uncertainty,
            kind: BeliefKind::Bound,
            open: OpenEnds { below: at_least.is_none(), above: at_most.is_none() },
        })
    }

    /// The smallest size, as read, as allowed or as bounded, without uncertainty. Of a size that
    /// is [open](Self::open) below, its one bound.
    pub const fn smallest(&self) -> Length {
        self.smallest
    }

    /// The largest size, as read, as allowed or as bounded, without uncertainty. Of a size that is
    /// [open](Self::open) above, its one bound.
    pub const fn largest(&self) -> Length {
        self.largest
    }

    /// The expanded uncertainty (k = 2); zero for an unmeasured size.
    pub const fn expanded_uncertainty(&self) -> Length {
        self.expanded_uncertainty
    }

    /// What it rests on.
    pub const fn kind(&self) -> BeliefKind {
        self.kind
    }

    /// The ends at which it is not bounded: none but for a one-sided bound.
    pub const fn open(&self) -> OpenEnds {
        self.open
    }

    /// Whether there are readings behind it.
    pub const fn is_measured(&self) -> bool {
        matches!(self.kind, BeliefKind::Measured)
    }

    /// How far the readings lie apart: sizes that the part has at once.
    pub(super) const fn form(&self) -> Length {
        self.form
    }

    /// The width of the range in which the one true size is not known.
    pub(super) fn doubt(&self) -> Length {
        self.largest - self.smallest - self.form
    }

    /// The same belief moved by a change that lies between two amounts, each size of the change as
    /// likely as the next, with another uncertainty.
    pub(crate) fn changed(
        self,
        least: Length,
        most: Length,
        expanded_uncertainty: Length,
    ) -> Result<Self, FitError> {
        let (smallest, largest) = (self.smallest + least, self.largest + most);
        check_range("installed bore", smallest, largest)?;
        check_bound_uncertainty(expanded_uncertainty)?;
        Ok(SizeBelief { smallest, largest, expanded_uncertainty, ..self })
    }
}

/// A reading's uncertainty: nothing that is read is exact.
fn check_uncertainty(expanded_uncertainty: Length) -> Result<(), FitError> {
    if expanded_uncertainty == Length::ZERO {
        return Err(FitError::NotPossible {
            what: "an expanded uncertainty",
            length: expanded_uncertainty,
            allowed: "over 0 to 10 m (an exact size is given by its limits)",
        });
    }
    check_bound_uncertainty(expanded_uncertainty)
}

/// The uncertainty of what is not read, which may be none.
fn check_bound_uncertainty(expanded_uncertainty: Length) -> Result<(), FitError> {
    if expanded_uncertainty < Length::ZERO || expanded_uncertainty > SIZE_MAX {
        return Err(FitError::NotPossible {
            what: "an expanded uncertainty",
            length: expanded_uncertainty,
            allowed: "0 to 10 m",
        });
    }
    Ok(())
}

fn check_range(what: &'static str, low: Length, high: Length) -> Result<(), FitError> {
    if low > high {
        return Err(FitError::Reversed { what, low, high });
    }
    for length in [low, high] {
        if length <= Length::ZERO || length > SIZE_MAX {
            let allowed = "over 0 to 10 m";
            return Err(FitError::NotPossible { what: "a size", length, allowed });
        }
    }
    Ok(())
}
