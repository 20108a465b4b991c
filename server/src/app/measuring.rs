//! Measuring: the gauge register, readings with their entry traps, and voids.

use super::act::{Act, View};
use super::error::{Error, Obstacle, check_etag};
use super::judging::{effective_feature, standing};
use super::lookup::feature_of;
use super::reading_traces;
use super::trace::Trace;
use super::views::ReadingView;
use tenths_domain::entry::{self, Context, EarlierRound, EnteredTemperature, Trap};
use tenths_domain::ids::{FeatureId, GaugeId, PieceId, ReadingId};
use tenths_domain::item::Side;
use tenths_domain::measure::{
    Bodies, EnteredReading, ExpandedUncertainty, SettingMethod, UncertaintySources,
};
use tenths_domain::state::{BuiltUp, GaugeState};
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length};
use tenths_storage::{
    Gauge, Item, ItemFeature, Page, Piece, PieceSize, Reading, ReadingVoid, ReadingsFilter,
};

/// The doubt about part against gauge temperature that a gauge's registered uncertainty covers, in
/// thousandths of a kelvin (shop budgets take 3 K; common practice, no published source).
pub(crate) const COVERED_DOUBT_MK: i64 = 3_000;

/// Registers a gauge.
#[derive(Clone, Debug)]
pub struct RegisterGauge {
    /// The tag.
    pub tag: String,
    /// What it is, in words.
    pub description: String,
    /// The value of its smallest division.
    pub resolution: Entry,
    /// Expanded uncertainty (k=2) of a reading.
    pub uncertainty: Entry,
    /// How it is set.
    pub setting_method: SettingMethod,
    /// When its calibration ends, in Unix microseconds.
    pub calibration_due_at: i64,
    /// What it can reach; none for either.
    pub side: Option<Side>,
    /// The smallest size that it measures.
    pub size_min: Option<Entry>,
    /// The largest size that it measures.
    pub size_max: Option<Entry>,
    /// What it is made of; none is taken as steel.
    pub material: Option<Material>,
}

/// Replaces a gauge.
#[derive(Clone, Debug)]
pub struct UpdateGauge {
    /// Its version as last read.
    pub etag: i64,
    /// Whether it may be used.
    pub state: GaugeState,
    /// Everything else.
    pub gauge: RegisterGauge,
}

/// What was read on one feature with one gauge.
#[derive(Clone, Debug)]
pub struct NewReadings {
    /// The feature.
    pub feature: String,
    /// The gauge.
    pub gauge_tag: String,
    /// The readings.
    pub readings: Vec<EnteredReading>,
    /// The part's temperature and how it was written.
    pub temperature: Option<(EnteredTemperature, String)>,
    /// The gauge's temperature and how it was written.
    pub gauge_temperature: Option<(EnteredTemperature, String)>,
}

/// Records readings of a piece.
#[derive(Clone, Debug)]
pub struct RecordReadings {
    /// The piece.
    pub piece_tag: String,
    /// What was read.
    pub readings: NewReadings,
    /// Why suspicious readings are right all the same.
    pub override_reason: String,
}

/// Voids a reading.
#[derive(Clone, Debug)]
pub struct VoidReading {
    /// The reading.
    pub reading: ReadingId,
    /// Why it is wrong.
    pub reason: String,
}

/// Registers a gauge.
///
/// # Errors
/// [`Error::AlreadyExists`] if the tag was ever used.
pub async fn register_gauge(act: &Act<'_>, new: &RegisterGauge) -> Result<Gauge, Error> {
    if act.tx.gauge_by_tag(&new.tag).await?.is_some() {
        return Err(Error::AlreadyExists { kind: "gauge", name: new.tag.clone() });
    }
    let gauge = Gauge {
        id: GaugeId(0),
        tag: new.tag.clone(),
        description: new.description.clone(),
        resolution: new.resolution.clone(),
        uncertainty: new.uncertainty.clone(),
        setting_method: new.setting_method,
        calibration_due_at: new.calibration_due_at,
        state: GaugeState::InUse,
        side: new.side,
        size_min: new.size_min.clone(),
        size_max: new.size_max.clone(),
        material: new.material,
        created_at: act.now,
        revision: 1,
    };
    Ok(act.tx.insert_gauge(gauge).await?)
}

/// Reads one gauge.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_gauge(view: View<'_>, tag: &str) -> Result<Gauge, Error> {
    view.find_gauge(tag).await
}

