//! Which rolling bearing may stand in for which: same boundary dimensions, then clearance, closure,
//! precision, the set it belongs to and whatever else its number says.

use super::{Acceptance, Difference, PRACTICE, SetSize};
use crate::bearings::boundary::{self, BoundaryDimensions};
use crate::bearings::designation::{ClearanceGroup, Closure};
use crate::bearings::iso492::ToleranceClass;
use crate::iso286::millimetres;
use crate::seats::Machine;
use crate::units::Length;

const MANUAL: &str = "US Army TM 11-6125-240-34: bearings specified \"do not substitute\" exist";

/// What a rolling bearing is, as far as it matters for replacing it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BearingTraits {
    /// Bore, outside diameter and width.
    pub dimensions: BoundaryDimensions,
    /// Internal clearance; none said means CN.
    pub clearance: Option<ClearanceGroup>,
    /// Seals or shields; none said means open.
    pub closure: Option<Closure>,
    /// ISO 492 class of its rings, if known.
    pub precision: Option<ToleranceClass>,
    /// How many make a matched set.
    pub set: SetSize,
    /// Whether its item says that nothing else may be fitted in its place.
    pub no_substitute: bool,
    /// What else its number says, as written: cage, grease, a maker's own letters.
    pub other: Vec<String>,
}

/// What differs between the bearing wanted and the one offered, and what the trade says of each
/// difference; nothing if they are the same in everything that is known.
///
/// ```
/// use tenths_domain::bearings::designation;
/// use tenths_domain::bearings::iso492::ToleranceClass;
/// use tenths_domain::seats::Machine;
/// use tenths_domain::substitution::{Acceptance, BearingTraits, SetSize, acceptance, replace_bearing};
/// let of = |number: &str| {
///     let found = designation::parse(number).unwrap();
///     BearingTraits {
///         dimensions: found.dimensions,
///         clearance: found.clearance,
///         closure: found.closure,
///         precision: Some(ToleranceClass::Normal),
///         set: SetSize::ONE,
///         no_substitute: false,
///         other: found.uninterpreted,
///     }
/// };
/// let usual = replace_bearing(&of("6205"), &of("6205-C3"), Machine::Motor);
/// assert_eq!(acceptance(&usual), Acceptance::Usual);
/// let back = replace_bearing(&of("6205-C3"), &of("6205"), Machine::Motor);
/// assert_eq!(acceptance(&back), Acceptance::Ask);
/// ```
pub fn replace_bearing(
    wanted: &BearingTraits,
    offered: &BearingTraits,
    machine: Machine,
) -> Vec<Difference> {
    let mut found = dimensions(wanted, offered);
    found.extend(clearance(wanted, offered, machine));
    found.extend(closure(wanted, offered, machine));
    found.extend(precision(wanted, offered, machine));
    found.extend(set(wanted, offered));
    found.extend(other(wanted, offered, machine));
    if wanted.no_substitute && !found.is_empty() {
        found.push(Difference {
            about: "substitution",
            acceptance: Acceptance::Never,
            note: "the item wanted says that nothing else may be fitted in its place".to_owned(),
            source: MANUAL,
        });
    }
    found
}

fn dimensions(wanted: &BearingTraits, offered: &BearingTraits) -> Vec<Difference> {
    let pairs = [
        ("bore", wanted.dimensions.bore, offered.dimensions.bore),
        (
            "outside diameter",
            wanted.dimensions.outside_diameter,
            offered.dimensions.outside_diameter,
        ),
        ("width", wanted.dimensions.width, offered.dimensions.width),
    ];
    let differ = |(what, wanted, offered): (&str, Length, Length)| {
        (wanted != offered).then(|| Difference {
            about: "dimensions",
            acceptance: Acceptance::Never,
            note: format!(
                "its {what} is {} where {} is wanted",
                millimetres(offered),
                millimetres(wanted)
            ),
            source: boundary::SOURCE,
        })
    };
    pairs.into_iter().filter_map(differ).collect()
}

/// More clearance for normal is usual in a motor, since the inner ring runs hotter; less is not
/// automatic anywhere. A spindle's is set by its maker.
fn clearance(
    wanted: &BearingTraits,
    offered: &BearingTraits,
    machine: Machine,
) -> Option<Difference> {
    use ClearanceGroup::{C3, Cn};
    let (from, to) = (wanted.clearance.unwrap_or(Cn), offered.clearance.unwrap_or(Cn));
    if from == to {
        return None;
    }
    let (acceptance, note) = match (machine, from, to) {
        (Machine::Spindle, ..) => {
            (Acceptance::Never, "a spindle keeps the clearance that its maker set".to_owned())
        }
        (Machine::Motor, Cn, C3) => (Acceptance::Usual, "C3 for CN is usual in a motor".to_owned()),
        (_, Cn, C3) => (
            Acceptance::Ask,
            format!("C3 for CN is usual in a motor; a {machine} may want less play"),
        ),
        _ if to < from => (
            Acceptance::Ask,
            format!("{to} for {from} is not automatic: look at the clearance left once fitted"),
        ),
        _ => (Acceptance::Ask, format!("{to} for {from}: more play than was wanted")),
    };
    Some(Difference { about: "clearance", acceptance, note, source: PRACTICE })
}

