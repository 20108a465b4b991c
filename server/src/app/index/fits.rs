//! What fits a measured part, and what nearly does.

use super::family::{Family, Known, Member, Size};
use super::misses::Nearest;
use super::order::Order;
use super::pick::{Filter, Key, Picker};
use super::row::{Row, StockId};
use super::tally::Tally;
use super::view::RowView;
use super::{StockIndex, overlaps};
use tenths_domain::fit::SizeBelief;
use tenths_domain::ids::PieceId;
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::matching::{
    self, Candidate, Caps, Condition, Match, Miss, OtherFeature, Question, Weight,
};
use tenths_domain::state::PieceCondition;
use tenths_domain::units::Length;
use tenths_domain::verdict::Verdict;

/// What is only counted, to be told in a note, is counted up to here.
pub const COUNT_MAX: u64 = 1_000;

/// A question to the index.
pub struct Ask<'a> {
    /// The measured part and the fit wanted, at one end or at both.
    pub question: &'a Question,
    /// What is sought.
    pub item_kind: ItemKind,
    /// The places on it that can mate with the first end.
    pub feature_kinds: &'a [FeatureKind],
    /// The place on it that mates with the other end, where the question has one.
    pub other_kind: Option<FeatureKind>,
    /// Misses are looked for among sizes that overlap this.
    pub look: Limits,
    /// Which stock is asked about.
    pub filter: &'a Filter<'a>,
    /// The measured piece itself, which is no mate of its own.
    pub itself: Option<PieceId>,
    /// The time, in Unix microseconds; [`StockIndex::expire`] was called for it.
    pub now: i64,
    /// Most fits to answer with.
    pub page: usize,
    /// Where to go on; nothing for the first page.
    pub after: Option<&'a Rank>,
    /// Most misses to answer with.
    pub misses: usize,
}

/// Where a fit stands in the whole answer, to go on from there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rank {
    /// Its verdict.
    pub verdict: Verdict,
    /// Its distance from the middle.
    pub off_centre: Length,
    /// Whether it is held.
    pub is_held: bool,
    /// Its date code; undated after dated.
    pub date_code: DateRank,
    /// Whether it is a lot.
    pub is_lot: bool,
    /// Its tag.
    pub tag: String,
    /// Its feature.
    pub feature: String,
    /// How many were shown up to here.
    pub shown: usize,
}

/// A date code in order: dated before undated, the oldest first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DateRank {
    /// Dated.
    Dated(String),
    /// Not dated.
    Undated,
}

/// What was found.
#[derive(Debug)]
pub struct Found<'a> {
    /// What fits, best first: one page.
    pub fits: Vec<(Match<Key<'a>>, RowView<'a>)>,
    /// The nearest misses, nearest first.
    pub misses: Vec<(Miss<Key<'a>>, RowView<'a>)>,
    /// How many fits there are up to the end of this page.
    pub fits_seen: usize,
    /// Where the next page begins; nothing if this is the last.
    pub next: Option<Rank>,
    /// Rolling bearings taken off a machine near that size, up to [`COUNT_MAX`].
    pub removed_bearings: u64,
    /// Stock near that size that the requirement says nothing about, up to [`COUNT_MAX`].
    pub not_judged: u64,
    /// Stock that is too old by the shop's policy, as far as it was come across.
    pub too_old: u64,
    /// Places near that size which a gauge found wrong measured, up to [`COUNT_MAX`].
    pub doubted: u64,
    /// Whether there is anything of the kind near that size.
    pub looked_at: bool,
}

/// A member and, where the question has two ends, the place that mates with the other one.
pub(super) type Picked = (Member, Option<u16>);

/// A search for the rows that can be in an answer.
pub(super) struct Search<'s, 'a> {
    pub(super) index: &'a StockIndex,
    pub(super) ask: &'s Ask<'s>,
    pub(super) picker: Picker<'s, 's>,
    /// How many fits are wanted, from the best on.
    need: usize,
    /// What fits, of all families: verdict and distance mean the same in each.
    pub(super) fits: Tally,
    pub(super) nearest: Nearest,
    /// Whether fits may be left that were not picked.
    pub(super) is_cut: bool,
    pub(super) removed_bearings: u64,
    pub(super) not_judged: u64,
    pub(super) too_old: u64,
    pub(super) looked_at: bool,
}