/// Lists gauges in order of registration.
///
/// # Errors
/// A database that does not answer.
pub async fn list_gauges(view: View<'_>, page: Page) -> Result<Vec<Gauge>, Error> {
    Ok(view.tx.gauges_page(page).await?)
}

/// Replaces a gauge; answers also with how many assessments rest on it, if it was found wrong.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`].
pub async fn update_gauge(act: &Act<'_>, change: &UpdateGauge) -> Result<(Gauge, i64), Error> {
    let mut gauge = act.view().find_gauge(&change.gauge.tag).await?;
    check_etag("gauge", &gauge.tag, gauge.revision, Some(change.etag))?;
    gauge.description.clone_from(&change.gauge.description);
    gauge.resolution = change.gauge.resolution.clone();
    gauge.uncertainty = change.gauge.uncertainty.clone();
    gauge.setting_method = change.gauge.setting_method;
    gauge.calibration_due_at = change.gauge.calibration_due_at;
    gauge.state = change.state;
    gauge.side = change.gauge.side;
    gauge.size_min = change.gauge.size_min.clone();
    gauge.size_max = change.gauge.size_max.clone();
    gauge.material = change.gauge.material;
    act.tx.save_gauge(&mut gauge).await?;
    let in_doubt = match gauge.state {
        GaugeState::FoundWrong => act.tx.assessments_on_gauge(gauge.id).await?.len() as i64,
        GaugeState::InUse | GaugeState::Retired => 0,
    };
    Ok((gauge, in_doubt))
}

/// Recorded readings.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// The readings as stored, in the order given.
    pub readings: Vec<ReadingView>,
    /// What is worth knowing, in sentences.
    pub notes: Vec<String>,
    /// The values behind them.
    pub traces: Vec<Trace>,
}

/// Records readings of one feature, all or none; answers also with what is worth knowing.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] with one question per suspicious reading unless a
/// reason to keep them is given, or if the gauge may not be used.
pub async fn record_readings(act: &Act<'_>, order: &RecordReadings) -> Result<Recorded, Error> {
    let view = act.view();
    let mut piece = view.find_piece(&order.piece_tag).await?;
    super::stock::place_of(&piece)?;
    super::stock::check_not_away(act, &piece).await?;
    let item = view.item_of(&piece).await?;
    let feature = feature_of(&item, &order.readings.feature)?;
    let size = act.tx.piece_size(piece.id, feature.id).await?;
    // The first readings of a new round are of what the work left.
    let is_anew = size.round > 0 && size.reading_count == 0;
    let built_up_since = is_anew && piece.built_up == BuiltUp::Yes;
    let taking = Taking { piece: &piece, item: &item, feature, built_up_since };
    let Taken { readings, notes, traces } =
        taking.record(act, size, &order.readings, &order.override_reason).await?;
    act.tx.save_piece(&mut piece).await?;
    Ok(Recorded { readings: view.readings(readings).await?, notes, traces })
}

/// The taking of readings of one feature of a piece.
pub(crate) struct Taking<'a> {
    pub(crate) piece: &'a Piece,
    pub(crate) item: &'a Item,
    pub(crate) feature: &'a ItemFeature,
    /// Whether the feature was built up since the round before: then it may have grown.
    pub(crate) built_up_since: bool,
}

/// Readings that were recorded, what is worth knowing of them, and the values behind them.
pub(crate) struct Taken {
    pub(crate) readings: Vec<Reading>,
    pub(crate) notes: Vec<String>,
    pub(crate) traces: Vec<Trace>,
}

/// Readings about to be recorded, with the gauge and what its and the part's warmth do to them.
pub(crate) struct Entered<'a> {
    pub(crate) new: &'a NewReadings,
    pub(crate) gauge: &'a Gauge,
    pub(crate) bodies: Bodies,
    /// What makes each reading uncertain, in their order.
    pub(crate) sources: Vec<UncertaintySources>,
}

impl Entered<'_> {
    fn uncertainties(&self) -> impl Iterator<Item = ExpandedUncertainty> {
        self.sources.iter().map(ExpandedUncertainty::combined)
    }

    /// The reading as the entry traps look at it.
    fn to_ask_about(&self, position: usize) -> entry::NewReading {
        let read = &self.new.readings[position];
        entry::NewReading {
            position,
            station: read.station.clone(),
            orientation_deg: read.orientation_deg,
            entry: read.entry.clone(),
            value_at_20c: self.bodies.to_20c(read.entry.length),
            temperature: self.new.temperature.as_ref().map(|(taken, _)| *taken),
            gauge_temperature: self.new.gauge_temperature.as_ref().map(|(taken, _)| *taken),
        }
    }

    /// What is worth knowing, in sentences.
    fn notes(&self, is_overdue: bool) -> Vec<String> {
        let tag = &self.gauge.tag;
        let overdue = format!("gauge {tag} is past its calibration date: its readings are marked");
        let mut notes = if is_overdue { vec![overdue] } else { Vec::new() };
        notes.extend(reading_traces::assumption(&self.bodies));
        notes
    }
}

