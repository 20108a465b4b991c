//! What an option costs and how long it takes, from the policy; what is not set stays unknown.

use super::trial::Bench;
use super::{Block, BlockCode, Doubt, DoubtCode, Repair, RepairOption};
use crate::money::Money;
use crate::policy::Site;
use crate::route::{Operation, OperationKind};

/// What an option costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cost {
    /// So much.
    Known(Money),
    /// Not known.
    Unknown {
        /// What has no cost set, by its name in the policy.
        missing: Vec<String>,
    },
}

impl Cost {
    /// The cost, if known.
    pub const fn known(&self) -> Option<Money> {
        match self {
            Cost::Known(money) => Some(*money),
            Cost::Unknown { .. } => None,
        }
    }
}

impl Bench<'_> {
    /// Prices an option; blocks one that costs more than its share of a replacement.
    pub(super) fn price(&self, option: &mut RepairOption) {
        if !option.is_feasible() {
            return;
        }
        let (cost, at_least) = self.cost(option);
        option.cost = cost;
        option.lead_time_days = self.lead_time(option);
        let new = self.worn.replacement;
        let (Some(cost), Some(whole)) = (at_least, new.cost) else { return };
        if cost.currency != whole.currency {
            let text = format!("a replacement costs {whole}: not compared with {}", cost.currency);
            option.doubts.push(Doubt { code: DoubtCode::Currency, text });
            return;
        }
        if whole.minor <= 0 || !option.repair.keeps_part() {
            return;
        }
        let share = (i128::from(cost.minor) * 100).div_ceil_by(i128::from(whole.minor));
        let is_known = option.cost.known().is_some();
        let percent = u32::try_from(share).unwrap_or(u32::MAX);
        option.cost_share_percent = is_known.then_some(percent);
        let Some(limit) = &self.policy.cost_share_max_percent else { return };
        if share > i128::from(limit.value) && new.is_available {
            let costs = if is_known { "costs" } else { "costs at least" };
            let text = format!(
                "{costs} {cost}, {share} % of a replacement at {whole}; the policy allows {} %",
                limit.value
            );
            option.blocks.push(Block { code: BlockCode::NotEconomical, text });
            option.operations.clear();
        }
    }

    /// The cost, and what it is at least where not all of it is set: a work that is too dear by half
    /// of its operations does not become possible because the other half has no price.
    fn cost(&self, option: &RepairOption) -> (Cost, Option<Money>) {
        let nothing = Money { minor: 0, currency: self.policy.currency };
        match option.repair {
            Repair::Reuse | Repair::Scrap => (Cost::Known(nothing), Some(nothing)),
            Repair::Replace => match self.worn.replacement.cost {
                // Amounts of two currencies cannot be ranked against each other.
                Some(cost) if cost.currency == nothing.currency => (Cost::Known(cost), Some(cost)),
                _ => {
                    let missing = format!("replacement.cost in {}", nothing.currency);
                    (Cost::Unknown { missing: vec![missing] }, None)
                }
            },
            _ => self.cost_of_work(option, nothing),
        }
    }

    fn cost_of_work(&self, option: &RepairOption, nothing: Money) -> (Cost, Option<Money>) {
        let mut missing = Vec::new();
        let mut sum = nothing;
        let mut add = |name: String, cost: Option<Money>| match cost
            .and_then(|cost| sum.checked_add(cost).ok())
        {
            Some(total) => sum = total,
            None => missing.push(name),
        };
        if let Repair::BuildUp { method } = option.repair {
            let cost = self.policy.method(method).and_then(|entry| entry.cost);
            add(format!("methods[{method}].cost"), cost);
        }
        for operation in option.operations.iter().filter(|one| !is_in_method(one.kind)) {
            add(format!("operations[{}].cost", operation.kind), self.operation_cost(operation));
        }
        let cost = match missing.is_empty() {
            true => Cost::Known(sum),
            false => Cost::Unknown { missing },
        };
        (cost, Some(sum))
    }

    /// What is set, or the minutes at the hourly rate, rounded up to the minor unit.
    fn operation_cost(&self, operation: &Operation) -> Option<Money> {
        let entry = self.policy.operation(operation.kind)?;
        let by_the_hour = || {
            let rate = self.policy.hourly_rate.as_ref()?.value;
            let minor = (i128::from(rate.minor) * i128::from(entry.minutes?)).div_ceil_by(60);
            Some(Money { minor: i64::try_from(minor).ok()?, ..rate })
        };
        entry.cost.or_else(by_the_hour)
    }

    /// The method's days and, where the shop does some of it, the shop's own.
    fn lead_time(&self, option: &RepairOption) -> Option<u32> {
        let own = self.policy.in_house_lead_time_days.as_ref().map(|days| days.value);
        match option.repair {
            Repair::Reuse | Repair::Scrap => Some(0),
            Repair::Replace => self.worn.replacement.lead_time_days,
            Repair::BuildUp { method } => {
                let days = self.policy.method(method)?.lead_time_days?;
                let is_own = |one: &Operation| one.site == Site::InHouse && !is_in_method(one.kind);
                let is_shop = option.operations.iter().any(is_own);
                if is_shop { days.checked_add(own?) } else { Some(days) }
            }
            _ => own,
        }
    }
}

/// Whether an operation is part of what a method costs.
const fn is_in_method(kind: OperationKind) -> bool {
    matches!(
        kind,
        OperationKind::Plate
            | OperationKind::Spray
            | OperationKind::Weld
            | OperationKind::BuildUp
            | OperationKind::FitSleeve
            | OperationKind::StressRelieve
            | OperationKind::Bake
    )
}

trait DivideUp {
    /// Divides and rounds up; the divisor above zero.
    fn div_ceil_by(self, by: Self) -> Self;
}

impl DivideUp for i128 {
    fn div_ceil_by(self, by: i128) -> i128 {
        self.div_euclid(by) + i128::from(self.rem_euclid(by) != 0)
    }
}
