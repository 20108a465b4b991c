//! `tenths item ...`: the catalogue.

use crate::args::{FeatureSet, ItemAdd, ItemCommand, ItemUpdate, LimitField};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::{Failure, broken_answer};
use crate::paging;
use tenths_proto::v1::catalogue_service_client::CatalogueServiceClient;
use tenths_proto::v1::feature::Tolerance;
use tenths_proto::v1::{self, Feature, Item};

pub(crate) async fn run(session: &mut Session, command: ItemCommand) -> Result<(), Failure> {
    match command {
        ItemCommand::Add(arguments) => add(session, arguments).await,
        ItemCommand::Show { code } => {
            let request = v1::GetItemRequest { code };
            let answer = rpc!(session, CatalogueServiceClient.get_item(request))?;
            session.printer.record(&answer, "item")
        }
        ItemCommand::List { kind, paging } => {
            let kind = kind.unwrap_or_default().into();
            let request = v1::ListItemsRequest { kind, ..Default::default() };
            paging::list(session, &paging, request, "items", async |session, request| {
                rpc!(session, CatalogueServiceClient.list_items(request))
            })
            .await
        }
        ItemCommand::Update(arguments) => update(session, arguments).await,
        ItemCommand::Feature(arguments) => set_feature(session, *arguments).await,
        ItemCommand::WearLimit { code, feature, limit, source, etag } => {
            let wear_limit = Some(limit);
            let arguments =
                FeatureSet { code, feature, wear_limit, source, etag, ..Default::default() };
            set_feature(session, arguments).await
        }
    }
}

async fn add(session: &mut Session, arguments: ItemAdd) -> Result<(), Failure> {
    let item = Item {
        code: arguments.code,
        kind: arguments.kind.into(),
        description: arguments.description,
        designation: arguments.designation,
        material: arguments.material.unwrap_or_default().into(),
        set_of: arguments.set_of,
        no_substitute: arguments.no_substitute,
        ..Item::default()
    };
    let request = v1::CreateItemRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        item: Some(item),
    };
    let answer = rpc!(session, CatalogueServiceClient.create_item(request))?;
    session.printer.record(&answer, "item")
}

async fn update(session: &mut Session, arguments: ItemUpdate) -> Result<(), Failure> {
    let person = session.context.person()?;
    let item = read(session, &arguments.code).await?;
    let request = v1::UpdateItemRequest {
        request_id: session.context.request_id(),
        person,
        etag: arguments.etag.unwrap_or(item.etag),
        code: arguments.code,
        description: arguments.description.unwrap_or(item.description),
        designation: arguments.designation.unwrap_or(item.designation),
        material: arguments.material.map_or(item.material, i32::from),
        set_of: arguments.set_of.unwrap_or(item.set_of),
        no_substitute: arguments.no_substitute.unwrap_or(item.no_substitute),
    };
    let answer = rpc!(session, CatalogueServiceClient.update_item(request))?;
    session.printer.rows(&answer, &["item"])
}

async fn set_feature(session: &mut Session, arguments: FeatureSet) -> Result<(), Failure> {
    let person = session.context.person()?;
    let item = read(session, &arguments.code).await?;
    let known = item.features.into_iter().find(|feature| feature.name == arguments.feature);
    let request = v1::SetFeatureRequest {
        request_id: session.context.request_id(),
        person,
        etag: arguments.etag.clone().unwrap_or(item.etag),
        item_code: arguments.code.clone(),
        feature: Some(changed(known.unwrap_or_default(), arguments, &session.context)?),
    };
    let answer = rpc!(session, CatalogueServiceClient.set_feature(request))?;
    session.printer.record(&answer, "item")
}

async fn read(session: &Session, code: &str) -> Result<Item, Failure> {
    let request = v1::GetItemRequest { code: code.to_owned() };
    let answer = rpc!(session, CatalogueServiceClient.get_item(request))?;
    answer.item.ok_or_else(|| broken_answer("item"))
}

