//! How true a bearing seat and its shoulder must be: fractions of standard tolerance grades.
//!
//! Cylindricity and total radial run-out of the seat are half a grade, squareness and total axial
//! run-out of the shoulder a whole one. The grades are those of a published rolling-bearing table of form and position (Normal, class 6 and
//! 5) and of one for precision bearings (class 4 and 2); the micrometres are computed from
//! ISO 286-1:2010, Table 1, at the seat's nominal diameter.

use crate::bearings::iso492::ToleranceClass;
use crate::iso286::{
    Class, FundamentalDeviation, Grade, Iso286Error, deviations, is_unconfirmed, millimetres,
};
use crate::item::Side;
use crate::named::named_enum;
use crate::units::Length;

named_enum! {
    /// What is asked of the running, for bearings of class Normal.
    RunningDemand, "running demand" {
        /// Normal demands.
        Normal = "normal",
        /// Special demands on running accuracy or even support.
        Special = "special",
    }
}

/// How far a seat may depart from its true form and place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormLimits {
    /// Most departure from a cylinder, as a radial difference.
    pub cylindricity: Length,
    /// Most total radial run-out of the seat.
    pub total_radial_run_out: Length,
    /// Most departure of the shoulder from square to the axis.
    pub shoulder_squareness: Length,
    /// Most total axial run-out of the shoulder.
    pub total_axial_run_out: Length,
    /// The grades that these are: of the seat (half of it is taken), and of the shoulder.
    pub grades: [Grade; 2],
    /// The tables that the values rest on.
    pub source: &'static str,
    /// Whether a grade's value is known from memory alone: say so beside it.
    pub is_unconfirmed: bool,
}

/// A seat that the form limits do not cover.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FormError {
    /// Special demands are told apart for bearings of class Normal alone.
    #[error(
        "special running demands are given for bearings of class normal only, not {class}: a finer \
         class has them built in; ask with normal demands"
    )]
    DemandNotKnown {
        /// The class asked for.
        class: ToleranceClass,
    },
    /// ISO 286 does not cover the size.
    #[error("no form limits for a seat of {}: {cause}", millimetres(*diameter))]
    Size {
        /// The seat asked for.
        diameter: Length,
        /// Why.
        cause: Iso286Error,
    },
}

/// How true the seat for a bearing of this class must be, shaft or housing alike.
///
/// ```
/// use tenths_domain::bearings::iso492::ToleranceClass;
/// use tenths_domain::seats::{RunningDemand, seat_form};
/// use tenths_domain::units::Length;
/// let seat = Length::from_nm(40_000_000);
/// let form = seat_form(seat, ToleranceClass::Normal, RunningDemand::Normal)?;
/// // IT5 is 11 um over 30 to 50 mm.
/// assert_eq!((form.cylindricity.nm(), form.shoulder_squareness.nm()), (5_500, 11_000));
/// # Ok::<(), tenths_domain::seats::FormError>(())
/// ```
pub fn seat_form(
    diameter: Length,
    class: ToleranceClass,
    demand: RunningDemand,
) -> Result<FormLimits, FormError> {
    let [seat, shoulder] = match (class, demand) {
        (ToleranceClass::Normal, RunningDemand::Normal) => [5, 5],
        (ToleranceClass::Normal, RunningDemand::Special) => [4, 4],
        (_, RunningDemand::Special) => return Err(FormError::DemandNotKnown { class }),
        (ToleranceClass::Class6, RunningDemand::Normal) => [3, 3],
        (ToleranceClass::Class5, RunningDemand::Normal) => [2, 2],
        (ToleranceClass::Class4, RunningDemand::Normal) => [2, 1],
        (ToleranceClass::Class2, RunningDemand::Normal) => [1, 0],
    };
    let grades = [seat, shoulder].map(|number| Grade::new(number).expect("0 to 5 are grades"));
    let [seat, shoulder] = grades.map(|grade| tolerance(diameter, grade));
    let (seat, shoulder) = (seat?, shoulder?);
    let half = Length::from_nm(seat.0.nm() / 2);
    Ok(FormLimits {
        cylindricity: half,
        total_radial_run_out: half,
        shoulder_squareness: shoulder.0,
        total_axial_run_out: shoulder.0,
        grades,
        source: match class {
            ToleranceClass::Normal | ToleranceClass::Class6 | ToleranceClass::Class5 => {
                "a published rolling-bearing table of form and position of seats (Normal, P6, P5); \
                 ISO 286-1:2010, Table 1"
            }
            ToleranceClass::Class4 | ToleranceClass::Class2 => {
                "a published precision-bearing table of form and position of seats (P4, P2); \
                 ISO 286-1:2010, Table 1"
            }
        },
        is_unconfirmed: seat.1 || shoulder.1,
    })
}

/// The standard tolerance of a grade (the width of class h), and whether it is from memory alone.
fn tolerance(diameter: Length, grade: Grade) -> Result<(Length, bool), FormError> {
    let class = Class::new(Side::External, FundamentalDeviation::H, grade);
    let asked = deviations(diameter, &class)
        .and_then(|zone| Ok((zone.upper - zone.lower, is_unconfirmed(diameter, &class)?)));
    asked.map_err(|cause| FormError::Size { diameter, cause })
}
