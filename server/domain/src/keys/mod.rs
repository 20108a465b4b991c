//! Parallel keys and their keyseats: the key for a shaft, its limits, how deep it sits, and what
//! to do with a worn keyseat.
//!
//! Inch keys are those of ANSI B17.1-1967, metric ones those of ISO/R 773:1969 and DIN 6885-1:1968
//! (high form). Taper keys, Woodruff keys and the flat metric forms are not here.

mod limits;
mod tables;
mod wear;

pub use limits::{KeyseatFit, WidthLimits, keyseat_width_limits};
pub use wear::{KeyseatJudgement, KeyseatVerdict, STEPPED_KEY_MAX, judge_keyseat};

use crate::iso286::millimetres;
use crate::named::named_enum;
use crate::units::{Length, Unit};
use tables::{INCH, METRIC, Row};

named_enum! {
    /// The standard of a key.
    KeyStandard, "key standard" {
        /// Inch keys, ANSI B17.1.
        AnsiB17 = "ansi_b17_1",
        /// Metric keys, ISO 773 / DIN 6885-1.
        Iso773 = "iso_773",
    }
}

impl KeyStandard {
    /// The standard as people write it.
    ///
    /// ```
    /// use tenths_domain::keys::KeyStandard;
    /// assert_eq!(KeyStandard::Iso773.title(), "ISO 773 / DIN 6885-1");
    /// ```
    pub const fn title(self) -> &'static str {
        match self {
            KeyStandard::AnsiB17 => "ANSI B17.1",
            KeyStandard::Iso773 => "ISO 773 / DIN 6885-1",
        }
    }
}

/// A parallel key and its keyseats, all nominal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// The standard.
    pub standard: KeyStandard,
    /// The shaft diameters that the key is for: over this one.
    pub shaft_over: Length,
    /// The shaft diameters that the key is for: to this one, inclusive.
    pub shaft_to: Length,
    /// Width.
    pub width: Length,
    /// Height; of the square key for inch keys.
    pub height: Length,
    /// Height of the rectangular key of the same width, where the inch standard has one.
    pub rectangular_height: Option<Length>,
    /// Depth of the keyseat in the shaft, for the height above: at the side of an inch keyseat, on
    /// the centre line of a metric one.
    pub shaft_depth: Length,
    /// How much deeper than nominal the keyseat in a shaft may be; it may not be shallower.
    pub shaft_depth_tolerance: Length,
    /// Depth of the keyseat in the hub.
    pub hub_depth: Length,
    /// How much deeper than nominal the keyseat in a hub may be; it may not be shallower.
    pub hub_depth_tolerance: Length,
    /// Depth of the keyseat in shaft and hub alike for the rectangular key of the same width, where
    /// the inch standard has one; with the same tolerances.
    pub rectangular_depth: Option<Length>,
    /// The published table that the tolerances of the depth rest on.
    pub depth_source: &'static str,
    /// The published table that the sizes rest on.
    pub source: &'static str,
    /// Whether the sizes are known from memory alone.
    pub is_unconfirmed: bool,
    /// Whether a tolerance of the depth is known from memory alone.
    pub is_depth_tolerance_unconfirmed: bool,
}

/// A question that the tables of keys have no answer to.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeyError {
    /// The shaft is outside the table.
    #[error(
        "{} has no key for a shaft of {} ({}); allowed: over {} to {}; nearest: shafts over {} to {}",
        standard.title(), millimetres(*shaft), shaft.display_in(Unit::Inch),
        shown(*over, *standard), shown(*to, *standard),
        shown(nearest.0, *standard), shown(nearest.1, *standard)
    )]
    ShaftNotCovered {
        /// The standard asked.
        standard: KeyStandard,
        /// The shaft asked for.
        shaft: Length,
        /// Shafts over this are covered.
        over: Length,
        /// Shafts to this are covered.
        to: Length,
        /// The nearest range of shafts that has a key: over the first, to the second.
        nearest: (Length, Length),
    },
    /// A width that no key of the standard has.
    #[error(
        "{} has no key {} wide; nearest: {}",
        standard.title(), shown(*width, *standard), shown(*nearest, *standard)
    )]
    NoSuchWidth {
        /// The standard asked.
        standard: KeyStandard,
        /// The width asked for.
        width: Length,
        /// The nearest width that there is.
        nearest: Length,
    },
    /// A fit of the other standard.
    #[error("{} has no {fit} fit; allowed: {allowed}", standard.title())]
    NoSuchFit {
        /// The standard asked.
        standard: KeyStandard,
        /// The fit asked for.
        fit: KeyseatFit,
        /// The fits that there are.
        allowed: &'static str,
    },
    /// A measured width that is no width.
    #[error("a keyseat measured as {} wide is not a keyseat; a width is over 0", millimetres(*measured))]
    NoWidth {
        /// What was measured.
        measured: Length,
    },
    /// ISO 286 does not cover the width.
    #[error(transparent)]
    Iso286(#[from] crate::iso286::Iso286Error),
}

