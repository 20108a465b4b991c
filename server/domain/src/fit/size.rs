//! What is believed of one side's size, measured or not, free or pressed.

use super::FitError;
use crate::bearings::iso492;
use crate::iso286;
use crate::item::{FeatureKind, Limits, Tolerance};
use crate::units::Length;

/// The largest size that a fit is judged for: 10 m. It keeps every sum far from overflow.
pub const SIZE_MAX: Length = Length::from_nm(10_000_000_000);

/// What is believed of the size of one side of a fit.
///
/// Three kinds of not knowing are kept apart, because they count differently:
/// - *form*: a measured part is several sizes at once, from its smallest to its largest reading;
///   the fit must hold at both;
/// - *doubt*: the size is one unknown size in a range, all of them alike likely (an unmeasured part
///   within its limits, a bushing that closes in by an unknown amount);
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
    is_measured: bool,
}

impl SizeBelief {
    /// A measured size: its smallest and largest reading at 20 deg C and the expanded uncertainty
    /// (k = 2) of one reading.
    pub fn measured(
        smallest: Length,
        largest: Length,
        expanded_uncertainty: Length,
    ) -> Result<Self, FitError> {
        check_range("readings", smallest, largest)?;
        if expanded_uncertainty < Length::ZERO || expanded_uncertainty > SIZE_MAX {
            return Err(FitError::NotPossible {
                what: "an expanded uncertainty",
                length: expanded_uncertainty,
                allowed: "0 to 10 m",
            });
        }
        let form = largest - smallest;
        Ok(SizeBelief { smallest, largest, form, expanded_uncertainty, is_measured: true })
    }

    /// An unmeasured size: anywhere within its limits, each size as likely as the next.
    pub fn toleranced(limits: Limits) -> Result<Self, FitError> {
        check_range("limits of size", limits.lower, limits.upper)?;
        Ok(SizeBelief {
            smallest: limits.lower,
            largest: limits.upper,
            form: Length::ZERO,
            expanded_uncertainty: Length::ZERO,
            is_measured: false,
        })
    }

    /// The smallest size, as read or as allowed, without uncertainty.
    pub const fn smallest(&self) -> Length {
        self.smallest
    }

    /// The largest size, as read or as allowed, without uncertainty.
    pub const fn largest(&self) -> Length {
        self.largest
    }

    /// The expanded uncertainty (k = 2); zero for an unmeasured size.
    pub const fn expanded_uncertainty(&self) -> Length {
        self.expanded_uncertainty
    }

    /// Whether there are readings behind it.
    pub const fn is_measured(&self) -> bool {
        self.is_measured
    }

    /// How far the readings lie apart: sizes that the part has at once.
    pub(super) const fn form(&self) -> Length {
        self.form
    }

    /// The width of the range in which the one true size is not known.
    pub(super) fn doubt(&self) -> Length {
        self.largest - self.smallest - self.form
    }
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

/// How much a bushing's bore closes in when it is pressed, on diameter: least and most expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CloseIn {
    least: Length,
    most: Length,
}

impl CloseIn {
    /// A close-in of zero or more, its ends in order.
    pub fn new(least: Length, most: Length) -> Result<Self, FitError> {
        if least > most {
            return Err(FitError::Reversed { what: "close-in", low: least, high: most });
        }
        if least < Length::ZERO || most > SIZE_MAX {
            let length = if least < Length::ZERO { least } else { most };
            let allowed = "0 to 10 m (a bore closes in, it does not open)";
            return Err(FitError::NotPossible { what: "a close-in", length, allowed });
        }
        Ok(CloseIn { least, most })
    }
}

/// The bore after pressing: the one that a fit is judged on.
///
/// The close-in is one unknown amount between its ends; where the free bore is unmeasured too, the
/// whole range counts as alike likely, which spreads it wider than either.
///
/// ```
/// use tenths_domain::fit::{CloseIn, SizeBelief, installed_bore};
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// let free = SizeBelief::measured(nm(19_075_000), nm(19_077_000), nm(2_000)).unwrap();
/// let pressed = installed_bore(&free, CloseIn::new(nm(10_000), nm(16_000)).unwrap()).unwrap();
/// assert_eq!(pressed.smallest(), nm(19_059_000));
/// assert_eq!(pressed.largest(), nm(19_067_000));
/// ```
pub fn installed_bore(free: &SizeBelief, close_in: CloseIn) -> Result<SizeBelief, FitError> {
    let smallest = free.smallest - close_in.most;
    let largest = free.largest - close_in.least;
    check_range("installed bore", smallest, largest)?;
    Ok(SizeBelief { smallest, largest, ..*free })
}

/// The limits that a catalogue tolerance gives at a nominal size; none if it says nothing.
///
/// ```
/// use tenths_domain::fit::limits_of;
/// use tenths_domain::item::{FeatureKind, Tolerance};
/// use tenths_domain::units::Length;
/// let k5 = Tolerance::Class("k5".parse().unwrap());
/// let size = Length::from_nm(30_000_000);
/// let limits = limits_of(FeatureKind::RollingSeat, size, &k5).unwrap().unwrap();
/// assert_eq!((limits.lower.nm(), limits.upper.nm()), (30_002_000, 30_011_000));
/// assert!(limits_of(FeatureKind::Bore, size, &k5).is_err());
/// ```
pub fn limits_of(
    kind: FeatureKind,
    nominal: Length,
    tolerance: &Tolerance,
) -> Result<Option<Limits>, FitError> {
    match tolerance {
        Tolerance::None => Ok(None),
        Tolerance::Explicit(limits) => Ok(Some(*limits)),
        // A width may be of a ring or of a groove; every other place has one side.
        Tolerance::Class(class) if class.side() != kind.side() && kind != FeatureKind::Width => {
            Err(FitError::WrongSide { class: *class })
        }
        Tolerance::Class(class) => Ok(Some(iso286::limits(nominal, class)?)),
        Tolerance::Iso492(class) => {
            let deviations = match kind {
                FeatureKind::Bore => iso492::mean_bore_deviations(nominal, *class)?,
                FeatureKind::OutsideDiameter => {
                    iso492::mean_outside_diameter_deviations(nominal, *class)?
                }
                _ => return Err(FitError::NoRing),
            };
            Ok(Some(deviations.about(nominal)))
        }
    }
}
