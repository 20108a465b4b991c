//! Resources as they are shown: rows with the tags and codes of what they name.

use super::act::View;
use super::error::Error;
use std::collections::HashMap;
use tenths_domain::ids::LotId;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_storage::{
    Assessment, Core, Hold, Item, ItemFeature, Job, JobOperation, LedgerEntry, LedgerSubject, Lot,
    LotStock, Piece, PieceSize, Reading, Rebuild, Reservation, SendOut, SendOutLine, StorageError,
};

/// A core with its names.
#[derive(Clone, Debug)]
pub struct CoreView {
    /// The core.
    pub core: Core,
    /// The code of its item, or empty.
    pub item_code: String,
    /// The code of its location, or empty.
    pub location_code: String,
    /// The tags of the pieces that it became.
    pub piece_tags: Vec<String>,
}

/// A piece with its names, sizes and hold.
#[derive(Clone, Debug)]
pub struct PieceView {
    /// The piece.
    pub piece: Piece,
    /// Its item.
    pub item: Item,
    /// The tag of its core, or empty.
    pub core_tag: String,
    /// The code of its location, or empty.
    pub location_code: String,
    /// The tag of the rebuild that consumed it, or empty.
    pub rebuild_tag: String,
    /// Every feature of its item with the piece's size.
    pub sizes: Vec<(ItemFeature, PieceSize)>,
    /// The active hold on it.
    pub hold: Option<Hold>,
}

/// A lot with its names and stock.
#[derive(Clone, Debug)]
pub struct LotView {
    /// The lot.
    pub lot: Lot,
    /// The code of its item.
    pub item_code: String,
    /// The kind of its item.
    pub item_kind: ItemKind,
    /// How many are where, with the location's code.
    pub stock: Vec<(String, LotStock)>,
}

/// A ledger entry with its names.
#[derive(Clone, Debug)]
pub struct LedgerView {
    /// The entry.
    pub entry: LedgerEntry,
    /// The tag of what moved.
    pub subject_tag: String,
    /// The code of the location.
    pub location_code: String,
    /// The tag of the rebuild, or empty.
    pub rebuild_tag: String,
}

/// A reading with its names.
#[derive(Clone, Debug)]
pub struct ReadingView {
    /// The reading.
    pub reading: Reading,
    /// The tag of the piece.
    pub piece_tag: String,
    /// The name of the feature.
    pub feature: String,
    /// The tag of the gauge.
    pub gauge_tag: String,
}

/// A recorded assessment with its names and the stations that it rests on.
#[derive(Clone, Debug)]
pub struct AssessmentView {
    /// The assessment.
    pub assessment: Assessment,
    /// The tag of the piece.
    pub piece_tag: String,
    /// The name of the feature.
    pub feature: String,
    /// The kind of the feature.
    pub feature_kind: FeatureKind,
    /// The tags of the gauges, in order.
    pub gauge_tags: Vec<String>,
    /// What each station says, in the order of the readings.
    pub stations: Vec<StationView>,
}

/// What the readings of one station say.
#[derive(Clone, Debug)]
pub struct StationView {
    /// The station.
    pub station: String,
    /// The readings at 20 C, in nanometres.
    pub readings: Vec<tenths_domain::units::Length>,
    /// Whether it is the reference station.
    pub is_reference: bool,
}

/// A job with its names.
#[derive(Clone, Debug)]
pub struct JobView {
    /// The job.
    pub job: Job,
    /// The time at which it is shown: a lease that has ended by then is no claim.
    pub now: i64,
    /// The tag of the piece.
    pub piece_tag: String,
    /// The name of the feature.
    pub feature: String,
    /// The tag of the job that it reworks, or empty.
    pub rework_of: String,
    /// The tag of the rebuild that waits for the piece, or empty.
    pub rebuild_tag: String,
    /// Its operations in order.
    pub operations: Vec<JobOperation>,
}

/// A line of a send-out with its names.
#[derive(Clone, Debug)]
pub struct SendOutLineView {
    /// The line.
    pub line: SendOutLine,
    /// The tag of the job.
    pub job_tag: String,
    /// The tag of the piece.
    pub piece_tag: String,
    /// The code of the location that it was sent from.
    pub from_location_code: String,
    /// What the vendor does, in words.
    pub work: Vec<String>,
}

