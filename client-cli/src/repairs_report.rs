//! What can be done with a worn feature, as a person reads it: the possible options in order, each
//! with its sizes, cost and doubts; then what is not possible and why, all as the server gave it.

use crate::lines::hanging;
use crate::output::cell::{length_text, range_text};
use tenths_domain::units::Unit;
use tenths_proto::v1::{
    Length, MinimumBy, MinimumPart, ProposeRepairsResponse, RepairOption, ScrapReason, Site,
};

/// The report. `in_full` shows the operations of every option, else of the first alone.
pub(crate) fn of_options(
    answer: &ProposeRepairsResponse,
    unit: Option<Unit>,
    columns: usize,
    in_full: bool,
) -> String {
    let page = Page { unit, columns };
    let mut text = page.heading(answer);
    let possible = answer.options.iter().filter(|option| option.rank > 0);
    for option in possible {
        text.push_str(&page.possible(option, in_full || option.rank == 1));
    }
    let blocked: Vec<&RepairOption> =
        answer.options.iter().filter(|option| option.rank == 0).collect();
    if !blocked.is_empty() {
        text.push_str("\nnot possible:\n");
    }
    for option in blocked {
        let why: Vec<&str> = option.blocks.iter().map(|block| block.text.as_str()).collect();
        let label = format!("  {:<28}", option.repair);
        text.push_str(&hanging(&label, &why.join("; "), 30, columns));
    }
    if !in_full {
        text.push('\n');
        text.push_str(&hanging("order: ", &answer.ranking, 2, columns));
    }
    text
}

struct Page {
    unit: Option<Unit>,
    columns: usize,
}

impl Page {
    fn shown(&self, length: &Option<Length>) -> String {
        length.as_ref().map(|length| length_text(length, self.unit)).unwrap_or_default()
    }

    fn heading(&self, answer: &ProposeRepairsResponse) -> String {
        let (piece, feature) = (&answer.piece_tag, &answer.feature);
        let mut text =
            format!("{piece} {feature}: repairs by policy version {}\n", answer.policy_version);
        let measured = range_text(&self.shown(&answer.smallest), &self.shown(&answer.largest));
        let doubt = self.shown(&answer.expanded_uncertainty);
        let mut figures = vec![
            ("measured", format!("{measured} (uncertainty {doubt}, k=2)")),
            ("wear", self.shown(&answer.wear)),
            ("cleans up at", self.shown(&answer.clean_up_size)),
        ];
        figures
            .extend(answer.minimum_diameters.iter().map(|part| ("at least", self.minimum(part))));
        for (name, figure) in figures.iter().filter(|(_, figure)| !figure.is_empty()) {
            text.push_str(&hanging(&format!("  {name:<13} "), figure, 16, self.columns));
        }
        text
    }

    fn minimum(&self, part: &MinimumPart) -> String {
        let by = part.by().as_str_name().trim_start_matches("MINIMUM_BY_").to_lowercase();
        let governs = if part.governs { ", governs" } else { "" };
        let unconfirmed = if part.unconfirmed { "; unconfirmed value" } else { "" };
        let known = part.by() != MinimumBy::Unspecified;
        let by = if known { by.replace('_', " ") } else { "not said".to_owned() };
        format!("{} for {by}{governs} ({}{unconfirmed})", self.shown(&part.value), part.source)
    }

    fn possible(&self, option: &RepairOption, with_operations: bool) -> String {
        let mut text = format!("\n{}. {}", option.rank, option.repair);
        if option.text != option.repair.replace('_', " ") {
            text.push_str(&format!(": {}", option.text));
        }
        text.push('\n');
        for (name, figure) in self.figures(option) {
            if !figure.is_empty() {
                text.push_str(&hanging(&format!("   {name:<10} "), &figure, 14, self.columns));
            }
        }
        for doubt in &option.doubts {
            text.push_str(&hanging("   in doubt   ", &doubt.text, 14, self.columns));
        }
        if with_operations {
            for (number, operation) in (1..).zip(&option.operations) {
                let vendor = match operation.vendor.as_str() {
                    "" if operation.site() == Site::Vendor => ", at a vendor".to_owned(),
                    "" => String::new(),
                    name => format!(", at {name}"),
                };
                let line = format!("{}{vendor}", operation.text);
                text.push_str(&hanging(&format!("   {number:>2}. "), &line, 7, self.columns));
            }
        }
        text
    }

