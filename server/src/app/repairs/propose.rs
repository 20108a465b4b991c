//! Every option for a worn feature.

use super::mates::MateSearch;
use super::worn::{AskedRepairs, Worn, WornDetails, look};
use crate::app::act::View;
use crate::app::error::Error;
use crate::app::{App, policies};
use tenths_domain::options::{Answer, Mates, RepairOption, Target, WornFeature, options};
use tenths_domain::strength::StrengthError;
use tenths_domain::units::Unit;
use tenths_storage::Piece;

/// What can be done with a worn feature.
#[derive(Clone, Debug)]
pub struct Proposal {
    pub(super) found: Worn,
    /// The options.
    pub answer: Answer,
    /// What is worth knowing.
    pub notes: Vec<String>,
}

impl Proposal {
    /// The piece.
    pub const fn piece(&self) -> &Piece {
        &self.found.piece
    }

    /// The name of the feature.
    pub fn feature(&self) -> &str {
        &self.found.feature.feature.name
    }

    /// What was asked of the domain.
    pub const fn worn(&self) -> &WornFeature {
        &self.found.worn
    }

    /// The unit of the sentences and sizes.
    pub const fn unit(&self) -> Unit {
        self.found.unit
    }
}

/// Every option for a measured feature, ranked by the policy in force; the stock says how many mates
/// there are.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Invalid`] for a use that the feature does not have, or a load without
/// meaning; [`Error::Forbidden`] if it is not measured; [`Error::Unavailable`] if a revision of the
/// stock was asked for and is not seen in time.
pub async fn propose_repairs(
    app: &App,
    asked: &AskedRepairs,
    min_revision: i64,
) -> Result<Proposal, Error> {
    let order = asked.clone();
    let found = app
        .read(move |view| {
            Box::pin(async move {
                let policy = policies::in_force(view).await?;
                look(view, &order, policy).await
            })
        })
        .await?;
    let mut notes = found.notes.clone();
    let mates = MateSearch::of(app, &found, asked.details.mate_fit, asked.details.close_in);
    let answer = match mates {
        None => answer(&found, &|_| None)?,
        Some(mates) => match app.stock_is_known(min_revision).await {
            Ok(stale) => {
                notes.push(mates.words());
                notes.extend(stale);
                let index = app.feed().index(app.now());
                answer(&found, &|target| mates.count(&index, target))?
            }
            // What can be done does not hang on what is in stock, unless it was asked for.
            Err(Error::Unavailable { description, .. }) if min_revision == 0 => {
                notes.push(format!("mates in stock were not counted: {description}"));
                answer(&found, &|_| None)?
            }
            Err(error) => return Err(error),
        },
    };
    Ok(Proposal { found, answer, notes })
}

/// The options of the domain for what was found.
pub(super) fn answer(
    found: &Worn,
    mates: &dyn Fn(&Target) -> Option<Mates>,
) -> Result<Answer, Error> {
    options(&found.worn, &found.policy, found.unit, mates)
        .map_err(|error: StrengthError| Error::invalid("details.load", error.to_string()))
}

/// The best of what keeps a part of which nothing is known beside its readings, in words; nothing
/// where only another part is left.
pub(crate) async fn best_in_words(
    view: View<'_>,
    piece_tag: &str,
    feature: &str,
) -> Result<Option<String>, Error> {
    let asked = AskedRepairs {
        piece_tag: piece_tag.to_owned(),
        feature: feature.to_owned(),
        details: WornDetails::unknown(),
        reference_station: None,
        text_unit: None,
    };
    let found = look(view, &asked, policies::in_force(view).await?).await?;
    let answer = answer(&found, &|_| None)?;
    let kept = |option: &&RepairOption| option.is_feasible() && option.repair.keeps_part();
    let best = answer.options.iter().find(kept);
    Ok(best.map(|option| option.repair.words(found.unit)))
}
