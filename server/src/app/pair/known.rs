//! What is known of one size of a fit, and what that lets one believe.

use crate::app::act::View;
use crate::app::error::Error;
use crate::app::fits::{Doubt, measured_belief, uncertainty_of};
use crate::app::trace::{Trace, fine, range};
use tenths_domain::b41::{self, FitClass};
use tenths_domain::bearings::iso492::{self, ToleranceClass};
use tenths_domain::fit::SizeBelief;
use tenths_domain::iso286::{self, Class};
use tenths_domain::item::{Limits, Side};
use tenths_domain::units::{Entry, Length, Unit};

/// What is known of one size.
#[derive(Clone, Debug)]
pub enum SizeKnowledge {
    /// It was measured.
    Measured {
        /// Smallest reading.
        min: Entry,
        /// Largest reading.
        max: Entry,
        /// How well it is known.
        doubt: Doubt,
    },
    /// It is anywhere within limits.
    Limits(Limits),
    /// Fixed gauges bound it.
    Bound {
        /// At least this.
        at_least: Option<Length>,
        /// At most this.
        at_most: Option<Length>,
    },
    /// The readings of a piece's feature.
    Piece {
        /// The piece.
        tag: String,
        /// The feature.
        feature: String,
    },
    /// Anywhere within a tolerance class at the nominal size.
    Class(Class),
    /// A bearing ring at the nominal size.
    Ring(ToleranceClass),
    /// Anywhere within what an inch fit sets for this side at the nominal size.
    InchFit(FitClass),
}

/// What is believed of a size, and where that comes from, spoken of in a unit. `field` names it in
/// violations.
///
/// # Errors
/// [`Error::NotFound`] for a gauge or piece; [`Error::Invalid`] for a size without meaning.
pub(crate) async fn believe(
    view: View<'_>,
    field: &str,
    known: &SizeKnowledge,
    nominal: Option<Length>,
    side: Side,
    unit: Unit,
) -> Result<(SizeBelief, Trace), Error> {
    let invalid = |error: &dyn std::fmt::Display| Error::invalid(field, error.to_string());
    let of = |belief: SizeBelief, source: &str, unconfirmed: bool| {
        Ok((belief, Trace::table(field, size_words(&belief, unit), source, unconfirmed)))
    };
    match known {
        SizeKnowledge::Measured { min, max, doubt } => {
            let (uncertainty, _) = uncertainty_of(view, min, doubt).await?;
            let belief = SizeBelief::measured(min.length, max.length, uncertainty)
                .map_err(|error| invalid(&error))?;
            of(belief, &format!("measured, U (k=2) {}", fine(uncertainty, unit)), false)
        }
        SizeKnowledge::Bound { at_least, at_most } => {
            let belief = SizeBelief::bound(*at_least, *at_most, Length::ZERO)
                .map_err(|error| invalid(&error))?;
            of(belief, "bounded by fixed gauges, which are taken as exact", false)
        }
        SizeKnowledge::Piece { tag, feature } => {
            let belief = measured_belief(view, tag, feature).await?;
            of(belief, &format!("readings of piece {tag} {feature}"), false)
        }
        SizeKnowledge::Limits(limits) => {
            let belief = SizeBelief::toleranced(*limits).map_err(|error| invalid(&error))?;
            of(belief, "limits as given", false)
        }
        SizeKnowledge::Class(class) if class.side() != side => {
            Err(invalid(&format!("class {class} is for the other side of a fit")))
        }
        SizeKnowledge::Class(_) | SizeKnowledge::Ring(_) | SizeKnowledge::InchFit(_) => {
            let nominal = nominal.ok_or_else(|| {
                Error::invalid("nominal", "it is not given; a class needs the nominal size")
            })?;
            let table = tabled(known, nominal, side).map_err(|problem| invalid(&problem))?;
            let belief = SizeBelief::toleranced(table.limits).map_err(|error| invalid(&error))?;
            of(belief, &table.source, table.unconfirmed)
        }
    }
}

/// A size in words: a range, or the one bound that it has.
fn size_words(belief: &SizeBelief, unit: Unit) -> String {
    let (open, one) = (belief.open(), belief.smallest().display_in(unit));
    if open.above {
        format!("at least {one}")
    } else if open.below {
        format!("at most {one}")
    } else {
        range(belief.smallest(), belief.largest(), unit)
    }
}

/// Limits out of a published table.
struct Tabled {
    limits: Limits,
    source: String,
    unconfirmed: bool,
}

/// The limits that a class sets for a side at a nominal size, or why it sets none.
fn tabled(known: &SizeKnowledge, nominal: Length, side: Side) -> Result<Tabled, String> {
    let refused = |error: &dyn std::fmt::Display| error.to_string();
    match known {
        SizeKnowledge::Class(class) => Ok(Tabled {
            limits: iso286::limits(nominal, class).map_err(|error| refused(&error))?,
            source: format!("{class}, {}", iso286::source(class)),
            unconfirmed: iso286::is_unconfirmed(nominal, class).map_err(|error| refused(&error))?,
        }),
        SizeKnowledge::Ring(class) => {
            let deviations = match side {
                Side::Internal => iso492::mean_bore_deviations(nominal, *class),
                Side::External => iso492::mean_outside_diameter_deviations(nominal, *class),
            };
            Ok(Tabled {
                limits: deviations.map_err(|error| refused(&error))?.about(nominal),
                source: format!("ISO 492:2014, class {class}"),
                unconfirmed: false,
            })
        }
        SizeKnowledge::InchFit(class) => {
            let fit = b41::fit(nominal, *class).map_err(|error| refused(&error))?;
            let deviations = match side {
                Side::Internal => fit.hole,
                Side::External => fit.shaft,
            };
            Ok(Tabled {
                limits: deviations.about(nominal),
                source: format!("{class}, {}", fit.source),
                unconfirmed: fit.unconfirmed,
            })
        }
        _ => Err("it is not known by a class".to_owned()),
    }
}
