//! Fits: limits of size by the standards, and what in stock fits a measured part.

use super::act::View;
use super::error::Error;
use super::judging::{effective_feature, standing};
use super::lookup::feature_of;
use super::trace::Trace;
use std::collections::HashMap;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::fit::{CloseIn, Requirement, SizeBelief};
use tenths_domain::ids::{LocationId, PieceId};
use tenths_domain::iso286::{self, Class, Deviations};
use tenths_domain::item::{FeatureKind, ItemKind, Limits, Side, Tolerance};
use tenths_domain::matching::{self, Candidate, Caps, Condition, Match, Miss, Place, Question};
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_storage::{CandidateQuery, Hold, LotCandidate, PieceCandidate};

/// Stock is looked at whose size is within this share of the measured size, in percent, or
/// [`LOOK_AROUND_MIN`] if that is more: every published fit is far inside, near misses are too.
const LOOK_AROUND_PERCENT: i64 = 2;
/// See [`LOOK_AROUND_PERCENT`].
const LOOK_AROUND_MIN: Length = Length::from_nm(500_000);

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

/// Where a measured size comes from.
#[derive(Clone, Debug)]
pub enum MeasuredSize {
    /// A size read over the phone or off a gauge.
    Value {
        /// The value as written.
        entry: Entry,
        /// What kind of place it is.
        kind: FeatureKind,
        /// How well it is known.
        doubt: Doubt,
    },
    /// The readings of a feature of a piece.
    Piece {
        /// The piece.
        tag: String,
        /// The feature.
        feature: String,
    },
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

/// Asks what fits.
#[derive(Clone, Debug)]
pub struct FindFit {
    /// The measured part.
    pub measured: MeasuredSize,
    /// What is sought.
    pub sought: ItemKind,
    /// What the fit must be.
    pub requirement: Requirement,
    /// Whether the requirement names a class for the measured part itself: then it is no bearing
    /// ring, which has tolerances of its own.
    pub names_own_class: bool,
    /// How much a bushing's bore closes in.
    pub close_in: Option<CloseIn>,
    /// How many to answer with.
    pub caps: Caps,
}

/// A piece or lot, for telling candidates apart and for ordering them: pieces before lots, then by
/// tag.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StockKey {
    /// A piece and the feature.
    Piece(String, String),
    /// A lot and the feature.
    Lot(String, String),
}

/// A candidate as it is shown.
#[derive(Clone, Debug)]
pub enum StockView {
    /// A piece, the code of its location and the hold on it.
    Piece(Box<PieceCandidate>, String, Option<Box<Hold>>),
    /// A lot and the codes of its locations, in the order of its stock.
    Lot(Box<LotCandidate>, Vec<String>),
}

