//! Pages of a ranked answer.
//!
//! A page goes on behind the row that ended the one before. Where that row no longer stands where it
//! stood, the stock has changed and the token is refused, so that no row is shown twice or never.

use crate::app::Error;

/// Where a page goes on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cursor {
    /// How many rows came before.
    pub seen: usize,
    /// The last of them, as [`PageOf::cut`] names it.
    pub last: String,
}

/// Which part of an answer is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageOf {
    /// Most rows.
    pub size: usize,
    /// Where to go on; none for the first page.
    pub after: Option<Cursor>,
}

impl PageOf {
    /// Everything.
    pub const ALL: PageOf = PageOf { size: usize::MAX, after: None };

    /// How many of the best rows must be known.
    pub fn reach(&self) -> usize {
        // One more tells whether there is a next page.
        self.seen().saturating_add(self.size).saturating_add(1)
    }

    /// The place of its first row in the whole answer, from 1.
    pub fn first(&self) -> usize {
        self.seen() + 1
    }

    fn seen(&self) -> usize {
        self.after.as_ref().map_or(0, |cursor| cursor.seen)
    }

    /// Cuts the page out of the best rows, and says where the next one goes on, if there is one.
    ///
    /// # Errors
    /// [`Error::Invalid`] where what came before has changed.
    pub fn cut<T>(
        &self,
        mut rows: Vec<T>,
        name: impl Fn(&T) -> String,
    ) -> Result<(Vec<T>, Option<Cursor>), Error> {
        if let Some(cursor) = &self.after {
            let before = cursor.seen.checked_sub(1).and_then(|last| rows.get(last));
            if before.map(&name).as_ref() != Some(&cursor.last) {
                return Err(Error::invalid(
                    "page_token",
                    "the stock has changed since that page was answered; ask from the first page on",
                ));
            }
            rows.drain(..cursor.seen);
        }
        let is_last = rows.len() <= self.size;
        rows.truncate(self.size);
        let next = rows
            .last()
            .filter(|_| !is_last)
            .map(|last| Cursor { seen: self.seen() + rows.len(), last: name(last) });
        Ok((rows, next))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(after: Option<Cursor>) -> PageOf {
        PageOf { size: 2, after }
    }

    /// Goal: pages put together are the whole, and a changed stock is told. Method: five rows in
    /// pages of two; then one of the rows before goes away.
    #[test]
    fn pages_go_on_where_the_last_ended_or_are_refused() {
        let all = || vec!["a", "b", "c", "d", "e"];
        let name = |row: &&str| (*row).to_owned();
        let (first, next) = page(None).cut(all(), name).unwrap();
        let second = page(next.clone());
        assert_eq!((first, second.reach()), (vec!["a", "b"], 5));
        let (rows, after) = second.cut(all(), name).unwrap();
        assert_eq!(rows, ["c", "d"]);
        assert_eq!(page(after).cut(all(), name).unwrap(), (vec!["e"], None));
        for changed in [vec!["b", "c", "d", "e"], vec!["a"], vec![]] {
            let refused = page(next.clone()).cut(changed, name).unwrap_err().to_string();
            assert!(refused.contains("page_token"), "{refused}");
        }
    }
}