/// A length in the unit of a standard, for messages.
fn shown(length: Length, standard: KeyStandard) -> String {
    match standard {
        KeyStandard::AnsiB17 => length.display_in(Unit::Inch),
        KeyStandard::Iso773 => millimetres(length),
    }
}

/// The key for a shaft.
///
/// ```
/// use tenths_domain::keys::{KeyStandard, key_for_shaft};
/// use tenths_domain::units::{Entry, Length, Unit};
/// let inch = |text| Entry::parse(text, Unit::Inch).unwrap().length;
/// let key = key_for_shaft(inch("7/8"), KeyStandard::AnsiB17)?;
/// assert_eq!((key.width, key.shaft_depth), (inch("3/16"), inch("3/32")));
/// let key = key_for_shaft(Length::from_nm(28_000_000), KeyStandard::Iso773)?;
/// assert_eq!((key.width.nm(), key.height.nm()), (8_000_000, 7_000_000));
/// # Ok::<(), tenths_domain::keys::KeyError>(())
/// ```
pub fn key_for_shaft(shaft: Length, standard: KeyStandard) -> Result<Key, KeyError> {
    let rows = rows(standard);
    let covers = |row: &&Row| row.shaft_over_nm < shaft.nm() && shaft.nm() <= row.shaft_to_nm;
    rows.iter().find(covers).map(|row| key(row, standard)).ok_or_else(|| {
        let (first, last) = (&rows[0], &rows[rows.len() - 1]);
        let nearest = if shaft.nm() <= first.shaft_over_nm { first } else { last };
        KeyError::ShaftNotCovered {
            standard,
            shaft,
            over: Length::from_nm(first.shaft_over_nm),
            to: Length::from_nm(last.shaft_to_nm),
            nearest: (Length::from_nm(nearest.shaft_over_nm), Length::from_nm(nearest.shaft_to_nm)),
        }
    })
}

/// The key of a width.
///
/// ```
/// use tenths_domain::keys::{KeyStandard, key_of_width};
/// use tenths_domain::units::Length;
/// let error = key_of_width(Length::from_nm(7_000_000), KeyStandard::Iso773).unwrap_err();
/// assert_eq!(error.to_string(), "ISO 773 / DIN 6885-1 has no key 7 mm wide; nearest: 6 mm");
/// ```
pub fn key_of_width(width: Length, standard: KeyStandard) -> Result<Key, KeyError> {
    let rows = rows(standard);
    let off = |row: &&Row| (i128::from(row.width_nm) - i128::from(width.nm())).abs();
    let nearest = rows.iter().min_by_key(off).expect("the tables are not empty");
    match nearest.width_nm == width.nm() {
        true => Ok(key(nearest, standard)),
        false => {
            let nearest = Length::from_nm(nearest.width_nm);
            Err(KeyError::NoSuchWidth { standard, width, nearest })
        }
    }
}

/// The next wider key of the same standard, if there is one.
pub fn next_wider(key: &Key) -> Option<Key> {
    let next = rows(key.standard).iter().find(|row| row.width_nm > key.width.nm())?;
    Some(self::key(next, key.standard))
}