/// A send-out with its lines and names.
#[derive(Clone, Debug)]
pub struct SendOutView {
    /// The send-out.
    pub send_out: SendOut,
    /// The time at which it is shown.
    pub now: i64,
    /// The code of the vendor's location.
    pub location_code: String,
    /// Its lines in order.
    pub lines: Vec<SendOutLineView>,
}

/// A rebuild with its names.
#[derive(Clone, Debug)]
pub struct RebuildView {
    /// The rebuild.
    pub rebuild: Rebuild,
    /// The tag of its core, or empty.
    pub core_tag: String,
}

/// A hold with its names.
#[derive(Clone, Debug)]
pub struct ReservationView {
    /// The hold.
    pub reservation: Reservation,
    /// The time at which it is shown: a hold that has run out by then is expired.
    pub now: i64,
    /// The tag of the rebuild.
    pub rebuild_tag: String,
    /// The tag of the piece or lot.
    pub subject_tag: String,
    /// The code of the location.
    pub location_code: String,
}

/// The name that goes with a number; a number without one is a corrupt row.
pub(super) fn name<K: std::hash::Hash + Eq + std::fmt::Debug>(
    names: &HashMap<K, String>,
    key: K,
) -> Result<String, Error> {
    names.get(&key).cloned().ok_or_else(|| missing(&key))
}

pub(super) fn name_or_empty<K: std::hash::Hash + Eq + std::fmt::Debug>(
    names: &HashMap<K, String>,
    key: Option<K>,
) -> Result<String, Error> {
    key.map_or(Ok(String::new()), |key| name(names, key))
}

pub(super) fn missing(key: &impl std::fmt::Debug) -> Error {
    let reason = "a row that is named is not there".to_owned();
    Error::Storage(StorageError::Corrupt { table: "reference", id: format!("{key:?}"), reason })
}

