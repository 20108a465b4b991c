//! The policy that a shop starts from.
//!
//! Figures are common practice without a published source, unless their note names one. Costs,
//! minutes and lead times are the shop's own and start unset.

use super::{
    BakeRule, BuildMethod, FeaturePolicy, FeatureUse, Hrc, MethodPolicy, Noted, Policy,
    QueuePolicy, ShaftEnd, Site,
};
use crate::money::Currency;
use crate::units::Length;
use crate::yields::Prior;

const PRACTICE: &str = "common practice, no published source";

/// Ten-thousandths of an inch.
const fn tenths(count: i64) -> Length {
    Length::from_nm(count * 2_540)
}

const fn hundredths_of_mm(count: i64) -> Length {
    Length::from_nm(count * 10_000)
}

fn practice<T>(value: T) -> Noted<T> {
    Noted::new(value, PRACTICE)
}

fn read<T>(value: T, source: &str) -> Option<Noted<T>> {
    Some(Noted::new(value, source))
}

impl Policy {
    /// Common practice, version 0, in US dollars; a shop edits it and counts its versions from 1.
    pub fn common_practice() -> Policy {
        Policy {
            version: 0,
            currency: Currency::Usd,
            features: features(),
            inch_steps: practice(vec![tenths(100), tenths(200), tenths(300)]),
            metric_steps: practice([25, 50, 75].map(hundredths_of_mm).to_vec()),
            grinding_allowance: Noted::new(
                tenths(20),
                "common practice is 0.002 to 0.004 in on diameter, no published source",
            ),
            straighten_from: Some(Noted::new(
                tenths(50),
                "US Army TM 9-6115-604-34: a shaft over 0.005 in total indicator reading is \
                 repaired; a web copy",
            )),
            methods: vec![hard_chrome(), selective_plating(), thermal_spray(), weld(), sleeve()],
            operations: Vec::new(),
            hourly_rate: None,
            in_house_lead_time_days: None,
            cost_share_max_percent: Some(Noted::new(
                60,
                "many shops repair below 50 to 60 % of new; common practice, no published source",
            )),
            queue: QueuePolicy {
                max_wait_minutes: None,
                due_floor_minutes: None,
                setup_family_minutes: None,
                setup_band_minutes: None,
                band_width: Noted::new(
                    hundredths_of_mm(10),
                    "0.1 mm of finished diameter to a set-up, what one stop and one setting of the \
                     gauge serve; our own choice, no published source",
                ),
                wip_max: None,
            },
            yield_prior: Noted::new(
                Prior::UNIFORM,
                "every yield equally likely until the shop has counted its own",
            ),
        }
    }
}

fn features() -> Vec<FeaturePolicy> {
    let armature = "US Army TM 9-6115-604-34: a shaft is repaired when its bushing surface is worn \
                    over 0.003 in, taken on diameter as the stricter reading; a web copy";
    let bent = "US Army TM 9-6115-604-34: a shaft is repaired over 0.005 in total indicator \
                reading; a web copy";
    let service = "published engine service limits of journals (1998), 0.0004 in; web copies";
    vec![
        FeaturePolicy {
            wear_limit: read(
                tenths(20),
                "US Army TM 5-6115-545-34 allows a small drive 0.002 in of wear on the pair; a web \
                 copy",
            ),
            ..FeaturePolicy::unset(FeatureUse::SlidingJournal)
        },
        FeaturePolicy {
            wear_limit: read(tenths(30), armature),
            out_of_round_limit: read(tenths(4), service),
            taper_limit: read(tenths(4), service),
            run_out_limit: read(tenths(50), bent),
            ..FeaturePolicy::unset(FeatureUse::PlainJournal)
        },
        FeaturePolicy {
            past_limit_max: Some(Noted::new(
                tenths(2),
                "past 0.0002 to 0.0003 in below the low limit it is repaired; common practice",
            )),
            ..FeaturePolicy::unset(FeatureUse::RollingSeat)
        },
        FeaturePolicy::unset(FeatureUse::SealLand),
        FeaturePolicy {
            past_limit_max: Some(Noted::new(
                tenths(5),
                "past 0.0005 in beyond H6 it is sleeved; common practice, no published source",
            )),
            ..FeaturePolicy::unset(FeatureUse::HousingBore)
        },
        FeaturePolicy {
            past_limit_max: Some(Noted::new(
                tenths(50),
                "to 0.005 in over its key a stepped key is fitted; common practice",
            )),
            ..FeaturePolicy::unset(FeatureUse::Keyseat)
        },
        FeaturePolicy::unset(FeatureUse::ShaftExtension),
    ]
}

