//! The order of the options.

use super::{Repair, RepairOption};

/// How the options are ranked, in words.
pub const RANKING: &str = "possible before not possible; scrapping last of what is possible; a \
    known cost before an unknown one; the lower cost (and so the lower share of a replacement); a \
    known lead time before an unknown one; the shorter; the simpler (reuse, straighten, polish, finish, \
    key, the smallest undersize step, plating, spray, weld, sleeve, replace)";

/// Orders the options and numbers the possible ones from 1. Every option differs in its repair, so
/// the order is total.
pub(super) fn rank(options: &mut [RepairOption]) {
    options.sort_by_key(|option| {
        let cost = option.cost.known().map_or(i64::MAX, |money| money.minor);
        let lead = option.lead_time_days;
        (
            !option.is_feasible(),
            option.repair == Repair::Scrap,
            option.cost.known().is_none(),
            cost,
            lead.is_none(),
            lead,
            option.repair,
        )
    });
    let possible = options.iter_mut().filter(|option| option.is_feasible());
    for (place, option) in (1..).zip(possible) {
        option.rank = Some(place);
    }
}