/// How much a closure keeps out, per side; more may replace less, never the reverse.
const fn tightness(closure: Closure) -> (u8, u8) {
    match closure {
        Closure::Open => (0, 0),
        Closure::ShieldOneSide => (1, 0),
        Closure::ShieldBothSides => (1, 1),
        Closure::SealOneSide => (2, 0),
        Closure::SealBothSides => (2, 2),
    }
}

fn closure(
    wanted: &BearingTraits,
    offered: &BearingTraits,
    machine: Machine,
) -> Option<Difference> {
    let from = wanted.closure.unwrap_or(Closure::Open);
    let to = offered.closure.unwrap_or(Closure::Open);
    if from == to {
        return None;
    }
    let (has, gets) = (tightness(from), tightness(to));
    let words = |closure: Closure| closure.as_str().replace('_', " ");
    let (acceptance, note) = if gets.0 < has.0 || gets.1 < has.1 {
        (Acceptance::Never, format!("{} does not keep out what {} does", words(to), words(from)))
    } else if machine == Machine::Spindle {
        (Acceptance::Never, "a spindle keeps the closure that its maker set".to_owned())
    } else {
        let rubs = gets.0 == 2 && has.0 < 2 || gets.1 == 2 && has.1 < 2;
        let closes = has.1 == 0 && gets.1 > 0;
        let mut note = format!("{} for {}", words(to), words(from));
        if rubs {
            note.push_str(": where speed and temperature allow, for a seal rubs and runs warmer");
        }
        if closes {
            note.push_str("; only where it need not be regreased through that side");
        }
        (Acceptance::Usual, note)
    };
    Some(Difference { about: "closure", acceptance, note, source: PRACTICE })
}

/// A finer class may replace a coarser one, at a price; never the reverse.
fn precision(
    wanted: &BearingTraits,
    offered: &BearingTraits,
    machine: Machine,
) -> Option<Difference> {
    let (acceptance, note) = match (wanted.precision, offered.precision) {
        (Some(from), Some(to)) if from == to => return None,
        (Some(from), Some(to)) if to > from => {
            (Acceptance::Usual, format!("class {to} is finer than class {from}: it costs more"))
        }
        (Some(from), Some(to)) => {
            (Acceptance::Never, format!("class {to} is coarser than class {from}"))
        }
        // Nothing said on either side is Normal, except in a spindle, where it matters too much.
        (None | Some(ToleranceClass::Normal), None) | (None, Some(_))
            if machine != Machine::Spindle =>
        {
            return None;
        }
        _ => (Acceptance::Ask, "the class of its rings is not known of both".to_owned()),
    };
    Some(Difference { about: "precision", acceptance, note, source: PRACTICE })
}

fn set(wanted: &BearingTraits, offered: &BearingTraits) -> Option<Difference> {
    let (from, to) = (wanted.set.count(), offered.set.count());
    let (acceptance, note) = match (from, to) {
        _ if from == to => return None,
        (1, _) => {
            (Acceptance::Ask, format!("it belongs to a matched set of {to}, which stays together"))
        }
        _ => (Acceptance::Never, format!("a matched set of {from} is wanted")),
    };
    Some(Difference { about: "set", acceptance, note, source: PRACTICE })
}

/// Letters that mean something else with every maker.
fn other(wanted: &BearingTraits, offered: &BearingTraits, machine: Machine) -> Option<Difference> {
    let upper = |words: &[String]| {
        let mut words: Vec<String> = words.iter().map(|word| word.to_ascii_uppercase()).collect();
        words.sort();
        words
    };
    if upper(&wanted.other) == upper(&offered.other) {
        return None;
    }
    let shown = |words: &[String]| {
        if words.is_empty() { "nothing".to_owned() } else { words.join(" ") }
    };
    let note = format!(
        "beyond what is plain the one wanted says {}, this one {}: cage, grease and the like differ \
         from maker to maker, so look them up",
        shown(&wanted.other),
        shown(&offered.other)
    );
    let acceptance = match machine {
        Machine::Spindle => Acceptance::Never,
        _ => Acceptance::Ask,
    };
    Some(Difference { about: "suffix", acceptance, note, source: PRACTICE })
}