/// From the bottom of the shaft's keyseat to the opposite side of the shaft: what a micrometer
/// reads there (`S` of ANSI B17.1; `d - t1` of DIN 6885-1), nominal, of the square or metric key.
///
/// An inch keyseat is half a key deep at its side, so `S = (D - H + sqrt(D^2 - W^2)) / 2`
/// (ANSI B17.1-1967), rounded down to the nanometre. Nothing if the key is wider than the shaft.
///
/// ```
/// use tenths_domain::keys::{KeyStandard, key_for_shaft, keyseat_bottom_to_opposite_side};
/// use tenths_domain::units::{Entry, Unit};
/// let shaft = Entry::parse("1.0000", Unit::Inch).unwrap().length;
/// let key = key_for_shaft(shaft, KeyStandard::AnsiB17)?;
/// let left = keyseat_bottom_to_opposite_side(shaft, &key).unwrap();
/// assert_eq!(left.number(Unit::Inch, 3), "0.859");
/// # Ok::<(), tenths_domain::keys::KeyError>(())
/// ```
pub fn keyseat_bottom_to_opposite_side(shaft: Length, key: &Key) -> Option<Length> {
    match key.standard {
        KeyStandard::Iso773 => Some(shaft - key.shaft_depth).filter(|left| *left > Length::ZERO),
        KeyStandard::AnsiB17 => {
            let (shaft, width) = (i128::from(shaft.nm()), i128::from(key.width.nm()));
            let chord = u128::try_from(shaft * shaft - width * width).ok()?.isqrt();
            let left = (shaft - i128::from(key.height.nm()) + i128::try_from(chord).ok()?) / 2;
            i64::try_from(left).ok().map(Length::from_nm).filter(|left| *left > Length::ZERO)
        }
    }
}

fn rows(standard: KeyStandard) -> &'static [Row] {
    match standard {
        KeyStandard::AnsiB17 => &INCH,
        KeyStandard::Iso773 => &METRIC,
    }
}

fn key(row: &Row, standard: KeyStandard) -> Key {
    let nm = Length::from_nm;
    let depth = depth_tolerance(row, standard);
    Key {
        standard,
        shaft_over: nm(row.shaft_over_nm),
        shaft_to: nm(row.shaft_to_nm),
        width: nm(row.width_nm),
        height: nm(row.height_nm),
        rectangular_height: row.flat_height_nm.map(nm),
        shaft_depth: nm(row.shaft_depth_nm),
        shaft_depth_tolerance: depth.shaft,
        hub_depth: nm(row.hub_depth_nm),
        hub_depth_tolerance: depth.hub,
        rectangular_depth: row.flat_height_nm.map(|height| nm(height / 2)),
        depth_source: depth.source,
        source: match standard {
            KeyStandard::AnsiB17 => "ANSI B17.1-1967 (R1998), Table 1",
            KeyStandard::Iso773 => "DIN 6885-1:1968; ISO/R 773:1969 (same sections)",
        },
        is_unconfirmed: false,
        is_depth_tolerance_unconfirmed: depth.is_unconfirmed,
    }
}

/// How much deeper keyseats may be.
struct DepthTolerance {
    shaft: Length,
    hub: Length,
    source: &'static str,
    is_unconfirmed: bool,
}

fn depth_tolerance(row: &Row, standard: KeyStandard) -> DepthTolerance {
    match standard {
        // 0.000 to -0.015 in was read at a shaft maker's page. It is on `S`, from the bottom of the
        // keyseat to the opposite side, so it makes the keyseat deeper: only then do the standard's
        // top and bottom clearances of 0.005 to 0.032 in follow (from memory, as is the hub's
        // +0.010 in).
        KeyStandard::AnsiB17 => DepthTolerance {
            shaft: Length::from_nm(381_000),
            hub: Length::from_nm(254_000),
            source: "ANSI B17.1-1967 (R1998), top and bottom fit: S +0.000 -0.015 in, T +0.010 \
                     -0.000 in",
            is_unconfirmed: true,
        },
        // Hub: read at an engineering reference's table of ISO/R 773, to 500 mm. Shaft: one column
        // for both in a published extract of JIS B 1301:1996, and DIN 6885-1 to a shaft of 44 mm.
        KeyStandard::Iso773 => {
            let um = match row.width_nm {
                ..=6_000_000 => 100,
                6_000_001..=32_000_000 => 200,
                _ => 300,
            };
            let both = Length::from_nm(um * 1_000);
            DepthTolerance {
                shaft: both,
                hub: both,
                source: "ISO/R 773:1969 and DIN 6885-1:1968, tolerance of t1 and t2",
                is_unconfirmed: false,
            }
        }
    }
}
