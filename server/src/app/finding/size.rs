//! What in stock has these sizes, whatever it fits.

use super::filter::StockFilter;
use super::fresh::{Freshness, fresh};
use super::offered::{self, Withheld, withheld};
use super::shown::{Shown, ShownPlace};
use crate::app::index::{self, RowView, SizeAsk, SizeRank, StockIndex};
use crate::app::{App, Error};
use tenths_domain::fit::SIZE_MAX;
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::units::{Length, Unit};
use tenths_storage::Item;

/// The widest window that is looked into where no other is narrower: 10 mm.
pub const WINDOW_MAX: Length = Length::from_nm(10_000_000);

/// A range that one size of a part must be in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SizeWindow {
    /// The kind of place.
    pub kind: FeatureKind,
    /// Smallest size; none means no least.
    pub lower: Option<Length>,
    /// Largest size; none means no most.
    pub upper: Option<Length>,
}

impl SizeWindow {
    /// How wide it is; none without both ends.
    fn width(&self) -> Option<Length> {
        Some(self.upper? - self.lower?)
    }

    fn limits(&self) -> Limits {
        Limits { lower: self.lower.unwrap_or(Length::ZERO), upper: self.upper.unwrap_or(SIZE_MAX) }
    }

    fn holds(&self, size: Limits) -> bool {
        let Limits { lower, upper } = self.limits();
        size.lower >= lower && size.upper <= upper
    }
}

/// Asks what has these sizes.
#[derive(Clone, Debug)]
pub struct FindBySize {
    /// Parts of this kind only.
    pub item: Option<ItemKind>,
    /// The windows, every one of which must be met.
    pub windows: Vec<SizeWindow>,
    /// Narrows what is looked at.
    pub filter: StockFilter,
    /// Most rows.
    pub page: usize,
    /// Where to go on, and how many rows came before; none for the first page.
    pub after: Option<(SizeRank, usize)>,
    /// The unit to show lengths in.
    pub unit: Unit,
    /// The least revision of the stock.
    pub min_revision: i64,
}

impl FindBySize {
    /// The windows, the narrowest with both ends first: that one is looked into.
    ///
    /// # Errors
    /// [`Error::Invalid`] where none has both ends, or the narrowest is wider than [`WINDOW_MAX`].
    pub fn narrowest_first(&self) -> Result<Vec<SizeWindow>, Error> {
        let mut windows = self.windows.clone();
        windows.sort_by_key(|window| (window.width().is_none(), window.width()));
        let narrowest = windows.first().and_then(|one| Some((one.width()?, *one)));
        let Some((width, window)) = narrowest else {
            let problem = "none has both ends; at least one window with a lower and an upper end, no \
                           wider than 10 mm, is required";
            return Err(Error::invalid("windows", problem));
        };
        if width > WINDOW_MAX {
            let problem = format!(
                "the narrowest, of {}, is {} wide; allowed: at most {}",
                window.kind,
                width.display_in(self.unit),
                WINDOW_MAX.display_in(self.unit)
            );
            return Err(Error::invalid("windows", problem));
        }
        Ok(windows)
    }
}

/// A piece or lot that has the sizes.
#[derive(Clone, Debug)]
pub struct SizeRow {
    /// The piece or lot, with the place of the narrowest window.
    pub shown: Shown,
    /// The place that met each window, in the order of the question.
    pub places: Vec<ShownPlace>,
}

/// What has the sizes.
#[derive(Clone, Debug)]
pub struct SizeAnswer {
    /// The rows.
    pub rows: Vec<SizeRow>,
    /// The place of the first row in the whole answer, from 1.
    pub first: usize,
    /// Where the next page goes on, and how many rows came before it.
    pub next: Option<(SizeRank, usize)>,
    /// Cautions and what was left out.
    pub notes: Vec<String>,
    /// How fresh it is.
    pub freshness: Freshness,
}

/// Finds what has these sizes. Rolling bearings that were taken off, or are older than the shop
/// allows, are not shown, so a page may have fewer rows than asked for and yet not be the last.
///
/// # Errors
/// [`Error::Invalid`]; [`Error::Unavailable`] where the index is too old to answer from.
pub async fn find_by_size(app: &App, order: &FindBySize) -> Result<SizeAnswer, Error> {
    let windows = order.narrowest_first()?;
    let (freshness, stale) = fresh(app, order.min_revision).await?;
    let now = app.now();
    let index = app.feed().index(now);
    let takes = |item: &Item| order.filter.takes_item(item);
    let takes: Option<&dyn Fn(&Item) -> bool> =
        if order.filter.names_bearings() { Some(&takes) } else { None };
    let filter = order.filter.at_work(&index, now, takes)?;
    let asked: Vec<index::SizeWindow> = windows
        .iter()
        .map(|window| {
            let Limits { lower, upper } = window.limits();
            index::SizeWindow { feature: window.kind, lower, upper }
        })
        .collect();
    let kinds: Vec<ItemKind> = order.item.into_iter().collect();
    let before = order.after.as_ref().map_or(0, |(_, shown)| *shown);
    let found = index.sizes(&SizeAsk {
        item_kinds: &kinds,
        windows: &asked,
        filter: &filter,
        now,
        page: order.page,
        after: order.after.as_ref().map(|(rank, _)| rank),
    });
    let at = order.filter.at(now);
    let why = |row: RowView<'_>| withheld(row, app.policy(), now);
    let rows: Vec<SizeRow> = found
        .rows
        .iter()
        .filter(|(row, _)| why(*row).is_none())
        .filter_map(|(row, feature)| sized(*row, feature, &order.windows, at))
        .collect();
    let left_out = |cause| found.rows.iter().filter(|(row, _)| why(*row) == Some(cause)).count();
    let mut notes: Vec<String> = stale.into_iter().collect();
    notes.extend(offered::notes(left_out(Withheld::RemovedBearing), left_out(Withheld::TooOld)));
    notes.extend(nothing_there(&index, &rows, order));
    let shown = before + rows.len();
    let next = found.next.map(|rank| (rank, shown));
    Ok(SizeAnswer { rows, first: before + 1, next, notes, freshness })
}

fn nothing_there(index: &StockIndex, rows: &[SizeRow], order: &FindBySize) -> Option<String> {
    let is_empty = rows.is_empty() && order.after.is_none();
    is_empty.then(|| format!("none of {} pieces and lots in stock is within", index.len()))
}

fn sized(row: RowView<'_>, feature: &str, windows: &[SizeWindow], at: i64) -> Option<SizeRow> {
    let mut places = Vec::with_capacity(windows.len());
    for window in windows {
        let of_kind = row.item().features.iter().filter(|one| one.feature.kind == window.kind);
        let within = of_kind.filter_map(|one| {
            let place = ShownPlace::of(row, &one.feature.name)?;
            let is_other = one.feature.name != feature;
            window.holds(limits_of(&place)).then_some((is_other, place))
        });
        // Where several places are within, the row's own is the one that is told.
        places.push(within.min_by_key(|(is_other, _)| *is_other)?.1);
    }
    let place = ShownPlace::of(row, feature)?;
    Some(SizeRow { shown: Shown::new(row, place, at), places })
}

/// The range that a size is in: of its readings, its limits, or its nominal size alone.
pub fn limits_of(place: &ShownPlace) -> Limits {
    place.belief.map_or(Limits { lower: place.nominal, upper: place.nominal }, |belief| Limits {
        lower: belief.smallest(),
        upper: belief.largest(),
    })
}
