//! What is known of a worn feature: its readings, its item, and what a person adds.

use crate::app::act::View;
use crate::app::error::Error;
use crate::app::judging::{Judging, check_reference, effective_feature, shown_unit, standing};
use crate::app::lookup::feature_of;
use crate::app::reconditioning::{Rejected, rejected};
use crate::app::stock::place_of;
use tenths_domain::fit::{CloseIn, Requirement};
use tenths_domain::item::{Feature, FeatureKind, Limits, Side};
use tenths_domain::options::{Replacement, StrengthDemand, WornFeature};
use tenths_domain::policy::{FeatureUse, Hrc, Policy, ShaftEnd, StepSystem};
use tenths_domain::state::ScrapReason;
use tenths_domain::strength::AllowableShear;
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

impl WornDetails {
    /// Nothing known.
    pub(super) fn unknown() -> Self {
        WornDetails {
            used_as: None,
            run_out_tir: None,
            score_depth_per_side: None,
            hardness: None,
            end: None,
            has_keyway: false,
            demand: StrengthDemand::UNKNOWN,
            bore_max: None,
            next_key_width: None,
            condemned: None,
            steps: None,
            replacement: Replacement::default(),
            mate_fit: None,
            close_in: None,
        }
    }
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
    place_of(&piece)?;
    let item = view.item_of(&piece).await?;
    let feature = feature_of(&item, &asked.feature)?.clone();
    check_use(&feature.feature, &asked.details)?;
    check_sense(&feature, &asked.details)?;
    check_amounts(&feature, &asked.details)?;
    let size = view.tx.piece_size(piece.id, feature.id).await?;
    let readings = standing(view.tx.readings_of(piece.id, feature.id).await?, size.round);
    if readings.is_empty() {
        let name = &feature.feature.name;
        let description = format!("{} {name} has no readings: measure it first", piece.tag);
        return Err(Error::forbidden("NOT_MEASURED", piece.tag, description));
    }
    let judged = effective_feature(&feature.feature, &size);
    check_reference(asked.reference_station.as_deref(), &readings)?;
    let judging = Judging {
        piece: &piece,
        feature: feature.id,
        judged: &judged,
        is_reground: size.target.is_some(),
        readings: &readings,
    };
    let rejected = rejected(view, &piece, None).await?;
    let mut worn = worn_feature(&judging, &item, asked, feature.nominal_unit)?;
    worn.condemned = worn.condemned.or(rejected.as_ref().and_then(Rejected::condemns));
    let worn = reground(worn, &feature.feature, &size);
    let unit = asked.text_unit.unwrap_or_else(|| shown_unit(&readings));
    let own = feature.feature.known_limits();
    let policy = after_rework(policy, own, &size);
    let mut notes: Vec<String> = rejected.map(|found| found.words).into_iter().collect();
    if worn.undersize > Length::ZERO {
        let undersize = worn.undersize.display_in(unit);
        notes.push(format!("ground {undersize} undersize before: the steps beyond that are left"));
    }
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
    let limits = feature.feature.known_limits().map(|limits| limits.upper);
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

/// What means nothing for such a place, or contradicts itself, is not taken and dropped.
fn check_sense(feature: &ItemFeature, details: &WornDetails) -> Result<(), Error> {
    let (feature, unit) = (&feature.feature, feature.nominal_unit);
    let StrengthDemand { allowable, keyway, .. } = details.demand;
    let demand = &details.demand;
    let is_shaft = feature.kind.side() == Side::External;
    let is_keyseat = feature.kind == FeatureKind::Keyseat;
    let sides = (demand.case_depth_per_side, demand.case_left_min_per_side);
    let wide = keyway.is_some_and(|way| way.width >= feature.nominal);
    let deep = keyway.is_some_and(|way| way.depth + way.depth >= feature.nominal);
    let weak = matches!(allowable, AllowableShear::OfStrength { yield_mpa, ultimate_mpa, .. }
        if yield_mpa > ultimate_mpa);
    let narrow = |next: Length| next <= feature.nominal || next > feature.nominal + feature.nominal;
    for (field, is_wrong, problem) in [
        ("bore_max", details.bore_max.is_some() && is_shaft, "is for a bore"),
        ("next_key_width", details.next_key_width.is_some() && !is_keyseat, "is for a keyseat"),
        (
            "next_key_width",
            details.next_key_width.is_some_and(narrow),
            "allowed: more than the width of the keyseat, up to twice that",
        ),
        (
            "load",
            *demand != StrengthDemand::UNKNOWN && !is_shaft,
            "load, case depth, shoulder and smallest diameters are for a shaft",
        ),
        ("load.keyway_width", wide, "allowed: less than the diameter"),
        ("load.keyway_depth", deep, "allowed: less than half of the diameter"),
        ("load.yield_mpa", weak, "allowed: at most the tensile strength"),
        (
            "case_left_min_per_side",
            sides.0.is_some_and(|depth| sides.1 > depth),
            "allowed: at most the depth of the case",
        ),
    ] {
        if is_wrong {
            let nominal = feature.nominal.display_in(unit);
            let problem = format!("{problem}; {} is a {} of {nominal}", feature.name, feature.kind);
            return Err(Error::invalid(format!("details.{field}"), problem));
        }
    }
    Ok(())
}

fn worn_feature(
    judging: &Judging<'_>,
    item: &Item,
    asked: &AskedRepairs,
    nominal_unit: Unit,
) -> Result<WornFeature, Error> {
    let (found, _) = judging.assess(asked.reference_station.as_deref())?;
    let known = WornFeature::of(judging.judged, &found).map_err(|error| {
        Error::forbidden("LIMITS", judging.piece.tag.clone(), error.to_string())
    })?;
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
        material: judging.piece.material.or(item.material),
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

/// The policy as it goes for a feature that was reconditioned: its limits of size govern, no wear
/// limit, since a wear limit is what service may take off.
fn after_rework(mut policy: Policy, own: Option<Limits>, size: &PieceSize) -> Policy {
    if size.round > 0 && size.target.or(own).is_some() {
        policy.features.iter_mut().for_each(|entry| entry.wear_limit = None);
    }
    policy
}

/// What a worn feature that was reground is beside one that was not: it is built up to its size when
/// new, and its steps and what may come off are counted from there. Below zero it is no undersize.
fn reground(worn: WornFeature, own: &Feature, size: &PieceSize) -> WornFeature {
    let Some(target) = size.target else { return worn };
    let new_limits = own.known_limits();
    // Between the sizes at which there is most material, as steps are.
    let undersize = match own.kind.side() {
        Side::External => new_limits.map_or(own.nominal, |new| new.upper) - target.upper,
        Side::Internal => target.lower - new_limits.map_or(own.nominal, |new| new.lower),
    };
    let is_keyseat = own.kind == FeatureKind::Keyseat;
    WornFeature {
        new_limits,
        new_nominal: if is_keyseat { key_width(own, target, new_limits) } else { own.nominal },
        undersize: Some(undersize)
            .filter(|undersize| *undersize > Length::ZERO && !is_keyseat)
            .unwrap_or_default(),
        ..worn
    }
}

/// The width of the key that a keyseat takes: one that was cut wider kept its tolerance, one that got
/// a stepped key has the size that it was worn to and still the key that it had.
fn key_width(own: &Feature, target: Limits, new: Option<Limits>) -> Length {
    let width = |limits: Limits| limits.upper - limits.lower;
    match new.filter(|new| width(*new) == width(target)) {
        Some(new) => own.nominal + (target.lower - new.lower),
        None => own.nominal,
    }
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
    use tenths_domain::item::Tolerance;
    use tenths_domain::measure::{self, Basis};

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

    fn size(round: i64, target: Option<Limits>) -> PieceSize {
        PieceSize { round, target, ..PieceSize::unmeasured(PieceId(1), FeatureId(1)) }
    }

    fn has_wear_limit(size: &PieceSize) -> bool {
        let own = Some(limits(7_490, 7_502));
        let policy = after_rework(Policy::common_practice(), own, size);
        policy.features.iter().any(|entry| entry.wear_limit.is_some())
    }

    #[test]
    fn a_wear_limit_is_for_what_was_never_reconditioned() {
        assert!(has_wear_limit(&size(0, None)));
        assert!(!has_wear_limit(&size(1, None)), "built back to its own limits");
        assert!(!has_wear_limit(&size(1, Some(limits(7_390, 7_402)))));
    }

    #[test]
    fn an_undersize_is_counted_between_the_largest_sizes() {
        let reading = measure::Reading {
            station: "A".to_owned(),
            orientation_deg: 0,
            value_at_20c: inches(7_395),
            expanded_uncertainty: measure::ExpandedUncertainty::new(Length::from_nm(1)).unwrap(),
            resolution: Length::ZERO,
        };
        let found = measure::assess(&[reading], &Basis::of(&journal())).unwrap();
        let worn = WornFeature::of(&journal(), &found).unwrap();
        let undersize = |target| reground(worn.clone(), &journal(), &size(1, target)).undersize;
        assert_eq!(undersize(None), Length::ZERO);
        assert_eq!(undersize(Some(limits(7_390, 7_402))), inches(100));
        // Built up over its size: there is no step to be left out.
        assert_eq!(undersize(Some(limits(7_500, 7_510))), Length::ZERO);
    }
}
