//! Items and features.

use super::common::{Parsed, class, etag, length, limits, or_unspecified, time, written};
use crate::app::catalogue::{CreateItem, SetFeature, UpdateItem};
use crate::grpc::check::{Check, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::ids::FeatureId;
use tenths_domain::item::{Feature, Side, Tolerance};
use tenths_domain::substitution::SetSize;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_proto::v1 as pb;
use tenths_proto::v1::feature::Tolerance as WireTolerance;
use tenths_storage::{Item, ItemFeature};

/// Most features of one item.
const FEATURES_MAX: usize = 40;

/// An item to be added.
pub fn create_item(wire: &pb::CreateItemRequest) -> Parsed<CreateItem> {
    let mut check = Check::new();
    let request = meta(&mut check, "CreateItem", &wire.request_id, &wire.person, wire);
    let Some(item) = &wire.item else {
        check.refuse("item", "it is not given");
        return Err(check.into_error());
    };
    let code = check.tag("item.code", &item.code);
    let kind = check.required_enum("item.kind", item.kind);
    let designation = check.optional_tag("item.designation", &item.designation).unwrap_or_default();
    let description = match designation.as_str() {
        // The number of a bearing says what it is.
        number if !number.is_empty() && item.description.trim().is_empty() => {
            format!("rolling bearing {number}")
        }
        _ => check.text("item.description", &item.description, TEXT_MAX),
    };
    let material = check.optional_enum("item.material", item.material);
    check.list_length("item.features", item.features.len(), 0, FEATURES_MAX);
    let mut features: Vec<ItemFeature> = Vec::new();
    for (index, wire) in item.features.iter().take(FEATURES_MAX).enumerate() {
        let field = format!("item.features[{index}]");
        if features.iter().any(|known| known.feature.name == wire.name) {
            check.refuse(&format!("{field}.name"), format!("{:?} is named twice", wire.name));
        }
        features.extend(feature(&mut check, &field, wire));
    }
    let set = set_size(&mut check, "item.set_of", item.set_of);
    let no_substitute = item.no_substitute;
    let Some(kind) = kind else { return Err(check.into_error()) };
    check.finish()?;
    let item =
        CreateItem { code, kind, description, designation, material, set, no_substitute, features };
    Ok((request, item))
}

/// An item's new words.
pub fn update_item(wire: &pb::UpdateItemRequest) -> Parsed<UpdateItem> {
    let mut check = Check::new();
    let request = meta(&mut check, "UpdateItem", &wire.request_id, &wire.person, wire);
    let command = UpdateItem {
        code: check.tag("code", &wire.code),
        etag: check.etag("etag", &wire.etag),
        description: check.text("description", &wire.description, TEXT_MAX),
        designation: check.optional_tag("designation", &wire.designation).unwrap_or_default(),
        material: check.optional_enum("material", wire.material),
        set: set_size(&mut check, "set_of", wire.set_of),
        no_substitute: wire.no_substitute,
    };
    check.finish()?;
    Ok((request, command))
}

/// How many make a set; 0 is not said, and then a part stands alone.
fn set_size(check: &mut Check, field: &str, count: i32) -> SetSize {
    SetSize::new(i64::from(count).max(i64::from(count == 0))).unwrap_or_else(|error| {
        check.refuse(field, error.to_string());
        SetSize::ONE
    })
}

/// A feature to be added or replaced.
pub fn set_feature(wire: &pb::SetFeatureRequest) -> Parsed<SetFeature> {
    let mut check = Check::new();
    let request = meta(&mut check, "SetFeature", &wire.request_id, &wire.person, wire);
    let item_code = check.tag("item_code", &wire.item_code);
    let etag = check.etag("etag", &wire.etag);
    let parsed = match &wire.feature {
        Some(wire) => feature(&mut check, "feature", wire),
        None => {
            check.refuse("feature", "it is not given");
            None
        }
    };
    let Some(feature) = parsed else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, SetFeature { item_code, etag, feature }))
}

/// A feature; none only if refused.
fn feature(check: &mut Check, field: &str, wire: &pb::Feature) -> Option<ItemFeature> {
    let at = |name: &str| format!("{field}.{name}");
    let name = check.feature_name(&at("name"), &wire.name);
    let kind = check.required_enum(&at("kind"), wire.kind);
    let nominal = check.length(&at("nominal"), wire.nominal.as_ref());
    let tolerance = tolerance(check, field, wire.tolerance.as_ref());
    let mut optional = |name: &str, wire: &Option<pb::Length>| {
        check.optional_length(&at(name), wire.as_ref()).map(|entry| entry.length)
    };
    let wear_limit = optional("wear_limit", &wire.wear_limit);
    let recondition_limit = optional("recondition_limit", &wire.recondition_limit);
    let out_of_round_limit = optional("out_of_round_limit", &wire.out_of_round_limit);
    let taper_limit = optional("taper_limit", &wire.taper_limit);
    let reference_station =
        check.optional_station(&at("reference_station"), &wire.reference_station);
    let limit_source = check.optional_text(&at("limit_source"), &wire.limit_source, TEXT_MAX);
    let nominal: Entry = nominal?;
    let feature = Feature {
        name,
        kind: kind?,
        nominal: nominal.length,
        tolerance: tolerance?,
        wear_limit,
        recondition_limit,
        out_of_round_limit,
        taper_limit,
        reference_station,
        limit_source,
    };
    if let Err(error) = feature.limits() {
        check.refuse(&at("tolerance"), error.to_string());
        return None;
    }
    if let Err((name, problem)) = plausible(&feature, nominal.unit) {
        check.refuse(&at(name), problem);
        return None;
    }
    Some(ItemFeature {
        id: FeatureId(0),
        nominal_text: nominal.text,
        nominal_unit: nominal.unit,
        feature,
    })
}

