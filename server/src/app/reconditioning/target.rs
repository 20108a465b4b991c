//! What a finished size may be.

use super::EnqueueJob;
use crate::app::error::Error;
use tenths_domain::item::{FeatureKind, Limits, Side};
use tenths_domain::policy::{FeatureUse, Policy};
use tenths_domain::state::Method;
use tenths_domain::units::Length;
use tenths_storage::{ItemFeature, Piece, PieceSize};

/// A target must be something that the work can reach and that the owner wants to reach.
pub(super) fn check_target(
    piece: &Piece,
    feature: &ItemFeature,
    size: &PieceSize,
    order: &EnqueueJob,
) -> Result<(), Error> {
    let Some(target) = order.target else { return Ok(()) };
    let shown = |length: Length| length.display_in(order.target_unit);
    let named = format!("{} {}", piece.tag, feature.feature.name);
    check_undersize(feature, target, order)?;
    if let (Method::Regrind | Method::Polish, Side::External, Some(smallest)) =
        (order.method, feature.feature.kind.side(), size.min)
        && target.upper > smallest
    {
        let description = format!(
            "{named} reads {} at its smallest: it does not clean up at {}; \
             the largest finished size must be at most the smallest reading",
            shown(smallest),
            shown(target.upper)
        );
        return Err(Error::forbidden("WILL_NOT_CLEAN_UP", piece.tag.clone(), description));
    }
    if let (Method::Hone | Method::CutKeyseat, Side::Internal, Some(largest)) =
        (order.method, feature.feature.kind.side(), size.max)
        && target.upper < largest
    {
        let description = format!(
            "{named} reads {} at its largest: no cutting makes it {}",
            shown(largest),
            shown(target.upper)
        );
        return Err(Error::forbidden("WILL_NOT_CLEAN_UP", piece.tag.clone(), description));
    }
    if let Some(limit) = feature.feature.recondition_limit {
        let past = match feature.feature.kind.side() {
            Side::External => target.lower < limit,
            Side::Internal => target.upper > limit,
        };
        if past {
            let description = format!(
                "{named} is not reconditioned past {}: {}..{} goes past it",
                shown(limit),
                shown(target.lower),
                shown(target.upper)
            );
            return Err(Error::forbidden("PAST_RECONDITION_LIMIT", piece.tag.clone(), description));
        }
    }
    Ok(())
}

/// What its mate does not adjust to is finished within its own limits, whatever the work is called. A
/// journal, a seal land, a keyseat and the bore of a bushing are made to suit.
fn check_undersize(feature: &ItemFeature, target: Limits, order: &EnqueueJob) -> Result<(), Error> {
    let kind = feature.feature.kind;
    let is_fixed = FeatureUse::of(kind).is_some_and(|used_as| !used_as.may_go_undersize());
    if !is_fixed || kind == FeatureKind::Keyseat {
        return Ok(());
    }
    let nominal = feature.feature.nominal;
    let own = feature.feature.known_limits();
    let is_within = match (own, kind.side()) {
        (Some(own), _) => own.lower <= target.lower && target.upper <= own.upper,
        (None, Side::External) => target.upper >= nominal,
        (None, Side::Internal) => target.lower <= nominal,
    };
    if is_within {
        return Ok(());
    }
    let shown = |length: Length| length.display_in(order.target_unit);
    let allowed = own.map_or_else(
        || shown(nominal),
        |own| format!("{}..{}", shown(own.lower), shown(own.upper)),
    );
    let [lower, upper] = [target.lower, target.upper].map(shown);
    let kind = kind.as_str().replace('_', " ");
    let problem = format!(
        "a {kind} is never finished to another size than its own, its mate does not adjust: \
         {lower}..{upper}; allowed: within {allowed}"
    );
    Err(Error::invalid("target_lower", problem))
}

/// What grinding or honing may take off in all, by the policy.
pub(super) fn check_removal(
    piece: &Piece,
    feature: &ItemFeature,
    policy: &Policy,
    order: &EnqueueJob,
) -> Result<(), Error> {
    let Some(target) = order.target else { return Ok(()) };
    let (kind, nominal) = (feature.feature.kind, feature.feature.nominal);
    let gone = match kind.side() {
        Side::External => nominal - target.lower,
        Side::Internal => target.upper - nominal,
    };
    let shown = |length: Length| length.display_in(order.target_unit);
    let away = (nominal - target.lower).abs().max((target.upper - nominal).abs());
    // The next wider key is more than that away.
    if away > Length::from_nm(nominal.nm() / 10) && order.method != Method::CutKeyseat {
        let problem = format!(
            "{} is more than a tenth away from the size of {}, {}. Is the unit right, and the point?",
            shown(target.lower),
            feature.feature.name,
            shown(nominal)
        );
        return Err(Error::invalid("target_lower", problem));
    }
    let entry = FeatureUse::of(kind).and_then(|used_as| policy.feature(used_as));
    let most = entry.and_then(|entry| entry.stock_removal_max.as_ref());
    let removes = matches!(order.method, Method::Regrind | Method::Polish | Method::Hone);
    match most.filter(|most| removes && gone > most.value) {
        Some(most) => {
            let description = format!(
                "{} {} would lose {} of its size when new; the policy allows {}",
                piece.tag,
                feature.feature.name,
                shown(gone),
                shown(most.value)
            );
            Err(Error::forbidden("STOCK_REMOVAL", piece.tag.clone(), description))
        }
        None => Ok(()),
    }
}

/// Said where a size leaves less to clean up with than the policy grinds off.
pub(super) fn lean_clean_up(
    size: &PieceSize,
    policy: &Policy,
    order: &EnqueueJob,
) -> Option<String> {
    let target = order.target.filter(|_| order.method == Method::Regrind)?;
    let (left, usual) = (size.min? - target.upper, policy.grinding_allowance.value);
    let shown = |length: Length| length.display_in(order.target_unit);
    (left < usual).then(|| {
        format!(
            "the smallest reading leaves {} on diameter to clean up with, before run-out and \
             scores; the policy takes {}",
            shown(left),
            shown(usual)
        )
    })
}
