//! Enumerations between wire and domain: they have the same names, so one rule converts all.

use std::str::FromStr;
use std::sync::LazyLock;
use tenths_domain::assembly::{Friction, HeatedPart};
use tenths_domain::bushings::RunningRule;
use tenths_domain::fit::BeliefKind;
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::keys::{KeyStandard, KeyseatFit};
use tenths_domain::matching::MissSide;
use tenths_domain::measure::SettingMethod;
use tenths_domain::options::{BlockCode, DoubtCode, MinimumBy};
use tenths_domain::plan::Floor;
use tenths_domain::policy::{BuildMethod, FeatureUse, ShaftEnd, Site, StepSystem};
use tenths_domain::retaining_rings::RingKind;
use tenths_domain::route::{self, OperationKind};
use tenths_domain::seats::{LoadClass, Machine, RingRotation};
use tenths_domain::state::{
    CoreGrade, CoreState, GaugeState, JobOutcome, JobState, LedgerReason, LocationKind, Method,
    OperationState, OwnerKind, PieceCondition, PieceState, RebuildState, RejectReason,
    ReservationState, ScrapReason, SendOutLineState,
};
use tenths_domain::substitution::Acceptance;
use tenths_domain::temperature::{Material, TemperatureScale};
use tenths_domain::units::Unit;
use tenths_domain::verdict::{Decision, DecisionRule, Verdict};
use tenths_proto::v1 as pb;

/// A domain enumeration with its twin on the wire.
pub trait WireEnum: Sized + Copy + FromStr {
    /// Every name that is allowed, for messages.
    fn allowed() -> Vec<&'static str>;

    /// The number on the wire.
    fn to_wire(self) -> i32;

    /// The member of a number; none for UNSPECIFIED.
    ///
    /// # Errors
    /// A number that the contract does not know.
    fn from_wire(number: i32) -> Result<Option<Self>, UnknownNumber>;
}

/// A number that names no member of an enumeration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnknownNumber(pub i32);

macro_rules! wire_enum {
    ($($domain:ty = $wire:ty, $prefix:literal;)*) => {$(
        impl WireEnum for $domain {
            fn allowed() -> Vec<&'static str> {
                <$domain>::ALL.iter().map(|member| member.as_str()).collect()
            }

            fn to_wire(self) -> i32 {
                // By name once: an answer has hundreds of these.
                static NUMBERS: LazyLock<Vec<i32>> = LazyLock::new(|| {
                    let number = |member: &$domain| {
                        let name = format!(concat!($prefix, "_{}"), member.as_str().to_uppercase());
                        <$wire>::from_str_name(&name).map_or(0, |member| member as i32)
                    };
                    <$domain>::ALL.iter().map(number).collect()
                });
                NUMBERS[self as usize]
            }

            fn from_wire(number: i32) -> Result<Option<Self>, UnknownNumber> {
                let member = <$wire>::try_from(number).map_err(|_| UnknownNumber(number))?;
                let name = member.as_str_name().strip_prefix(concat!($prefix, "_")).unwrap_or_default();
                Ok(name.to_lowercase().parse().ok())
            }
        }
    )*
        #[cfg(test)]
        mod tests {
            use super::*;

            /// Goal: no member is lost on the way; method: every member of every enumeration there
            /// and back, and as many on the wire as in the domain besides UNSPECIFIED.
            #[test]
            fn every_member_has_its_twin() {
                $(
                    for member in <$domain>::ALL {
                        assert_ne!(member.to_wire(), 0, "{member:?}");
                        assert_eq!(<$domain>::from_wire(member.to_wire()), Ok(Some(*member)));
                    }
                    let known = (1..100).filter(|number| <$wire>::try_from(*number).is_ok()).count();
                    assert_eq!(known, <$domain>::ALL.len(), $prefix);
                    assert_eq!(<$domain>::from_wire(0), Ok(None));
                    assert_eq!(<$domain>::from_wire(99), Err(UnknownNumber(99)));
                )*
            }
        }
    };
}

wire_enum! {
    BlockCode = pb::BlockCode, "BLOCK_CODE";
    BuildMethod = pb::BuildMethod, "BUILD_METHOD";
    DoubtCode = pb::DoubtCode, "DOUBT_CODE";
    FeatureUse = pb::FeatureUse, "FEATURE_USE";
    MinimumBy = pb::MinimumBy, "MINIMUM_BY";
    ShaftEnd = pb::ShaftEnd, "SHAFT_END";
    StepSystem = pb::StepSystem, "STEP_SYSTEM";
    BeliefKind = pb::SizeBasis, "SIZE_BASIS";
    Decision = pb::Decision, "DECISION";
    Acceptance = pb::Acceptance, "ACCEPTANCE";
    DecisionRule = pb::DecisionRule, "DECISION_RULE";
    Friction = pb::Friction, "FRICTION";
    HeatedPart = pb::HeatedPart, "HEATED_PART";
    KeyStandard = pb::KeyStandard, "KEY_STANDARD";
    KeyseatFit = pb::KeyseatFit, "KEYSEAT_FIT";
    LoadClass = pb::LoadClass, "LOAD_CLASS";
    Machine = pb::Machine, "MACHINE";
    RingKind = pb::RingKind, "RING_KIND";
    RingRotation = pb::RingRotation, "RING_ROTATION";
    RunningRule = pb::RunningRule, "RUNNING_RULE";
    CoreGrade = pb::CoreGrade, "CORE_GRADE";
    CoreState = pb::CoreState, "CORE_STATE";
    FeatureKind = pb::FeatureKind, "FEATURE_KIND";
    Floor = pb::Floor, "FLOOR";
    GaugeState = pb::GaugeState, "GAUGE_STATE";
    ItemKind = pb::ItemKind, "ITEM_KIND";
    JobOutcome = pb::JobOutcome, "JOB_OUTCOME";
    JobState = pb::JobState, "JOB_STATE";
    LedgerReason = pb::LedgerReason, "LEDGER_REASON";
    LocationKind = pb::LocationKind, "LOCATION_KIND";
    Material = pb::Material, "MATERIAL";
    Method = pb::Method, "METHOD";
    MissSide = pb::MissSide, "MISS_SIDE";
    OperationKind = pb::OperationKind, "OPERATION_KIND";
    OperationState = pb::OperationState, "OPERATION_STATE";
    OwnerKind = pb::OwnerKind, "OWNER_KIND";
    PieceCondition = pb::PieceCondition, "PIECE_CONDITION";
    PieceState = pb::PieceState, "PIECE_STATE";
    RebuildState = pb::RebuildState, "REBUILD_STATE";
    RejectReason = pb::RejectReason, "REJECT_REASON";
    ReservationState = pb::ReservationState, "RESERVATION_STATE";
    ScrapReason = pb::ScrapReason, "SCRAP_REASON";
    SendOutLineState = pb::SendOutLineState, "SEND_OUT_LINE_STATE";
    SettingMethod = pb::SettingMethod, "SETTING_METHOD";
    Site = pb::Site, "SITE";
    TemperatureScale = pb::TemperatureUnit, "TEMPERATURE_UNIT";
    tenths_domain::disposition::Disposition = pb::Disposition, "DISPOSITION";
    Unit = pb::LengthUnit, "LENGTH_UNIT";
    Verdict = pb::VerdictKind, "VERDICT_KIND";
    route::Machine = pb::WorkMachine, "WORK_MACHINE";
}
