//! The bore of a bushing after pressing, from the free bore and a stated close-in. How much it
//! closes in is worked out in [`crate::bushings`].

use super::{FitError, SIZE_MAX, SizeBelief};
use crate::units::Length;

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

    /// The least that is expected.
    pub const fn least(self) -> Length {
        self.least
    }

    /// The most that is expected.
    pub const fn most(self) -> Length {
        self.most
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
    free.changed(-close_in.most, -close_in.least, free.expanded_uncertainty())
}
