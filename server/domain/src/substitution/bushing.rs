//! Which plain bushing can be made into which: a longer one is cut, a larger outside has the housing
//! bored for it, a smaller bore of solid metal is bored out. None of it the other way round.
//!
//! Sizes are nominal; whether the finished fit is right is judged by measuring, as always.

use super::{Acceptance, Difference, PRACTICE};
use crate::iso286::millimetres;
use crate::matching::REAM_MAX;
use crate::temperature::Material;
use crate::units::{Length, Unit};

/// One thou on diameter.
const THOU_NM: i64 = 25_400;
/// Most that a housing is bored out for a larger bushing, on diameter: 0.125 in.
const HOUSING_MAX: Length = Length::from_nm(125 * THOU_NM);

/// The nominal sizes of a bushing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct BushingSize {
    /// Bore.
    pub bore: Length,
    /// Outside diameter.
    pub outside_diameter: Length,
    /// Length along the axis, if the item says it.
    pub length: Option<Length>,
}

/// What is to be done so that the bushing offered serves. Amounts are on diameter, or of length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BushingWork {
    /// Cut it shorter.
    Cut {
        /// By how much.
        amount: Length,
    },
    /// Bore the housing out for it.
    BoreHousing {
        /// By how much.
        amount: Length,
    },
    /// Bore it out.
    BoreOut {
        /// By how much.
        amount: Length,
    },
}

impl BushingWork {
    /// The work in words, amounts in `unit`.
    pub fn words(self, unit: Unit) -> String {
        match self {
            BushingWork::Cut { amount } => {
                format!("cut {} off its length", amount.display_in(unit))
            }
            BushingWork::BoreHousing { amount } => {
                format!("bore the housing out by {}, on diameter", amount.display_in(unit))
            }
            BushingWork::BoreOut { amount } => {
                format!("bore it out by {}, on diameter, once pressed", amount.display_in(unit))
            }
        }
    }
}

/// What differs between the bushing wanted and the one offered, and the work that makes it serve.
///
/// ```
/// use tenths_domain::substitution::{Acceptance, BushingSize, acceptance, replace_bushing};
/// use tenths_domain::temperature::Material;
/// use tenths_domain::units::Length;
/// let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
/// let size = |length| BushingSize { bore: mm(20), outside_diameter: mm(24), length: Some(mm(length)) };
/// let (found, work) = replace_bushing(&size(20), &size(25), Some(Material::Bronze));
/// assert_eq!((acceptance(&found), work.len()), (Acceptance::Usual, 1));
/// let (found, _) = replace_bushing(&size(25), &size(20), Some(Material::Bronze));
/// assert_eq!(acceptance(&found), Acceptance::Never);
/// ```
pub fn replace_bushing(
    wanted: &BushingSize,
    offered: &BushingSize,
    material: Option<Material>,
) -> (Vec<Difference>, Vec<BushingWork>) {
    let mut found = Vec::new();
    let mut work = Vec::new();
    if let (Some(from), Some(to)) = (wanted.length, offered.length) {
        let done = BushingWork::Cut { amount: to - from };
        let shorter = format!("its length is {}, shorter than wanted", millimetres(to));
        step(&mut found, &mut work, "length", to - from, Ok(done), shorter);
    }
    let more = offered.outside_diameter - wanted.outside_diameter;
    let done = if more <= HOUSING_MAX {
        Ok(BushingWork::BoreHousing { amount: more })
    } else {
        Err(format!("the housing would have to be bored out by {}", millimetres(more)))
    };
    let loose = format!("its outside is {}, loose", millimetres(offered.outside_diameter));
    step(&mut found, &mut work, "outside_diameter", more, done, loose);
    let less = wanted.bore - offered.bore;
    let large = format!("its bore is {}, too large already", millimetres(offered.bore));
    step(&mut found, &mut work, "bore", less, bored(less, material), large);
    (found, work)
}

fn bored(amount: Length, material: Option<Material>) -> Result<BushingWork, String> {
    match material {
        Some(Material::PorousBronze) => Err("porous bronze is never bored or reamed".to_owned()),
        None => Err("its material is not known, and porous bronze is never bored".to_owned()),
        Some(_) if amount > REAM_MAX => {
            Err(format!("{} would have to come out of its wall", millimetres(amount)))
        }
        Some(_) => Ok(BushingWork::BoreOut { amount }),
    }
}

/// One size: as wanted, with something to take off, or with something missing.
fn step(
    found: &mut Vec<Difference>,
    work: &mut Vec<BushingWork>,
    about: &'static str,
    to_take_off: Length,
    done: Result<BushingWork, String>,
    missing: String,
) {
    let (acceptance, note) = match done {
        _ if to_take_off == Length::ZERO => return,
        _ if to_take_off < Length::ZERO => (Acceptance::Never, missing),
        Ok(one) => {
            work.push(one);
            (Acceptance::Usual, one.words(Unit::Millimetre))
        }
        Err(problem) => (Acceptance::Never, problem),
    };
    found.push(Difference { about, acceptance, note, source: PRACTICE });
}
