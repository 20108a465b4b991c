//! Parts that go together: matched bearings are sold, held and fitted in whole sets.

/// How many parts make a set: 1 for parts that stand alone, 2 for a matched pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SetSize(i64);

/// A quantity that would split a set, or a set that is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SetError {
    /// Not a number of parts that a set can have.
    #[error("a set of {0} is not possible; allowed: 1 to {max}", max = SetSize::MAX)]
    NoSet(i64),
    /// The quantity is no whole number of sets.
    #[error("{quantity} would split a matched set of {set}; allowed: a multiple of {set}")]
    Split {
        /// What was asked for.
        quantity: i64,
        /// How many make a set.
        set: i64,
    },
}

impl SetSize {
    /// Parts that stand alone.
    pub const ONE: SetSize = SetSize(1);
    /// The largest set that is known here.
    pub const MAX: i64 = 12;

    /// A set of so many.
    ///
    /// # Errors
    /// Fewer than 1 or more than [`SetSize::MAX`].
    pub const fn new(count: i64) -> Result<Self, SetError> {
        if count >= 1 && count <= Self::MAX {
            Ok(SetSize(count))
        } else {
            Err(SetError::NoSet(count))
        }
    }

    /// How many make a set.
    pub const fn count(self) -> i64 {
        self.0
    }

    /// Refuses a quantity that would split a set.
    ///
    /// ```
    /// use tenths_domain::substitution::SetSize;
    /// let pair = SetSize::new(2).unwrap();
    /// assert!(pair.check(4).is_ok());
    /// let error = pair.check(3).unwrap_err().to_string();
    /// assert_eq!(error, "3 would split a matched set of 2; allowed: a multiple of 2");
    /// ```
    ///
    /// # Errors
    /// [`SetError::Split`].
    pub const fn check(self, quantity: i64) -> Result<(), SetError> {
        if quantity % self.0 == 0 { Ok(()) } else { Err(SetError::Split { quantity, set: self.0 }) }
    }

    /// How many of so many free ones can be had without splitting a set.
    pub const fn whole(self, free: i64) -> i64 {
        free - free.rem_euclid(self.0)
    }
}