impl Taking<'_> {
    /// Asks the entry traps, records the readings and keeps the feature's size.
    pub(crate) async fn record(
        &self,
        act: &Act<'_>,
        mut size: PieceSize,
        new: &NewReadings,
        override_reason: &str,
    ) -> Result<Taken, Error> {
        let gauge = self.usable_gauge(act, &new.gauge_tag).await?;
        let all = act.tx.readings_of(self.piece.id, self.feature.id).await?;
        let entered = self.entered(&gauge, new)?;
        let asked = self.traps(&size, &all, &entered);
        if !asked.is_empty() && override_reason.is_empty() {
            return Err(Error::Forbidden(asked.iter().map(trap_obstacle).collect()));
        }
        let rows = (0..new.readings.len()).zip(entered.uncertainties()).map(|(index, doubt)| {
            let trap = asked.iter().find(|trap| trap.reading_index == index);
            let row = self.row(act, &entered, index, size.round);
            Reading {
                uncertainty: doubt.length(),
                trap: trap.map(|trap| trap.question.clone()).unwrap_or_default(),
                override_reason: trap.map(|_| override_reason.to_owned()).unwrap_or_default(),
                ..row
            }
        });
        let readings = act.tx.insert_readings(rows.collect()).await?;
        let all = all.into_iter().chain(readings.iter().cloned()).collect();
        let standing = standing(all, size.round);
        measure_size(&mut size, &standing, self.feature);
        act.tx.save_piece_size(&size).await?;
        let notes = entered.notes(gauge.calibration_due_at < act.now);
        Ok(Taken { readings, notes, traces: reading_traces::of(&entered)? })
    }

    /// The row of one reading, before what was asked about it.
    fn row(&self, act: &Act<'_>, entered: &Entered<'_>, index: usize, round: i64) -> Reading {
        let Entered { new, gauge, bodies, .. } = entered;
        let read = &new.readings[index];
        let written = |temperature: &Option<(EnteredTemperature, String)>| {
            temperature.as_ref().map(|(taken, text)| (text.clone(), taken.scale))
        };
        Reading {
            id: ReadingId(0),
            piece: self.piece.id,
            feature: self.feature.id,
            gauge: gauge.id,
            round,
            station: read.station.clone(),
            orientation_deg: read.orientation_deg,
            value_text: read.entry.text.clone(),
            value_unit: read.entry.unit,
            value: read.entry.length,
            at_20c: bodies.to_20c(read.entry.length),
            uncertainty: Length::ZERO,
            temperature: written(&new.temperature),
            gauge_temperature: written(&new.gauge_temperature),
            gauge_overdue: gauge.calibration_due_at < act.now,
            trap: String::new(),
            override_reason: String::new(),
            person: act.person.to_owned(),
            created_at: act.now,
            request_id: act.request_id.to_owned(),
            void: None,
        }
    }

    async fn usable_gauge(&self, act: &Act<'_>, tag: &str) -> Result<Gauge, Error> {
        let gauge = act.view().find_gauge(tag).await?;
        check_gives_a_value(&gauge)?;
        Ok(gauge)
    }

    fn material(&self) -> Option<Material> {
        self.piece.material.or(self.item.material)
    }

    fn entered<'a>(&self, gauge: &'a Gauge, new: &'a NewReadings) -> Result<Entered<'a>, Error> {
        let registered = ExpandedUncertainty::new(gauge.uncertainty.length).map_err(|error| {
            Error::forbidden("GAUGE_STATE", gauge.tag.clone(), error.to_string())
        })?;
        let taken = |temperature: &Option<(EnteredTemperature, String)>| {
            temperature.as_ref().map(|(taken, _)| taken.temperature)
        };
        let bodies = Bodies {
            part: taken(&new.temperature),
            gauge: taken(&new.gauge_temperature),
            part_material: self.material(),
            gauge_material: gauge.material.unwrap_or(Material::Steel),
        };
        let sources = |read: &EnteredReading| {
            let coarser = read.entry.resolution > gauge.resolution.length;
            let (material, doubt_mk) = (bodies.doubted_material(), bodies.doubt_mk());
            let covered = doubt_mk.min(COVERED_DOUBT_MK);
            UncertaintySources {
                gauge: registered.covering(read.entry.length, material, covered),
                // The registered uncertainty covers the gauge's own resolution; a value that was
                // written coarser than that adds its own.
                resolution: if coarser { read.entry.resolution } else { Length::ZERO },
                size: read.entry.length,
                material,
                temperature_doubt_mk: doubt_mk - covered,
            }
        };
        Ok(Entered { new, gauge, bodies, sources: new.readings.iter().map(sources).collect() })
    }

    /// The questions about the new readings. The reference station does not wear and is not worked
    /// on, so it and the others are no fellows of each other.
    fn traps(&self, size: &PieceSize, all: &[Reading], entered: &Entered<'_>) -> Vec<Trap> {
        let Some(expanded_uncertainty) = entered.uncertainties().max() else {
            return Vec::new();
        };
        let new = entered.new;
        let current = standing(all.to_vec(), size.round);
        let feature = &self.feature.feature;
        let reference = feature.reference_station.as_deref().unwrap_or_default();
        let mut asked = Vec::new();
        for is_reference in [false, true] {
            let own = |station: &str| (station == reference) == is_reference;
            let indexes: Vec<usize> = (0..new.readings.len())
                .filter(|index| own(&new.readings[*index].station))
                .collect();
            let read: Vec<&EnteredReading> =
                indexes.iter().map(|index| &new.readings[*index]).collect();
            let known: Vec<&Reading> = current.iter().filter(|one| own(&one.station)).collect();
            let before: Vec<&Reading> = all.iter().filter(|one| own(&one.station)).collect();
            let nominal = if is_reference {
                feature.nominal
            } else {
                effective_feature(feature, size).nominal
            };
            let context = Context {
                side: feature.kind.side(),
                nominal: Some(nominal),
                accepted: fellows_of(&known, &read),
                earlier: earlier_round(&known, &before, size.round, &read),
                built_up_since: self.built_up_since,
                expanded_uncertainty,
            };
            let readings: Vec<_> =
                indexes.iter().map(|index| entered.to_ask_about(*index)).collect();
            asked.extend(entry::traps(&context, &readings));
        }
        asked.sort_by_key(|trap| trap.reading_index);
        asked
    }
}