/// What in stock fits.
#[derive(Clone, Debug)]
pub struct FitAnswer {
    /// What fits, best first.
    pub fits: Vec<(Match<StockKey>, StockView, SizeBelief)>,
    /// The nearest misses, nearest first.
    pub misses: Vec<(Miss<StockKey>, StockView, SizeBelief)>,
    /// How many fit in all.
    pub fits_total: u64,
    /// The measured size as judged.
    pub measured: SizeBelief,
    /// The unit to show lengths in.
    pub unit: Unit,
    /// The published tables that the requirement rests on.
    pub source: String,
    /// Cautions and what was assumed.
    pub notes: Vec<String>,
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

/// The measured part, ready to be matched.
struct Measured {
    place: Place,
    ring: Option<ToleranceClass>,
    belief: SizeBelief,
    unit: Unit,
    /// The piece itself, which is no mate of its own.
    piece: Option<PieceId>,
    notes: Vec<String>,
}

/// Finds what in stock fits a measured part.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Invalid`] for a mate that such a place does not have;
/// [`Error::Forbidden`] for a piece that is not measured.
pub async fn find_fit(view: View<'_>, order: FindFit) -> Result<FitAnswer, Error> {
    let measured = measured_part(view, &order).await?;
    let feature_kinds = mates(measured.place, order.sought)?;
    let query = CandidateQuery {
        item_kind: order.sought,
        feature_kinds,
        size_min: measured.belief.smallest() - look_around(measured.belief.smallest()),
        size_max: measured.belief.largest() + look_around(measured.belief.largest()),
    };
    let (stock, doubted) = load_stock(view, &query, measured.piece).await?;
    let question = Question {
        place: measured.place,
        size: measured.belief,
        ring: measured.ring,
        requirement: order.requirement,
        close_in: order.close_in,
        other: None,
        age: None,
    };
    let answer = matching::answer(&question, stock.iter().filter_map(candidate), order.caps);
    let mut notes = measured.notes;
    if doubted > 0 {
        notes.push(format!(
            "{doubted} measured with a gauge that was found wrong were left out: measure them again"
        ));
    }
    notes.extend(notes_of(
        &order,
        &measured.place,
        &answer.counts,
        stock.len(),
        &query,
        measured.unit,
    ));
    let mut shown: HashMap<StockKey, (StockView, SizeBelief)> = stock
        .into_iter()
        .filter_map(|one| Some((key(&one), (belief(&one)?, one))))
        .map(|(k, (b, v))| (k, (v, b)))
        .collect();
    let mut show = |key: &StockKey| shown.remove(key);
    let fits = answer
        .fits
        .into_iter()
        .filter_map(|found| show(&found.key).map(|(view, size)| (found, view, size)));
    let fits: Vec<_> = fits.collect();
    let misses = answer
        .misses
        .into_iter()
        .filter_map(|miss| show(&miss.key).map(|(view, size)| (miss, view, size)));
    Ok(FitAnswer {
        fits,
        misses: misses.collect(),
        fits_total: answer.counts.fits,
        measured: measured.belief,
        unit: measured.unit,
        source: order.requirement.source(),
        notes,
    })
}

fn look_around(size: Length) -> Length {
    Length::from_nm(size.nm() / 100 * LOOK_AROUND_PERCENT).max(LOOK_AROUND_MIN)
}

async fn measured_part(view: View<'_>, order: &FindFit) -> Result<Measured, Error> {
    match &order.measured {
        MeasuredSize::Value { entry, kind, doubt } => {
            let (uncertainty, note) = uncertainty_of(view, entry, doubt).await?;
            let item = item_kind_of(*kind, order);
            let belief = SizeBelief::measured(entry.length, entry.length, uncertainty)
                .map_err(|error| Error::invalid("measured.value", error.to_string()))?;
            Ok(Measured {
                place: Place { item, feature: *kind, material: None },
                ring: (item == ItemKind::RollingBearing).then_some(ToleranceClass::Normal),
                belief,
                unit: shown_unit(entry.unit),
                piece: None,
                notes: note.into_iter().collect(),
            })
        }
        MeasuredSize::Piece { tag, feature } => measured_piece(view, tag, feature).await,
    }
}

/// What a bare size is taken to be on.
fn item_kind_of(kind: FeatureKind, order: &FindFit) -> ItemKind {
    match kind {
        FeatureKind::HousingBore => ItemKind::Housing,
        FeatureKind::Bore | FeatureKind::OutsideDiameter => {
            if order.close_in.is_some() || order.names_own_class {
                ItemKind::Bushing
            } else {
                ItemKind::RollingBearing
            }
        }
        _ => ItemKind::Shaft,
    }
}

pub(crate) async fn uncertainty_of(
    view: View<'_>,
    entry: &Entry,
    doubt: &Doubt,
) -> Result<(Length, Option<String>), Error> {
    match doubt {
        Doubt::Uncertainty(length) => Ok((*length, None)),
        Doubt::Gauge(tag) => Ok((view.find_gauge(tag).await?.uncertainty.length, None)),
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

async fn measured_piece(view: View<'_>, tag: &str, name: &str) -> Result<Measured, Error> {
    let belief = measured_belief(view, tag, name).await?;
    let piece = view.find_piece(tag).await?;
    let item = view.item_of(&piece).await?;
    let feature = feature_of(&item, name)?;
    Ok(Measured {
        place: Place {
            item: item.kind,
            feature: feature.feature.kind,
            material: piece.material.or(item.material),
        },
        ring: ring_of(&feature.feature.tolerance),
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

fn ring_of(tolerance: &Tolerance) -> Option<ToleranceClass> {
    match tolerance {
        Tolerance::Iso492(class) => Some(*class),
        _ => None,
    }
}

/// The places on what is sought that can mate with the measured place.
fn mates(measured: Place, sought: ItemKind) -> Result<Vec<FeatureKind>, Error> {
    use FeatureKind::*;
    let found = match (measured.feature, sought) {
        (RollingSeat | Journal | ShaftExtension, ItemKind::RollingBearing) => vec![Bore],
        (Journal | ShaftExtension, ItemKind::Bushing) => vec![Bore],
        (HousingBore, ItemKind::RollingBearing | ItemKind::Bushing) => vec![OutsideDiameter],
        (Bore, ItemKind::Shaft) if measured.item == ItemKind::RollingBearing => vec![RollingSeat],
        (Bore, ItemKind::Shaft) => vec![Journal, ShaftExtension],
        (OutsideDiameter, ItemKind::Housing) => vec![HousingBore],
        _ => Vec::new(),
    };
    if found.is_empty() {
        let problem = format!(
            "a {} does not mate with a {sought}; allowed: a rolling_bearing for a rolling_seat, journal, \
             shaft_extension or housing_bore; a bushing for a journal, shaft_extension or housing_bore; \
             a shaft for a bore; a housing for an outside_diameter",
            measured.feature
        );
        return Err(Error::invalid("sought", problem));
    }
    Ok(found)
}

async fn load_stock(
    view: View<'_>,
    query: &CandidateQuery,
    itself: Option<PieceId>,
) -> Result<(Vec<StockView>, usize), Error> {
    let lots = view.tx.lot_candidates(query, view.now).await?;
    let mut pieces = view.tx.piece_candidates(query).await?;
    pieces.retain(|candidate| Some(candidate.piece.id) != itself);
    let places = lots.iter().flat_map(|lot| lot.stock.iter().map(|here| here.location));
    let places = places.chain(pieces.iter().filter_map(|candidate| candidate.piece.location));
    let codes = view.tx.location_codes(places.collect::<Vec<_>>()).await?;
    let code = |location: LocationId| codes.get(&location).cloned().unwrap_or_default();
    let doubted = drop_doubted(view, &mut pieces).await?;
    let holds = view
        .tx
        .holds_on_pieces(pieces.iter().map(|one| one.piece.id).collect::<Vec<_>>(), view.now)
        .await?;
    let mut stock = Vec::with_capacity(lots.len() + pieces.len());
    for piece in pieces {
        let place = piece.piece.location.map(code).unwrap_or_default();
        let hold = holds.get(&piece.piece.id).cloned().map(Box::new);
        stock.push(StockView::Piece(Box::new(piece), place, hold));
    }
    for lot in lots {
        let places = lot.stock.iter().map(|here| code(here.location)).collect();
        stock.push(StockView::Lot(Box::new(lot), places));
    }
    Ok((stock, doubted))
}

/// Leaves out pieces whose size rests on a gauge that was found wrong; answers with how many.
async fn drop_doubted(view: View<'_>, pieces: &mut Vec<PieceCandidate>) -> Result<usize, Error> {
    let wrong = view.tx.gauges_found_wrong().await?;
    let before = pieces.len();
    if !wrong.is_empty() {
        let mut sure = Vec::with_capacity(before);
        for candidate in pieces.drain(..) {
            let readings = view.tx.readings_of(candidate.piece.id, candidate.feature.id).await?;
            let speaking = standing(readings, candidate.size.round);
            if !speaking.iter().any(|reading| wrong.contains_key(&reading.gauge)) {
                sure.push(candidate);
            }
        }
        *pieces = sure;
    }
    Ok(before - pieces.len())
}

fn key(view: &StockView) -> StockKey {
    match view {
        StockView::Piece(one, ..) => {
            StockKey::Piece(one.piece.tag.clone(), one.feature.feature.name.clone())
        }
        StockView::Lot(one, _) => {
            StockKey::Lot(one.lot.tag.clone(), one.feature.feature.name.clone())
        }
    }
}

/// What is believed of a candidate's size: its readings, else its limits; nothing if neither.
fn belief(view: &StockView) -> Option<SizeBelief> {
    match view {
        StockView::Lot(one, _) => {
            let (limits, _) = one.feature.feature.limits().ok().flatten()?;
            SizeBelief::toleranced(limits).ok()
        }
        StockView::Piece(one, ..) => match (one.size.min, one.size.max, one.size.uncertainty) {
            (Some(min), Some(max), Some(uncertainty)) => {
                SizeBelief::measured(min, max, uncertainty).ok()
            }
            _ => {
                let feature = effective_feature(&one.feature.feature, &one.size);
                SizeBelief::toleranced(feature.limits().ok().flatten()?.0).ok()
            }
        },
    }
}

fn candidate(view: &StockView) -> Option<Candidate<'_, StockKey>> {
    let size = belief(view)?;
    let place = |item: &tenths_storage::Item,
                 feature: &tenths_storage::ItemFeature,
                 own: Option<Material>| Place {
        item: item.kind,
        feature: feature.feature.kind,
        material: own.or(item.material),
    };
    Some(match view {
        StockView::Piece(one, _, hold) => {
            let feature = effective_feature(&one.feature.feature, &one.size);
            Candidate {
                key: key(view),
                place: place(&one.item, &one.feature, one.piece.material),
                nominal: feature.nominal,
                size,
                ring: ring_of(&one.feature.feature.tolerance),
                condition: match one.piece.condition {
                    PieceCondition::New => Condition::New,
                    PieceCondition::Used | PieceCondition::Reconditioned => Condition::Used,
                },
                available: i64::from(hold.is_none()),
                date_code: None,
                other: None,
            }
        }
        StockView::Lot(one, _) => Candidate {
            key: key(view),
            place: place(&one.item, &one.feature, None),
            nominal: one.feature.feature.nominal,
            size,
            ring: ring_of(&one.feature.feature.tolerance),
            condition: Condition::New,
            available: one.stock.iter().map(|here| here.free()).sum(),
            date_code: Some(one.lot.date_code.as_str()).filter(|code| !code.is_empty()),
            other: None,
        },
    })
}

fn notes_of(
    order: &FindFit,
    measured: &Place,
    counts: &matching::Counts,
    looked_at: usize,
    query: &CandidateQuery,
    unit: Unit,
) -> Vec<String> {
    let mut notes = Vec::new();
    let bushing = measured.item == ItemKind::Bushing || order.sought == ItemKind::Bushing;
    let bore = match measured.feature {
        FeatureKind::Bore => true,
        FeatureKind::OutsideDiameter => false,
        other => other.side() == Side::External,
    };
    if bushing && bore && order.close_in.is_none() {
        notes.push(
            "the free bore of the bushing was judged: pressing closes it in by much of its interference; \
             give the close-in expected, and measure after pressing"
                .to_owned(),
        );
    }
    if looked_at == 0 {
        let (from, to) = (query.size_min.display_in(unit), query.size_max.display_in(unit));
        notes.push(format!("nothing of that kind is in stock from {from} to {to}"));
    }
    if counts.removed_bearings > 0 {
        notes.push(format!(
            "{} removed rolling bearings were left out: they are never reused",
            counts.removed_bearings
        ));
    }
    if counts.not_judged > 0 {
        notes.push(format!(
            "{} could not be judged: the requirement says nothing at their size, or of such a ring",
            counts.not_judged
        ));
    }
    notes.push(
        "advice from the numbers entered: measure the actual pair before fitting, press or heat only \
         with guards and the maker's limits; the maker's data and local rules govern"
            .to_owned(),
    );
    notes
}