/// Limits that no part of that size has are slips: of unit, of digits, or of side.
fn plausible(feature: &Feature, unit: Unit) -> Result<(), (&'static str, String)> {
    let tenth = Length::from_nm(feature.nominal.nm() / 10);
    let shown = |limit: Length| limit.display_in(unit);
    let allowed = format!("a tenth of the nominal size, {}", shown(tenth));
    let widths = [
        ("wear_limit", feature.wear_limit),
        ("out_of_round_limit", feature.out_of_round_limit),
        ("taper_limit", feature.taper_limit),
    ];
    for (name, limit) in widths {
        if let Some(limit) = limit.filter(|limit| *limit > tenth) {
            return Err((name, format!("it is {}; allowed is at most {allowed}", shown(limit))));
        }
    }
    if let Tolerance::Explicit(limits) = &feature.tolerance {
        for limit in [limits.lower, limits.upper] {
            if (limit - feature.nominal).abs() > tenth {
                return Err((
                    "limits",
                    format!("{} is off nominal by more than {allowed}", shown(limit)),
                ));
            }
        }
    }
    let (half, twice) = (feature.nominal.nm() / 2, feature.nominal.nm() * 2);
    let (is_worn, side) = match (feature.kind.side(), feature.recondition_limit) {
        (_, None) => return Ok(()),
        (Side::External, Some(limit)) => (
            limit < feature.nominal && limit.nm() > half,
            "below the nominal size and over half of it",
        ),
        (Side::Internal, Some(limit)) => (
            limit > feature.nominal && limit.nm() < twice,
            "above the nominal size and under twice of it",
        ),
    };
    let given = feature.recondition_limit.map(shown).unwrap_or_default();
    if is_worn {
        Ok(())
    } else {
        Err(("recondition_limit", format!("it is {given}; allowed is {side}")))
    }
}

fn tolerance(check: &mut Check, field: &str, wire: Option<&WireTolerance>) -> Option<Tolerance> {
    match wire {
        None => Some(Tolerance::None),
        Some(WireTolerance::ToleranceClass(text)) => {
            let class = class(check, &format!("{field}.tolerance_class"), text)?;
            Some(class.map_or(Tolerance::None, Tolerance::Class))
        }
        Some(WireTolerance::RingClass(text)) => match text.parse::<ToleranceClass>() {
            Ok(class) => Some(Tolerance::Iso492(class)),
            Err(error) => {
                check.refuse(&format!("{field}.ring_class"), error.to_string());
                None
            }
        },
        Some(WireTolerance::Limits(wire)) => {
            let field = format!("{field}.limits.");
            let (limits, _) = limits(check, &field, wire.lower.as_ref(), wire.upper.as_ref())?;
            Some(Tolerance::Explicit(limits))
        }
    }
}

/// An item outward.
pub fn item(item: Item) -> pb::Item {
    pb::Item {
        code: item.code,
        kind: item.kind.to_wire(),
        description: item.description,
        designation: item.designation,
        material: or_unspecified(item.material),
        features: item.features.iter().map(feature_out).collect(),
        set_of: i32::try_from(item.set.count()).unwrap_or(1),
        no_substitute: item.no_substitute,
        etag: etag(item.revision),
        create_time: Some(time(item.created_at)),
    }
}

fn feature_out(stored: &ItemFeature) -> pb::Feature {
    let feature = &stored.feature;
    // Lengths of a feature are spoken of in the unit of its nominal size.
    let unit: Unit = stored.nominal_unit;
    let shown = |limit: Option<_>| limit.map(|limit| length(limit, unit));
    pb::Feature {
        name: feature.name.clone(),
        kind: feature.kind.to_wire(),
        nominal: Some(written(&stored.nominal_text, unit, feature.nominal)),
        tolerance: match &feature.tolerance {
            Tolerance::None => None,
            Tolerance::Class(class) => Some(WireTolerance::ToleranceClass(class.to_string())),
            Tolerance::Iso492(class) => Some(WireTolerance::RingClass(class.to_string())),
            Tolerance::Explicit(limits) => Some(WireTolerance::Limits(pb::SizeLimits {
                lower: Some(length(limits.lower, unit)),
                upper: Some(length(limits.upper, unit)),
            })),
        },
        wear_limit: shown(feature.wear_limit),
        recondition_limit: shown(feature.recondition_limit),
        out_of_round_limit: shown(feature.out_of_round_limit),
        taper_limit: shown(feature.taper_limit),
        reference_station: feature.reference_station.clone().unwrap_or_default(),
        limit_source: feature.limit_source.clone(),
    }
}
