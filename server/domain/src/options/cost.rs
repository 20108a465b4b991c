//! What an option costs and how long it takes, from the policy; what is not set stays unknown.

use super::trial::Bench;
use super::{Block, BlockCode, Doubt, DoubtCode, Repair, RepairOption};
use crate::money::{Currency, Money};
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
        let (Some(at_least), Some(whole)) = (at_least, new.cost) else { return };
        let Some(cost) = at_least.money() else { return };
        if cost.currency != whole.currency {
            let text = format!("a replacement costs {whole}: not compared with {}", cost.currency);
            option.doubts.push(Doubt { code: DoubtCode::Currency, text });
            return;
        }
        if whole.minor <= 0 || !option.repair.keeps_part() {
            return;
        }
        let share = (at_least.sixtieths * 100).div_ceil_by(60 * i128::from(whole.minor));
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
    fn cost(&self, option: &RepairOption) -> (Cost, Option<Exact>) {
        let currency = self.policy.currency;
        let nothing = Exact { sixtieths: 0, currency };
        match option.repair {
            Repair::Reuse | Repair::Scrap => {
                (Cost::Known(Money { minor: 0, currency }), Some(nothing))
            }
            Repair::Replace => match self.worn.replacement.cost {
                // Amounts of two currencies cannot be ranked against each other.
                Some(cost) if cost.currency == currency => {
                    (Cost::Known(cost), Some(Exact::of(cost)))
                }
                _ => {
                    let missing = format!("replacement.cost in {currency}");
                    (Cost::Unknown { missing: vec![missing] }, None)
                }
            },
            _ => self.cost_of_work(option, nothing),
        }
    }

    fn cost_of_work(&self, option: &RepairOption, nothing: Exact) -> (Cost, Option<Exact>) {
        let mut missing = Vec::new();
        let mut sum = nothing;
        let mut add = |name: String, cost: Option<Exact>| match cost
            .filter(|cost| cost.currency == nothing.currency)
        {
            Some(cost) => sum.sixtieths = sum.sixtieths.saturating_add(cost.sixtieths),
            None => missing.push(name),
        };
        if let Repair::BuildUp { method } = option.repair {
            let cost = self.policy.method(method).and_then(|entry| entry.cost);
            add(format!("methods[{method}].cost"), cost.map(Exact::of));
        }
        for operation in option.operations.iter().filter(|one| !is_in_method(one.kind)) {
            add(format!("operations[{}].cost", operation.kind), self.operation_cost(operation));
        }
        let cost = match sum.money().filter(|_| missing.is_empty()) {
            Some(sum) => Cost::Known(sum),
            None => Cost::Unknown { missing },
        };
        (cost, Some(sum))
    }

    /// What is set, or the minutes at the hourly rate.
    fn operation_cost(&self, operation: &Operation) -> Option<Exact> {
        let entry = self.policy.operation(operation.kind)?;
        let by_the_hour = || {
            let rate = self.policy.hourly_rate.as_ref()?.value;
            let sixtieths = i128::from(rate.minor) * i128::from(entry.minutes?);
            Some(Exact { sixtieths, currency: rate.currency })
        };
        entry.cost.map(Exact::of).or_else(by_the_hour)
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

/// An amount that minutes at an hourly rate are a part of: rounded once, when all of it is added up.
#[derive(Clone, Copy)]
struct Exact {
    /// In sixtieths of the minor unit.
    sixtieths: i128,
    currency: Currency,
}

impl Exact {
    fn of(money: Money) -> Exact {
        Exact { sixtieths: i128::from(money.minor) * 60, currency: money.currency }
    }

    /// Rounded up to the minor unit; nothing beyond all money.
    fn money(self) -> Option<Money> {
        let minor = i64::try_from(self.sixtieths.div_ceil_by(60)).ok()?;
        Some(Money { minor, currency: self.currency })
    }
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
