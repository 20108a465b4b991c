//! What was found, made ready to be shown.

use super::fit::{Asked, FitRow, MissRow};
use super::judged::{judged, measure_next};
use super::measured::Measured;
use super::shown::{Shown, ShownPlace};
use crate::app::index::{Key, RowView};
use crate::app::trace::{Trace, range};
use std::cell::RefCell;
use tenths_domain::fit::{ClearanceWindow, FitJudgement, Requirement, SizeBelief};
use tenths_domain::item::FeatureKind;
use tenths_domain::matching::{self, OtherFit};
use tenths_domain::units::Length;
use tenths_domain::verdict::Judgement;

/// Rows made ready to be shown.
pub(super) struct Show<'a> {
    asked: &'a Asked,
    at: i64,
    explain: bool,
    /// Rows of one answer have few nominal sizes: what their limits rest on is worked out once.
    grounds: RefCell<Vec<((Requirement, Length), Ground)>>,
}

/// What the limits at a nominal size rest on.
#[derive(Clone)]
struct Ground {
    source: String,
    unconfirmed: bool,
}

/// What a match and a miss have in common.
struct Parts<'a> {
    window: ClearanceWindow,
    fit: FitJudgement,
    other: Option<&'a OtherFit>,
    installed: Option<SizeBelief>,
    judgement: Judgement,
}

/// The other end: the place there, how it fits, where its limits come from.
type Other = (ShownPlace, OtherFit, String);

impl<'a> Show<'a> {
    /// Rows of an answer to this question, with holds looked at at a time.
    pub(super) fn new(asked: &'a Asked, at: i64, explain: bool) -> Self {
        Show { asked, at, explain, grounds: RefCell::default() }
    }

    pub(super) fn fit(&self, found: &matching::Match<Key<'_>>, row: RowView<'_>) -> Option<FitRow> {
        let parts = Parts {
            window: found.window,
            fit: found.fit,
            other: found.other.as_ref(),
            installed: found.installed,
            judgement: found.judgement(),
        };
        self.row(found.key, row, parts)
    }

    pub(super) fn miss(&self, miss: &matching::Miss<Key<'_>>, row: RowView<'_>) -> Option<MissRow> {
        let unit = self.asked.first.unit;
        let misses_here = miss.by > Length::ZERO || miss.act.is_some() || miss.other.is_none();
        let parts = Parts {
            window: miss.window,
            fit: miss.fit,
            other: miss.other.as_ref(),
            installed: miss.installed,
            judgement: miss.judgement(),
        };
        Some(MissRow {
            row: self.row(miss.key, row, parts)?,
            by: miss.worst(),
            side: misses_here.then_some(miss.side),
            act: miss.act.map(|act| act.words(unit)).unwrap_or_default(),
        })
    }

    fn row(&self, key: Key<'_>, row: RowView<'_>, parts: Parts<'_>) -> Option<FitRow> {
        let Parts { window, fit, other, installed, judgement } = parts;
        let place = ShownPlace::of(row, key.feature)?;
        let ground = self.ground(&self.asked.requirement, place.nominal);
        let off = |window: ClearanceWindow, fit: &FitJudgement| {
            (fit.clearance_min + fit.clearance_max - (window.min + window.max)).abs()
        };
        let off_other = other.map_or(Length::ZERO, |other| off(other.window, &other.fit));
        let other = other.and_then(|other| self.other(row, other));
        let unconfirmed = ground.unconfirmed || other.as_ref().is_some_and(|(_, doubt)| *doubt);
        let other = other.map(|(other, _)| other);
        let next = self.next(&self.asked.first, &place, installed, (window, &fit));
        let next_other = self.next_other(other.as_ref());
        let traces = match self.explain {
            true => self.traces(&place, &ground, (window, &fit), other.as_ref(), installed),
            false => Vec::new(),
        };
        Some(FitRow {
            shown: Shown::new(row, place, self.at),
            window,
            fit,
            judgement,
            source: ground.source,
            other,
            installed,
            off_centre: Length::from_nm((off(window, &fit) + off_other).nm() / 2),
            unconfirmed,
            measure_next: [next, next_other],
            traces,
        })
    }