/// What was read before at other places than those that are read again.
fn fellows_of(known: &[&Reading], read: &[&EnteredReading]) -> Vec<Length> {
    let again = |reading: &Reading| {
        read.iter().any(|one| {
            one.station == reading.station && one.orientation_deg == reading.orientation_deg
        })
    };
    known.iter().filter(|reading| !again(reading)).map(|reading| reading.at_20c).collect()
}

/// What the feature measured last time: the round before, or in the same round the stations that
/// are read again, if all of them are.
fn earlier_round(
    current: &[&Reading],
    all: &[&Reading],
    round: i64,
    new: &[&EnteredReading],
) -> Option<EarlierRound> {
    let again = |reading: &&&Reading| new.iter().any(|read| read.station == reading.station);
    let all_again =
        new.iter().all(|read| current.iter().any(|known| known.station == read.station));
    let before = |reading: &&&Reading| reading.round == round - 1 && reading.void.is_none();
    let earlier: Vec<&&Reading> = if current.is_empty() {
        all.iter().filter(before).collect()
    } else if all_again {
        current.iter().filter(again).collect()
    } else {
        Vec::new()
    };
    let uncertainty = earlier.iter().map(|reading| reading.uncertainty).max()?;
    Some(EarlierRound {
        smallest: earlier.iter().map(|reading| reading.at_20c).min()?,
        largest: earlier.iter().map(|reading| reading.at_20c).max()?,
        expanded_uncertainty: ExpandedUncertainty::new(uncertainty).ok()?,
    })
}

fn trap_obstacle(trap: &Trap) -> Obstacle {
    let subject = format!("readings[{}]", trap.reading_index);
    Obstacle::new("ENTRY_TRAP", subject, format!("{} ({})", trap.question, trap.kind))
}

/// Keeps what the standing readings say, the reference station left out.
pub(crate) fn measure_size(size: &mut PieceSize, standing: &[Reading], feature: &ItemFeature) {
    let reference = feature.feature.reference_station.as_deref().unwrap_or_default();
    let worn = || standing.iter().filter(|reading| reading.station != reference);
    size.min = worn().map(|reading| reading.at_20c).min();
    size.max = worn().map(|reading| reading.at_20c).max();
    size.uncertainty = worn().map(|reading| reading.uncertainty).max();
    size.reading_count = standing.len() as i64;
}

