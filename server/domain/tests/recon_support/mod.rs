//! Worn features, and what is asked of their options.

use tenths_domain::item::{FeatureKind, Limits};
use tenths_domain::money::Money;
use tenths_domain::options::{
    Answer, BlockCode, RepairOption, Replacement, StrengthDemand, WornFeature, options,
};
use tenths_domain::policy::{Hrc, Policy, ShaftEnd, StepSystem};
use tenths_domain::state::BuiltUp;
use tenths_domain::units::{Entry, Length, Unit};

pub(crate) fn inch(text: &str) -> Length {
    Entry::parse(text, Unit::Inch).unwrap().length
}

pub(crate) fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

/// A 3/4 in plain journal that was measured whole and round, its mate a bushing.
pub(crate) fn journal(smallest: &str) -> WornFeature {
    WornFeature {
        kind: FeatureKind::Journal,
        used_as: None,
        nominal: inch("0.750"),
        new_nominal: inch("0.750"),
        limits: Some(Limits { lower: inch("0.7495"), upper: inch("0.7500") }),
        undersize: Length::ZERO,
        new_limits: None,
        wear_limit: None,
        out_of_round_limit: None,
        taper_limit: None,
        smallest: inch(smallest),
        largest: inch("0.7498"),
        expanded_uncertainty: inch("0.0002"),
        wear: Some(inch("0.7498") - inch(smallest)),
        out_of_round: Some(Length::ZERO),
        taper: Some(Length::ZERO),
        run_out_tir: Some(Length::ZERO),
        score_depth_per_side: None,
        built_up: BuiltUp::No,
        material: None,
        hardness: Some(Hrc::from_tenths(250).unwrap()),
        end: Some(ShaftEnd::OppositeDrive),
        has_keyway: false,
        demand: StrengthDemand {
            case_depth_per_side: Some(inch("0.030")),
            stated_min: Some(inch("0.700")),
            ..StrengthDemand::UNKNOWN
        },
        bore_max: None,
        next_key_width: None,
        condemned: None,
        replacement: Replacement {
            is_available: true,
            cost: Some(Money::parse("200.00 USD").unwrap()),
            lead_time_days: Some(7),
        },
        steps: StepSystem::Inch,
    }
}

/// A 30 mm k5 seat for a rolling bearing.
pub(crate) fn seat(smallest: &str) -> WornFeature {
    WornFeature {
        kind: FeatureKind::RollingSeat,
        nominal: mm("30"),
        new_nominal: mm("30"),
        limits: Some(Limits { lower: mm("30.002"), upper: mm("30.011") }),
        smallest: mm(smallest),
        largest: mm("30.004"),
        wear: None,
        demand: StrengthDemand {
            case_depth_per_side: Some(mm("2")),
            stated_min: Some(mm("26")),
            ..StrengthDemand::UNKNOWN
        },
        steps: StepSystem::Metric,
        ..journal("0.7490")
    }
}

pub(crate) fn answered(worn: &WornFeature, policy: &Policy) -> Answer {
    options(worn, policy, Unit::Inch, &|_| None).unwrap()
}

pub(crate) fn option(answer: &Answer, key: &str) -> RepairOption {
    answer.options.iter().find(|option| option.repair.key() == key).unwrap().clone()
}

pub(crate) fn codes(option: &RepairOption) -> Vec<BlockCode> {
    option.blocks.iter().map(|block| block.code).collect()
}