impl StockIndex {
    /// Answers a question as [`matching::answer`] would, given all the stock there is.
    pub fn fits<'a>(&'a self, ask: &Ask<'_>) -> Found<'a> {
        let shown = ask.after.map_or(0, |rank| rank.shown);
        let mut need = shown + ask.page + 1;
        loop {
            let mut search = Search::new(self, ask, need);
            match ask.question.other {
                None => search.single_end(),
                Some(_) => search.both_ends(),
            }
            search.is_cut |= search.fits.keep_best();
            let is_cut = search.is_cut;
            let found = search.answer();
            // Stock that came in before the place to go on from can leave the page short.
            if !is_cut || found.next.is_some() || found.fits.len() >= ask.page {
                return found;
            }
            need *= 2;
        }
    }

    fn doubted_near(&self, ask: &Ask<'_>) -> u64 {
        let look = ask.look;
        let near = ask.feature_kinds.iter().flat_map(|kind| {
            let from = (ask.item_kind, *kind, look.lower.nm(), 0, 0);
            self.doubted.range(from..=(ask.item_kind, *kind, look.upper.nm(), u32::MAX, u16::MAX))
        });
        near.take(COUNT_MAX as usize).count() as u64
    }
}

impl<'s, 'a> Search<'s, 'a> {
    fn new(index: &'a StockIndex, ask: &'s Ask<'s>, need: usize) -> Self {
        Search {
            index,
            ask,
            picker: Picker::new(ask.filter, &index.places),
            need,
            fits: Tally::new(need),
            nearest: Nearest::new(ask.misses),
            is_cut: false,
            removed_bearings: 0,
            not_judged: 0,
            too_old: 0,
            looked_at: false,
        }
    }

    pub(super) fn need(&self) -> usize {
        self.need
    }

    fn single_end(&mut self) {
        let index = self.index;
        for kind in self.ask.feature_kinds {
            let families = index.by_kind.get(&(self.ask.item_kind, *kind));
            for number in families.into_iter().flatten() {
                let family = &index.families[*number as usize];
                if family.key.known != Known::Nominal
                    && family.reaches(self.ask.look)
                    && self.picker.takes_kind(family.key.condition, family.key.material)
                {
                    self.looked_at = true;
                    self.family(family);
                }
            }
        }
    }

    fn family(&mut self, family: &Family) {
        let nominal = family.key.nominal.nm();
        let probe = Size { low: nominal, high: nominal, uncertainty: 1 };
        let judged = self.weigh(family, probe).and_then(|weight| {
            let candidate = bare(family, probe)?;
            Some((weight, matching::mate_limits(self.ask.question, &candidate).ok()?))
        });
        match judged {
            None => self.not_judged += self.count_near(family),
            Some((Weight::NotOffered, _)) => self.removed_bearings += self.count_near(family),
            Some((_, limits)) => {
                self.walk(family, limits);
                if self.ask.misses > 0 {
                    self.walk_misses(family, limits);
                }
            }
        }
    }

    /// Walks outward from the ideal size and picks the fits that can be among the best `need`.
    fn walk(&mut self, family: &Family, limits: Limits) {
        let (lower, upper) = (limits.lower.nm(), limits.upper.nm());
        let ideal = lower + upper;
        let reach = upper - lower - family.width_min;
        let doubtful = self.doubtful(family);
        // Nothing is so wide that it could be inside and improbable: no need to look for that.
        let is_doubt = upper - lower - family.width_max <= doubtful && self.ask.misses > 0;
        let mut tally = Tally::new(self.need);
        let mut is_settled = false;
        for (off, number) in outward(&family.by_centre, ideal) {
            if off > reach {
                break;
            }
            let best = || self.best_at(family, ideal, off);
            is_settled = is_settled || tally.is_settled(off, reach, best);
            if is_settled && !(is_doubt && off <= doubtful) {
                self.is_cut = true;
                break;
            }
            let group = family.group(number);
            let is_wide = group.size.width() >= upper - lower - doubtful;
            if group.size.low < lower || group.size.high > upper || (is_settled && !is_wide) {
                continue;
            }
            match self.weigh(family, group.size) {
                Some(Weight::Fit { verdict, .. }) => {
                    self.pick(group.members.as_slice(), self.need, &mut tally.rows);
                    tally.note(verdict, off);
                }
                Some(Weight::Miss { by }) => {
                    let members = self.members(group.members.as_slice(), self.ask.misses);
                    self.nearest.offer(by.nm(), members);
                }
                Some(Weight::NotOffered) | None => {}
            }
        }
        self.is_cut |= tally.keep_best();
        self.fits.add(tally);
    }

