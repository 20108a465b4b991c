//! How many parts in stock would fit a finished size.
//!
//! Nothing is guessed: without a fit that is known to be right, nothing is said.

use super::worn::Worn;
use crate::app::App;
use crate::app::index::{Ask, Filter, StockIndex};
use tenths_domain::fit::{CloseIn, Requirement, SizeBelief};
use tenths_domain::item::{FeatureKind, ItemKind, Limits, Tolerance};
use tenths_domain::matching::{Act, Miss, Place, Question};
use tenths_domain::options::{Mates, Target};
use tenths_domain::units::Length;

/// Most different lots and pieces that are looked at; the units of more are not told apart.
const ROWS_MAX: usize = 1_000;
/// A mate's size is within this of the finished size; more clearance or interference is none, and
/// reaming takes less out.
const LOOK_AROUND: Length = Length::from_nm(800_000);

/// What mates with a place, and how.
pub(super) struct MateSearch<'a> {
    app: &'a App,
    worn: &'a Worn,
    sought: ItemKind,
    place: FeatureKind,
    requirement: Requirement,
    close_in: Option<CloseIn>,
    now: i64,
}

impl<'a> MateSearch<'a> {
    /// What is to be counted; nothing where no fit is known to judge by.
    pub(super) fn of(
        app: &'a App,
        worn: &'a Worn,
        fit: Option<Requirement>,
        close_in: Option<CloseIn>,
    ) -> Option<Self> {
        let feature = &worn.feature.feature;
        let (sought, place) = match feature.kind {
            FeatureKind::Journal => (ItemKind::Bushing, FeatureKind::Bore),
            FeatureKind::RollingSeat => (ItemKind::RollingBearing, FeatureKind::Bore),
            FeatureKind::HousingBore => (ItemKind::RollingBearing, FeatureKind::OutsideDiameter),
            _ => return None,
        };
        let requirement = fit.or_else(|| by_class(feature.kind, &feature.tolerance))?;
        let now = app.now();
        Some(MateSearch { app, worn, sought, place, requirement, close_in, now })
    }

    /// In words, for a note.
    pub(super) fn words(&self) -> String {
        let by = self.requirement.source();
        let kind = self.sought.as_str().replace('_', " ");
        let reamed = match self.sought {
            ItemKind::Bushing => ", or fit after reaming",
            _ => "",
        };
        format!("mates are free {kind}s in stock that fit the finished size{reamed}: {by}")
    }

    /// How many are free and fit anywhere within the finished size's limits.
    pub(super) fn count(&self, index: &StockIndex, target: &Target) -> Option<Mates> {
        let limits = target.limits?;
        let question = self.question(limits)?;
        let found = index.fits(&Ask {
            question: &question,
            item_kind: self.sought,
            feature_kinds: &[self.place],
            other_kind: None,
            look: Limits { lower: limits.lower - LOOK_AROUND, upper: limits.upper + LOOK_AROUND },
            filter: &Filter { free_at: Some(self.now), ..Filter::default() },
            itself: Some(self.worn.piece.id),
            now: self.now,
            page: ROWS_MAX,
            after: None,
            misses: ROWS_MAX,
        });
        let is_reamed =
            |miss: &Miss<_>| matches!(miss.act, Some(Act::HoneBore { .. } | Act::ReamBore { .. }));
        let fits: i64 = found.fits.iter().map(|(_, row)| row.available(self.now)).sum();
        let reamed = found.misses.iter().filter(|(miss, _)| is_reamed(miss));
        let reamed: i64 = reamed.map(|(_, row)| row.available(self.now)).sum();
        Some(Mates {
            as_they_are: u32::try_from(fits).ok()?,
            after_reaming: u32::try_from(reamed).ok()?,
        })
    }

    fn question(&self, limits: Limits) -> Option<Question> {
        let Worn { piece, item, feature, .. } = self.worn;
        Some(Question {
            place: Place {
                item: item.kind,
                feature: feature.feature.kind,
                material: piece.material.or(item.material),
            },
            size: SizeBelief::toleranced(limits).ok()?,
            ring: None,
            requirement: self.requirement,
            close_in: self.close_in,
            other: None,
            age: self.app.policy().bearing_age(self.now),
        })
    }
}

/// The class of a seat or bore against the ring of a bearing: what the item was made to.
fn by_class(kind: FeatureKind, tolerance: &Tolerance) -> Option<Requirement> {
    let Tolerance::Class(class) = tolerance else { return None };
    match kind {
        FeatureKind::RollingSeat => Requirement::classes(None, Some(*class)).ok(),
        FeatureKind::HousingBore => Requirement::classes(Some(*class), None).ok(),
        _ => None,
    }
}
