//! Tables out, a page of rows at a time.

use super::{Table, items, lots, pieces};
use crate::app::App;
use crate::app::error::Error;
use tenths_storage::Page;

/// How many items, lots or pieces are read at once.
const PAGE_LIMIT: u64 = 500;

/// Some rows, and where to go on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exported {
    /// The rows, each in the order of [`Table::columns`].
    pub rows: Vec<Vec<String>>,
    /// The number after which to go on; none at the end.
    pub next: Option<i64>,
}

impl App {
    /// The rows after the item, lot or piece of this number (0 for the first). Each page is one
    /// snapshot, the whole is not: a client that reads slowly must not hold one open.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn export(&self, table: Table, after: i64) -> Result<Exported, Error> {
        let page = Page { after, limit: PAGE_LIMIT };
        let (rows, next) = self
            .read(move |view| {
                Box::pin(async move {
                    match table {
                        Table::Items => items::export(view, page).await,
                        Table::Lots => lots::export(view, page).await,
                        Table::Pieces => pieces::export(view, page).await,
                    }
                })
            })
            .await?;
        Ok(Exported { rows, next })
    }
}
