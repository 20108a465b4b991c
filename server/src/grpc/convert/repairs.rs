//! What can be done with a worn feature: what is asked, inward, and the options, outward.

use super::common::{Parsed, length, money, or_unspecified, requirement, time};
use super::finding::close_in;
use super::reconditioning::job;
use super::stock::piece;
use crate::app::Error;
use crate::app::repairs::{
    AskedRepairs, DecideRepair, Decided, DecisionView, Proposal, WornDetails,
};
use crate::grpc::check::{Check, NAME_MAX, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use prost::Message;
use tenths_domain::options::{
    Answer, Keyway, MinimumPart, RepairOption, Replacement, StrengthDemand,
};
use tenths_domain::policy::Hrc;
use tenths_domain::route::{Amount, Operation, WorkCaution};
use tenths_domain::strength::{AllowableShear, Power, ShockFactors, StrengthError, Torque};
use tenths_domain::units::{Length, Unit};
use tenths_proto::v1 as pb;

/// The longest lead time in days: ten years.
const DAYS_MAX: i64 = 3_650;

/// A worn feature that is asked about, with the least revision of the stock.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn asked(wire: &pb::ProposeRepairsRequest) -> Result<(AskedRepairs, i64), Error> {
    let mut check = Check::new();
    let min_revision = check.count("min_revision", wire.min_revision, 0, i64::MAX);
    let asked = asked_of(&mut check, &wire.piece_tag, &wire.feature, wire.details.as_ref());
    let reference_station = check.optional_station("reference_station", &wire.reference_station);
    let text_unit = check.optional_enum("text_unit", wire.text_unit);
    let Some(asked) = asked else { return Err(check.into_error()) };
    check.finish()?;
    Ok((AskedRepairs { reference_station, text_unit, ..asked }, min_revision))
}

/// A worn feature with what is known of it; none only if refused.
pub(super) fn asked_of(
    check: &mut Check,
    piece_tag: &str,
    feature: &str,
    details: Option<&pb::WornDetails>,
) -> Option<AskedRepairs> {
    let piece_tag = check.tag("piece_tag", piece_tag);
    let feature = check.feature_name("feature", feature);
    let nothing = pb::WornDetails::default();
    let details = worn_details(check, details.unwrap_or(&nothing))?;
    Some(AskedRepairs { piece_tag, feature, details, reference_station: None, text_unit: None })
}

fn worn_details(check: &mut Check, wire: &pb::WornDetails) -> Option<WornDetails> {
    let used_as = check.optional_enum("details.use", wire.r#use);
    let end = check.optional_enum("details.end", wire.end);
    let condemned = check.optional_enum("details.condemned", wire.condemned);
    let steps = check.optional_enum("details.steps", wire.steps);
    let run_out_tir = amount(check, "run_out", wire.run_out.as_ref());
    let score = amount(check, "score_depth_per_side", wire.score_depth_per_side.as_ref());
    let hardness = hardness(check, &wire.hardness_hrc);
    let demand = demand(check, wire);
    let bore_max = size(check, "bore_max", wire.bore_max.as_ref());
    let next_key_width = size(check, "next_key_width", wire.next_key_width.as_ref());
    let replacement = replacement(check, wire.replacement.as_ref());
    let mate_fit = match &wire.mate_fit {
        None => Some(None),
        fit => requirement(check, "details.mate_fit", fit.as_ref()).map(|(fit, _)| Some(fit)),
    };
    let close_in = close_in(check, "details.close_in", wire.close_in.as_ref());
    Some(WornDetails {
        used_as,
        run_out_tir,
        score_depth_per_side: score,
        hardness,
        end,
        has_keyway: wire.has_keyway,
        demand: demand?,
        bore_max,
        next_key_width,
        condemned,
        steps,
        replacement,
        mate_fit: mate_fit?,
        close_in: close_in?,
    })
}

fn amount(check: &mut Check, name: &str, wire: Option<&pb::Length>) -> Option<Length> {
    check.optional_amount(&format!("details.{name}"), wire).map(|entry| entry.length)
}

fn size(check: &mut Check, name: &str, wire: Option<&pb::Length>) -> Option<Length> {
    check.optional_length(&format!("details.{name}"), wire).map(|entry| entry.length)
}

fn hardness(check: &mut Check, text: &str) -> Option<Hrc> {
    if text.trim().is_empty() {
        return None;
    }
    Hrc::parse(text).map_err(|error| check.refuse("details.hardness_hrc", error.to_string())).ok()
}

fn replacement(check: &mut Check, wire: Option<&pb::ReplacementPart>) -> Replacement {
    let Some(wire) = wire else { return Replacement::default() };
    let days = wire.lead_time_days.map(i64::from);
    let field = "details.replacement.lead_time_days";
    let days = days.map(|days| check.count(field, days, 0, DAYS_MAX));
    Replacement {
        is_available: true,
        cost: check.optional_money("details.replacement.cost", wire.cost.as_ref()),
        lead_time_days: days.and_then(|days| u32::try_from(days).ok()),
    }
}

fn demand(check: &mut Check, wire: &pb::WornDetails) -> Option<StrengthDemand> {
    let case_depth = amount(check, "case_depth_per_side", wire.case_depth_per_side.as_ref());
    let case_left = amount(check, "case_left_min_per_side", wire.case_left_min_per_side.as_ref());
    let shoulder_min = size(check, "shoulder_min", wire.shoulder_min.as_ref());
    let plating_min = size(check, "plating_min", wire.plating_min.as_ref());
    let stated_min = size(check, "stated_min", wire.stated_min.as_ref());
    let load = match &wire.load {
        None => StrengthDemand::UNKNOWN,
        Some(load) => Load { check, wire: load }.demand()?,
    };
    Some(StrengthDemand {
        case_depth_per_side: case_depth,
        case_left_min_per_side: case_left.unwrap_or(Length::ZERO),
        shoulder_min,
        plating_min,
        stated_min,
        ..load
    })
}

/// What a shaft must bear, being read.
struct Load<'a> {
    check: &'a mut Check,
    wire: &'a pb::ShaftLoad,
}

