//! What is known of a worn feature: its readings, its item, and what a person adds.

use crate::app::act::View;
use crate::app::error::Error;
use crate::app::judging::{Judging, effective_feature, shown_unit, standing};
use crate::app::lookup::feature_of;
use tenths_domain::fit::{CloseIn, Requirement};
use tenths_domain::item::{Feature, Side};
use tenths_domain::measure::{self, Basis};
use tenths_domain::options::{Replacement, StrengthDemand, WornFeature};
use tenths_domain::policy::{FeatureUse, Hrc, Noted, Policy, ShaftEnd, StepSystem};
use tenths_domain::state::ScrapReason;
use tenths_domain::units::{Length, Unit};
use tenths_storage::{Item, ItemFeature, Piece, PieceSize, Reading};

/// What a person knows of a worn feature beside its readings; what is absent is not known.
#[derive(Clone, Debug)]
pub struct WornDetails {
    /// What it is used for, where the kind alone does not say.
    pub used_as: Option<FeatureUse>,
    /// Run-out on the part's centres, as total indicator reading.
    pub run_out_tir: Option<Length>,
    /// The deepest score or pit, PER SIDE.
    pub score_depth_per_side: Option<Length>,
    /// Hardness; none takes the piece's own.
    pub hardness: Option<Hrc>,
    /// Which end of the shaft it is at.
    pub end: Option<ShaftEnd>,
    /// Whether a keyway or thread runs through the place.
    pub has_keyway: bool,
    /// What the shaft must bear.
    pub demand: StrengthDemand,
    /// The largest that a bore may be opened to.
    pub bore_max: Option<Length>,
    /// The next wider key.
    pub next_key_width: Option<Length>,
    /// Why a person has condemned the part.
    pub condemned: Option<ScrapReason>,
    /// Which steps it is ground to; none goes by the unit of the item.
    pub steps: Option<StepSystem>,
    /// What another part would cost.
    pub replacement: Replacement,
    /// What the fit with its mate must be.
    pub mate_fit: Option<Requirement>,
    /// How much the bore of a bushing closes in.
    pub close_in: Option<CloseIn>,
}

/// A worn feature that is asked about.
#[derive(Clone, Debug)]
pub struct AskedRepairs {
    /// The piece.
    pub piece_tag: String,
    /// The feature.
    pub feature: String,
    /// What is known of it beside its readings.
    pub details: WornDetails,
    /// The station that does not wear, where the item names none.
    pub reference_station: Option<String>,
    /// The unit of the sentences; none takes that of the readings.
    pub text_unit: Option<Unit>,
}

/// A worn feature with everything that is known of it.
#[derive(Clone, Debug)]
pub(super) struct Worn {
    pub(super) piece: Piece,
    pub(super) item: Item,
    pub(super) feature: ItemFeature,
    pub(super) size: PieceSize,
    pub(super) worn: WornFeature,
    /// The policy, its steps counted from the size that the feature has now.
    pub(super) policy: Policy,
    pub(super) unit: Unit,
    pub(super) notes: Vec<String>,
    /// The gauge found wrong that measured it, if one did.
    pub(super) doubted_gauge: Option<String>,
}

/// Looks a worn feature up.
pub(super) async fn look(
    view: View<'_>,
    asked: &AskedRepairs,
    policy: Policy,
) -> Result<Worn, Error> {
    let piece = view.find_piece(&asked.piece_tag).await?;
    let item = view.item_of(&piece).await?;
    let feature = feature_of(&item, &asked.feature)?.clone();
    check_use(&feature.feature, &asked.details)?;
    check_amounts(&feature, &asked.details)?;
    let size = view.tx.piece_size(piece.id, feature.id).await?;
    let readings = standing(view.tx.readings_of(piece.id, feature.id).await?, size.round);
    if readings.is_empty() {
        let name = &feature.feature.name;
        let description = format!("{} {name} has no readings: measure it first", piece.tag);
        return Err(Error::forbidden("NOT_MEASURED", piece.tag, description));
    }
    let judged = effective_feature(&feature.feature, &size);
    let judging =
        Judging { piece: &piece, feature: feature.id, judged: &judged, readings: &readings };
    let own = feature.feature.limits().ok().flatten().map(|(limits, _)| limits);
    let worn = WornFeature {
        new_limits: own.filter(|_| size.target.is_some()),
        ..worn_feature(&judging, asked, feature.nominal_unit)?
    };
    let unit = asked.text_unit.unwrap_or_else(|| shown_unit(&readings));
    let (policy, mut notes) = after_rework(policy, &feature.feature, &size, unit);
    notes.extend(overdue(&readings));
    let doubted_gauge = doubted(view, &readings).await?;
    notes.extend(doubted_gauge.iter().map(|tag| {
        format!("gauge {tag} was found wrong: measure again with another before deciding")
    }));
    Ok(Worn { piece, item, feature, size, worn, policy, unit, notes, doubted_gauge })
}

