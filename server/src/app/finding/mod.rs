//! Finding: what in stock fits a measured part, has a size, or may stand in for a known part.
//!
//! Every question looks at the index of the stock ([`crate::app::index`]), which follows the feed of
//! changes ([`feed`]) and so lags behind the books by a little: reserving looks at the books again.
//! Only a piece that a request names, and a gauge that the index does not know yet, are read from the
//! books.

pub mod feed;
pub mod filter;
pub mod fit;
mod fresh;
mod judged;
mod measured;
mod nothing;
pub mod page;
pub mod replacement;
mod rows;
mod shown;
pub mod size;
mod stand;
mod traits;

pub use feed::Feed;
pub use filter::StockFilter;
pub use fit::{FindFit, FitAnswer, FitRow, MissRow, OtherEnd, find_fit};
pub use fresh::{Freshness, OnStale, Policy};
pub use measured::{MeasuredSize, ValueOf};
pub use nothing::{NothingFits, SmallestChange};
pub use page::{Cursor, PageOf};
pub use replacement::{
    FindReplacement, ReplacementAnswer, ReplacementRow, Wanted, find_replacement,
};
pub use shown::{PlaceOf, Shown, ShownPlace};
pub use size::{FindBySize, SizeAnswer, SizeRow, SizeWindow, find_by_size, limits_of};
pub use stand::Stand;
