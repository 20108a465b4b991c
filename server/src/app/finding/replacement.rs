//! What may stand in for a known item or bearing number.

use super::filter::StockFilter;
use super::fresh::{Freshness, fresh};
use super::offered::{self, Withheld, withheld};
use super::page::{Cursor, PageOf};
use super::shown::{Shown, ShownPlace};
use super::traits::{bearing_of, bushing_of, traits_of};
use crate::app::index::{RowView, StockId, StockIndex};
use crate::app::{App, Error};
use tenths_domain::bearings::designation;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::seats::Machine;
use tenths_domain::substitution::{
    Acceptance, BearingTraits, BushingSize, Difference, acceptance, replace_bearing,
    replace_bushing,
};
use tenths_domain::units::{Length, Unit};
use tenths_storage::Item;

/// Items are looked at whose bore is within this of the bore wanted.
const NEAR: Length = Length::from_nm(1_000_000);
/// Most rows of one item that are ranked.
const ROWS_MAX: usize = 10_000;

/// What is to be replaced.
#[derive(Clone, Debug)]
pub enum Wanted {
    /// An item of the catalogue.
    Item(String),
    /// The number of a rolling bearing.
    Designation(String),
}

/// Asks what may stand in.
#[derive(Clone, Debug)]
pub struct FindReplacement {
    /// What is to be replaced.
    pub wanted: Wanted,
    /// What it works in.
    pub machine: Machine,
    /// Narrows what is looked at.
    pub filter: StockFilter,
    /// Which part of the answer.
    pub page: PageOf,
    /// The least revision of the stock.
    pub min_revision: i64,
}

/// A part that may stand in.
#[derive(Clone, Debug)]
pub struct ReplacementRow {
    /// The piece or lot, with its bore.
    pub shown: Shown,
    /// How far it may.
    pub acceptance: Acceptance,
    /// What differs.
    pub differences: Vec<Difference>,
    /// What must be done first.
    pub work: Vec<String>,
}

/// What may stand in.
#[derive(Clone, Debug)]
pub struct ReplacementAnswer {
    /// The rows.
    pub rows: Vec<ReplacementRow>,
    /// How many in all.
    pub total: usize,
    /// The place of the first row in the whole answer, from 1.
    pub first: usize,
    /// Where the next page goes on.
    pub next: Option<Cursor>,
    /// Cautions and what was left out.
    pub notes: Vec<String>,
    /// How fresh it is.
    pub freshness: Freshness,
}

/// What is wanted, as far as it matters.
enum Traits {
    Bearing(BearingTraits),
    Bushing(BushingSize, Unit),
}

/// Finds what may stand in.
///
/// # Errors
/// [`Error::NotFound`] for the item; [`Error::Invalid`] for a number that is not known and for an
/// item that has no rules of substitution; [`Error::Unavailable`] where the index is too old to answer from.
pub async fn find_replacement(
    app: &App,
    order: &FindReplacement,
) -> Result<ReplacementAnswer, Error> {
    let (freshness, stale) = fresh(app, order.min_revision).await?;
    let now = app.now();
    let index = app.feed().index(now);
    let wanted = traits(&index, &order.wanted)?;
    let filter = order.filter.at_work(&index, now, None)?;
    let mut left_out = LeftOut::default();
    let mut found = Vec::new();
    let kind = match wanted {
        Traits::Bearing(_) => ItemKind::RollingBearing,
        Traits::Bushing(..) => ItemKind::Bushing,
    };
    let of_kind = index.items().filter(|item| item.kind == kind && order.filter.takes_item(item));
    for item in of_kind.filter(|item| is_near(&wanted, item)) {
        for row in index.of_item(item.id, &filter, ROWS_MAX) {
            found.extend(judge(app, &wanted, order.machine, row, now, &mut left_out));
        }
    }
    let at = order.filter.at(now);
    found.sort_by_cached_key(|one| {
        let row = &one.row;
        let no_date = row.date_code().is_none();
        let date = row.date_code().unwrap_or_default().to_owned();
        let held = row.available(at) <= 0;
        let is_lot = matches!(row.id(), StockId::Lot(_));
        (one.acceptance, one.work.len(), held, no_date, date, is_lot, row.tag().to_owned())
    });
    let total = found.len();
    let (found, next) = order.page.cut(found, |one| one.row.tag().to_owned())?;
    let rows = found.into_iter().filter_map(|one| {
        let bore = one.row.item().features.iter().find(|f| f.feature.kind == FeatureKind::Bore)?;
        let place = ShownPlace::of(one.row, &bore.feature.name)?;
        Some(ReplacementRow {
            shown: Shown::new(one.row, place, at),
            acceptance: one.acceptance,
            differences: one.differences,
            work: one.work,
        })
    });
    let notes = stale.into_iter().chain(left_out.notes()).collect();
    Ok(ReplacementAnswer {
        rows: rows.collect(),
        total,
        first: order.page.first(),
        next,
        notes,
        freshness,
    })
}