impl View<'_> {
    /// Cores with their names.
    pub(crate) async fn cores(&self, cores: Vec<Core>) -> Result<Vec<CoreView>, Error> {
        let items = self
            .tx
            .items_by_ids(cores.iter().filter_map(|core| core.item).collect::<Vec<_>>())
            .await?;
        let locations = self
            .tx
            .location_codes(cores.iter().filter_map(|core| core.location).collect::<Vec<_>>())
            .await?;
        let mut pieces = self
            .tx
            .piece_tags_by_core(cores.iter().map(|core| core.id).collect::<Vec<_>>())
            .await?;
        cores
            .into_iter()
            .map(|core| {
                let item_code = match core.item {
                    Some(id) => {
                        items.get(&id).map(|item| item.code.clone()).ok_or_else(|| missing(&id))?
                    }
                    None => String::new(),
                };
                let location_code = name_or_empty(&locations, core.location)?;
                let piece_tags = pieces.remove(&core.id).unwrap_or_default();
                Ok(CoreView { core, item_code, location_code, piece_tags })
            })
            .collect()
    }

    /// Pieces with their names, sizes and holds.
    pub(crate) async fn pieces(&self, pieces: Vec<Piece>) -> Result<Vec<PieceView>, Error> {
        let tx = self.tx;
        let items =
            tx.items_by_ids(pieces.iter().map(|piece| piece.item).collect::<Vec<_>>()).await?;
        let cores =
            tx.core_tags(pieces.iter().filter_map(|piece| piece.core).collect::<Vec<_>>()).await?;
        let locations = tx
            .location_codes(pieces.iter().filter_map(|piece| piece.location).collect::<Vec<_>>())
            .await?;
        let rebuilds = tx
            .rebuild_tags(pieces.iter().filter_map(|piece| piece.rebuild).collect::<Vec<_>>())
            .await?;
        let mut sizes =
            tx.piece_sizes(pieces.iter().map(|piece| piece.id).collect::<Vec<_>>()).await?;
        let mut holds = tx
            .holds_on_pieces(pieces.iter().map(|piece| piece.id).collect::<Vec<_>>(), self.now)
            .await?;
        pieces
            .into_iter()
            .map(|piece| {
                let item = items.get(&piece.item).cloned().ok_or_else(|| missing(&piece.item))?;
                let known = sizes.remove(&piece.id).unwrap_or_default();
                let sizes = item
                    .features
                    .iter()
                    .map(|feature| {
                        let size = known.iter().find(|size| size.feature == feature.id).cloned();
                        (
                            feature.clone(),
                            size.unwrap_or_else(|| PieceSize::unmeasured(piece.id, feature.id)),
                        )
                    })
                    .collect();
                Ok(PieceView {
                    core_tag: name_or_empty(&cores, piece.core)?,
                    location_code: name_or_empty(&locations, piece.location)?,
                    rebuild_tag: name_or_empty(&rebuilds, piece.rebuild)?,
                    hold: holds.remove(&piece.id),
                    sizes,
                    item,
                    piece,
                })
            })
            .collect()
    }

    /// One piece with its names, sizes and hold.
    pub(crate) async fn piece(&self, piece: Piece) -> Result<PieceView, Error> {
        let key = piece.id;
        self.pieces(vec![piece]).await?.pop().ok_or_else(|| missing(&key))
    }

    /// Lots with their names and stock.
    pub(crate) async fn lots(&self, lots: Vec<Lot>) -> Result<Vec<LotView>, Error> {
        let items =
            self.tx.items_by_ids(lots.iter().map(|lot| lot.item).collect::<Vec<_>>()).await?;
        let mut stock =
            self.tx.lot_stock(lots.iter().map(|lot| lot.id).collect::<Vec<_>>(), self.now).await?;
        let locations: Vec<_> = stock.values().flatten().map(|here| here.location).collect();
        let locations = self.tx.location_codes(locations).await?;
        lots.into_iter()
            .map(|lot| {
                let item = items.get(&lot.item).ok_or_else(|| missing(&lot.item))?;
                let here: Vec<LotStock> = stock.remove(&lot.id).unwrap_or_default();
                let stock = here
                    .into_iter()
                    .map(|here| Ok((name(&locations, here.location)?, here)))
                    .collect::<Result<_, Error>>()?;
                Ok(LotView { item_code: item.code.clone(), item_kind: item.kind, stock, lot })
            })
            .collect()
    }

    /// One lot with its names and stock.
    pub(crate) async fn lot(&self, lot: Lot) -> Result<LotView, Error> {
        let key: LotId = lot.id;
        self.lots(vec![lot]).await?.pop().ok_or_else(|| missing(&key))
    }

    /// Ledger entries with their names.
    pub(crate) async fn ledger(&self, entries: Vec<LedgerEntry>) -> Result<Vec<LedgerView>, Error> {
        let (mut cores, mut pieces, mut lots) = (Vec::new(), Vec::new(), Vec::new());
        for entry in &entries {
            match entry.entry.subject {
                LedgerSubject::Core(id) => cores.push(id),
                LedgerSubject::Piece(id) => pieces.push(id),
                LedgerSubject::Lot(id) => lots.push(id),
            }
        }
        let cores = self.tx.core_tags(cores).await?;
        let pieces = self.tx.piece_tags(pieces).await?;
        let lots = self.tx.lot_tags(lots).await?;
        let locations = self
            .tx
            .location_codes(entries.iter().map(|entry| entry.entry.location).collect::<Vec<_>>())
            .await?;
        let rebuilds = self
            .tx
            .rebuild_tags(
                entries.iter().filter_map(|entry| entry.entry.rebuild).collect::<Vec<_>>(),
            )
            .await?;
        entries
            .into_iter()
            .map(|entry| {
                let subject_tag = match entry.entry.subject {
                    LedgerSubject::Core(id) => name(&cores, id)?,
                    LedgerSubject::Piece(id) => name(&pieces, id)?,
                    LedgerSubject::Lot(id) => name(&lots, id)?,
                };
                let location_code = name(&locations, entry.entry.location)?;
                let rebuild_tag = name_or_empty(&rebuilds, entry.entry.rebuild)?;
                Ok(LedgerView { entry, subject_tag, location_code, rebuild_tag })
            })
            .collect()
    }

    /// Readings with their names.
    pub(crate) async fn readings(&self, readings: Vec<Reading>) -> Result<Vec<ReadingView>, Error> {
        let pieces = self
            .tx
            .piece_tags(readings.iter().map(|reading| reading.piece).collect::<Vec<_>>())
            .await?;
        let gauges = self
            .tx
            .gauge_tags(readings.iter().map(|reading| reading.gauge).collect::<Vec<_>>())
            .await?;
        let features = self
            .tx
            .features_by_ids(readings.iter().map(|reading| reading.feature).collect::<Vec<_>>())
            .await?;
        readings
            .into_iter()
            .map(|reading| {
                let feature =
                    features.get(&reading.feature).ok_or_else(|| missing(&reading.feature))?;
                Ok(ReadingView {
                    piece_tag: name(&pieces, reading.piece)?,
                    gauge_tag: name(&gauges, reading.gauge)?,
                    feature: feature.feature.name.clone(),
                    reading,
                })
            })
            .collect()
    }

    /// Assessments with their names and stations.
    pub(crate) async fn assessments(
        &self,
        assessments: Vec<Assessment>,
    ) -> Result<Vec<AssessmentView>, Error> {
        let pieces = self
            .tx
            .piece_tags(assessments.iter().map(|one| one.record.piece).collect::<Vec<_>>())
            .await?;
        let features = self
            .tx
            .features_by_ids(assessments.iter().map(|one| one.record.feature).collect::<Vec<_>>())
            .await?;
        let ids: Vec<i64> =
            assessments.iter().flat_map(|one| one.record.readings.clone()).collect();
        let readings = self.tx.readings_by_ids(&ids).await?;
        let gauges = self
            .tx
            .gauge_tags(readings.iter().map(|reading| reading.gauge).collect::<Vec<_>>())
            .await?;
        assessments
            .into_iter()
            .map(|assessment| {
                let record = &assessment.record;
                let own: Vec<&Reading> = readings
                    .iter()
                    .filter(|reading| record.readings.contains(&reading.id.0))
                    .collect();
                let mut gauge_tags = own
                    .iter()
                    .map(|reading| name(&gauges, reading.gauge))
                    .collect::<Result<Vec<_>, _>>()?;
                gauge_tags.sort();
                gauge_tags.dedup();
                let feature =
                    features.get(&record.feature).ok_or_else(|| missing(&record.feature))?;
                Ok(AssessmentView {
                    piece_tag: name(&pieces, record.piece)?,
                    feature: feature.feature.name.clone(),
                    feature_kind: feature.feature.kind,
                    gauge_tags,
                    stations: stations(&own, &record.reference_station),
                    assessment,
                })
            })
            .collect()
    }

    /// Jobs with their names and operations.
    pub(crate) async fn jobs(&self, jobs: Vec<Job>) -> Result<Vec<JobView>, Error> {
        let pieces =
            self.tx.piece_tags(jobs.iter().map(|job| job.piece).collect::<Vec<_>>()).await?;
        let features =
            self.tx.features_by_ids(jobs.iter().map(|job| job.feature).collect::<Vec<_>>()).await?;
        let reworked = self
            .tx
            .job_tags(jobs.iter().filter_map(|job| job.rework_of).collect::<Vec<_>>())
            .await?;
        let rebuilds = self
            .tx
            .rebuild_tags(jobs.iter().filter_map(|job| job.rebuild).collect::<Vec<_>>())
            .await?;
        let mut operations = HashMap::<_, Vec<_>>::new();
        for one in self.tx.operations_of(jobs.iter().map(|job| job.id).collect::<Vec<_>>()).await? {
            operations.entry(one.job).or_default().push(one);
        }
        jobs.into_iter()
            .map(|job| {
                let feature = features.get(&job.feature).ok_or_else(|| missing(&job.feature))?;
                Ok(JobView {
                    now: self.now,
                    piece_tag: name(&pieces, job.piece)?,
                    feature: feature.feature.name.clone(),
                    rework_of: name_or_empty(&reworked, job.rework_of)?,
                    rebuild_tag: name_or_empty(&rebuilds, job.rebuild)?,
                    operations: operations.remove(&job.id).unwrap_or_default(),
                    job,
                })
            })
            .collect()
    }

    /// One job with its names and operations.
    pub(crate) async fn job(&self, job: Job) -> Result<JobView, Error> {
        let key = job.id;
        self.jobs(vec![job]).await?.pop().ok_or_else(|| missing(&key))
    }

    /// Send-outs with their lines and names.
    pub(crate) async fn send_outs(&self, found: Vec<SendOut>) -> Result<Vec<SendOutView>, Error> {
        let ids: Vec<_> = found.iter().map(|one| one.id).collect();
        let mut lines = HashMap::<_, Vec<_>>::new();
        for line in self.send_out_line_views(self.tx.send_out_lines(ids).await?).await? {
            lines.entry(line.line.send_out).or_default().push(line);
        }
        let locations = self
            .tx
            .location_codes(found.iter().map(|one| one.location).collect::<Vec<_>>())
            .await?;
        found
            .into_iter()
            .map(|send_out| {
                Ok(SendOutView {
                    now: self.now,
                    location_code: name(&locations, send_out.location)?,
                    lines: lines.remove(&send_out.id).unwrap_or_default(),
                    send_out,
                })
            })
            .collect()
    }

    async fn send_out_line_views(
        &self,
        lines: Vec<SendOutLine>,
    ) -> Result<Vec<SendOutLineView>, Error> {
        let tx = self.tx;
        let jobs = tx.job_tags(lines.iter().map(|line| line.job).collect::<Vec<_>>()).await?;
        let pieces = tx.piece_tags(lines.iter().map(|line| line.piece).collect::<Vec<_>>()).await?;
        let from: Vec<_> = lines.iter().map(|line| line.from_location).collect();
        let from = tx.location_codes(from).await?;
        let routes =
            tx.operations_of(lines.iter().map(|line| line.job).collect::<Vec<_>>()).await?;
        lines
            .into_iter()
            .map(|line| {
                let sent = line.first_position..=line.last_position;
                let own =
                    routes.iter().filter(|one| one.job == line.job && sent.contains(&one.position));
                Ok(SendOutLineView {
                    job_tag: name(&jobs, line.job)?,
                    piece_tag: name(&pieces, line.piece)?,
                    from_location_code: name(&from, line.from_location)?,
                    work: own.map(|one| one.text.clone()).collect(),
                    line,
                })
            })
            .collect()
    }

    /// One send-out with its lines and names.
    pub(crate) async fn send_out(&self, send_out: SendOut) -> Result<SendOutView, Error> {
        let key = send_out.id;
        self.send_outs(vec![send_out]).await?.pop().ok_or_else(|| missing(&key))
    }

    /// Rebuilds with their names.
    pub(crate) async fn rebuilds(&self, rebuilds: Vec<Rebuild>) -> Result<Vec<RebuildView>, Error> {
        let cores = self
            .tx
            .core_tags(rebuilds.iter().filter_map(|rebuild| rebuild.core).collect::<Vec<_>>())
            .await?;
        rebuilds
            .into_iter()
            .map(|rebuild| {
                Ok(RebuildView { core_tag: name_or_empty(&cores, rebuild.core)?, rebuild })
            })
            .collect()
    }

    /// Holds with their names.
    pub(crate) async fn reservations(
        &self,
        reservations: Vec<Reservation>,
    ) -> Result<Vec<ReservationView>, Error> {
        let pieces = self
            .tx
            .piece_tags(reservations.iter().filter_map(|one| one.piece).collect::<Vec<_>>())
            .await?;
        let lots = self
            .tx
            .lot_tags(reservations.iter().filter_map(|one| one.lot).collect::<Vec<_>>())
            .await?;
        let rebuilds = self
            .tx
            .rebuild_tags(reservations.iter().map(|one| one.rebuild).collect::<Vec<_>>())
            .await?;
        let locations = self
            .tx
            .location_codes(reservations.iter().map(|one| one.location).collect::<Vec<_>>())
            .await?;
        reservations
            .into_iter()
            .map(|reservation| {
                let subject_tag = match reservation.piece {
                    Some(piece) => name(&pieces, piece)?,
                    None => name_or_empty(&lots, reservation.lot)?,
                };
                Ok(ReservationView {
                    now: self.now,
                    rebuild_tag: name(&rebuilds, reservation.rebuild)?,
                    subject_tag,
                    location_code: name(&locations, reservation.location)?,
                    reservation,
                })
            })
            .collect()
    }
}

fn stations(readings: &[&Reading], reference: &str) -> Vec<StationView> {
    let mut stations: Vec<StationView> = Vec::new();
    for reading in readings {
        match stations.iter_mut().find(|view| view.station == reading.station) {
            Some(view) => view.readings.push(reading.at_20c),
            None => stations.push(StationView {
                station: reading.station.clone(),
                readings: vec![reading.at_20c],
                is_reference: reading.station.eq_ignore_ascii_case(reference),
            }),
        }
    }
    stations
}