fn check_use(feature: &Feature, details: &WornDetails) -> Result<(), Error> {
    let Some(used_as) = details.used_as.filter(|used_as| used_as.kind() != feature.kind) else {
        return Ok(());
    };
    let fitting = FeatureUse::ALL.iter().filter(|one| one.kind() == feature.kind);
    let fitting: Vec<&str> = fitting.map(|one| one.as_str()).collect();
    let allowed = if fitting.is_empty() { "nothing".to_owned() } else { fitting.join(", ") };
    let problem =
        format!("{} is a {}, not a {used_as}; allowed: {allowed}", feature.name, feature.kind);
    Err(Error::invalid("details.use", problem))
}

/// A depth or a size that no such feature can have is a slip of the pen: another unit, or a point.
fn check_amounts(feature: &ItemFeature, details: &WornDetails) -> Result<(), Error> {
    let (nominal, unit) = (feature.feature.nominal, feature.nominal_unit);
    let [half, quarter] = [2, 4].map(|parts| Length::from_nm(nominal.nm() / parts));
    let limits = feature.feature.limits().ok().flatten().map(|(limits, _)| limits.upper);
    let full = limits.map_or(nominal, |upper| upper.max(nominal));
    let demand = &details.demand;
    for (field, given, most) in [
        ("run_out", details.run_out_tir, half),
        ("score_depth_per_side", details.score_depth_per_side, quarter),
        ("case_depth_per_side", demand.case_depth_per_side, half),
        ("case_left_min_per_side", Some(demand.case_left_min_per_side), half),
        ("shoulder_min", demand.shoulder_min, full),
        ("plating_min", demand.plating_min, full),
        ("stated_min", demand.stated_min, full),
    ] {
        if let Some(given) = given.filter(|given| *given > most) {
            let [given, most, size] = [given, most, nominal].map(|one| one.display_in(unit));
            let problem = format!(
                "{given} on a feature of {size}; allowed: up to {most}. Is the unit right, and the \
                 point?"
            );
            return Err(Error::invalid(format!("details.{field}"), problem));
        }
    }
    Ok(())
}

fn worn_feature(
    judging: &Judging<'_>,
    asked: &AskedRepairs,
    nominal_unit: Unit,
) -> Result<WornFeature, Error> {
    let mut basis = Basis::of(judging.judged);
    if let Some(station) = &asked.reference_station {
        basis.reference_station = Some(station.clone());
    }
    let tag = || judging.piece.tag.clone();
    let refused = |error: String| Error::forbidden("NOT_MEASURED", tag(), error);
    let found = measure::assess(&judging.domain_readings()?, &basis)
        .map_err(|error| refused(error.to_string()))?;
    let known = WornFeature::of(judging.judged, &found)
        .map_err(|error| Error::forbidden("LIMITS", tag(), error.to_string()))?;
    let details = &asked.details;
    let by_unit = match nominal_unit {
        Unit::Inch | Unit::Thou => StepSystem::Inch,
        Unit::Millimetre | Unit::Micrometre => StepSystem::Metric,
    };
    let side = judging.judged.kind.side();
    Ok(WornFeature {
        used_as: details.used_as,
        run_out_tir: details.run_out_tir,
        score_depth_per_side: details.score_depth_per_side,
        built_up: judging.piece.built_up,
        hardness: details.hardness.or_else(|| Hrc::parse(&judging.piece.hardness).ok()),
        end: details.end,
        has_keyway: details.has_keyway,
        demand: StrengthDemand {
            // The stricter of what is stated and what the item says.
            stated_min: known.demand.stated_min.max(details.demand.stated_min),
            ..details.demand.clone()
        },
        bore_max: match (known.bore_max, details.bore_max) {
            (Some(own), Some(said)) => Some(own.min(said)),
            (own, said) => own.or(said).filter(|_| side == Side::Internal),
        },
        next_key_width: details.next_key_width,
        condemned: details.condemned,
        replacement: details.replacement,
        steps: details.steps.unwrap_or(by_unit),
        ..known
    })
}