    /// How near the whole window a size must come to be improbable inside it.
    fn doubtful(&self, family: &Family) -> i64 {
        let uncertainty_max = Length::from_nm(family.uncertainty_max);
        let question = self.ask.question.size.expanded_uncertainty();
        matching::improbable_within(question, uncertainty_max).nm()
    }

    /// The best verdict that any size of the family can have this far from the middle.
    fn best_at(&self, family: &Family, ideal: i64, off: i64) -> Verdict {
        let low = (ideal + off - family.width_min).div_euclid(2);
        let size = Size { low, high: low + family.width_min, uncertainty: family.uncertainty_min };
        match self.weigh(family, size) {
            Some(Weight::Fit { verdict, .. }) => verdict,
            _ => Verdict::ProvenOut,
        }
    }

    fn weigh(&self, family: &Family, size: Size) -> Option<Weight> {
        matching::weigh(self.ask.question, &bare(family, size)?).ok()
    }

    fn walk_misses(&mut self, family: &Family, limits: Limits) {
        let (lower, upper) = (limits.lower.nm(), limits.upper.nm());
        let by = |size: Size| (lower - size.low, size.high - upper);
        for (low, number) in family.by_low.below(lower) {
            if lower - low > self.nearest.bound() {
                break;
            }
            let group = family.group(number);
            let (below, above) = by(group.size);
            if below >= above && overlaps(group.size, self.ask.look) {
                let members = self.members(group.members.as_slice(), self.ask.misses);
                self.nearest.offer(below, members);
            }
        }
        for (high, number) in family.by_high.from(upper + 1, 0) {
            if high - upper > self.nearest.bound() {
                break;
            }
            let group = family.group(number);
            let (below, above) = by(group.size);
            if above > below && overlaps(group.size, self.ask.look) {
                let members = self.members(group.members.as_slice(), self.ask.misses);
                self.nearest.offer(above, members);
            }
        }
    }

    /// The first members that are asked about, in the order of equals.
    fn members(&mut self, members: &[Member], most: usize) -> Vec<Picked> {
        let mut picked = Vec::with_capacity(members.len().min(most));
        self.pick(members, most, &mut picked);
        picked
    }

    /// Adds the first members that are asked about, in the order of equals, to others.
    fn pick(&mut self, members: &[Member], most: usize, into: &mut Vec<Picked>) {
        let end = into.len() + most.min(members.len());
        for member in members {
            if into.len() >= end {
                break;
            }
            if self.takes(*member) {
                into.push((*member, None));
            }
        }
    }

    /// Whether a row is asked about, and not too old by the shop's policy.
    pub(super) fn takes(&mut self, member: Member) -> bool {
        let row = self.index.row(member.row);
        if self.is_itself(row) || !self.picker.takes(row) {
            return false;
        }
        if self.ask.question.age.is_none() {
            return true;
        }
        let candidate = self.candidate(member, None);
        let weight = candidate.map(|one| matching::weigh(self.ask.question, &one));
        let is_too_old = matches!(weight, Some(Ok(Weight::NotOffered)));
        self.too_old += u64::from(is_too_old);
        !is_too_old
    }

    fn is_itself(&self, row: &Row) -> bool {
        self.ask.itself.is_some_and(|piece| row.id() == StockId::Piece(piece))
    }

    fn count_near(&self, family: &Family) -> u64 {
        let near = family.by_low.all().map(|(_, number)| family.group(number));
        let near = near.filter(|group| overlaps(group.size, self.ask.look));
        let counted = near.flat_map(|group| group.members.as_slice());
        counted.take(COUNT_MAX as usize).count() as u64
    }

    /// A row as the domain judges it.
    pub(super) fn candidate(
        &self,
        member: Member,
        other: Option<u16>,
    ) -> Option<Candidate<'a, Key<'a>>> {
        let index = self.index;
        let row = index.row(member.row);
        let family_and_size = |at: u16| {
            let place = row.at[usize::from(at)].place;
            let family = &index.families[place.family as usize];
            (family, family.group(place.group).size)
        };
        let (family, size) = family_and_size(member.at);
        let other = match other.map(family_and_size) {
            None => None,
            Some((family, size)) => Some(OtherFeature {
                feature: family.key.feature,
                nominal: family.key.nominal,
                size: size.belief(family.key.known)?,
                ring: family.key.ring,
            }),
        };
        let size = size.belief(family.key.known)?;
        Some(Candidate {
            key: index.key_of(member),
            available: row.available(self.ask.now),
            date_code: row.date_code(),
            other,
            ..of_family(family, size, index.key_of(member))
        })
    }

