//! How hot a ring or hub must be to slip on, and how hot it may be.

use super::{AssemblyError, Source, check_size};
use crate::named::named_enum;
use crate::temperature::Temperature;
use crate::units::Length;
use crate::units::rounding::divide_half_even;

/// Added to the least temperature, since a ring cools on its way to the seat.
const MARGIN_MK: i64 = 20_000;

named_enum! {
    /// What is heated, which says how hot it may be.
    HeatedPart, "heated part" {
        /// An open or shielded rolling bearing without grease: 110 C, never over 120 C.
        OpenBearing = "open_bearing",
        /// A sealed or greased rolling bearing: 80 C, by induction only, never in oil.
        SealedBearing = "sealed_bearing",
        /// A plain hub, sleeve or gear of metal: 200 C unless its heat treatment says less.
        PlainHub = "plain_hub",
    }
}

impl HeatedPart {
    /// The temperature to stay at or below, and the one that is never passed.
    ///
    /// ```
    /// use tenths_domain::assembly::HeatedPart;
    /// let (usual, never_over) = HeatedPart::OpenBearing.caps();
    /// assert_eq!((usual.to_string(), never_over.to_string()), ("110.0 C".into(), "120.0 C".into()));
    /// ```
    pub const fn caps(self) -> (Temperature, Temperature) {
        let (usual, never_over) = match self {
            HeatedPart::OpenBearing => (110_000, 120_000),
            HeatedPart::SealedBearing => (80_000, 80_000),
            HeatedPart::PlainHub => (200_000, 200_000),
        };
        let celsius = Temperature::from_millidegrees_c;
        (celsius(usual), celsius(never_over))
    }

    /// Where the caps are from.
    pub const fn source(self) -> Source {
        match self {
            HeatedPart::OpenBearing => Source::read(
                "250 F (120 C) unless the maker says otherwise: industrial maintenance training \
                 text (web copy); 110 C is practice",
            ),
            HeatedPart::SealedBearing => Source::read(
                "not above 80 C (175 F), by induction, fitted at once: a bearing maker's \
                 instructions for sealed bearings (web copy)",
            ),
            HeatedPart::PlainHub => Source::unconfirmed(
                "200 C, the low end of tempering of hardened steel: from memory, no published \
                 source",
            ),
        }
    }
}

named_enum! {
    /// Whether heating alone will do.
    HeatOutcome, "heating outcome" {
        /// It slips on with the usual margin below the usual cap.
        Enough = "enough",
        /// It slips on, but only near the cap: be quick, and have the press ready.
        Tight = "tight",
        /// Not within the cap: cool the shaft too, or press.
        NotEnough = "not_enough",
    }
}

impl HeatOutcome {
    /// What it means at the bench.
    pub const fn text(self) -> &'static str {
        match self {
            HeatOutcome::Enough => "heating will do: it slips on with margin",
            HeatOutcome::Tight => {
                "tight: it slips on only near the cap; be quick, have the press ready"
            }
            HeatOutcome::NotEnough => {
                "heating will not do within the cap: cool the shaft too, or press"
            }
        }
    }
}

/// How to heat a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeatAdvice {
    /// The least temperature at which the bore clears the mating part.
    pub at_least: Temperature,
    /// The temperature to heat to: the least and a margin of 20 K, but not over the cap.
    pub heat_to: Temperature,
    /// The temperature that is never passed.
    pub never_over: Temperature,
    /// Whether it will do.
    pub outcome: HeatOutcome,
    /// By how much the bore is still too small at the cap; zero if it clears.
    pub short_by: Length,
    /// Where the cap is from.
    pub source: Source,
}

/// The change of a size over a change of temperature, rounded once to the nanometre:
/// a D (T2 - T1), with the expansion in parts per billion per kelvin.
///
/// ```
/// use tenths_domain::assembly::growth;
/// use tenths_domain::units::Length;
/// // 1275 m of steel at 12 ppm/K over 55 K (OpenStax, College Physics, Example 13.3): 0.84 m.
/// let bridge = growth(Length::from_nm(1_275_000_000_000), 12_000, 55_000);
/// assert_eq!(bridge, Length::from_nm(841_500_000));
/// ```
pub fn growth(size: Length, expansion_ppb_per_k: i64, rise_mk: i64) -> Length {
    let parts = i128::from(expansion_ppb_per_k) * i128::from(rise_mk);
    let change = divide_half_even(i128::from(size.nm()) * parts, 1_000_000_000_000);
    Length::from_nm(i64::try_from(change).unwrap_or(i64::MAX))
}

/// How hot a part must be to slip on to (or over) a mating part at its own temperature, with a
/// clearance to move in. Sizes are at 20 C; the expansion is the heated part's, the mating part
/// keeps its temperature. dT = (I + c) / (a D) (thermal expansion, as in [`growth`]), rounded up to
/// a thousandth of a kelvin.
///
/// ```
/// use tenths_domain::assembly::{HeatOutcome, HeatedPart, heat};
/// use tenths_domain::temperature::{Material, Temperature};
/// use tenths_domain::units::Length;
/// let nm = Length::from_nm;
/// let steel = Material::Steel.expansion_ppb_per_k();
/// let shop = Temperature::REFERENCE;
/// // 21 um of interference on 30 mm, and 10 um to move in.
/// let advice = heat(HeatedPart::SealedBearing, nm(30_000_000), nm(31_000), steel, shop).unwrap();
/// assert_eq!(advice.outcome, HeatOutcome::NotEnough);
/// assert_eq!(advice.heat_to.to_string(), "80.0 C");
/// ```
pub fn heat(
    part: HeatedPart,
    diameter: Length,
    opening: Length,
    expansion_ppb_per_k: i64,
    mate: Temperature,
) -> Result<HeatAdvice, AssemblyError> {
    check_size("a diameter of the joint", diameter)?;
    let (usual, never_over) = part.caps();
    if mate >= usual {
        return Err(AssemblyError::MateTooHot { mate, cap: usual });
    }
    let opening = opening.max(Length::ZERO);
    let per_mk = i128::from(expansion_ppb_per_k.max(1)) * i128::from(diameter.nm());
    let rise = i128::from(opening.nm()) * 1_000_000_000_000;
    let rise_mk = i64::try_from(-(-rise).div_euclid(per_mk)).unwrap_or(i64::MAX / 2);
    let celsius = |mk: i64| Temperature::from_millidegrees_c(mate.millidegrees_c() + mk);
    let (at_least, wanted) = (celsius(rise_mk), celsius(rise_mk.saturating_add(MARGIN_MK)));
    let outcome = if wanted <= usual {
        HeatOutcome::Enough
    } else if at_least <= never_over {
        HeatOutcome::Tight
    } else {
        HeatOutcome::NotEnough
    };
    let cap_rise_mk = never_over.millidegrees_c() - mate.millidegrees_c();
    let reached = growth(diameter, expansion_ppb_per_k, cap_rise_mk);
    Ok(HeatAdvice {
        at_least,
        heat_to: wanted.min(if at_least <= usual { usual } else { never_over }),
        never_over,
        outcome,
        short_by: if outcome == HeatOutcome::NotEnough { opening - reached } else { Length::ZERO },
        source: part.source(),
    })
}