impl Load<'_> {
    fn number(&mut self, name: &str, text: &str) -> Option<f64> {
        self.check.number(&format!("details.load.{name}"), text)
    }

    /// A number that may be left out: what it is then, or nothing if it was refused.
    fn number_or(&mut self, name: &str, text: &str, otherwise: f64) -> Option<f64> {
        if text.is_empty() { Some(otherwise) } else { self.number(name, text) }
    }

    fn taken<T>(&mut self, name: &str, found: Result<T, StrengthError>) -> Option<T> {
        let field = format!("details.load.{name}");
        found.map_err(|error| self.check.refuse(&field, error.to_string())).ok()
    }

    fn demand(&mut self) -> Option<StrengthDemand> {
        let wire = self.wire;
        let torque = self.torque();
        let bending = match wire.bending.as_str() {
            "" => Some(Torque::ZERO),
            text => self.moment("bending", text),
        };
        let torsion =
            self.factor("shock_torsion", &wire.shock_torsion, ShockFactors::STEADY.torsion);
        let shock_bending =
            self.factor("shock_bending", &wire.shock_bending, ShockFactors::STEADY.bending);
        let allowable = self.allowable();
        let keyway = self.keyway();
        Some(StrengthDemand {
            torque: Some(torque?),
            bending: bending?,
            shock: ShockFactors { torsion: torsion?, bending: shock_bending? },
            allowable: allowable?,
            is_keyed: wire.keyed,
            keyway: keyway?,
            ..StrengthDemand::UNKNOWN
        })
    }

    fn torque(&mut self) -> Option<Torque> {
        let wire = self.wire;
        if wire.torque.is_empty() == wire.power.is_empty() {
            let problem = "either a torque, or a power with its speed, is required";
            self.check.refuse("details.load", problem);
            return None;
        }
        if !wire.torque.is_empty() {
            return self.moment("torque", &wire.torque);
        }
        let power = self.number("power", &wire.power);
        let speed = self.number("speed_rpm", &wire.speed_rpm);
        let power = match wire.power_unit.to_ascii_lowercase().as_str() {
            "hp" => Power::from_horsepower(power?),
            "kw" => Power::from_kilowatts(power?),
            other => {
                let shown: String = other.chars().take(20).collect();
                let problem = format!("{shown:?} is not known; allowed: hp, kw");
                self.check.refuse("details.load.power_unit", problem);
                return None;
            }
        };
        let power = self.taken("power", power)?;
        self.taken("speed_rpm", Torque::of(power, speed?))
    }

    /// A torque or bending moment in the unit of the request.
    fn moment(&mut self, name: &str, text: &str) -> Option<Torque> {
        /// One pound-force inch in newton metres (NIST SP 811, Appendix B.8).
        const POUND_INCH_NM: f64 = 0.112_984_829_027_616_7;
        let value = self.number(name, text);
        let newton_metres = match self.wire.torque_unit.to_ascii_lowercase().as_str() {
            "n_m" => value?,
            "lb_in" => value? * POUND_INCH_NM,
            other => {
                let shown: String = other.chars().take(20).collect();
                let problem = format!("{shown:?} is not known; allowed: n_m, lb_in");
                self.check.refuse("details.load.torque_unit", problem);
                return None;
            }
        };
        self.taken(name, Torque::from_newton_metres(newton_metres))
    }

    fn factor(&mut self, name: &str, text: &str, usual: f64) -> Option<f64> {
        let factor = self.number_or(name, text, usual)?;
        if factor < 1.0 {
            let field = format!("details.load.{name}");
            self.check.refuse(&field, "it is below 1; 1 (steady) or more is allowed");
        }
        Some(factor)
    }

    fn allowable(&mut self) -> Option<AllowableShear> {
        let wire = self.wire;
        match (wire.yield_mpa.is_empty(), wire.ultimate_mpa.is_empty()) {
            (true, true) => Some(AllowableShear::Commercial { has_keyway: false }),
            (false, false) => {
                let yield_mpa = self.number("yield_mpa", &wire.yield_mpa);
                let ultimate_mpa = self.number("ultimate_mpa", &wire.ultimate_mpa);
                let (yield_mpa, ultimate_mpa) = (yield_mpa?, ultimate_mpa?);
                Some(AllowableShear::OfStrength { yield_mpa, ultimate_mpa, has_keyway: false })
            }
            _ => {
                let problem = "yield_mpa and ultimate_mpa are given together, or neither";
                self.check.refuse("details.load", problem);
                None
            }
        }
    }

    fn keyway(&mut self) -> Option<Option<Keyway>> {
        let wire = self.wire;
        match (&wire.keyway_width, &wire.keyway_depth) {
            (None, None) => Some(None),
            (width, depth) => {
                let width = self.check.length("details.load.keyway_width", width.as_ref());
                let depth = self.check.length("details.load.keyway_depth", depth.as_ref());
                Some(Some(Keyway { width: width?.length, depth: depth?.length }))
            }
        }
    }
}

