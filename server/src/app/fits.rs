//! Fits: limits of size by the standards, and what is known of a measured size.

use super::act::View;
use super::error::Error;
use super::lookup::feature_of;
use super::measuring::check_gives_a_value;
use super::trace::Trace;
use tenths_domain::fit::SizeBelief;
use tenths_domain::iso286::{self, Class, Deviations};
use tenths_domain::item::Limits;
use tenths_domain::units::{Entry, Length, Unit};

/// Asks for the limits of a class.
#[derive(Clone, Debug)]
pub struct GetLimits {
    /// The nominal size.
    pub size: Entry,
    /// The class.
    pub class: Class,
}

/// The limits of a class at a size.
#[derive(Clone, Debug)]
pub struct ClassLimits {
    /// The unit to show them in.
    pub unit: Unit,
    /// The limits.
    pub limits: Limits,
    /// The deviations.
    pub deviations: Deviations,
    /// Standard, edition and table.
    pub source: &'static str,
    /// Whether a table value behind it is known from one source only, from memory.
    pub unconfirmed: bool,
    /// The values behind the answer; none where many are asked for at once.
    pub traces: Vec<Trace>,
}

/// How well a value is known.
#[derive(Clone, Debug)]
pub enum Doubt {
    /// As the register says of this gauge.
    Gauge(String),
    /// Expanded uncertainty (k=2).
    Uncertainty(Length),
    /// Nothing was said: one last place of the value.
    LastPlace,
}

/// The limits of a class at a size.
///
/// # Errors
/// [`Error::Invalid`] if the class does not exist at that size.
pub fn get_limits(order: &GetLimits) -> Result<ClassLimits, Error> {
    let size = order.size.length;
    let refused = |error: iso286::Iso286Error| {
        let field = match error {
            iso286::Iso286Error::SizeNotCovered { .. } => "size",
            iso286::Iso286Error::NoSuchClass { .. } => "tolerance_class",
        };
        Error::invalid(field, error.to_string())
    };
    Ok(ClassLimits {
        unit: order.size.unit,
        limits: iso286::limits(size, &order.class).map_err(refused)?,
        deviations: iso286::deviations(size, &order.class).map_err(refused)?,
        source: iso286::source(&order.class),
        unconfirmed: iso286::is_unconfirmed(size, &order.class).map_err(refused)?,
        traces: Vec::new(),
    })
}

/// The expanded uncertainty of a value, and a note where nothing was said of it.
///
/// # Errors
/// [`Error::NotFound`] for the gauge; [`Error::Forbidden`] for one that gives a bound, or is not in
/// use.
pub(crate) async fn uncertainty_of(
    view: View<'_>,
    entry: &Entry,
    doubt: &Doubt,
) -> Result<(Length, Option<String>), Error> {
    match doubt {
        Doubt::Uncertainty(length) => Ok((*length, None)),
        Doubt::Gauge(tag) => {
            let gauge = view.find_gauge(tag).await?;
            check_gives_a_value(&gauge)?;
            let is_overdue = gauge.calibration_due_at < view.now;
            let note = format!("gauge {tag} is past its calibration date: its U is not proven");
            Ok((gauge.uncertainty.length, is_overdue.then_some(note)))
        }
        Doubt::LastPlace => {
            let note = format!(
                "no gauge was named: the size is taken as known to ±{} (one last place as written)",
                entry.resolution.display_in(entry.unit)
            );
            Ok((entry.resolution, Some(note)))
        }
    }
}

/// What the readings of a piece's feature let one believe of its size.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if it is not measured.
pub(crate) async fn measured_belief(
    view: View<'_>,
    tag: &str,
    name: &str,
) -> Result<SizeBelief, Error> {
    let piece = view.find_piece(tag).await?;
    let item = view.item_of(&piece).await?;
    let size = view.tx.piece_size(piece.id, feature_of(&item, name)?.id).await?;
    let (Some(min), Some(max), Some(uncertainty)) = (size.min, size.max, size.uncertainty) else {
        let description =
            format!("piece {tag} has no readings of {name}: measure it, or give a size");
        return Err(Error::forbidden("NOT_MEASURED", tag, description));
    };
    SizeBelief::measured(min, max, uncertainty)
        .map_err(|error| Error::forbidden("NOT_MEASURED", tag, error.to_string()))
}
