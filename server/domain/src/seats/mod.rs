//! Seats of rolling bearings and machine shaft extensions: which class the trade recommends for a
//! duty, and how true in form a seat must be.
//!
//! For deep groove ball bearings of ISO 492 class Normal or 6 on solid steel shafts and in cast
//! iron or steel housings (spindles: class 5 and finer). Several published practices are given
//! side by side, each with its source; none of them outranks the machine maker's print. What a
//! class comes to with a given ring is in [`crate::fit`].
//!
//! The rule behind all of them: the ring that turns relative to the load is seated with
//! interference, the other may slide. Belt pull is a standing load, so on a motor or pump the inner
//! ring turns relative to it.

mod extension;
mod form;
mod housing;
mod shaft;

pub use extension::{Extension, ExtensionError, iec_shaft_extension, nema_shaft_extension};
pub use form::{FormError, FormLimits, RunningDemand, seat_form};
pub use housing::housing_seat;
pub use shaft::shaft_seat;

use crate::bearings::iso492::ToleranceClass;
use crate::iso286::{Class, Iso286Error, limits, millimetres};
use crate::item::Limits;
use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// Which ring turns relative to the direction of the load.
    RingRotation, "ring rotation" {
        /// The inner ring turns relative to the load: shafts of motors, pumps, gear units.
        InnerRotates = "inner_rotates",
        /// The outer ring turns relative to the load: hubs, idler pulleys.
        OuterRotates = "outer_rotates",
        /// Neither can be ruled out: unbalance together with a standing load, cranks.
        Indeterminate = "indeterminate",
    }
}

named_enum! {
    /// How heavy the load is, as the trade divides it: the equivalent load as a share of the
    /// bearing's dynamic rating, light to about 0.06, normal to about 0.12, heavy over that (the
    /// figures differ a little from table to table).
    LoadClass, "load class" {
        /// Light and variable.
        Light = "light",
        /// Normal.
        Normal = "normal",
        /// Heavy, or with shocks.
        Heavy = "heavy",
    }
}

named_enum! {
    /// The kind of machine, where a practice of its own exists for it.
    Machine, "machine" {
        /// An electric motor or generator.
        Motor = "motor",
        /// A pump or fan.
        Pump = "pump",
        /// A machine-tool spindle with bearings of class 5 or finer.
        Spindle = "spindle",
        /// Any other.
        General = "general",
    }
}

named_enum! {
    /// How well the basis of an answer is known.
    Confidence, "confidence" {
        /// Read in two published sources that agree, or in one that equals memory.
        Confirmed = "confirmed",
        /// Read in one published source only, or read where two differ: the answer says how.
        SingleSource = "single_source",
        /// From memory alone: an unconfirmed value.
        Unconfirmed = "unconfirmed",
    }
}

/// What a seat has to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Duty {
    /// Which ring turns relative to the load.
    pub rotation: RingRotation,
    /// How heavy the load is.
    pub load: LoadClass,
    /// The kind of machine.
    pub machine: Machine,
}

/// One recommended class of a seat.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recommendation {
    /// The tolerance class of the seat (ISO 286-1).
    pub class: Class,
    /// The limits of size that the class gives at the nominal size.
    pub limits: Limits,
    /// What it is for besides the duty asked; empty if nothing.
    pub condition: &'static str,
    /// When it applies, in words: loads and sizes of the practice's row, and the condition.
    pub when: String,
    /// The practice it comes from: standard, edition and table where there is one.
    pub source: &'static str,
    /// How well that is known.
    pub confidence: Confidence,
}

/// Why no class can be recommended.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SeatError {
    /// The nominal size is not that of a bearing seat covered here.
    #[error(
        "a bearing seat of {} is not covered; allowed: {} to {}",
        millimetres(*nominal), millimetres(*from), millimetres(*to)
    )]
    SizeNotCovered {
        /// The nominal size asked for.
        nominal: Length,
        /// Smallest size allowed.
        from: Length,
        /// Largest size allowed.
        to: Length,
    },
    /// None of the practices has a class for this duty at this size.
    #[error(
        "no practice kept here has a class for {load} load at {}; nearest: {nearest} ({nearest_for})",
        millimetres(*nominal)
    )]
    NoPractice {
        /// The load asked for.
        load: LoadClass,
        /// The nominal size asked for.
        nominal: Length,
        /// The class that comes nearest.
        nearest: Class,
        /// What that class is for.
        nearest_for: String,
    },
    /// ISO 286 has no such class at the nominal size.
    #[error(transparent)]
    Iso286(#[from] Iso286Error),
}

