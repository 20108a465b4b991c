//! Families of places that differ in size only, each in order of size.
//!
//! Everything that a fit depends on but the size is the key of a family, so the window of a
//! requirement is worked out once a family. Places of exactly the same size are one group: ten
//! million pieces are not ten million sizes, and a thousand lots of one bearing are judged once.

use super::order::Order;
use std::cmp::Ordering;
use std::collections::HashMap;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::fit::SizeBelief;
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::matching;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;

/// What the size of a place is known by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Known {
    /// By its nominal size only: never judged, found by windows of size.
    Nominal,
    /// By its limits.
    Limits,
    /// By readings, with an expanded uncertainty of this many binary digits of nanometres: gauges of
    /// one kind are together, which makes the bounds of a search tight.
    Readings(u8),
}

/// Everything but the size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct FamilyKey {
    pub(super) item: ItemKind,
    pub(super) feature: FeatureKind,
    pub(super) nominal: Length,
    pub(super) ring: Option<ToleranceClass>,
    pub(super) material: Option<Material>,
    pub(super) condition: PieceCondition,
    pub(super) known: Known,
}

impl FamilyKey {
    pub(super) fn place(&self) -> matching::Place {
        matching::Place { item: self.item, feature: self.feature, material: self.material }
    }
}

/// A size: from, to, and the expanded uncertainty of readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Size {
    pub(super) low: i64,
    pub(super) high: i64,
    pub(super) uncertainty: i64,
}

impl Size {
    pub(super) fn belief(self, known: Known) -> Option<SizeBelief> {
        let [low, high, uncertainty] = [self.low, self.high, self.uncertainty].map(Length::from_nm);
        match known {
            Known::Nominal => None,
            Known::Limits => SizeBelief::toleranced(Limits { lower: low, upper: high }).ok(),
            Known::Readings(_) => SizeBelief::measured(low, high, uncertainty).ok(),
        }
    }

    fn centre(self) -> i64 {
        self.low + self.high
    }

    pub(super) fn width(self) -> i64 {
        self.high - self.low
    }
}

/// A place of a row: the row's number and which of its places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Member {
    pub(super) row: u32,
    pub(super) at: u16,
}

/// The places of exactly one size, in the order in which equals are told.
#[derive(Debug)]
pub(super) enum Members {
    One(Member),
    Many(Box<Several>),
}

/// More than one, or at least once more. In a box of its own, which is one word where a vector is
/// three: most sizes have one member.
#[derive(Debug)]
pub(super) struct Several(Vec<Member>);

impl Members {
    pub(super) fn as_slice(&self) -> &[Member] {
        match self {
            Members::One(member) => std::slice::from_ref(member),
            Members::Many(several) => &several.0,
        }
    }

    fn several(&mut self) -> &mut Vec<Member> {
        if let Members::One(only) = self {
            *self = Members::Many(Box::new(Several(vec![*only])));
        }
        match self {
            Members::Many(several) => &mut several.0,
            Members::One(_) => unreachable!("it was made several just now"),
        }
    }
}

/// The places of one size.
#[derive(Debug)]
pub(super) struct Group {
    pub(super) size: Size,
    pub(super) members: Members,
}

/// Where a place was put: which family, which group of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) family: u32,
    pub(super) group: u32,
}

/// The groups of one family.
#[derive(Debug)]
pub(super) struct Family {
    pub(super) key: FamilyKey,
    groups: Vec<Group>,
    /// Numbers of groups that are empty and may be used again.
    unused: Vec<u32>,
    /// While much is loaded: the groups by size, instead of the orders, which are made at the end.
    loading: Option<HashMap<Size, u32>>,
    pub(super) by_centre: Order,
    pub(super) by_low: Order,
    pub(super) by_high: Order,
    /// No size ever put was narrower or wider, and no uncertainty smaller or larger: bounds for a
    /// search, which may be too wide after a size was taken out.
    pub(super) width_min: i64,
    pub(super) width_max: i64,
    pub(super) uncertainty_min: i64,
    pub(super) uncertainty_max: i64,
}

