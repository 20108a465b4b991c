//! Numbers by chance that can be had again: a test prints its seed.

/// A small generator (xorshift64*), good enough to spread times and choices.
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// Starts from a seed; the same seed gives the same numbers.
    pub fn new(seed: u64) -> Self {
        // Zero would stay zero for ever.
        Self(seed ^ 0x9E37_79B9_7F4A_7C15 | 1)
    }

    /// A number from 0 up to, and without, `end`.
    pub fn below(&mut self, end: u64) -> u64 {
        assert!(end > 0, "there is no number below 0");
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) % end
    }
}