/// What to mind when a ring is coarser than the practice of its machine asks for.
///
/// The spindle rows are for rings of class 5 and finer: a Normal or class 6 ring has wider limits of
/// its own, so the fit spreads more, and it runs out more than a spindle may.
///
/// ```
/// use tenths_domain::bearings::iso492::ToleranceClass;
/// use tenths_domain::seats::{Machine, ring_warning};
/// assert!(ring_warning(Machine::Spindle, ToleranceClass::Normal).is_some());
/// assert!(ring_warning(Machine::Spindle, ToleranceClass::Class5).is_none());
/// assert!(ring_warning(Machine::Motor, ToleranceClass::Normal).is_none());
/// ```
pub fn ring_warning(machine: Machine, class: ToleranceClass) -> Option<&'static str> {
    match (machine, class) {
        (Machine::Spindle, ToleranceClass::Normal | ToleranceClass::Class6) => Some(
            "the spindle practice is for bearings of ISO 492 class 5 or finer: a ring of this class \
             spreads the fit wider and runs out more than a precision spindle may; ask the machine's \
             maker before it is fitted",
        ),
        _ => None,
    }
}

/// Smallest seat covered: bearings under 3 mm bore are fitted by rules of their own.
const SEAT_MIN: Length = Length::from_nm(3_000_000);
/// Largest seat covered, 500 mm.
const SEAT_MAX: Length = Length::from_nm(500_000_000);
const NM_PER_MM: i64 = 1_000_000;

/// One row of a published practice.
struct Practice {
    rotations: &'static [RingRotation],
    loads: &'static [LoadClass],
    /// The machines it is for.
    machines: &'static [Machine],
    over_mm: i64,
    to_mm: i64,
    class: Class,
    condition: &'static str,
    source: &'static str,
    confidence: Confidence,
}

impl Practice {
    /// Whether the row is for this duty, whatever the load and the size.
    fn is_for(&self, duty: &Duty) -> bool {
        self.rotations.contains(&duty.rotation) && self.machines.contains(&duty.machine)
    }

    fn covers(&self, nominal: Length) -> bool {
        self.over_mm * NM_PER_MM < nominal.nm() && nominal.nm() <= self.to_mm * NM_PER_MM
    }

    /// When the row applies, in words.
    fn when(&self) -> String {
        let loads: Vec<&str> = self.loads.iter().map(|load| load.as_str()).collect();
        let load = if self.loads.len() == LoadClass::ALL.len() {
            "any load".to_owned()
        } else {
            format!("{} load", loads.join(" or "))
        };
        let sizes = match self.over_mm {
            0 => format!("to {} mm", self.to_mm),
            over => format!("over {over} to {} mm", self.to_mm),
        };
        match self.condition {
            "" => format!("{load}, {sizes}"),
            condition => format!("{load}, {sizes}, {condition}"),
        }
    }

    /// How far a size lies outside the row's sizes, in nanometres.
    fn distance_nm(&self, nominal: Length) -> i64 {
        let below = self.over_mm * NM_PER_MM - nominal.nm();
        below.max(nominal.nm() - self.to_mm * NM_PER_MM).max(0)
    }
}

/// The rows of a table that apply, in its order: the machine's own practice first.
fn recommend(
    table: &[Practice],
    nominal: Length,
    duty: &Duty,
) -> Result<Vec<Recommendation>, SeatError> {
    if nominal < SEAT_MIN || nominal > SEAT_MAX {
        return Err(SeatError::SizeNotCovered { nominal, from: SEAT_MIN, to: SEAT_MAX });
    }
    let fits =
        |row: &&Practice| row.is_for(duty) && row.loads.contains(&duty.load) && row.covers(nominal);
    let mut found = Vec::new();
    for row in table.iter().filter(fits) {
        found.push(Recommendation {
            class: row.class,
            limits: limits(nominal, &row.class)?,
            condition: row.condition,
            when: row.when(),
            source: row.source,
            confidence: row.confidence,
        });
    }
    if found.is_empty() { Err(no_practice(table, nominal, duty)) } else { Ok(found) }
}

fn no_practice(table: &[Practice], nominal: Length, duty: &Duty) -> SeatError {
    let load = |row: &Practice| {
        let off = |load: &LoadClass| (*load as i64 - duty.load as i64).abs();
        row.loads.iter().map(off).min().unwrap_or(i64::MAX)
    };
    let nearest = table
        .iter()
        .filter(|row| row.is_for(duty))
        .min_by_key(|row| (row.distance_nm(nominal), load(row)))
        .expect("every rotation and machine has rows");
    let loads: Vec<&str> = nearest.loads.iter().map(|load| load.as_str()).collect();
    SeatError::NoPractice {
        load: duty.load,
        nominal,
        nearest: nearest.class,
        nearest_for: format!(
            "{} load, over {} to {} mm, {}",
            loads.join(" or "),
            nearest.over_mm,
            nearest.to_mm,
            nearest.source
        ),
    }
}