impl Family {
    pub(super) fn new(key: FamilyKey, is_loading: bool) -> Self {
        Family {
            key,
            groups: Vec::new(),
            unused: Vec::new(),
            loading: is_loading.then(HashMap::new),
            by_centre: Order::default(),
            by_low: Order::default(),
            by_high: Order::default(),
            width_min: i64::MAX,
            width_max: 0,
            uncertainty_min: i64::MAX,
            uncertainty_max: 0,
        }
    }

    pub(super) fn group(&self, number: u32) -> &Group {
        &self.groups[number as usize]
    }

    pub(super) fn group_count(&self) -> usize {
        self.by_centre.len()
    }

    /// Whether any size overlaps this range, as far as the outermost sizes tell.
    pub(super) fn reaches(&self, look: Limits) -> bool {
        let (Some(low), Some(high)) = (self.by_low.first(), self.by_high.last()) else {
            return false;
        };
        low <= look.upper.nm() && high >= look.lower.nm()
    }

    /// Puts a member in, at the place among its equals that `order` says; while much is loaded, at
    /// their end.
    pub(super) fn insert(
        &mut self,
        size: Size,
        member: Member,
        order: impl Fn(&Member) -> Ordering,
    ) -> u32 {
        if let Some(number) = self.find(size) {
            let is_loading = self.loading.is_some();
            let members = self.groups[number as usize].members.several();
            let end = members.len();
            let at = if is_loading { end } else { members.partition_point(|m| order(m).is_lt()) };
            members.insert(at, member);
            return number;
        }
        let group = Group { size, members: Members::One(member) };
        let number = match self.unused.pop() {
            Some(number) => {
                self.groups[number as usize] = group;
                number
            }
            None => {
                self.groups.push(group);
                u32::try_from(self.groups.len() - 1).expect("fewer groups than rows")
            }
        };
        self.note(size, number);
        number
    }

    fn note(&mut self, size: Size, number: u32) {
        match &mut self.loading {
            Some(by_size) => {
                by_size.insert(size, number);
            }
            None => {
                self.by_centre.insert(size.centre(), number);
                self.by_low.insert(size.low, number);
                self.by_high.insert(size.high, number);
            }
        }
        self.width_min = self.width_min.min(size.width());
        self.width_max = self.width_max.max(size.width());
        self.uncertainty_min = self.uncertainty_min.min(size.uncertainty);
        self.uncertainty_max = self.uncertainty_max.max(size.uncertainty);
    }

    /// Ends loading: puts everything in order at once. Nothing was taken out meanwhile.
    pub(super) fn settle(&mut self, order: impl Fn(&Member, &Member) -> Ordering) {
        self.loading = None;
        for group in &mut self.groups {
            if let Members::Many(several) = &mut group.members {
                several.0.sort_unstable_by(&order);
                several.0.shrink_to_fit();
            }
        }
        self.groups.shrink_to_fit();
        let of = |at: fn(Size) -> i64| {
            Order::of(self.groups.iter().zip(0..).map(|(group, number)| (at(group.size), number)))
        };
        (self.by_centre, self.by_low, self.by_high) =
            (of(Size::centre), of(|size| size.low), of(|size| size.high));
    }

    /// Takes a member out of its group.
    pub(super) fn remove(
        &mut self,
        number: u32,
        member: Member,
        order: impl Fn(&Member) -> Ordering,
    ) {
        debug_assert!(self.loading.is_none(), "nothing is taken out while much is loaded");
        let group = &mut self.groups[number as usize];
        if let Members::Many(several) = &mut group.members {
            let many = &mut several.0;
            let at = many.partition_point(|one| order(one).is_lt());
            debug_assert_eq!(many.get(at), Some(&member), "a member stands where its order says");
            many.remove(at);
            if let [only] = many[..] {
                group.members = Members::One(only);
            }
            return;
        }
        let size = group.size;
        self.by_centre.remove(size.centre(), number);
        self.by_low.remove(size.low, number);
        self.by_high.remove(size.high, number);
        self.unused.push(number);
    }

    fn find(&self, size: Size) -> Option<u32> {
        if let Some(by_size) = &self.loading {
            return by_size.get(&size).copied();
        }
        let centre = size.centre();
        let same = self.by_centre.from(centre, 0).take_while(|(at, _)| *at == centre);
        same.map(|(_, number)| number).find(|number| self.group(*number).size == size)
    }
}
