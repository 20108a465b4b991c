//! Limits and fits.

use super::common::{class, length, money, requirement, time, verdict};
use super::standards::trace;
use super::stock::{hold, lot_stock};
use crate::app::Error;
use crate::app::fits::{
    ClassLimits, Doubt, FindFit, FitAnswer, GetLimits, MeasuredSize, StockView,
};
use crate::app::trace::fine;
use crate::grpc::check::Check;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::fit::{ClearanceWindow, CloseIn, FitJudgement, SizeBelief};
use tenths_domain::iso286::{self, Class, ClassFault};
use tenths_domain::item::{FeatureKind, Side};
use tenths_domain::matching::Caps;
use tenths_domain::units::{Entry, Unit};
use tenths_proto::v1 as pb;
use tenths_proto::v1::fit_candidate::Stock;
use tenths_proto::v1::measured_part::Size;

/// A class at a size.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn get_limits(wire: &pb::GetLimitsRequest) -> Result<GetLimits, Error> {
    let mut check = Check::new();
    let size = check.length("size", wire.size.as_ref());
    if wire.tolerance_class.is_empty() {
        check.refuse("tolerance_class", "it is empty; a class such as k5 or H7 is required");
    }
    let class = class_at(&mut check, &wire.tolerance_class, size.as_ref());
    let (Some(size), Some(class)) = (size, class) else { return Err(check.into_error()) };
    check.finish()?;
    Ok(GetLimits { size, class })
}

/// The one class that limits are asked of; a grade alone is answered with its width at the size.
fn class_at(check: &mut Check, text: &str, size: Option<&Entry>) -> Option<Class> {
    let fault = text.parse::<Class>().err().map(|error| error.fault);
    let width = match (fault, size) {
        (Some(ClassFault::GradeAlone { grade }), Some(size)) => {
            iso286::width(size.length, grade).ok().map(|width| (grade, width, size))
        }
        _ => None,
    };
    if let Some((grade, width, size)) = width {
        let figures = &grade.to_string()[2..];
        let wide = fine(width, size.unit);
        check.refuse(
            "tolerance_class",
            format!(
                "{grade} at {size} is {wide} wide (ISO 286-1:2010, Table 1); limits need the \
                 letters of a fundamental deviation too, as in h{figures}, H{figures} or js{figures}"
            ),
        );
        return None;
    }
    class(check, "tolerance_class", text).flatten()
}

/// Limits outward.
pub fn class_limits(found: ClassLimits) -> pb::GetLimitsResponse {
    let unit = found.unit;
    // Deviations are spoken of in micrometres or thou.
    let fine = match unit {
        Unit::Inch | Unit::Thou => Unit::Thou,
        Unit::Millimetre | Unit::Micrometre => Unit::Micrometre,
    };
    pb::GetLimitsResponse {
        lower: Some(length(found.limits.lower, unit)),
        upper: Some(length(found.limits.upper, unit)),
        lower_deviation: Some(length(found.deviations.lower, fine)),
        upper_deviation: Some(length(found.deviations.upper, fine)),
        source: found.source.to_owned(),
        unconfirmed: found.unconfirmed,
        traces: found.traces.into_iter().map(trace).collect(),
    }
}

/// A question of what fits.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn find_fit(wire: &pb::FindFitRequest) -> Result<FindFit, Error> {
    let mut check = Check::new();
    let measured = match &wire.measured {
        Some(wire) => measured(&mut check, wire),
        None => {
            check.refuse("measured", "it is not given; a measured size is required");
            None
        }
    };
    let sought = check.required_enum("sought", wire.sought);
    let requirement = requirement(&mut check, "requirement", wire.requirement.as_ref());
    let close_in = close_in(&mut check, wire.close_in.as_ref());
    let caps = Caps {
        fits: cap(&mut check, "fits_max", wire.fits_max, 20, 200),
        misses: cap(&mut check, "misses_max", wire.misses_max, 5, 50),
    };
    let (Some(measured), Some(sought), Some((requirement, classes)), Some(close_in)) =
        (measured, sought, requirement, close_in)
    else {
        return Err(check.into_error());
    };
    check.finish()?;
    let names_own_class = match &measured {
        MeasuredSize::Value { kind, .. } if kind.side() == Side::Internal => classes.hole,
        _ => classes.shaft,
    };
    Ok(FindFit { measured, sought, requirement, names_own_class, close_in, caps })
}

fn cap(check: &mut Check, field: &str, number: i32, default: usize, most: usize) -> usize {
    match usize::try_from(number) {
        Ok(0) => default,
        Ok(number) => number.min(most),
        Err(_) => {
            check.refuse(field, format!("it is {number}; 0 (the default) to {most} is allowed"));
            default
        }
    }
}

fn close_in(check: &mut Check, wire: Option<&pb::CloseIn>) -> Option<Option<CloseIn>> {
    let Some(wire) = wire else { return Some(None) };
    let least = check.signed_length("close_in.min", wire.min.as_ref());
    let most = check.signed_length("close_in.max", wire.max.as_ref());
    match CloseIn::new(least?.length, most?.length) {
        Ok(close_in) => Some(Some(close_in)),
        Err(error) => {
            check.refuse("close_in", error.to_string());
            None
        }
    }
}

