//! What in stock fits a measured part, at one end or at both.

use super::filter::StockFilter;
use super::fresh::{Freshness, fresh};
use super::measured::{Measured, MeasuredSize, measured};
use super::nothing::{self, NothingFits};
use super::rows::Show;
use super::shown::{Shown, ShownPlace};
use crate::app::index::{Ask, COUNT_MAX, Filter, Found, Rank};
use crate::app::pair::Register;
use crate::app::trace::Trace;
use crate::app::{App, Error};
use tenths_domain::fit::{ClearanceWindow, CloseIn, FitJudgement, Requirement, SizeBelief};
use tenths_domain::item::{FeatureKind, ItemKind, Limits, Side};
use tenths_domain::matching::{self, MissSide, OtherFit, Place, Question};
use tenths_domain::seats::Duty;
use tenths_domain::temperature::Material;
use tenths_domain::units::{Length, Unit};
use tenths_domain::verdict::Judgement;
use tenths_storage::Item;

/// Stock is looked at whose size is within this share of the measured size, in percent, or
/// [`LOOK_AROUND_MIN`] if that is more: every published fit is far inside, near misses are too.
const LOOK_AROUND_PERCENT: i64 = 2;
/// See [`LOOK_AROUND_PERCENT`].
const LOOK_AROUND_MIN: Length = Length::from_nm(500_000);
/// The cheapest act is looked for among so many of the nearest misses.
const ACTS_AMONG: usize = 50;

/// Asks what fits.
#[derive(Clone, Debug)]
pub struct FindFit {
    /// The measured part.
    pub measured: MeasuredSize,
    /// What is sought.
    pub sought: ItemKind,
    /// What the fit must be; none: as the trade takes it.
    pub requirement: Option<Requirement>,
    /// What a rolling bearing's seats have to do where nothing is required.
    pub duty: Duty,
    /// The other end of the same mate.
    pub other: Option<OtherEnd>,
    /// How much a bushing's bore closes in.
    pub close_in: Option<CloseIn>,
    /// Narrows what is looked at.
    pub filter: StockFilter,
    /// Most fits.
    pub page: usize,
    /// Where to go on; none for the first page.
    pub after: Option<Rank>,
    /// Most near misses.
    pub misses: usize,
    /// The least revision of the stock.
    pub min_revision: i64,
    /// Whether the values behind each row are wanted, and what to measure next.
    pub explain: bool,
}

/// The housing that a bearing or bushing for a shaft goes into.
#[derive(Clone, Debug)]
pub struct OtherEnd {
    /// The measured housing bore.
    pub measured: MeasuredSize,
    /// What the fit must be there.
    pub requirement: Option<Requirement>,
    /// The outside diameter of the housing, for bushings.
    pub outside_diameter: Option<Length>,
}

/// A candidate with how it fits.
#[derive(Clone, Debug)]
pub struct FitRow {
    /// The piece or lot.
    pub shown: Shown,
    /// The clearance that the requirement allows.
    pub window: ClearanceWindow,
    /// The clearance that the sizes give.
    pub fit: FitJudgement,
    /// How sure the whole is.
    pub judgement: Judgement,
    /// Where the limits come from.
    pub source: String,
    /// The other end: the place there, how it fits, where its limits come from.
    pub other: Option<(ShownPlace, OtherFit, String)>,
    /// A bushing's bore once pressed.
    pub installed: Option<SizeBelief>,
    /// How far off the middle of the requirement, for the order.
    pub off_centre: Length,
    /// Whether the limits, of either end, rest on a value that only memory knows.
    pub unconfirmed: bool,
    /// What to measure next at the first end and at the other; empty where that end is proven, or
    /// nothing was to be explained.
    pub measure_next: [String; 2],
    /// The values behind the row, where they were asked for.
    pub traces: Vec<Trace>,
}

/// A candidate that does not fit.
#[derive(Clone, Debug)]
pub struct MissRow {
    /// The fit that it would give.
    pub row: FitRow,
    /// By how much the worse end misses.
    pub by: Length,
    /// On which side at the first end; none if that one fits.
    pub side: Option<MissSide>,
    /// The cheapest act at the first end, in words; empty if there is none.
    pub act: String,
}

/// What in stock fits.
#[derive(Clone, Debug)]
pub struct FitAnswer {
    /// What fits, best first.
    pub fits: Vec<FitRow>,
    /// The nearest misses, nearest first.
    pub misses: Vec<MissRow>,
    /// How many fit, up to the end of this page.
    pub fits_seen: usize,
    /// The place of the first row in the whole answer, from 1.
    pub first: usize,
    /// Where the next page goes on.
    pub next: Option<Rank>,
    /// The measured size as judged.
    pub measured: SizeBelief,
    /// The unit to show lengths in.
    pub unit: Unit,
    /// Why nothing fits.
    pub nothing: Option<NothingFits>,
    /// Cautions and what was assumed.
    pub notes: Vec<String>,
    /// How fresh it is.
    pub freshness: Freshness,
}

