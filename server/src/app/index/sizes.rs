//! Stock by windows on its dimensions, without a fit.
//!
//! In order of the smallest size at the first window's feature; equals free before held, the oldest
//! date code first, then pieces before lots, tag and feature. A place is within a window if both
//! its smallest and its largest size are; where only its nominal size is known, that counts.

use super::family::{Family, Member};
use super::fits::DateRank;
use super::pick::{Filter, Picker};
use super::view::RowView;
use super::{StockIndex, compare, key_of};
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use tenths_domain::ids::ItemId;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::units::Length;

/// A window on one dimension, both ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SizeWindow {
    /// Which dimension.
    pub feature: FeatureKind,
    /// Smallest size.
    pub lower: Length,
    /// Largest size.
    pub upper: Length,
}

/// A question by windows.
pub struct SizeAsk<'a> {
    /// The kinds of item; none means any.
    pub item_kinds: &'a [ItemKind],
    /// The windows; the first gives the order.
    pub windows: &'a [SizeWindow],
    /// Which stock is asked about.
    pub filter: &'a Filter<'a>,
    /// The time, in Unix microseconds; [`StockIndex::expire`] was called for it.
    pub now: i64,
    /// Most rows to answer with.
    pub page: usize,
    /// Where to go on; nothing for the first page.
    pub after: Option<&'a SizeRank>,
}

/// Where a row stands in the whole answer, to go on from there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SizeRank {
    /// Its smallest size at the first window's feature.
    pub size: Length,
    /// Whether it is held.
    pub is_held: bool,
    /// Its date code.
    pub date_code: DateRank,
    /// Whether it is a lot.
    pub is_lot: bool,
    /// Its tag.
    pub tag: String,
    /// The feature.
    pub feature: String,
}

/// Rows found by windows.
#[derive(Debug)]
pub struct SizesFound<'a> {
    /// The rows of this page, each with the name of the feature that the first window found.
    pub rows: Vec<(RowView<'a>, &'a str)>,
    /// Where the next page begins; nothing if this is the last.
    pub next: Option<SizeRank>,
}

impl StockIndex {
    /// Stock whose sizes are within all the windows.
    pub fn sizes<'a>(&'a self, ask: &SizeAsk<'_>) -> SizesFound<'a> {
        let Some((first, others)) = ask.windows.split_first() else {
            return SizesFound { rows: Vec::new(), next: None };
        };
        let picker = Picker::new(ask.filter, &self.places);
        let families = self.families_of(ask.item_kinds, first.feature, &picker);
        let mut rows: Vec<Member> = Vec::new();
        for members in BySize::new(families, first) {
            let mut equals: Vec<Member> = members
                .into_iter()
                .filter(|member| {
                    picker.takes(self.row(member.row))
                        && others.iter().all(|window| self.is_within(member.row, window))
                        && ask.after.is_none_or(|after| self.size_rank(*member) > *after)
                })
                .collect();
            equals.sort_by(|a, b| compare(&self.rows, a, b));
            rows.extend(equals);
            if rows.len() > ask.page {
                break;
            }
        }
        let is_more = rows.len() > ask.page;
        rows.truncate(ask.page);
        let next = rows.last().filter(|_| is_more).map(|member| self.size_rank(*member));
        let view = |member: Member| RowView { index: self, number: member.row };
        let feature = |member: Member| key_of(self.row(member.row), member).feature;
        SizesFound { rows: rows.into_iter().map(|one| (view(one), feature(one))).collect(), next }
    }

    /// The stock of an item: free before held, the oldest date code first, then by tag.
    pub fn of_item<'a>(
        &'a self,
        item: ItemId,
        filter: &Filter<'_>,
        most: usize,
    ) -> Vec<RowView<'a>> {
        let picker = Picker::new(filter, &self.places);
        let rows = self.by_item.get(&item).into_iter().flatten();
        let mut found: Vec<u32> =
            rows.copied().filter(|number| picker_takes(&picker, self, *number)).collect();
        found.sort_by(|a, b| self.row(*a).order().cmp(&self.row(*b).order()));
        found.truncate(most);
        found.into_iter().map(|number| RowView { index: self, number }).collect()
    }

    fn families_of<'a>(
        &'a self,
        kinds: &[ItemKind],
        feature: FeatureKind,
        picker: &Picker<'_, '_>,
    ) -> Vec<&'a Family> {
        let kinds = if kinds.is_empty() { ItemKind::ALL } else { kinds };
        let numbers = kinds.iter().filter_map(|kind| self.by_kind.get(&(*kind, feature))).flatten();
        let families = numbers.map(|number| &self.families[*number as usize]);
        families.filter(|one| picker.takes_kind(one.key.condition, one.key.material)).collect()
    }

    fn is_within(&self, number: u32, window: &SizeWindow) -> bool {
        self.row(number).at.iter().any(|at| {
            let family = &self.families[at.place.family as usize];
            let size = family.group(at.place.group).size;
            family.key.feature == window.feature
                && size.low >= window.lower.nm()
                && size.high <= window.upper.nm()
        })
    }

    fn size_rank(&self, member: Member) -> SizeRank {
        let row = self.row(member.row);
        let place = row.at[usize::from(member.at)].place;
        let key = key_of(row, member);
        SizeRank {
            size: Length::from_nm(self.families[place.family as usize].group(place.group).size.low),
            is_held: row.is_held,
            date_code: row
                .date_code()
                .map_or(DateRank::Undated, |code| DateRank::Dated(code.to_owned())),
            is_lot: key.is_lot,
            tag: key.tag.to_owned(),
            feature: key.feature.to_owned(),
        }
    }
}

fn picker_takes(picker: &Picker<'_, '_>, index: &StockIndex, number: u32) -> bool {
    let row = index.row(number);
    picker.takes_kind(row.condition, row.material) && picker.takes(row)
}

/// The members within a window, all of one smallest size at a time.
struct BySize<'a> {
    families: Vec<&'a Family>,
    upper: i64,
    /// The next entry of each family: its smallest size, which family, which group.
    heads: BinaryHeap<Reverse<(i64, usize, u32)>>,
}

impl<'a> BySize<'a> {
    fn new(families: Vec<&'a Family>, window: &SizeWindow) -> Self {
        let upper = window.upper.nm();
        let mut by_size = BySize { families, upper, heads: BinaryHeap::new() };
        for family in 0..by_size.families.len() {
            by_size.push_from(family, (window.lower.nm(), 0));
        }
        by_size
    }

    fn push_from(&mut self, family: usize, from: (i64, u32)) {
        let next = self.families[family].by_low.from(from.0, from.1).next();
        if let Some((low, number)) = next.filter(|(low, _)| *low <= self.upper) {
            self.heads.push(Reverse((low, family, number)));
        }
    }
}

impl Iterator for BySize<'_> {
    type Item = Vec<Member>;

    fn next(&mut self) -> Option<Vec<Member>> {
        let Reverse((low, ..)) = *self.heads.peek()?;
        let mut members = Vec::new();
        while let Some(Reverse((at, family, number))) = self.heads.peek().copied()
            && at == low
        {
            self.heads.pop();
            let group = self.families[family].group(number);
            if group.size.high <= self.upper {
                members.extend_from_slice(group.members.as_slice());
            }
            self.push_from(family, (at, number + 1));
        }
        Some(members)
    }
}
