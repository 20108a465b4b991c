//! What is known of the part that needs a mate.

use crate::app::fits::{Doubt, measured_belief, uncertainty_of};
use crate::app::lookup::feature_of;
use crate::app::{App, Error, View};
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::fit::SizeBelief;
use tenths_domain::ids::PieceId;
use tenths_domain::item::{FeatureKind, ItemKind, Tolerance};
use tenths_domain::matching::Place;
use tenths_domain::temperature::{Material, Temperature, at_20c};
use tenths_domain::units::{Entry, Unit};

/// Where a measured size comes from.
#[derive(Clone, Debug)]
pub enum MeasuredSize {
    /// A size read over the phone or off a gauge.
    Value(Box<ValueOf>),
    /// The readings of a feature of a piece.
    Piece {
        /// The piece.
        tag: String,
        /// The feature.
        feature: String,
    },
}

/// A size read over the phone or off a gauge.
#[derive(Clone, Debug)]
pub struct ValueOf {
    /// The value as written.
    pub entry: Entry,
    /// What kind of place it is.
    pub kind: FeatureKind,
    /// What part a bore or an outside diameter is on, if it was said.
    pub item: Option<ItemKind>,
    /// How well it is known.
    pub doubt: Doubt,
    /// What it is made of, if that was said.
    pub material: Option<Material>,
    /// The temperature that it was measured at; none means 20 C.
    pub temperature: Option<Temperature>,
}

/// The measured part, ready to be matched.
#[derive(Clone, Debug)]
pub(super) struct Measured {
    pub(super) place: Place,
    pub(super) ring: Option<ToleranceClass>,
    pub(super) belief: SizeBelief,
    pub(super) unit: Unit,
    /// The piece itself, which is no mate of its own.
    pub(super) piece: Option<PieceId>,
    pub(super) notes: Vec<String>,
}

/// Works out what is known; the books are read only where the question names a piece, or a gauge
/// that the index does not know or that is overdue.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Forbidden`] for a piece that is not measured.
pub(super) async fn measured(
    app: &App,
    field: &'static str,
    size: &MeasuredSize,
) -> Result<Measured, Error> {
    match size {
        MeasuredSize::Value(value) => match &value.doubt {
            Doubt::Uncertainty(length) => of_value(field, value, *length, None),
            Doubt::LastPlace => {
                let resolution = value.entry.resolution;
                let note = format!(
                    "no gauge was named: the size is taken as known to ±{} (one last place as written)",
                    resolution.display_in(value.entry.unit)
                );
                of_value(field, value, resolution, Some(note))
            }
            Doubt::Gauge(tag) => match app.feed().gauge(tag, app.now()) {
                Some(uncertainty) => of_value(field, value, uncertainty, None),
                None => of_books(app, field, value).await,
            },
        },
        MeasuredSize::Piece { tag, feature } => {
            let (tag, feature) = (tag.clone(), feature.clone());
            app.read(move |view| Box::pin(async move { of_piece(view, &tag, &feature).await }))
                .await
        }
    }
}

/// A value read with a gauge that the index does not vouch for: it may be new, or overdue.
async fn of_books(app: &App, field: &'static str, value: &ValueOf) -> Result<Measured, Error> {
    let value = value.clone();
    app.read(move |view| {
        Box::pin(async move {
            let (doubt, note) = uncertainty_of(view, &value.entry, &value.doubt).await?;
            of_value(field, &value, doubt, note)
        })
    })
    .await
}

fn of_value(
    field: &str,
    value: &ValueOf,
    uncertainty: tenths_domain::units::Length,
    note: Option<String>,
) -> Result<Measured, Error> {
    let item = item_of(value.kind, value.item);
    let mut notes: Vec<String> = note.into_iter().collect();
    let mut size = value.entry.length;
    let unit = shown_unit(value.entry.unit);
    if let Some(temperature) = value.temperature {
        let material = value.material.unwrap_or(Material::Steel);
        size = at_20c(size, temperature, material);
        notes.push(format!(
            "brought to 20 C as {material}: {} becomes {}",
            value.entry.length.display_in(unit),
            size.display_in(unit)
        ));
    }
    let belief = SizeBelief::measured(size, size, uncertainty)
        .map_err(|error| Error::invalid(format!("{field}.value"), error.to_string()))?;
    Ok(Measured {
        place: Place { item, feature: value.kind, material: value.material },
        ring: (item == ItemKind::RollingBearing).then_some(ToleranceClass::Normal),
        belief,
        unit,
        piece: None,
        notes,
    })
}

/// What a bare size is taken to be on.
fn item_of(kind: FeatureKind, said: Option<ItemKind>) -> ItemKind {
    match kind {
        FeatureKind::HousingBore => ItemKind::Housing,
        FeatureKind::Bore | FeatureKind::OutsideDiameter => {
            said.unwrap_or(ItemKind::RollingBearing)
        }
        _ => ItemKind::Shaft,
    }
}

async fn of_piece(view: View<'_>, tag: &str, name: &str) -> Result<Measured, Error> {
    let belief = measured_belief(view, tag, name).await?;
    let piece = view.find_piece(tag).await?;
    let item = view.item_of(&piece).await?;
    let feature = feature_of(&item, name)?;
    let ring = match feature.feature.tolerance {
        Tolerance::Iso492(class) => Some(class),
        _ => None,
    };
    Ok(Measured {
        place: Place {
            item: item.kind,
            feature: feature.feature.kind,
            material: piece.material.or(item.material),
        },
        ring,
        belief,
        unit: shown_unit(feature.nominal_unit),
        piece: Some(piece.id),
        notes: Vec::new(),
    })
}

const fn shown_unit(unit: Unit) -> Unit {
    match unit {
        Unit::Inch | Unit::Thou => Unit::Inch,
        Unit::Millimetre | Unit::Micrometre => Unit::Millimetre,
    }
}
