//! Where a number is published, and whether that was read.

/// Where a number or a formula is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// Standard or handbook, edition and table or formula, in words.
    pub text: &'static str,
    /// Whether a published copy was read for this project. From memory or practice alone it was
    /// not, and an answer that rests on it says "unconfirmed value".
    pub is_confirmed: bool,
}

impl Source {
    /// A source that was read.
    pub const fn read(text: &'static str) -> Self {
        Source { text, is_confirmed: true }
    }

    /// A source from memory or practice, that nothing published has confirmed yet.
    ///
    /// ```
    /// use tenths_domain::assembly::Source;
    /// assert!(!Source::unconfirmed("shop practice, from memory").is_confirmed);
    /// ```
    pub const fn unconfirmed(text: &'static str) -> Self {
        Source { text, is_confirmed: false }
    }
}