/// The feature as it is known, with what the arguments give put over it.
fn changed(known: Feature, arguments: FeatureSet, context: &Context) -> Result<Feature, Failure> {
    let mut feature = without(known, &arguments.clear);
    let size = |flag, text: &Option<String>| context.size_if_given(flag, text.as_deref());
    let tolerance = tolerance_of(&arguments, context)?;
    feature.kind = arguments.kind.map_or(feature.kind, i32::from);
    feature.tolerance = tolerance.or(feature.tolerance);
    feature.nominal = size("--nominal", &arguments.nominal)?.or(feature.nominal);
    feature.wear_limit = size("--wear-limit", &arguments.wear_limit)?.or(feature.wear_limit);
    feature.recondition_limit =
        size("--recondition-limit", &arguments.recondition_limit)?.or(feature.recondition_limit);
    feature.out_of_round_limit =
        size("--out-of-round-limit", &arguments.out_of_round_limit)?.or(feature.out_of_round_limit);
    feature.taper_limit = size("--taper-limit", &arguments.taper_limit)?.or(feature.taper_limit);
    feature.name = arguments.feature;
    feature.reference_station = arguments.reference_station.unwrap_or(feature.reference_station);
    feature.limit_source = arguments.source.unwrap_or(feature.limit_source);
    Ok(feature)
}

fn tolerance_of(arguments: &FeatureSet, context: &Context) -> Result<Option<Tolerance>, Failure> {
    if let (Some(lower), Some(upper)) = (&arguments.lower, &arguments.upper) {
        return Ok(Some(Tolerance::Limits(v1::SizeLimits {
            lower: Some(context.size("--lower", lower)?),
            upper: Some(context.size("--upper", upper)?),
        })));
    }
    let class = arguments.class.clone().map(Tolerance::ToleranceClass);
    Ok(class.or_else(|| arguments.ring_class.clone().map(Tolerance::RingClass)))
}

fn without(mut feature: Feature, cleared: &[LimitField]) -> Feature {
    for field in cleared {
        match field {
            LimitField::Tolerance => feature.tolerance = None,
            LimitField::WearLimit => feature.wear_limit = None,
            LimitField::ReconditionLimit => feature.recondition_limit = None,
            LimitField::OutOfRoundLimit => feature.out_of_round_limit = None,
            LimitField::TaperLimit => feature.taper_limit = None,
            LimitField::ReferenceStation => feature.reference_station.clear(),
        }
    }
    feature
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(value: &str) -> Option<v1::Length> {
        Some(v1::Length { value: value.into(), unit: v1::LengthUnit::Mm.into(), nm: 0 })
    }

    fn known() -> Feature {
        Feature {
            name: "seat-a".into(),
            kind: v1::FeatureKind::RollingSeat.into(),
            nominal: mm("25"),
            tolerance: Some(Tolerance::ToleranceClass("k5".into())),
            wear_limit: mm("0.01"),
            reference_station: "R".into(),
            limit_source: "shop practice".into(),
            ..Default::default()
        }
    }

    fn arguments() -> FeatureSet {
        FeatureSet { code: "SHAFT-40".into(), feature: "seat-a".into(), ..Default::default() }
    }

    /// The rpc replaces the whole feature: whatever is not given must go back as it was.
    #[test]
    fn what_is_not_given_stays() {
        let same = changed(known(), arguments(), &Context::of_mara()).unwrap();
        assert_eq!(same, known());
        let arguments = FeatureSet {
            wear_limit: Some("0.02mm".into()),
            source: Some("maker's print".into()),
            lower: Some("24.990mm".into()),
            upper: Some("25.000mm".into()),
            ..arguments()
        };
        let expected = Feature {
            wear_limit: mm("0.02"),
            limit_source: "maker's print".into(),
            tolerance: Some(Tolerance::Limits(v1::SizeLimits {
                lower: mm("24.990"),
                upper: mm("25.000"),
            })),
            ..known()
        };
        assert_eq!(changed(known(), arguments, &Context::of_mara()).unwrap(), expected);
    }

    #[test]
    fn a_new_feature_takes_its_name_and_what_is_given() {
        let arguments = FeatureSet {
            kind: Some(v1::FeatureKind::Bore),
            nominal: Some("25mm".into()),
            ring_class: Some("normal".into()),
            ..arguments()
        };
        let feature = changed(Feature::default(), arguments, &Context::of_mara()).unwrap();
        assert_eq!((feature.name.as_str(), feature.kind()), ("seat-a", v1::FeatureKind::Bore));
        assert_eq!(feature.tolerance, Some(Tolerance::RingClass("normal".into())));
    }

    #[test]
    fn cleared_limits_are_gone() {
        let clear =
            vec![LimitField::Tolerance, LimitField::WearLimit, LimitField::ReferenceStation];
        let feature =
            changed(known(), FeatureSet { clear, ..arguments() }, &Context::of_mara()).unwrap();
        assert_eq!((&feature.tolerance, &feature.wear_limit), (&None, &None));
        assert_eq!((feature.reference_station.as_str(), feature.nominal), ("", mm("25")));
    }
}