    /// What to measure next at one end; empty where nothing is to be explained.
    fn next(
        &self,
        measured: &Measured,
        place: &ShownPlace,
        installed: Option<SizeBelief>,
        (window, fit): (ClearanceWindow, &FitJudgement),
    ) -> String {
        let known = self.asked.register.as_ref().zip(place.belief.as_ref());
        let said = known.map(|(register, found)| {
            measure_next(register, measured, found, installed, window, fit)
        });
        said.unwrap_or_default()
    }

    fn next_other(&self, other: Option<&Other>) -> String {
        let ends = other.zip(self.asked.other.as_ref());
        let said = ends.map(|((place, other, _), (measured, ..))| {
            self.next(measured, place, None, (other.window, &other.fit))
        });
        said.unwrap_or_default()
    }

    /// The other end, and whether its limits rest on a value that only memory knows.
    fn other(&self, row: RowView<'_>, other: &OtherFit) -> Option<(Other, bool)> {
        let (_, requirement, _) = self.asked.other.as_ref()?;
        let mut features = row.item().features.iter();
        let outside = features.find(|one| one.feature.kind == FeatureKind::OutsideDiameter)?;
        let place = ShownPlace::of(row, &outside.feature.name)?;
        let ground = self.ground(requirement, place.nominal);
        Some(((place, other.clone(), ground.source), ground.unconfirmed))
    }

    fn ground(&self, requirement: &Requirement, nominal: Length) -> Ground {
        let wanted = (*requirement, nominal);
        let mut grounds = self.grounds.borrow_mut();
        if let Some((_, known)) = grounds.iter().find(|(one, _)| *one == wanted) {
            return known.clone();
        }
        let unconfirmed = requirement.is_unconfirmed(nominal).unwrap_or_default();
        let found = Ground { source: source(requirement, nominal), unconfirmed };
        grounds.push((wanted, found.clone()));
        found
    }

    fn traces(
        &self,
        place: &ShownPlace,
        ground: &Ground,
        (window, fit): (ClearanceWindow, &FitJudgement),
        other: Option<&Other>,
        installed: Option<SizeBelief>,
    ) -> Vec<Trace> {
        let unit = self.asked.first.unit;
        let sizes = |size: &SizeBelief| range(size.smallest(), size.largest(), unit);
        let measured = sizes(&self.asked.first.belief);
        let mut traces = vec![Trace::table("measured", measured, "as given, at 20 C", false)];
        traces.extend(place.belief.as_ref().map(|size| {
            Trace::table(&place.feature().feature.name, sizes(size), &place.source(), false)
        }));
        let required = range(window.min, window.max, unit);
        let (source, unconfirmed) = (&ground.source, ground.unconfirmed);
        traces.push(Trace::table("required clearance", required, source, unconfirmed));
        if let Some(installed) = installed {
            let of = match self.asked.close_in {
                Some(_) => "free bore less the close-in given",
                None => "free bore less the close-in by thick cylinders (Lame)",
            };
            traces.push(Trace::table("installed bore", sizes(&installed), of, false));
        }
        if let (Some((place, other, source)), Some((_, requirement, _))) =
            (other, &self.asked.other)
        {
            let required = range(other.window.min, other.window.max, unit);
            let what = format!("required clearance of {}", place.feature().feature.name);
            let unconfirmed = self.ground(requirement, place.nominal).unconfirmed;
            traces.push(Trace::table(&what, required, source, unconfirmed));
        }
        traces.extend(judged(fit, unit));
        traces
    }
}

/// Where the limits at a nominal size come from, with the class where the duty calls for one.
fn source(requirement: &Requirement, nominal: Length) -> String {
    match requirement.recommended(nominal) {
        Ok(Some(found)) => format!("{} for {requirement}: {}", found.class, found.source),
        _ => requirement.source(),
    }
}
