//! How far a pressed bushing's bore closes in: thick cylinders of two materials.
//!
//! Lame's equations, as in [`Cylinders`]. The share of the interference that shows at the bore
//! depends on the bushing's wall, the housing's, and both moduli: from 0.9 for a thin bronze wall in
//! steel to under 0.4 for a thick one in aluminium. It is never nothing.

use super::BushingError;
use crate::assembly::{Caution, Cylinders, Elastic, Source, Stiffness, elastic};
use crate::fit::{CloseIn, SizeBelief, clearance_range, combined_uncertainty};
use crate::temperature::Material;
use crate::units::Length;

/// A bushing before it is pressed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bushing {
    /// Its free bore.
    pub bore: SizeBelief,
    /// Its free outside diameter.
    pub outside_diameter: SizeBelief,
    /// What it is made of.
    pub material: Material,
}

/// The housing that it goes into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Housing {
    /// Its bore.
    pub bore: SizeBelief,
    /// Its outside diameter; of an odd shape, twice the distance from the bore's centre to the
    /// nearest outside, which lets it close in the least.
    pub outside_diameter: Length,
    /// What it is made of.
    pub material: Material,
}

/// A bushing as it will be once pressed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pressed {
    /// The interference, least and most, without uncertainty.
    pub interference: (Length, Length),
    /// The share of it that the bore closes in by, for the usual moduli.
    pub share: f64,
    /// The least and the most share, over the range of both moduli.
    pub share_range: (f64, f64),
    /// The close-in, rounded outward to the nanometre.
    pub close_in: CloseIn,
    /// The bore once pressed, its uncertainty that of all three sizes.
    pub installed_bore: SizeBelief,
    /// Where the moduli are from: bushing, housing.
    pub sources: [Source; 2],
    /// What to mind.
    pub caution: Caution,
}

impl Pressed {
    /// Whether both moduli rest on a published source that was read.
    pub fn is_confirmed(&self) -> bool {
        self.sources.iter().all(|source| source.is_confirmed)
    }
}

/// How far a bushing's bore closes in and what bore it will have.
///
/// The least is the smallest share of the smallest interference, the most the largest of the
/// largest (in a housing much stiffer than the bushing it can be a little over the whole
/// interference). A bushing that may be loose is refused: a close-in of nothing is never planned on.
///
/// ```
/// use tenths_domain::bushings::{Bushing, Housing, close_in};
/// use tenths_domain::fit::SizeBelief;
/// use tenths_domain::temperature::Material;
/// use tenths_domain::units::{Entry, Length, Unit};
/// let inch = |text: &str| Entry::parse(text, Unit::Inch).unwrap().length;
/// let measured = |text: &str| SizeBelief::measured(inch(text), inch(text), inch("0.0001")).unwrap();
/// let bushing = Bushing {
///     bore: measured("0.7520"),
///     outside_diameter: measured("0.8765"),
///     material: Material::Bronze,
/// };
/// let housing = Housing {
///     bore: measured("0.8750"),
///     outside_diameter: inch("1.7500"),
///     material: Material::Steel,
/// };
/// let pressed = close_in(&bushing, &housing).unwrap();
/// assert!((pressed.share - 0.90).abs() < 0.01);
/// assert_eq!(pressed.installed_bore.smallest().display(Unit::Inch, 4), "0.7506 in");
/// assert_eq!(pressed.installed_bore.largest().display(Unit::Inch, 4), "0.7507 in");
/// ```
pub fn close_in(bushing: &Bushing, housing: &Housing) -> Result<Pressed, BushingError> {
    check_two_sided(bushing, housing)?;
    let (clearance_min, clearance_max) = clearance_range(&housing.bore, &bushing.outside_diameter);
    let (least, most) = (-clearance_max, -clearance_min);
    if least <= Length::ZERO {
        return Err(BushingError::MayBeLoose { least, most });
    }
    let (inner, outer) = (elastic(bushing.material), elastic(housing.material));
    let share = |inner, outer| share(bushing, housing, inner, outer);
    let [low, usual, high] = [
        share(inner.stiffest(), outer.softest())?,
        share(inner.usual(), outer.usual())?,
        share(inner.softest(), outer.stiffest())?,
    ];
    let close_in = CloseIn::new(
        Length::from_nm((low * least.nm() as f64).floor() as i64),
        Length::from_nm((high * most.nm() as f64).ceil() as i64),
    )?;
    let installed_bore = bushing.bore.changed(
        -close_in.most(),
        -close_in.least(),
        installed_uncertainty(bushing, housing, usual),
    )?;
    Ok(Pressed {
        interference: (least, most),
        share: usual,
        share_range: (low, high),
        close_in,
        installed_bore,
        sources: [inner, outer].map(|elastic: Elastic| elastic.source),
        caution: match bushing.material {
            Material::PorousBronze => Caution::PorousBushing,
            _ => Caution::Bushing,
        },
    })
}

fn check_two_sided(bushing: &Bushing, housing: &Housing) -> Result<(), BushingError> {
    let sizes = [
        ("the bushing's bore", bushing.bore),
        ("the bushing's outside diameter", bushing.outside_diameter),
        ("the housing bore", housing.bore),
    ];
    for (what, size) in sizes {
        if size.open().below || size.open().above {
            return Err(BushingError::OneSided { what });
        }
    }
    Ok(())
}

/// The share at the middle of the sizes, which it hardly depends on.
fn share(
    bushing: &Bushing,
    housing: &Housing,
    inner: Stiffness,
    outer: Stiffness,
) -> Result<f64, BushingError> {
    let middle = |size: &SizeBelief| {
        Length::mean(&[size.smallest(), size.largest()]).unwrap_or(size.smallest())
    };
    let (diameter, bore) = (middle(&bushing.outside_diameter), middle(&bushing.bore));
    let cylinders = Cylinders::new(diameter, bore, housing.outside_diameter, inner, outer)?;
    Ok(cylinders.close_in_share())
}

/// The bore's own uncertainty with the share of the interference's, by root of squares, rounded up.
fn installed_uncertainty(bushing: &Bushing, housing: &Housing, share: f64) -> Length {
    let interference = combined_uncertainty(&housing.bore, &bushing.outside_diameter);
    let bore = bushing.bore.expanded_uncertainty().nm() as f64;
    let closed = share * interference.nm() as f64;
    Length::from_nm((bore * bore + closed * closed).sqrt().ceil() as i64)
}