/// Finds what in stock fits a measured part.
///
/// # Errors
/// [`Error::Invalid`] for a mate that such a place does not have; [`Error::NotFound`];
/// [`Error::Forbidden`] for a piece that is not measured; [`Error::Unavailable`] as `fresh` says.
pub async fn find_fit(app: &App, order: &FindFit) -> Result<FitAnswer, Error> {
    // What the question names may be part of the stock that it waits for.
    let fresh = fresh(app, order.min_revision).await;
    let asked = Asked::new(app, order).await?;
    let (freshness, stale) = fresh?;
    let now = app.now();
    let question = asked.question(app, now);
    let index = app.feed().index(now);
    let takes = |item: &Item| order.filter.takes_item(item);
    let takes: Option<&dyn Fn(&Item) -> bool> =
        if order.filter.names_bearings() { Some(&takes) } else { None };
    let filter = order.filter.at_work(&index, now, takes)?;
    let is_first = order.after.is_none();
    let mut ask = Ask {
        question: &question,
        item_kind: order.sought,
        feature_kinds: &asked.kinds,
        other_kind: question.other.as_ref().map(|_| FeatureKind::OutsideDiameter),
        look: asked.looked_for(),
        filter: &filter,
        itself: asked.first.piece,
        now,
        page: order.page,
        after: order.after.as_ref(),
        misses: if is_first { order.misses } else { 0 },
    };
    let mut found = index.fits(&ask);
    if is_first && found.fits.is_empty() && order.misses < ACTS_AMONG {
        ask.misses = ACTS_AMONG;
        found = index.fits(&ask);
    }
    let show = Show::new(&asked, order.filter.at(now), order.explain);
    let mut notes = asked.notes.clone();
    notes.extend(stale);
    notes.extend(notes_of(&asked, order, &found));
    let nothing = (is_first && found.fits.is_empty()).then(|| {
        let misses: Vec<_> = found.misses.iter().map(|(miss, _)| miss.clone()).collect();
        let all = Filter::default();
        let unnarrowed = order
            .filter
            .narrows()
            .then(|| index.fits(&Ask { filter: &all, page: 1, misses: 0, ..ask }));
        let left_out = unnarrowed.iter().flat_map(|found| &found.fits).next();
        let left_out = left_out.map(|(fit, _)| fit.key.tag);
        nothing::explain(&question, asked.sought_place(order), &misses, left_out, asked.first.unit)
    });
    let misses = found.misses.iter().take(if is_first { order.misses } else { 0 });
    Ok(FitAnswer {
        first: order.after.as_ref().map_or(0, |rank| rank.shown) + 1,
        fits_seen: found.fits_seen,
        fits: found.fits.iter().filter_map(|(fit, row)| show.fit(fit, *row)).collect(),
        misses: misses.filter_map(|(miss, row)| show.miss(miss, *row)).collect(),
        next: found.next,
        measured: asked.first.belief,
        unit: asked.first.unit,
        nothing,
        notes,
        freshness,
    })
}

/// A question, worked out.
pub(super) struct Asked {
    pub(super) first: Measured,
    pub(super) requirement: Requirement,
    pub(super) other: Option<(Measured, Requirement, Option<Length>)>,
    pub(super) close_in: Option<CloseIn>,
    kinds: Vec<FeatureKind>,
    /// The gauges of the shop, where rows say what to measure next.
    pub(super) register: Option<Register>,
    notes: Vec<String>,
}

impl Asked {
    async fn new(app: &App, order: &FindFit) -> Result<Self, Error> {
        let first = measured(app, "measured", &order.measured).await?;
        let kinds = mates(first.place, order.sought)?;
        let mut notes = first.notes.clone();
        let requirement = order.requirement.unwrap_or_else(|| {
            let taken = usual(first.place, order.sought, order.duty);
            notes.push(format!("no requirement was given: taken is {taken}"));
            taken
        });
        let other = match &order.other {
            None => None,
            Some(end) => Some(other_end(app, order, &first, end, &mut notes).await?),
        };
        let register = match order.explain {
            true => Some(app.read(|view| Box::pin(Register::of(view))).await?),
            false => None,
        };
        let close_in = order.close_in;
        Ok(Asked { first, requirement, other, close_in, kinds, register, notes })
    }

    fn question(&self, app: &App, now: i64) -> Question {
        Question {
            place: self.first.place,
            size: self.first.belief,
            ring: self.first.ring,
            requirement: self.requirement,
            close_in: self.close_in,
            other: self.other.as_ref().map(|(measured, requirement, outside)| matching::OtherEnd {
                place: measured.place,
                size: measured.belief,
                requirement: *requirement,
                housing_outside: *outside,
            }),
            age: app.policy().bearing_age(now),
        }
    }