/// Every shaft place.
fn shaft_places() -> Vec<FeatureUse> {
    vec![
        FeatureUse::SlidingJournal,
        FeatureUse::PlainJournal,
        FeatureUse::RollingSeat,
        FeatureUse::SealLand,
        FeatureUse::ShaftExtension,
    ]
}

fn with_housing(mut places: Vec<FeatureUse>) -> Vec<FeatureUse> {
    places.push(FeatureUse::HousingBore);
    places
}

fn bake() -> BakeRule {
    BakeRule {
        from: Hrc::of(31),
        hours_min: 8,
        hours_max: 22,
        celsius_min: 190,
        celsius_max: 220,
        start_within_hours: 3,
        note:
            "ASTM B850 as a plater's published chart gives it (steel from HRC 31, 1000 MPa); the \
               standard itself was not read"
                .into(),
    }
}

/// A method with nothing of the shop's own set.
fn method(method: BuildMethod, site: Site, note: &str) -> MethodPolicy {
    MethodPolicy {
        method,
        per_side_min: Length::ZERO,
        per_side_max: None,
        over_build_per_side: Length::ZERO,
        features: shaft_places(),
        ends: Vec::new(),
        allows_keyway: true,
        hardness_max: None,
        bake: None,
        site,
        vendor: None,
        cost: None,
        lead_time_days: None,
        note: note.to_owned(),
    }
}

fn hard_chrome() -> MethodPolicy {
    MethodPolicy {
        per_side_min: tenths(5),
        per_side_max: Some(tenths(100)),
        over_build_per_side: tenths(20),
        bake: Some(bake()),
        ..method(
            BuildMethod::HardChrome,
            Site::Vendor,
            "0.0005 to 0.010 in per side finished, over-plated 0.001 to 0.003 in per side: platers' \
             published notes; more is careful salvage",
        )
    }
}

fn selective_plating() -> MethodPolicy {
    MethodPolicy {
        per_side_min: tenths(5),
        per_side_max: Some(tenths(100)),
        over_build_per_side: tenths(10),
        features: with_housing(shaft_places()),
        bake: Some(bake()),
        ..method(
            BuildMethod::SelectivePlating,
            Site::Vendor,
            "0.0005 to 0.010 in per side: common practice, no published source",
        )
    }
}

fn thermal_spray() -> MethodPolicy {
    MethodPolicy {
        per_side_min: tenths(150),
        per_side_max: Some(tenths(1_000)),
        over_build_per_side: tenths(500),
        features: with_housing(shaft_places()),
        allows_keyway: false,
        ..method(
            BuildMethod::ThermalSpray,
            Site::Vendor,
            "undercut 0.015 in per side or more, builds to 0.1 in and over, about 0.100 in on \
             diameter left to machine, no keyway or thread edges: sprayers' published notes",
        )
    }
}

fn weld() -> MethodPolicy {
    MethodPolicy {
        over_build_per_side: tenths(300),
        // Heat takes a hardened shaft's temper: no more than the hardness at which plated steel
        // is first baked. The choice is ours.
        hardness_max: Some(Hrc::of(31)),
        features: with_housing(shaft_places()),
        ..method(
            BuildMethod::Weld,
            Site::Vendor,
            "any thickness; heat-treated shafts are at risk, taken here as above HRC 31: common \
             practice, no published source",
        )
    }
}

fn sleeve() -> MethodPolicy {
    MethodPolicy {
        per_side_min: tenths(600),
        per_side_max: Some(tenths(1_250)),
        over_build_per_side: tenths(100),
        features: with_housing(shaft_places()),
        ends: vec![ShaftEnd::OppositeDrive],
        allows_keyway: false,
        ..method(
            BuildMethod::Sleeve,
            Site::InHouse,
            "wall 0.060 in at least, 0.090 to 0.125 in usual, mostly at the opposite-drive end: \
             common practice, no published source",
        )
    }
}
