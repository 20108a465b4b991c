//! The words of the contract's enumerations on the command line: lower case, one name each.
//!
//! They are read from the generated code, so a new member needs no change here.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use tenths_proto::v1;

/// The word for a member: `ITEM_KIND_ROLLING_BEARING` without its prefix, in lower case.
pub(crate) fn word(proto_name: &str, prefix: &str) -> String {
    proto_name.strip_prefix(prefix).unwrap_or(proto_name).to_ascii_lowercase()
}

/// A word as allowed on the command line; `rolling-bearing` is taken for `rolling_bearing`.
fn possible(word: String) -> PossibleValue {
    let hyphenated = word.replace('_', "-");
    let value = PossibleValue::new(word.clone());
    if hyphenated == word { value } else { value.alias(hyphenated) }
}

/// Defines a clap value parser per enumeration; the zero member "unspecified" is not offered.
macro_rules! parsers {
    ($($function:ident: $kind:ident, $prefix:literal;)*) => { $(
        pub(crate) fn $function() -> impl TypedValueParser<Value = v1::$kind> {
            let members = (1..).map_while(|number| v1::$kind::try_from(number).ok());
            let words = members.map(|member| possible(word(member.as_str_name(), $prefix)));
            PossibleValuesParser::new(words).try_map(|text| {
                let name = format!("{}{}", $prefix, text.replace('-', "_").to_ascii_uppercase());
                v1::$kind::from_str_name(&name).ok_or_else(|| format!("{text:?} is not known"))
            })
        }
    )* };
}

parsers! {
    feature_use: FeatureUse, "FEATURE_USE_";
    shaft_end: ShaftEnd, "SHAFT_END_";
    step_system: StepSystem, "STEP_SYSTEM_";
    built_up: BuiltUp, "BUILT_UP_";
    core_grade: CoreGrade, "CORE_GRADE_";
    core_state: CoreState, "CORE_STATE_";
    decision_rule: DecisionRule, "DECISION_RULE_";
    extension_standard: ExtensionStandard, "EXTENSION_STANDARD_";
    feature_kind: FeatureKind, "FEATURE_KIND_";
    friction: Friction, "FRICTION_";
    gauge_side: GaugeSide, "GAUGE_SIDE_";
    gauge_state: GaugeState, "GAUGE_STATE_";
    heated_part: HeatedPart, "HEATED_PART_";
    item_kind: ItemKind, "ITEM_KIND_";
    job_state: JobState, "JOB_STATE_";
    key_standard: KeyStandard, "KEY_STANDARD_";
    keyseat_fit: KeyseatFit, "KEYSEAT_FIT_";
    load_class: LoadClass, "LOAD_CLASS_";
    location_kind: LocationKind, "LOCATION_KIND_";
    machine: Machine, "MACHINE_";
    material: Material, "MATERIAL_";
    method: Method, "METHOD_";
    operation_kind: OperationKind, "OPERATION_KIND_";
    owner: OwnerKind, "OWNER_KIND_";
    piece_condition: PieceCondition, "PIECE_CONDITION_";
    piece_state: PieceState, "PIECE_STATE_";
    rebuild_state: RebuildState, "REBUILD_STATE_";
    reject_reason: RejectReason, "REJECT_REASON_";
    reservation_state: ReservationState, "RESERVATION_STATE_";
    ring_kind: RingKind, "RING_KIND_";
    ring_rotation: RingRotation, "RING_ROTATION_";
    running_rule: RunningRule, "RUNNING_RULE_";
    scrap_reason: ScrapReason, "SCRAP_REASON_";
    setting_method: SettingMethod, "SETTING_METHOD_";
    table_kind: TableKind, "TABLE_KIND_";
    work_machine: WorkMachine, "WORK_MACHINE_";
}

/// Reads the answer to "was it built up before" inside a teardown piece.
pub(crate) fn built_up_of(text: &str) -> Result<v1::BuiltUp, String> {
    match text {
        "yes" => Ok(v1::BuiltUp::Yes),
        "no" => Ok(v1::BuiltUp::No),
        "unknown" => Ok(v1::BuiltUp::Unspecified),
        _ => Err(format!("built-up={text} is not known; allowed: yes, no, unknown")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::{Arg, Command};

    fn parsed(text: &str) -> Result<v1::ItemKind, clap::Error> {
        let argument = Arg::new("kind").value_parser(item_kind());
        let command = Command::new("x").arg(argument).try_get_matches_from(["x", text])?;
        Ok(*command.get_one("kind").unwrap())
    }

    #[test]
    fn words_are_the_contracts_names_in_lower_case() {
        assert_eq!(parsed("rolling_bearing").unwrap(), v1::ItemKind::RollingBearing);
        assert_eq!(parsed("retaining-ring").unwrap(), v1::ItemKind::RetainingRing);
        let refused = parsed("unspecified").unwrap_err().to_string();
        assert!(refused.contains("rolling_bearing") && refused.contains("other"), "{refused}");
    }
}