    fn figures(&self, option: &RepairOption) -> [(&'static str, String); 7] {
        let limits =
            range_text(&self.shown(&option.target_lower), &self.shown(&option.target_upper));
        let size = if limits.is_empty() { self.shown(&option.target_size) } else { limits };
        let both = |diameter: &Option<Length>, side: &Option<Length>| match diameter {
            Some(_) => {
                format!("{} on diameter = {} per side", self.shown(diameter), self.shown(side))
            }
            None => String::new(),
        };
        let days = |days: i32| format!("{days} days");
        [
            ("finish to", size),
            ("takes off", both(&option.removed_on_diameter, &option.removed_per_side)),
            ("puts on", both(&option.added_on_diameter, &option.added_per_side)),
            ("reason", scrap_reason(option)),
            ("cost", cost(option)),
            ("lead time", option.lead_time_days.map(days).unwrap_or_default()),
            ("mates", mates(option)),
        ]
    }
}

/// Why it is scrapped, where nothing else that keeps the part is possible.
fn scrap_reason(option: &RepairOption) -> String {
    match option.scrap_reason() {
        ScrapReason::Unspecified => String::new(),
        reason => reason.as_str_name().trim_start_matches("SCRAP_REASON_").to_lowercase(),
    }
}

fn cost(option: &RepairOption) -> String {
    match (&option.cost, option.cost_share_percent) {
        (Some(cost), Some(share)) => {
            format!("{} {}, {share} % of a replacement", cost.amount, cost.currency)
        }
        (Some(cost), None) => format!("{} {}", cost.amount, cost.currency),
        (None, _) if option.cost_missing.is_empty() => String::new(),
        (None, _) => format!("not known: not set are {}", option.cost_missing.join(", ")),
    }
}

fn mates(option: &RepairOption) -> String {
    match (option.mates, option.mates_after_reaming) {
        (None, _) => String::new(),
        (Some(mates), None | Some(0)) => format!("{mates} in stock fit"),
        (Some(mates), Some(more)) => format!("{mates} in stock fit, {more} more after reaming"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tenths_proto::v1::{LengthUnit, Money, RepairBlock};

    fn inch(value: &str) -> Option<Length> {
        Some(Length { value: value.into(), unit: LengthUnit::In.into(), nm: 0 })
    }

    #[test]
    fn what_is_possible_comes_first_and_what_is_not_says_why() {
        let regrind = RepairOption {
            repair: "regrind_1".into(),
            text: "regrind to step 1, 0.0100 in undersize".into(),
            rank: 1,
            target_lower: inch("0.7395"),
            target_upper: inch("0.7400"),
            cost: Some(Money { amount: "85.00".into(), currency: "USD".into() }),
            cost_share_percent: Some(21),
            mates: Some(6),
            mates_after_reaming: Some(2),
            ..Default::default()
        };
        let block = RepairBlock { text: "worn 0.0040 in, limit 0.0030 in".into(), code: 6 };
        let reuse =
            RepairOption { repair: "reuse".into(), blocks: vec![block], ..Default::default() };
        let answer = ProposeRepairsResponse {
            piece_tag: "P-1".into(),
            feature: "disc".into(),
            policy_version: 2,
            options: vec![regrind, reuse],
            ranking: "the cheaper first".into(),
            ..Default::default()
        };
        let text = of_options(&answer, None, 100, false);
        for part in [
            "P-1 disc: repairs by policy version 2\n",
            "\n1. regrind_1: regrind to step 1, 0.0100 in undersize\n",
            "   finish to  0.7395..0.7400 in\n",
            "   cost       85.00 USD, 21 % of a replacement\n",
            "   mates      6 in stock fit, 2 more after reaming\n",
            "not possible:\n  reuse                       worn 0.0040 in, limit 0.0030 in\n",
            "order: the cheaper first\n",
        ] {
            assert!(text.contains(part), "{part:?} in {text}");
        }
    }
}
