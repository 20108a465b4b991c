//! What to do with a worn keyseat.
//!
//! The steps are common practice (from memory, no published source): sides worn to about 0.002 to
//! 0.005 in over take a stepped or oversize key, fitted by hand; past that the keyseat is milled
//! out to the next wider key of the table; past that it is welded and recut, or a new keyseat is
//! cut 90 or 180 degrees round and the shaft balanced again. A wider key weakens the shaft more.

use super::limits::{KeyseatFit, keyseat_width_limits};
use super::{Key, KeyError, next_wider};
use crate::item::Limits;
use crate::units::Length;

/// The widest that a keyseat may be over its key's nominal width and still take a stepped or
/// oversize key: 0.005 in.
pub const STEPPED_KEY_MAX: Length = Length::from_nm(127_000);

/// What a measured keyseat calls for, least wear first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KeyseatVerdict {
    /// Narrower than its least width: no wear does that; check the reading, the key and the fit.
    TooNarrow,
    /// Within its limits: fit the standard key.
    Fits,
    /// A stepped or oversize key, made to the keyseat.
    SteppedOrOversizeKey,
    /// Mill out to this, the next wider key.
    NextKeyWidth {
        /// The next wider key.
        key: Key,
    },
    /// Wider than the next key, or there is none: weld and recut, or cut a new keyseat 90 or 180
    /// degrees round and balance again.
    Beyond,
}

/// What was found of a measured keyseat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeyseatJudgement {
    /// What it calls for.
    pub verdict: KeyseatVerdict,
    /// The limits of a keyseat for this key and fit.
    pub limits: Limits,
    /// How far the measured width is over the key's nominal width.
    pub over_nominal: Length,
    /// The tables behind the limits.
    pub limits_source: &'static str,
    /// Where the steps past the limits come from.
    pub practice_source: &'static str,
    /// Whether the verdict rests on a value known from memory alone: say so beside it.
    pub is_unconfirmed: bool,
}

/// What a keyseat of this measured width calls for. Give the widest reading: uncertainty is the
/// caller's, as a wider or narrower width asked again.
///
/// ```
/// use tenths_domain::keys::{KeyStandard, KeyseatFit, KeyseatVerdict, judge_keyseat, key_of_width};
/// use tenths_domain::units::{Entry, Unit};
/// let inch = |text| Entry::parse(text, Unit::Inch).unwrap().length;
/// let key = key_of_width(inch("3/16"), KeyStandard::AnsiB17)?;
/// let judged = judge_keyseat(inch("0.1915"), &key, KeyseatFit::Class1)?;
/// assert_eq!(judged.verdict, KeyseatVerdict::SteppedOrOversizeKey);
/// # Ok::<(), tenths_domain::keys::KeyError>(())
/// ```
pub fn judge_keyseat(
    measured_width: Length,
    key: &Key,
    fit: KeyseatFit,
) -> Result<KeyseatJudgement, KeyError> {
    if measured_width <= Length::ZERO {
        return Err(KeyError::NoWidth { measured: measured_width });
    }
    let limits = keyseat_width_limits(key, fit)?;
    let over_nominal = measured_width - key.width;
    let next = next_wider(key).filter(|next| measured_width <= next.width);
    let verdict = if measured_width < limits.keyseat.lower {
        KeyseatVerdict::TooNarrow
    } else if measured_width <= limits.keyseat.upper {
        KeyseatVerdict::Fits
    } else if over_nominal <= STEPPED_KEY_MAX {
        KeyseatVerdict::SteppedOrOversizeKey
    } else {
        next.map_or(KeyseatVerdict::Beyond, |key| KeyseatVerdict::NextKeyWidth { key })
    };
    let rests_on_limits_alone = matches!(verdict, KeyseatVerdict::TooNarrow | KeyseatVerdict::Fits);
    Ok(KeyseatJudgement {
        verdict,
        limits: limits.keyseat,
        over_nominal,
        limits_source: limits.source,
        practice_source: "common practice, no published source",
        is_unconfirmed: limits.is_unconfirmed || !rests_on_limits_alone,
    })
}