/// The options, outward.
pub fn proposed(proposal: &Proposal) -> pb::ProposeRepairsResponse {
    let unit = proposal.unit();
    let shown = |one: Length| Some(length(one, unit));
    let worn = proposal.worn();
    let answer = &proposal.answer;
    pb::ProposeRepairsResponse {
        piece_tag: proposal.piece().tag.clone(),
        feature: proposal.feature().to_owned(),
        piece_etag: super::common::etag(proposal.piece().revision),
        policy_version: answer.policy_version,
        policy_etag: super::common::etag(answer.policy_version),
        smallest: shown(worn.smallest),
        largest: shown(worn.largest),
        expanded_uncertainty: shown(worn.expanded_uncertainty),
        wear: worn.wear.and_then(shown),
        clean_up_size: shown(answer.clean_up_size),
        minimum_diameters: minimum_diameters(answer, unit),
        options: answer.options.iter().map(|one| option(one, unit)).collect(),
        ranking: answer.ranking.to_owned(),
        notes: proposal.notes.clone(),
        cautions: vec![WorkCaution::Cracks.text().to_owned(), WorkCaution::Basis.text().to_owned()],
    }
}

fn minimum_diameters(answer: &Answer, unit: Unit) -> Vec<pb::MinimumPart> {
    let governing = answer.minimum_diameter.governing();
    let part = |part: &MinimumPart| pb::MinimumPart {
        by: part.by.to_wire(),
        value: Some(length(part.value, unit)),
        source: part.source.text.to_owned(),
        unconfirmed: !part.source.is_confirmed,
        governs: Some(*part) == governing,
    };
    answer.minimum_diameter.parts.iter().map(part).collect()
}

fn option(found: &RepairOption, unit: Unit) -> pb::RepairOption {
    let shown = |one: Option<Length>| one.map(|one| length(one, unit));
    let limits = found.target.and_then(|target| target.limits);
    let diameter = |amount: Option<Amount>| amount.map(|amount| amount.on_diameter);
    let side = |amount: Option<Amount>| amount.map(|amount| amount.per_side);
    let blocks = found.blocks.iter();
    let doubts = found.doubts.iter();
    let whole = |number: Option<u32>| number.and_then(|number| i32::try_from(number).ok());
    pb::RepairOption {
        repair: found.repair.key(),
        text: found.repair.words(unit),
        rank: whole(found.rank).unwrap_or(0),
        blocks: blocks
            .map(|one| pb::RepairBlock { code: one.code.to_wire(), text: one.text.clone() })
            .collect(),
        doubts: doubts
            .map(|one| pb::RepairDoubt { code: one.code.to_wire(), text: one.text.clone() })
            .collect(),
        target_size: shown(found.target.map(|target| target.size)),
        target_lower: shown(limits.map(|limits| limits.lower)),
        target_upper: shown(limits.map(|limits| limits.upper)),
        cut_to: shown(found.cut_to),
        removed_on_diameter: shown(diameter(found.removed)),
        removed_per_side: shown(side(found.removed)),
        added_on_diameter: shown(diameter(found.added)),
        added_per_side: shown(side(found.added)),
        operations: found.operations.iter().map(|one| operation(one, unit)).collect(),
        cost: found.cost.known().map(money),
        cost_missing: missing(found),
        cost_share_percent: whole(found.cost_share_percent),
        lead_time_days: whole(found.lead_time_days),
        mates: whole(found.mates.map(|mates| mates.as_they_are)),
        mates_after_reaming: whole(found.mates.map(|mates| mates.after_reaming)),
        scrap_reason: or_unspecified(found.scrap_reason),
    }
}

