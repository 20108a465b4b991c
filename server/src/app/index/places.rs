//! The locations, by small numbers of the index's own: a row names its location in four bytes.

use std::collections::HashMap;
use tenths_domain::ids::LocationId;

/// Every location that was made known or that stock names.
#[derive(Debug, Default)]
pub(super) struct Places {
    slots: HashMap<LocationId, u32>,
    /// Each with its code; empty until it is known.
    known: Vec<(LocationId, Box<str>)>,
}

impl Places {
    /// Makes a location's code known.
    pub(super) fn put(&mut self, id: LocationId, code: &str) {
        let slot = self.slot(id);
        self.known[slot as usize].1 = code.into();
    }

    /// The number of a location.
    pub(super) fn slot(&mut self, id: LocationId) -> u32 {
        let known = &mut self.known;
        *self.slots.entry(id).or_insert_with(|| {
            known.push((id, Box::default()));
            u32::try_from(known.len() - 1).expect("fewer than 4,294,967,296 locations")
        })
    }

    /// The number of a location, if it has one.
    pub(super) fn find(&self, id: LocationId) -> Option<u32> {
        self.slots.get(&id).copied()
    }

    /// The location of this code.
    pub(super) fn by_code(&self, code: &str) -> Option<LocationId> {
        let found = self.known.iter().find(|(_, known)| !known.is_empty() && **known == *code);
        found.map(|(id, _)| *id)
    }

    /// The location of a number, and its code.
    pub(super) fn at(&self, slot: u32) -> (LocationId, &str) {
        let (id, code) = &self.known[slot as usize];
        (*id, code)
    }
}
