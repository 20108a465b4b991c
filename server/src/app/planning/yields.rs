//! First-pass yields from the shop's history.

use crate::app::act::View;
use crate::app::error::Error;
use crate::app::policies::in_force;
use std::collections::HashMap;
use tenths_domain::policy::Site;
use tenths_domain::route::OperationKind;
use tenths_domain::yields::{Prior, Yield, YieldCount};
use tenths_storage::JudgedOperations;

/// The yield is above its lower bound with this chance: nineteen in twenty.
const CREDIBILITY: f64 = 0.95;

/// Asks for yields.
#[derive(Clone, Debug)]
pub struct ListYields {
    /// Only this operation.
    pub operation: Option<OperationKind>,
    /// Only this vendor.
    pub vendor: Option<String>,
}

/// What is believed of one operation at one place.
#[derive(Clone, Debug)]
pub struct YieldView {
    /// What was counted.
    pub counted: JudgedOperations,
    /// The chance that the next one passes.
    pub mean: f64,
    /// The yield is above this with nineteen chances in twenty.
    pub lower_bound: f64,
}

/// Yields, and what they rest on.
#[derive(Clone, Debug)]
pub struct YieldList {
    /// The yields, by operation, site and vendor.
    pub yields: Vec<YieldView>,
    /// What was believed before anything was counted.
    pub prior: Prior,
    /// The version of the policy that says so.
    pub policy_version: i64,
}

/// Lists the yields of all operations that were ever judged.
///
/// # Errors
/// A database that does not answer.
pub async fn list_yields(view: View<'_>, order: &ListYields) -> Result<YieldList, Error> {
    let policy = in_force(view).await?;
    let prior = policy.yield_prior.value;
    let is_asked = |one: &JudgedOperations| {
        order.operation.is_none_or(|kind| kind == one.kind)
            && (order.vendor.is_none() || order.vendor == one.vendor)
    };
    let judged = view.tx.judged_operations().await?.into_iter().filter(is_asked);
    let shown = |counted: JudgedOperations| {
        let believed = Yield::of(prior, count(&counted));
        YieldView {
            mean: believed.mean(),
            // The credibility is a constant within its range.
            lower_bound: believed.lower_bound(CREDIBILITY).unwrap_or(0.0),
            counted,
        }
    };
    Ok(YieldList { yields: judged.map(shown).collect(), prior, policy_version: policy.version })
}

fn count(judged: &JudgedOperations) -> YieldCount {
    YieldCount { passed: judged.passed, failed: judged.failed }
}

/// Every yield of the shop, to be looked up.
pub(super) struct Known {
    prior: Prior,
    counts: HashMap<(OperationKind, Site, Option<String>), YieldCount>,
}

impl Known {
    pub(super) async fn load(view: View<'_>, prior: Prior) -> Result<Known, Error> {
        let judged = view.tx.judged_operations().await?.into_iter();
        let counts = judged.map(|one| {
            let count = count(&one);
            ((one.kind, one.site, one.vendor), count)
        });
        Ok(Known { prior, counts: counts.collect() })
    }

    /// What is believed of an operation at a place; the prior alone where nothing was counted.
    pub(super) fn of(&self, kind: OperationKind, site: Site, vendor: Option<&str>) -> Yield {
        let counted = self.counts.get(&(kind, site, vendor.map(str::to_owned)));
        Yield::of(self.prior, counted.copied().unwrap_or_default())
    }
}
