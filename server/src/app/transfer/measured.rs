//! The readings of an imported piece, as recorded and as exported.
//!
//! A cell says nothing of temperature: its values are taken as they stand at 20 C, in round 0. So an
//! export gives a reading that was brought to 20 C by its value there.

use super::dimensions::Dimension;
use super::lengths::exact_text;
use crate::app::act::Act;
use crate::app::judging::standing;
use crate::app::measuring::measure_size;
use std::collections::HashMap;
use tenths_domain::ids::{GaugeId, PieceId, ReadingId};
use tenths_domain::measure::{ExpandedUncertainty, UncertaintySources};
use tenths_domain::state::GaugeState;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_storage::{Gauge, Item, ItemFeature, PieceSize, Reading};

/// What was read on a piece: one entry for each measured feature.
#[derive(Clone, Debug, Default)]
pub(super) struct Measured(Vec<(ItemFeature, Vec<Read>)>);

/// A reading and what its gauge makes of it.
#[derive(Clone, Debug)]
struct Read {
    dimension: Dimension,
    gauge: GaugeId,
    calibration_due_at: i64,
    uncertainty: Length,
}

impl Measured {
    /// Why a gauge may not be used, if it may not.
    pub(super) fn unusable(gauge: &Gauge) -> Option<String> {
        let state = gauge.state;
        let reason =
            || format!("gauge {} is {state}: take another, or put it back in use", gauge.tag);
        (state != GaugeState::InUse).then(reason)
    }

    /// Refuses readings of places that the item does not have, and those that are far from its size.
    pub(super) fn check(item: &Item, dimensions: &[Dimension]) -> Result<(), String> {
        let fault = |dimension: &Dimension| {
            let Some(feature) = item.feature(&dimension.feature) else {
                let known: Vec<&str> =
                    item.features.iter().map(|one| one.feature.name.as_str()).collect();
                let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
                return Some(format!(
                    "item {} has no feature {}; it has: {known}",
                    item.code, dimension.feature
                ));
            };
            dimension.is_far_from(feature.feature.nominal).then(|| {
                format!(
                    "{} reads {}, but its nominal size is {} {}: more than 30 % off",
                    dimension.place(),
                    dimension.entry,
                    feature.nominal_text,
                    feature.nominal_unit
                )
            })
        };
        match dimensions.iter().find_map(fault) {
            Some(fault) => Err(fault),
            None => Ok(()),
        }
    }

    /// Readings that were checked, with the gauge of each.
    pub(super) fn of<'g>(
        item: &Item,
        material: Option<Material>,
        dimensions: &[Dimension],
        gauge: impl Fn(&Dimension) -> Option<&'g Gauge>,
    ) -> Result<Measured, String> {
        let mut measured: Vec<(ItemFeature, Vec<Read>)> = Vec::new();
        for dimension in dimensions {
            let Some(feature) = item.feature(&dimension.feature) else { continue };
            let gauge = gauge(dimension).ok_or("a reading has no gauge")?;
            let read = Read {
                gauge: gauge.id,
                calibration_due_at: gauge.calibration_due_at,
                uncertainty: uncertainty(gauge, &dimension.entry, material.or(item.material))?,
                dimension: dimension.clone(),
            };
            match measured.iter_mut().find(|(one, _)| one.id == feature.id) {
                Some((_, reads)) => reads.push(read),
                None => measured.push((feature.clone(), vec![read])),
            }
        }
        Ok(Measured(measured))
    }

    /// The rows of a piece's readings and of the sizes that they say.
    pub(super) fn record(
        self,
        act: &Act<'_>,
        piece: PieceId,
        readings: &mut Vec<Reading>,
        sizes: &mut Vec<PieceSize>,
    ) {
        for (feature, reads) in self.0 {
            let mut size = PieceSize::unmeasured(piece, feature.id);
            let taken: Vec<Reading> = reads.into_iter().map(|read| read.row(act, &size)).collect();
            measure_size(&mut size, &taken, &feature);
            sizes.push(size);
            readings.extend(taken);
        }
    }
}

impl Read {
    fn row(self, act: &Act<'_>, size: &PieceSize) -> Reading {
        let Dimension { station, orientation_deg, entry, .. } = self.dimension;
        Reading {
            id: ReadingId(0),
            piece: size.piece,
            feature: size.feature,
            gauge: self.gauge,
            round: size.round,
            station,
            orientation_deg,
            value_text: entry.text,
            value_unit: entry.unit,
            value: entry.length,
            at_20c: entry.length,
            uncertainty: self.uncertainty,
            temperature: None,
            gauge_temperature: None,
            gauge_overdue: self.calibration_due_at < act.now,
            trap: String::new(),
            override_reason: String::new(),
            person: act.person.to_owned(),
            created_at: act.now,
            request_id: act.request_id.to_owned(),
            void: None,
        }
    }
}

/// The gauge's registered uncertainty, and that of a value written coarser than the gauge reads.
fn uncertainty(gauge: &Gauge, entry: &Entry, material: Option<Material>) -> Result<Length, String> {
    let registered =
        ExpandedUncertainty::new(gauge.uncertainty.length).map_err(|error| error.to_string())?;
    let coarser = entry.resolution > gauge.resolution.length;
    let combined = ExpandedUncertainty::combined(&UncertaintySources {
        gauge: registered,
        resolution: if coarser { entry.resolution } else { Length::ZERO },
        size: entry.length,
        material,
        temperature_doubt_mk: 0,
    });
    Ok(combined.length())
}

/// The readings that speak for a piece as they are exported: the row's gauge, which is that of
/// the first, and the readings in the order of the item's features.
pub(super) fn dimensions_of(
    sizes: &[(ItemFeature, PieceSize)],
    readings: &[Reading],
    gauges: &HashMap<GaugeId, String>,
) -> (String, Vec<Dimension>) {
    let tag = |reading: &Reading| gauges.get(&reading.gauge).cloned().unwrap_or_default();
    let mut speaking: Vec<(&ItemFeature, Reading)> = Vec::new();
    for (feature, size) in sizes {
        let of_feature = readings.iter().filter(|reading| reading.feature == feature.id).cloned();
        let standing = standing(of_feature.collect(), size.round);
        speaking.extend(standing.into_iter().map(|reading| (feature, reading)));
    }
    let row_gauge = speaking.first().map(|(_, reading)| tag(reading)).unwrap_or_default();
    let dimensions = speaking.into_iter().map(|(feature, reading)| Dimension {
        feature: feature.feature.name.clone(),
        station: reading.station.clone(),
        orientation_deg: reading.orientation_deg,
        entry: entry_at_20c(&reading),
        gauge: Some(tag(&reading)).filter(|tag| *tag != row_gauge),
    });
    let dimensions = dimensions.collect();
    (row_gauge, dimensions)
}

/// The value at 20 C: as written, unless it was taken at another temperature.
fn entry_at_20c(reading: &Reading) -> Entry {
    let as_written = || Entry {
        text: reading.value_text.clone(),
        unit: reading.value_unit,
        length: reading.value,
        resolution: Length::ZERO,
    };
    if reading.at_20c == reading.value {
        return as_written();
    }
    let text = exact_text(reading.at_20c, reading.value_unit);
    Entry::parse_with_suffix(&text, Some(Unit::Millimetre)).unwrap_or_else(|_| as_written())
}