fn traits(index: &StockIndex, wanted: &Wanted) -> Result<Traits, Error> {
    match wanted {
        Wanted::Designation(number) => {
            let found = designation::parse(number)
                .map_err(|error| Error::invalid("designation", error.to_string()))?;
            Ok(Traits::Bearing(traits_of(&found)))
        }
        Wanted::Item(code) => {
            let item = index.items().find(|item| item.code == *code);
            of_item(item.ok_or_else(|| Error::NotFound { kind: "item", name: code.clone() })?)
        }
    }
}

fn of_item(item: &Item) -> Result<Traits, Error> {
    if let Some(bearing) = bearing_of(item) {
        return Ok(Traits::Bearing(bearing));
    }
    if let Some(bushing) = bushing_of(item) {
        let bore = item.features.iter().find(|one| one.feature.kind == FeatureKind::Bore);
        let unit = bore.map_or(Unit::Millimetre, |bore| bore.nominal_unit);
        return Ok(Traits::Bushing(bushing, unit));
    }
    let problem = format!(
        "item {} is a {} without a bearing number that can be read, or without bore and outside \
         diameter; rules of substitution are known for a rolling_bearing with a designation and a \
         bushing with bore and outside_diameter",
        item.code, item.kind
    );
    Err(Error::invalid("item_code", problem))
}

/// Whether an item has about the bore that is wanted: all others never may stand in.
fn is_near(wanted: &Traits, item: &Item) -> bool {
    let bore = match wanted {
        Traits::Bearing(bearing) => bearing.dimensions.bore,
        Traits::Bushing(bushing, _) => bushing.bore,
    };
    let bores = item.features.iter().filter(|one| one.feature.kind == FeatureKind::Bore);
    bores.map(|one| one.feature.nominal).any(|one| (one - bore).abs() <= NEAR)
}

#[derive(Default)]
struct LeftOut {
    removed: usize,
    never: usize,
    unread: usize,
    too_old: usize,
}

impl LeftOut {
    fn notes(&self) -> Vec<String> {
        let told = [
            (self.never, "of about that bore never may stand in"),
            (self.unread, "of about that bore have no number or sizes that can be compared"),
        ];
        let told = told.into_iter().filter(|(count, _)| *count > 0);
        let mut notes = offered::notes(self.removed, self.too_old);
        notes.extend(told.map(|(count, text)| format!("{count} {text}")));
        notes
    }
}

struct Judged<'a> {
    row: RowView<'a>,
    acceptance: Acceptance,
    differences: Vec<Difference>,
    work: Vec<String>,
}

fn judge<'a>(
    app: &App,
    wanted: &Traits,
    machine: Machine,
    row: RowView<'a>,
    now: i64,
    left_out: &mut LeftOut,
) -> Option<Judged<'a>> {
    match withheld(row, app.policy(), now) {
        Some(Withheld::RemovedBearing) => {
            left_out.removed += 1;
            return None;
        }
        Some(Withheld::TooOld) => {
            left_out.too_old += 1;
            return None;
        }
        None => {}
    }
    let compared = match wanted {
        Traits::Bearing(wanted) => bearing_of(row.item())
            .map(|offered| (replace_bearing(wanted, &offered, machine), Vec::new())),
        Traits::Bushing(wanted, unit) => bushing_of(row.item()).map(|offered| {
            let (found, work) = replace_bushing(wanted, &offered, row.material());
            (found, work.into_iter().map(|work| work.words(*unit)).collect())
        }),
    };
    let Some((differences, work)) = compared else {
        left_out.unread += 1;
        return None;
    };
    let acceptance = acceptance(&differences);
    if acceptance == Acceptance::Never {
        left_out.never += 1;
        return None;
    }
    Some(Judged { row, acceptance, differences, work })
}