/// Which readings are listed; nothing means any.
#[derive(Clone, Debug, Default)]
pub struct ReadingsNamed {
    /// Of this piece.
    pub piece_tag: Option<String>,
    /// Of the feature of this name.
    pub feature: Option<String>,
    /// With this gauge.
    pub gauge_tag: Option<String>,
}

/// Lists readings in order of recording, voided ones too.
///
/// # Errors
/// [`Error::NotFound`] for what the filter names; [`Error::Invalid`] for a feature without a piece.
pub async fn list_readings(
    view: View<'_>,
    page: Page,
    named: ReadingsNamed,
) -> Result<Vec<ReadingView>, Error> {
    let mut filter = ReadingsFilter::default();
    let mut features: Option<Vec<FeatureId>> = None;
    if let Some(tag) = &named.piece_tag {
        let piece = view.find_piece(tag).await?;
        filter.piece = Some(piece.id);
        if let Some(name) = &named.feature {
            let item = view.item_of(&piece).await?;
            features = Some(vec![feature_of(&item, name)?.id]);
        }
    } else if named.feature.is_some() {
        return Err(Error::invalid("feature", "a feature is one of a piece: give piece_tag too"));
    }
    if let Some(tag) = &named.gauge_tag {
        filter.gauge = Some(view.find_gauge(tag).await?.id);
    }
    let readings = view.tx.readings_page(page, filter, features.as_deref()).await?;
    view.readings(readings).await
}

/// Voids a reading by a later row; the feature's size is kept anew.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if it is void already.
pub async fn void_reading(act: &Act<'_>, order: &VoidReading) -> Result<ReadingView, Error> {
    let view = act.view();
    let not_found = || Error::NotFound { kind: "reading", name: order.reading.0.to_string() };
    let reading = act.tx.reading_by_id(order.reading).await?.ok_or_else(not_found)?;
    // The piece's lock keeps readings and size together.
    let mut piece = piece_of(act, reading.piece).await?;
    let reading = act.tx.reading_by_id(order.reading).await?.ok_or_else(not_found)?;
    if reading.void.is_some() {
        let description = format!("reading {} is void already", order.reading.0);
        return Err(Error::forbidden("READING_VOID", order.reading.0.to_string(), description));
    }
    let void = ReadingVoid {
        reason: order.reason.clone(),
        person: act.person.to_owned(),
        created_at: act.now,
    };
    act.tx.void_reading(order.reading, &void).await?;
    let mut size = act.tx.piece_size(reading.piece, reading.feature).await?;
    let standing = standing(act.tx.readings_of(reading.piece, reading.feature).await?, size.round);
    let features = act.tx.features_by_ids([reading.feature]).await?;
    if let Some(feature) = features.get(&reading.feature) {
        measure_size(&mut size, &standing, feature);
        act.tx.save_piece_size(&size).await?;
    }
    act.tx.save_piece(&mut piece).await?;
    let reading = act.tx.reading_by_id(order.reading).await?.ok_or_else(not_found)?;
    view.readings(vec![reading]).await?.pop().ok_or_else(not_found)
}

async fn piece_of(act: &Act<'_>, id: PieceId) -> Result<Piece, Error> {
    let found = act.tx.pieces_by_ids([id]).await?.remove(&id);
    found.ok_or_else(|| Error::NotFound { kind: "piece", name: id.0.to_string() })
}

/// A gauge that a value may be read with: one in use that says what a size is.
///
/// # Errors
/// [`Error::Forbidden`] for a plug or ring gauge, and for one that is out of use.
pub(crate) fn check_gives_a_value(gauge: &Gauge) -> Result<(), Error> {
    let tag = &gauge.tag;
    if gauge.setting_method == SettingMethod::PlugOrRingGauge {
        let description = format!(
            "gauge {tag} is a plug or ring gauge: it says that a size is beyond its own, not what it \
             is; judge it as a bound (at least, at most), or measure with another gauge"
        );
        return Err(Error::forbidden("GAUGE_GIVES_A_BOUND", tag.clone(), description));
    }
    if gauge.state == GaugeState::InUse {
        return Ok(());
    }
    let description =
        format!("gauge {tag} is {}: take another, or put it back in use", gauge.state);
    Err(Error::forbidden("GAUGE_STATE", tag.clone(), description))
}