    fn answer(mut self) -> Found<'a> {
        let mut candidates = std::mem::take(&mut self.fits.rows);
        candidates.extend(std::mem::replace(&mut self.nearest, Nearest::new(0)).into_members());
        candidates.sort_unstable_by_key(|(member, _)| (member.row, member.at));
        candidates.dedup_by_key(|(member, _)| (member.row, member.at));
        let candidates =
            candidates.iter().filter_map(|(member, other)| self.candidate(*member, *other));
        let caps = Caps { fits: self.need, misses: self.ask.misses };
        let answer = matching::answer(self.ask.question, candidates, caps);
        let view = |key: &Key<'a>| RowView { index: self.index, number: key.row };
        let misses_shown = answer.misses.into_iter().map(|miss| (view(&miss.key), miss));
        let misses_shown = misses_shown.map(|(row, miss)| (miss, row)).collect();
        let shown = self.ask.after.map_or(0, |after| after.shown);
        let mut page: Vec<_> = answer.fits.into_iter().map(|one| (view(&one.key), one)).collect();
        if let Some(after) = self.ask.after {
            page.retain(|(row, found)| is_after(self.rank(found, *row), after));
        }
        let is_more = page.len() > self.ask.page;
        page.truncate(self.ask.page);
        let fits_seen = shown + page.len();
        let last = page.last().filter(|_| is_more);
        let next = last.map(|(row, one)| Rank { shown: fits_seen, ..self.rank(one, *row) });
        Found {
            fits: page.into_iter().map(|(row, found)| (found, row)).collect(),
            misses: misses_shown,
            fits_seen,
            next,
            removed_bearings: self.removed_bearings.min(COUNT_MAX),
            not_judged: self.not_judged.min(COUNT_MAX),
            too_old: self.too_old,
            doubted: self.index.doubted_near(self.ask),
            looked_at: self.looked_at,
        }
    }

    fn rank(&self, found: &Match<Key<'a>>, row: RowView<'a>) -> Rank {
        Rank {
            verdict: found.judgement().verdict,
            off_centre: found.off_centre,
            is_held: row.available(self.ask.now) <= 0,
            date_code: row
                .date_code()
                .map_or(DateRank::Undated, |code| DateRank::Dated(code.to_owned())),
            is_lot: found.key.is_lot,
            tag: found.key.tag.to_owned(),
            feature: found.key.feature.to_owned(),
            shown: 0,
        }
    }
}

/// Whether a fit comes after another; how many were shown does not matter.
fn is_after(rank: Rank, after: &Rank) -> bool {
    Rank { shown: after.shown, ..rank } > *after
}

/// A candidate of a family and a size, without what tells one row from another.
fn bare(family: &Family, size: Size) -> Option<Candidate<'static, ()>> {
    Some(of_family(family, size.belief(family.key.known)?, ()))
}

/// The condition as matching takes it.
pub fn matched_as(condition: PieceCondition) -> Condition {
    match condition {
        PieceCondition::New => Condition::New,
        PieceCondition::Used | PieceCondition::Reconditioned => Condition::Used,
    }
}

fn of_family<K>(family: &Family, size: SizeBelief, key: K) -> Candidate<'static, K> {
    Candidate {
        key,
        place: family.key.place(),
        nominal: family.key.nominal,
        size,
        ring: family.key.ring,
        condition: matched_as(family.key.condition),
        available: 1,
        date_code: None,
        other: None,
    }
}

/// The entries in order of their distance from `middle`, with that distance.
fn outward(entries: &Order, middle: i64) -> impl Iterator<Item = (i64, u32)> + '_ {
    let mut below = entries.below(middle).peekable();
    let mut above = entries.from(middle, 0).peekable();
    std::iter::from_fn(move || {
        let takes_below = match (below.peek(), above.peek()) {
            (Some((low, _)), Some((high, _))) => middle - low < high - middle,
            (Some(_), None) => true,
            _ => false,
        };
        let (at, number) = if takes_below { below.next()? } else { above.next()? };
        Some(((at - middle).abs(), number))
    })
}