fn missing(found: &RepairOption) -> Vec<String> {
    match &found.cost {
        tenths_domain::options::Cost::Unknown { missing } if found.is_feasible() => missing.clone(),
        _ => Vec::new(),
    }
}

/// One operation as it is planned.
pub fn operation(planned: &Operation, unit: Unit) -> pb::PlannedOperation {
    let shown = |one: Option<Length>| one.map(|one| length(one, unit));
    pb::PlannedOperation {
        kind: planned.kind.to_wire(),
        machine: planned.machine.to_wire(),
        setup_family: planned.setup_family.to_owned(),
        site: planned.site.to_wire(),
        vendor: planned.vendor.clone().unwrap_or_default(),
        from: shown(planned.from),
        to_lower: shown(planned.to.map(|to| to.lower)),
        to_upper: shown(planned.to.map(|to| to.upper)),
        change_on_diameter: shown(planned.change.map(|change| change.on_diameter)),
        change_per_side: shown(planned.change.map(|change| change.per_side)),
        minutes: planned.minutes.and_then(|minutes| i32::try_from(minutes).ok()),
        cautions: planned.cautions.iter().map(|one| one.text().to_owned()).collect(),
        text: planned.text.clone(),
    }
}

/// An option to be decided for.
pub fn decide(wire: &pb::DecideRepairRequest) -> Parsed<DecideRepair> {
    let mut check = Check::new();
    let request = meta(&mut check, "DecideRepair", &wire.request_id, &wire.person, wire);
    let etag = check.optional_etag("etag", &wire.etag);
    let policy_etag = check.optional_etag("policy_etag", &wire.policy_etag);
    let asked = asked_of(&mut check, &wire.piece_tag, &wire.feature, wire.details.as_ref());
    let reference_station = check.optional_station("reference_station", &wire.reference_station);
    let text_unit = check.optional_enum("text_unit", wire.text_unit);
    let repair = check.text("repair", &wire.repair, NAME_MAX);
    let reason = check.optional_text("reason", &wire.reason, TEXT_MAX);
    let scrap_reason = check.optional_enum("scrap_reason", wire.scrap_reason);
    let due_at = check.optional_time("due_time", wire.due_time.as_ref());
    let location_code = check.optional_tag("location_code", &wire.location_code);
    let rebuild_tag = check.optional_tag("rebuild_tag", &wire.rebuild_tag);
    let Some(asked) = asked else { return Err(check.into_error()) };
    check.finish()?;
    let command = DecideRepair {
        asked: AskedRepairs { reference_station, text_unit, ..asked },
        etag,
        policy_etag,
        repair,
        reason,
        scrap_reason,
        due_at,
        location_code,
        rebuild_tag,
        details_sent: wire.details.as_ref().map(Message::encode_to_vec).unwrap_or_default(),
    };
    Ok((request, command))
}

/// What came of a decision, outward.
pub fn decided(done: Decided) -> pb::DecideRepairResponse {
    pb::DecideRepairResponse {
        decision: Some(decision(done.decision)),
        job: done.job.map(job),
        piece: Some(piece(done.piece)),
        notes: done.notes,
        cautions: done.cautions,
    }
}

/// A decision, outward.
pub fn decision(view: DecisionView) -> pb::RepairDecision {
    let DecisionView { decision, piece_tag, feature, job_tag } = view;
    pb::RepairDecision {
        id: decision.id,
        piece_tag,
        feature,
        policy_version: decision.policy_version,
        proposed: decision.proposed,
        chosen: decision.chosen,
        text: decision.text,
        reason: decision.reason,
        person: decision.person,
        time: Some(time(decision.created_at)),
        job_tag,
        details: pb::WornDetails::decode(decision.details.as_slice()).ok(),
    }
}