fn measured(check: &mut Check, wire: &pb::MeasuredPart) -> Option<MeasuredSize> {
    match &wire.size {
        Some(Size::PieceFeature(place)) => Some(MeasuredSize::Piece {
            tag: check.tag("measured.piece_feature.piece_tag", &place.piece_tag),
            feature: check.feature_name("measured.piece_feature.feature", &place.feature),
        }),
        Some(Size::Value(value)) => {
            let entry = check.length("measured.value", Some(value));
            let kind = check.required_enum::<FeatureKind>("measured.kind", wire.kind);
            let doubt = doubt(check, wire);
            Some(MeasuredSize::Value { entry: entry?, kind: kind?, doubt: doubt? })
        }
        None => {
            check.refuse(
                "measured.value",
                "it is not given; a size, or a feature of a piece, is required",
            );
            None
        }
    }
}

fn doubt(check: &mut Check, wire: &pb::MeasuredPart) -> Option<Doubt> {
    let gauge = check.optional_tag("measured.gauge_tag", &wire.gauge_tag);
    let given = wire.expanded_uncertainty.as_ref();
    let uncertainty: Option<Entry> = check.optional_length("measured.expanded_uncertainty", given);
    match (gauge, uncertainty) {
        (Some(_), Some(_)) => {
            check.refuse(
                "measured.gauge_tag",
                "a gauge and an uncertainty are both given; only one is allowed",
            );
            None
        }
        (Some(gauge), None) => Some(Doubt::Gauge(gauge)),
        (None, Some(uncertainty)) => Some(Doubt::Uncertainty(uncertainty.length)),
        (None, None) => given.is_none().then_some(Doubt::LastPlace),
    }
}

/// What fits outward.
pub fn answer(answer: FitAnswer) -> pb::FindFitResponse {
    let unit = answer.unit;
    let source = answer.source;
    let fit = |view: &StockView,
               size: &SizeBelief,
               window: ClearanceWindow,
               found: FitJudgement| pb::Fit {
        candidate: Some(candidate(view, size, unit)),
        clearance_min: Some(length(found.clearance_min, unit)),
        clearance_max: Some(length(found.clearance_max, unit)),
        required_min: Some(length(window.min, unit)),
        required_max: Some(length(window.max, unit)),
        verdict: Some(verdict(found.judgement)),
        requirement_source: source.clone(),
    };
    pb::FindFitResponse {
        fits: answer
            .fits
            .iter()
            .map(|(found, view, size)| fit(view, size, found.window, found.fit))
            .collect(),
        misses: answer
            .misses
            .iter()
            .map(|(miss, view, size)| pb::Miss {
                fit: Some(fit(view, size, miss.window, miss.fit)),
                by: Some(length(miss.by, unit)),
                side: miss.side.to_wire(),
                act: miss.act.map(|act| act.words(unit)).unwrap_or_default(),
            })
            .collect(),
        fits_total: i64::try_from(answer.fits_total).unwrap_or(i64::MAX),
        measured_min: Some(length(answer.measured.smallest(), unit)),
        measured_max: Some(length(answer.measured.largest(), unit)),
        expanded_uncertainty: Some(length(answer.measured.expanded_uncertainty(), unit)),
        notes: answer.notes,
    }
}

/// A candidate; its nominal size is spoken of in its own unit, its size in that of the question.
fn candidate(view: &StockView, size: &SizeBelief, unit: Unit) -> pb::FitCandidate {
    match view {
        StockView::Piece(one, location_code, held) => {
            let judged = crate::app::judging::effective_feature(&one.feature.feature, &one.size);
            pb::FitCandidate {
                stock: Some(Stock::PieceTag(one.piece.tag.clone())),
                item_code: one.item.code.clone(),
                description: one.item.description.clone(),
                feature: one.feature.feature.name.clone(),
                nominal: Some(length(judged.nominal, one.feature.nominal_unit)),
                measured: size.is_measured(),
                size_min: Some(length(size.smallest(), unit)),
                size_max: Some(length(size.largest(), unit)),
                stock_by_location: vec![pb::LotStock {
                    location_code: location_code.clone(),
                    on_hand: 1,
                    held: i64::from(held.is_some()),
                }],
                available: i64::from(held.is_none()),
                hold: held.as_deref().map(hold),
                date_code: String::new(),
                unit_cost: None,
                receive_time: Some(time(one.piece.created_at)),
            }
        }
        StockView::Lot(one, codes) => {
            let places = codes.iter().cloned().zip(one.stock.iter().copied());
            pb::FitCandidate {
                stock: Some(Stock::LotTag(one.lot.tag.clone())),
                item_code: one.item.code.clone(),
                description: one.item.description.clone(),
                feature: one.feature.feature.name.clone(),
                nominal: Some(length(one.feature.feature.nominal, one.feature.nominal_unit)),
                measured: false,
                size_min: Some(length(size.smallest(), unit)),
                size_max: Some(length(size.largest(), unit)),
                stock_by_location: places.map(|place| lot_stock(&place)).collect(),
                available: one.stock.iter().map(|here| here.free()).sum(),
                hold: None,
                date_code: one.lot.date_code.clone(),
                unit_cost: one.lot.unit_cost.map(money),
                receive_time: Some(time(one.lot.created_at)),
            }
        }
    }
}
