//! Limits of width of keys and keyseats by fit.
//!
//! ANSI B17.1-1967 (R1998): class 1 (bar stock, a clearance or metal-to-metal side fit) was read at
//! a shaft maker's page for keys to 1 in, its key widths at a second page; class 2 (key stock, a
//! tighter side fit) at the second page for the key, from memory for the keyseat. Over 1 in the
//! keyseats are from memory. DIN 6885-1: classes P9, N9 and H9 for the shaft read at a
//! machine-element maker's page, the key's own h9 from memory; the limits are ISO 286-1:2010.

use super::{Key, KeyError, KeyStandard};
use crate::iso286::{self, Class, FundamentalDeviation as Letter, Grade};
use crate::item::{Limits, Side};
use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// The fit of a key in the shaft's keyseat.
    KeyseatFit, "keyseat fit" {
        /// ANSI B17.1 class 1: bar stock, relatively free.
        Class1 = "class_1",
        /// ANSI B17.1 class 2: key stock, relatively tight.
        Class2 = "class_2",
        /// DIN 6885-1, free: keyseat H9.
        Free = "free",
        /// DIN 6885-1, light drive: keyseat N9.
        Normal = "normal",
        /// DIN 6885-1, tight: keyseat P9.
        Close = "close",
    }
}

/// The limits of width of a key and of the keyseat in the shaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WidthLimits {
    /// The key.
    pub key: Limits,
    /// The keyseat in the shaft.
    pub keyseat: Limits,
    /// The published tables that the limits rest on.
    pub source: &'static str,
    /// Whether a limit of the keyseat is known from memory alone: say so beside it.
    pub is_unconfirmed: bool,
    /// Whether a limit of the key is known from memory alone: say so beside it.
    pub is_key_unconfirmed: bool,
}

/// The limits of width of a key and of its keyseat in the shaft.
///
/// ```
/// use tenths_domain::keys::{KeyStandard, KeyseatFit, key_of_width, keyseat_width_limits};
/// use tenths_domain::units::{Entry, Length, Unit};
/// let inch = |text| Entry::parse(text, Unit::Inch).unwrap().length;
/// let key = key_of_width(inch("1/4"), KeyStandard::AnsiB17)?;
/// let limits = keyseat_width_limits(&key, KeyseatFit::Class1)?;
/// assert_eq!((limits.key.lower, limits.keyseat.upper), (inch("0.2480"), inch("0.2520")));
/// let key = key_of_width(Length::from_nm(8_000_000), KeyStandard::Iso773)?;
/// let limits = keyseat_width_limits(&key, KeyseatFit::Normal)?;
/// assert_eq!(limits.keyseat.lower.nm(), 7_964_000);
/// # Ok::<(), tenths_domain::keys::KeyError>(())
/// ```
pub fn keyseat_width_limits(key: &Key, fit: KeyseatFit) -> Result<WidthLimits, KeyError> {
    match (key.standard, fit) {
        (KeyStandard::AnsiB17, KeyseatFit::Class1) => Ok(inch_limits(key, &CLASS_1)),
        (KeyStandard::AnsiB17, KeyseatFit::Class2) => Ok(inch_limits(key, &CLASS_2)),
        (KeyStandard::Iso773, KeyseatFit::Free) => metric_limits(key, Letter::H),
        (KeyStandard::Iso773, KeyseatFit::Normal) => metric_limits(key, Letter::N),
        (KeyStandard::Iso773, KeyseatFit::Close) => metric_limits(key, Letter::P),
        (standard @ KeyStandard::AnsiB17, _) => {
            Err(KeyError::NoSuchFit { standard, fit, allowed: "class_1, class_2" })
        }
        (standard @ KeyStandard::Iso773, _) => {
            Err(KeyError::NoSuchFit { standard, fit, allowed: "free, normal, close" })
        }
    }
}

fn metric_limits(key: &Key, letter: Letter) -> Result<WidthLimits, KeyError> {
    let nine = Grade::new(9).expect("9 is a grade");
    let key_class = Class::new(Side::External, Letter::H, nine);
    let seat_class = Class::new(Side::Internal, letter, nine);
    Ok(WidthLimits {
        key: iso286::limits(key.width, &key_class)?,
        keyseat: iso286::limits(key.width, &seat_class)?,
        source: "DIN 6885-1:1968 (keyseat H9, N9 or P9); DIN 6880 (key h9); ISO 286-1:2010",
        is_unconfirmed: false,
        is_key_unconfirmed: true,
    })
}

/// One step of key width, in thousandths of an inch: the key's deviation away from zero, and the
/// keyseat's upper deviation; the other edge of each is zero.
struct Step {
    to_nm: i64,
    key_thou: i64,
    keyseat_thou: i64,
    is_keyseat_from_memory: bool,
}

const NM_PER_THOU: i64 = 25_400;

/// Class 1, square keys: over zero for the keyseat, under zero for the key.
#[rustfmt::skip]
const CLASS_1: [Step; 5] = [
    Step { to_nm: 12_700_000, key_thou: -2, keyseat_thou: 2, is_keyseat_from_memory: false },
    Step { to_nm: 19_050_000, key_thou: -2, keyseat_thou: 3, is_keyseat_from_memory: false },
    Step { to_nm: 25_400_000, key_thou: -3, keyseat_thou: 3, is_keyseat_from_memory: false },
    Step { to_nm: 38_100_000, key_thou: -3, keyseat_thou: 4, is_keyseat_from_memory: true },
    Step { to_nm: 63_500_000, key_thou: -4, keyseat_thou: 4, is_keyseat_from_memory: true },
];

/// Class 2, parallel keys: over zero for both.
#[rustfmt::skip]
const CLASS_2: [Step; 2] = [
    Step { to_nm: 31_750_000, key_thou: 1, keyseat_thou: 2, is_keyseat_from_memory: true },
    Step { to_nm: 76_200_000, key_thou: 2, keyseat_thou: 2, is_keyseat_from_memory: true },
];

fn inch_limits(key: &Key, steps: &[Step]) -> WidthLimits {
    let step = steps.iter().find(|step| key.width.nm() <= step.to_nm);
    let step = step.expect("the steps reach past the widest key of the table");
    let edge = key.width + Length::from_nm(step.key_thou * NM_PER_THOU);
    WidthLimits {
        key: Limits { lower: edge.min(key.width), upper: edge.max(key.width) },
        keyseat: Limits {
            lower: key.width,
            upper: key.width + Length::from_nm(step.keyseat_thou * NM_PER_THOU),
        },
        source: "ANSI B17.1-1967 (R1998), fits of parallel keys (square), class 1 and class 2",
        is_unconfirmed: step.is_keyseat_from_memory,
        is_key_unconfirmed: false,
    }
}