    fn sought_place(&self, order: &FindFit) -> Place {
        let feature = self.kinds.first().copied().unwrap_or(FeatureKind::Bore);
        Place { item: order.sought, feature, material: None }
    }

    fn looked_for(&self) -> Limits {
        let (smallest, largest) = (self.first.belief.smallest(), self.first.belief.largest());
        Limits { lower: smallest - look_around(smallest), upper: largest + look_around(largest) }
    }
}

fn look_around(size: Length) -> Length {
    Length::from_nm(size.nm() / 100 * LOOK_AROUND_PERCENT).max(LOOK_AROUND_MIN)
}

/// The other end: a housing bore, for what goes between a shaft and a housing.
async fn other_end(
    app: &App,
    order: &FindFit,
    first: &Measured,
    end: &OtherEnd,
    notes: &mut Vec<String>,
) -> Result<(Measured, Requirement, Option<Length>), Error> {
    let between = matches!(order.sought, ItemKind::RollingBearing | ItemKind::Bushing);
    if first.place.feature.side() != Side::External || !between {
        let problem = "a second end is only for a rolling_bearing or bushing between a shaft's place \
                       (in measured) and a housing bore";
        return Err(Error::invalid("other", problem));
    }
    let mut found = measured(app, "other.measured", &end.measured).await?;
    if found.place.feature != FeatureKind::HousingBore {
        let problem = format!("it is a {}; allowed: housing_bore", found.place.feature);
        return Err(Error::invalid("other.measured.kind", problem));
    }
    notes.append(&mut found.notes);
    let requirement = end.requirement.unwrap_or_else(|| {
        let taken = usual(found.place, order.sought, order.duty);
        notes.push(format!("no requirement was given for the housing: taken is {taken}"));
        taken
    });
    let mut outside = None;
    if order.sought == ItemKind::Bushing {
        outside = Some(end.outside_diameter.unwrap_or_else(|| {
            notes.push(
                "the housing's outside diameter was not given: taken is twice its bore".to_owned(),
            );
            found.belief.largest() + found.belief.largest()
        }));
        if found.place.material.is_none() {
            notes.push("the housing's material was not given: taken is cast_iron".to_owned());
            found.place.material = Some(Material::CastIron);
        }
    }
    Ok((found, requirement, outside))
}

/// What the fit must be where nothing was said.
fn usual(measured: Place, sought: ItemKind, duty: Duty) -> Requirement {
    let is_housing =
        matches!(measured.feature, FeatureKind::HousingBore | FeatureKind::OutsideDiameter);
    let is_bushing = sought == ItemKind::Bushing || measured.item == ItemKind::Bushing;
    match (is_bushing, is_housing) {
        (true, true) => Requirement::press(),
        (true, false) => Requirement::running_by_any_rule(),
        (false, true) => Requirement::hole_by_duty(duty),
        (false, false) => Requirement::shaft_by_duty(duty),
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

fn notes_of(asked: &Asked, order: &FindFit, found: &Found<'_>) -> Vec<String> {
    let mut notes = Vec::new();
    let mut counted = |count: u64, text: &str| {
        if count > 0 {
            let or_more = if count >= COUNT_MAX { " or more" } else { "" };
            notes.push(format!("{count}{or_more} {text}"));
        }
    };
    counted(
        found.doubted,
        "measured with a gauge that was found wrong were left out: measure them again",
    );
    counted(
        found.removed_bearings,
        "removed rolling bearings were left out: they are never reused",
    );
    counted(found.too_old, "were left out: their date code is older than the shop allows");
    counted(
        found.not_judged,
        "could not be judged: the requirement says nothing at their size or of such a ring, or a size \
         or a material that it needs is not known",
    );
    if is_free_bore(asked, order) {
        notes.push(
            "the free bore of the bushing was judged: pressing closes it in by much of its interference; \
             give the housing or the close-in expected, and measure after pressing"
                .to_owned(),
        );
    }
    if !found.looked_at {
        let window = asked.looked_for();
        let unit = asked.first.unit;
        let (from, to) = (window.lower.display_in(unit), window.upper.display_in(unit));
        let what = if order.filter.narrows() {
            "nothing of that kind, as narrowed,"
        } else {
            "nothing of that kind"
        };
        notes.push(format!("{what} is in stock from {from} to {to}"));
    }
    notes.push(
        "advice from the numbers entered: measure the actual pair before fitting, press or heat only \
         with guards and the maker's limits; the maker's data and local rules govern"
            .to_owned(),
    );
    notes
}

/// Whether a bushing's bore is judged as it lies on the shelf.
fn is_free_bore(asked: &Asked, order: &FindFit) -> bool {
    let place = asked.first.place;
    let bushing = place.item == ItemKind::Bushing || order.sought == ItemKind::Bushing;
    let bore = match place.feature {
        FeatureKind::Bore => true,
        FeatureKind::OutsideDiameter => false,
        other => other.side() == Side::External,
    };
    bushing && bore && asked.close_in.is_none() && asked.other.is_none()
}
