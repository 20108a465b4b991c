//! ISO 492: tolerances of radial bearing rings.

/// Tolerance class of a radial bearing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ToleranceClass {
    /// Normal class.
    Normal,
}
