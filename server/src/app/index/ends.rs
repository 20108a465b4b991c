//! Parts that mate at both ends, a bearing or a bushing between shaft and housing: grouped by both
//! sizes at once.
//!
//! There is no walk here: every group of the sizes asked about is judged. New bearings and bushings
//! are known by their limits, so there are few groups; each measured one is a group of its own.

use super::family::{FamilyKey, Member, Size};
use super::fits::{Picked, Search};
use super::tally::Tally;
use super::{StockIndex, compare, overlaps};
use std::cmp::Ordering;
use std::collections::{BTreeMap, HashMap};
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::matching::{self, Weight};

/// A bore and an outside diameter: each with all that it depends on.
type Keys = (FamilyKey, FamilyKey);
/// The sizes of both.
type Sizes = (Size, Size);

/// The pairs of all parts that have a bore and an outside diameter.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    families: Vec<PairFamily>,
    family_of: HashMap<Keys, u32>,
    by_kind: HashMap<ItemKind, Vec<u32>>,
}

#[derive(Debug)]
struct PairFamily {
    keys: Keys,
    groups: BTreeMap<Sizes, Vec<PairMember>>,
}

/// A row with its bore and its outside diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct PairMember {
    row: u32,
    bore: u16,
    outside: u16,
}

impl PairMember {
    fn as_bore(self) -> Member {
        Member { row: self.row, at: self.bore }
    }

    fn picked(self, first: FeatureKind) -> Picked {
        let (first, other) = match first {
            FeatureKind::Bore => (self.bore, self.outside),
            _ => (self.outside, self.bore),
        };
        (Member { row: self.row, at: first }, Some(other))
    }
}

impl Pairs {
    fn family(&mut self, keys: Keys) -> u32 {
        if let Some(family) = self.family_of.get(&keys) {
            return *family;
        }
        let family = u32::try_from(self.families.len()).expect("fewer families than rows");
        self.families.push(PairFamily { keys, groups: BTreeMap::new() });
        self.family_of.insert(keys, family);
        self.by_kind.entry(keys.0.item).or_default().push(family);
        family
    }

    /// Ends loading: puts everything in order at once.
    pub(super) fn settle(&mut self, order: impl Fn(&Member, &Member) -> Ordering) {
        for members in self.families.iter_mut().flat_map(|family| family.groups.values_mut()) {
            members.sort_unstable_by(|one, other| order(&one.as_bore(), &other.as_bore()));
            members.shrink_to_fit();
        }
    }
}

impl StockIndex {
    /// The row's bore and outside diameter, if it has both and is put in by both.
    fn pair_of(&self, number: u32) -> Option<(Keys, Sizes, PairMember)> {
        let row = self.row(number);
        if !matches!(row.item.kind, ItemKind::RollingBearing | ItemKind::Bushing) {
            return None;
        }
        let find = |kind: FeatureKind| {
            row.at.iter().enumerate().find_map(|(slot, at)| {
                let family = &self.families[at.place.family as usize];
                let size = || family.group(at.place.group).size;
                let slot = u16::try_from(slot).ok()?;
                (family.key.feature == kind).then(|| (slot, family.key, size()))
            })
        };
        let (bore, bore_key, bore_size) = find(FeatureKind::Bore)?;
        let (outside, outside_key, outside_size) = find(FeatureKind::OutsideDiameter)?;
        let member = PairMember { row: number, bore, outside };
        Some(((bore_key, outside_key), (bore_size, outside_size), member))
    }

    pub(super) fn put_pair(&mut self, number: u32) {
        let Some((keys, sizes, member)) = self.pair_of(number) else { return };
        let family = self.pairs.family(keys);
        let rows = &self.rows;
        let members = self.pairs.families[family as usize].groups.entry(sizes).or_default();
        let at = match self.is_loading {
            true => members.len(),
            false => members
                .partition_point(|one| compare(rows, &one.as_bore(), &member.as_bore()).is_lt()),
        };
        members.insert(at, member);
    }

    /// Takes a row out of the pairs; before anything of it is changed.
    pub(super) fn take_pair(&mut self, number: u32) {
        let Some((keys, sizes, member)) = self.pair_of(number) else { return };
        let Some(family) = self.pairs.family_of.get(&keys) else { return };
        let groups = &mut self.pairs.families[*family as usize].groups;
        let Some(members) = groups.get_mut(&sizes) else { return };
        members.retain(|one| *one != member);
        if members.is_empty() {
            groups.remove(&sizes);
        }
    }
}

impl Search<'_, '_> {
    /// Picks what can be in an answer about both ends.
    pub(super) fn both_ends(&mut self) {
        let index = self.index;
        for first in self.ask.feature_kinds {
            let families = index.pairs.by_kind.get(&self.ask.item_kind);
            for number in families.into_iter().flatten() {
                let family = &index.pairs.families[*number as usize];
                let key = family.keys.0;
                if self.ask.other_kind.is_some()
                    && self.picker.takes_kind(key.condition, key.material)
                {
                    self.pair_family(family, *first);
                }
            }
        }
    }

    fn pair_family(&mut self, family: &PairFamily, first: FeatureKind) {
        let mut tally = Tally::new(self.need());
        for (sizes, members) in &family.groups {
            let size = if first == FeatureKind::Bore { sizes.0 } else { sizes.1 };
            if !overlaps(size, self.ask.look) {
                continue;
            }
            self.looked_at = true;
            let Some(member) = members.first() else { continue };
            let (row, other) = member.picked(first);
            let Some(candidate) = self.candidate(row, other) else { continue };
            // Age is of a row, not of a group: it is looked at where rows are picked.
            let candidate = matching::Candidate { date_code: None, ..candidate };
            let near = members.len() as u64;
            match matching::weigh(self.ask.question, &candidate) {
                Ok(Weight::Fit { verdict, off_centre }) => {
                    tally.rows.extend(self.pair_members(members, first, self.need()));
                    tally.note(verdict, off_centre.nm());
                }
                Ok(Weight::Miss { by }) if by.nm() <= self.nearest.bound() => {
                    let picked = self.pair_members(members, first, self.ask.misses);
                    self.nearest.offer(by.nm(), picked);
                }
                Ok(Weight::Miss { .. }) => {}
                Ok(Weight::NotOffered) => self.removed_bearings += near,
                Err(_) => self.not_judged += near,
            }
        }
        self.is_cut |= tally.keep_best();
        self.fits.add(tally);
    }

    fn pair_members(
        &mut self,
        members: &[PairMember],
        first: FeatureKind,
        most: usize,
    ) -> Vec<Picked> {
        let mut picked = Vec::with_capacity(members.len().min(most));
        for member in members {
            if picked.len() >= most {
                break;
            }
            if self.takes(member.as_bore()) {
                picked.push(member.picked(first));
            }
        }
        picked
    }
}