/// The policy as it goes for a feature that was reconditioned. Its limits of size govern, no wear
/// limit: a wear limit is what service may take off. Where it was reground, steps are those left,
/// counted from the size that it has now, and so is what may still come off, so that the whole never
/// passes what the policy allows.
fn after_rework(
    mut policy: Policy,
    own: &Feature,
    size: &PieceSize,
    unit: Unit,
) -> (Policy, Vec<String>) {
    let limits = own.limits().ok().flatten().map(|(limits, _)| limits);
    if size.round > 0 && size.target.or(limits).is_some() {
        policy.features.iter_mut().for_each(|entry| entry.wear_limit = None);
    }
    let Some(target) = size.target else { return (policy, Vec::new()) };
    // Counted between the sizes at which there is most material, as steps are.
    let (from, now, gone) = match own.kind.side() {
        Side::External => {
            let from = limits.map_or(own.nominal, |limits| limits.upper);
            (from, target.upper, from - target.upper)
        }
        Side::Internal => {
            let from = limits.map_or(own.nominal, |limits| limits.lower);
            (from, target.lower, target.lower - from)
        }
    };
    if gone <= Length::ZERO {
        return (policy, Vec::new());
    }
    for steps in [&mut policy.inch_steps, &mut policy.metric_steps] {
        let left = steps.value.iter().filter(|step| **step > gone).map(|step| *step - gone);
        steps.value = left.collect();
    }
    for entry in &mut policy.features {
        let left =
            |most: Noted<Length>| Noted { value: (most.value - gone).max(Length::ZERO), ..most };
        entry.stock_removal_max = entry.stock_removal_max.take().map(left);
    }
    let [now, gone, from] = [now, gone, from].map(|length| length.display_in(unit));
    let note = format!(
        "reconditioned before, to {now}: steps are counted from that size, {gone} under the item's \
         own {from}"
    );
    (policy, vec![note])
}

fn overdue(readings: &[Reading]) -> Option<String> {
    let is_overdue = readings.iter().any(|reading| reading.gauge_overdue);
    is_overdue.then(|| "a gauge was past its calibration date when it was read".to_owned())
}

async fn doubted(view: View<'_>, readings: &[Reading]) -> Result<Option<String>, Error> {
    let wrong = view.tx.gauges_found_wrong().await?;
    Ok(readings.iter().find_map(|reading| wrong.get(&reading.gauge)).cloned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use tenths_domain::ids::{FeatureId, PieceId};
    use tenths_domain::item::{FeatureKind, Limits, Tolerance};

    fn inches(tenths: i64) -> Length {
        Length::from_nm(tenths * 2_540)
    }

    fn limits(lower: i64, upper: i64) -> Limits {
        Limits { lower: inches(lower), upper: inches(upper) }
    }

    /// A journal of 0.7500 in that is made from 0.7490 to 0.7502 in.
    fn journal() -> Feature {
        Feature {
            name: "disc".to_owned(),
            kind: FeatureKind::Journal,
            nominal: inches(7_500),
            tolerance: Tolerance::Explicit(limits(7_490, 7_502)),
            wear_limit: None,
            recondition_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            reference_station: None,
            limit_source: String::new(),
        }
    }

    fn after(round: i64, target: Option<Limits>) -> (Policy, Vec<String>) {
        let unmeasured = PieceSize::unmeasured(PieceId(1), FeatureId(1));
        let size = PieceSize { round, target, ..unmeasured };
        after_rework(Policy::common_practice(), &journal(), &size, Unit::Inch)
    }

    fn has_wear_limit(policy: &Policy) -> bool {
        policy.features.iter().any(|entry| entry.wear_limit.is_some())
    }

    #[test]
    fn what_was_never_reconditioned_goes_by_the_policy_as_it_is() {
        let (policy, notes) = after(0, None);
        assert_eq!(policy, Policy::common_practice());
        assert!(has_wear_limit(&policy));
        assert_eq!(notes, Vec::<String>::new());
    }

    #[test]
    fn what_was_reground_has_the_steps_left_and_no_wear_limit() {
        let (policy, notes) = after(1, Some(limits(7_390, 7_402)));
        assert_eq!(policy.inch_steps.value, [inches(100), inches(200)]);
        assert!(!has_wear_limit(&policy));
        assert!(notes[0].contains("0.0100 in under the item's own 0.7502 in"), "{notes:?}");
    }

    #[test]
    fn what_was_built_back_to_its_own_limits_has_every_step_and_no_wear_limit() {
        let (policy, notes) = after(1, None);
        assert_eq!(policy.inch_steps, Policy::common_practice().inch_steps);
        assert!(!has_wear_limit(&policy) && notes.is_empty());
    }
}
