//! `tenths recon propose` and `decide`: what can be done with a worn feature, and what is.

use super::assembly::power;
use crate::args::{Paging, ReconDecide, ReconPropose, WornPlace};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::entry::lengths;
use crate::failure::Failure;
use crate::output::Format;
use crate::paging;
use crate::repairs_report;
use tenths_proto::v1;
use tenths_proto::v1::fit_requirement::Kind;
use tenths_proto::v1::repairs_service_client::RepairsServiceClient;

pub(crate) async fn propose(session: &mut Session, arguments: ReconPropose) -> Result<(), Failure> {
    let place = &arguments.place;
    let request = v1::ProposeRepairsRequest {
        piece_tag: place.piece.clone(),
        feature: place.feature.clone(),
        details: Some(details(place, &session.context)?),
        reference_station: place.reference.clone().unwrap_or_default(),
        text_unit: session.context.text_unit().into(),
        min_revision: session.revision(),
    };
    let mut answer = rpc!(session, RepairsServiceClient.propose_repairs(request))?;
    if let Some(name) = &arguments.option {
        only(&mut answer, &name.replace('-', "_"))?;
    }
    session.printer.notes("note", &answer.notes)?;
    match session.printer.format {
        Format::Table => {
            let report = repairs_report::of_options(
                &answer,
                session.context.unit,
                session.printer.columns,
                arguments.option.is_some(),
            );
            session.printer.text(&report)?;
            session.printer.notes("caution", &answer.cautions)
        }
        Format::Json | Format::Csv => session.printer.rows(&answer, &["options"]),
    }
}

pub(crate) async fn decide(session: &mut Session, arguments: ReconDecide) -> Result<(), Failure> {
    let place = &arguments.place;
    let request = v1::DecideRepairRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        etag: arguments.etag,
        piece_tag: place.piece.clone(),
        feature: place.feature.clone(),
        details: Some(details(place, &session.context)?),
        reference_station: place.reference.clone().unwrap_or_default(),
        text_unit: session.context.text_unit().into(),
        policy_etag: arguments.policy_version.map(|one| format!("r{one}")).unwrap_or_default(),
        repair: arguments.repair.replace('-', "_"),
        reason: arguments.reason,
        scrap_reason: arguments.scrap_reason.unwrap_or_default().into(),
        due_time: arguments.due,
        location_code: arguments.at,
        rebuild_tag: arguments.rebuild,
    };
    let answer = rpc!(session, RepairsServiceClient.decide_repair(request))?;
    session.printer.notes("note", &answer.notes)?;
    session.printer.notes("caution", &answer.cautions)?;
    session.printer.rows(&answer, &["decision", "job", "piece"])
}

pub(crate) async fn decisions(
    session: &mut Session,
    piece: Option<String>,
    page: &Paging,
) -> Result<(), Failure> {
    let request = v1::ListRepairDecisionsRequest {
        piece_tag: piece.unwrap_or_default(),
        ..Default::default()
    };
    paging::list(session, page, request, "decisions", async |session, request| {
        rpc!(session, RepairsServiceClient.list_repair_decisions(request))
    })
    .await
}

/// Leaves one option.
fn only(answer: &mut v1::ProposeRepairsResponse, name: &str) -> Result<(), Failure> {
    let names: Vec<&str> = answer.options.iter().map(|option| option.repair.as_str()).collect();
    if !names.contains(&name) {
        let message = format!("--option: {name:?} is not one of {}", names.join(", "));
        return Err(Failure::Usage(message));
    }
    answer.options.retain(|option| option.repair == name);
    Ok(())
}

/// What is known of a worn feature, as it goes on the wire.
pub(super) fn details(place: &WornPlace, context: &Context) -> Result<v1::WornDetails, Failure> {
    let amount = |flag: &str, text: &Option<String>| {
        text.as_deref().map(|text| lengths::signed(flag, text, context.unit)).transpose()
    };
    let (limits, other) = (&place.limits, &place.other);
    Ok(v1::WornDetails {
        r#use: place.used_as.unwrap_or_default().into(),
        run_out: amount("--run-out", &place.run_out)?,
        score_depth_per_side: amount("--score-depth", &place.score_depth)?,
        hardness_hrc: place.hardness.clone().unwrap_or_default(),
        end: place.end.unwrap_or_default().into(),
        has_keyway: place.keyway_through,
        load: load(place, context)?,
        case_depth_per_side: amount("--case-depth", &limits.case_depth)?,
        case_left_min_per_side: amount("--case-left", &limits.case_left)?,
        shoulder_min: amount("--shoulder-min", &limits.shoulder_min)?,
        plating_min: amount("--plating-min", &limits.plating_min)?,
        stated_min: amount("--stated-min", &limits.stated_min)?,
        bore_max: amount("--bore-max", &limits.bore_max)?,
        next_key_width: amount("--next-key", &limits.next_key)?,
        condemned: place.condemned.unwrap_or_default().into(),
        steps: limits.steps.unwrap_or_default().into(),
        replacement: replacement(place),
        mate_fit: mate_fit(place, context)?,
        close_in: match (&other.close_in_min, &other.close_in_max) {
            (Some(least), Some(most)) => Some(v1::CloseIn {
                min: Some(lengths::signed("--close-in-min", least, context.unit)?),
                max: Some(lengths::signed("--close-in-max", most, context.unit)?),
            }),
            _ => None,
        },
    })
}

fn load(place: &WornPlace, context: &Context) -> Result<Option<v1::ShaftLoad>, Failure> {
    let load = &place.load;
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let (torque, torque_unit) = match &load.torque {
        Some(text) => moment(text)?,
        None => (String::new(), "n_m".to_owned()),
    };
    let (power, power_unit) = match &load.power {
        Some(text) => power(text)?,
        None => Default::default(),
    };
    let given = v1::ShaftLoad {
        torque,
        torque_unit,
        power,
        power_unit,
        speed_rpm: text(&load.rpm),
        bending: text(&load.bending),
        shock_torsion: text(&load.shock),
        shock_bending: text(&load.shock_bending),
        yield_mpa: text(&load.yield_strength),
        ultimate_mpa: text(&load.tensile),
        keyed: load.keyed,
        keyway_width: context.size_if_given("--keyway-width", load.keyway_width.as_deref())?,
        keyway_depth: context.size_if_given("--keyway-depth", load.keyway_depth.as_deref())?,
    };
    let nothing = v1::ShaftLoad { torque_unit: "n_m".to_owned(), ..Default::default() };
    Ok(Some(given).filter(|given| *given != nothing))
}

/// A torque such as `12n_m` or `110 lb_in`.
fn moment(text: &str) -> Result<(String, String), Failure> {
    let lower = text.trim().to_ascii_lowercase();
    let parts = ["n_m", "lb_in"].into_iter().find_map(|unit| {
        lower.strip_suffix(unit).map(|number| (number.trim_end().to_owned(), unit.to_owned()))
    });
    parts.filter(|(number, _)| !number.is_empty()).ok_or_else(|| {
        let message = format!("--torque: {text:?} has no unit; write it as 12n_m or 110lb_in");
        Failure::Usage(message)
    })
}

fn replacement(place: &WornPlace) -> Option<v1::ReplacementPart> {
    let other = &place.other;
    let is_had =
        other.replaceable || other.replacement_cost.is_some() || other.replacement_days.is_some();
    is_had.then(|| v1::ReplacementPart {
        cost: other.replacement_cost.clone(),
        lead_time_days: other.replacement_days,
    })
}

fn mate_fit(place: &WornPlace, context: &Context) -> Result<Option<v1::FitRequirement>, Failure> {
    let other = &place.other;
    let kind = if let Some(text) = &other.mate_clearance {
        let (min, max) = lengths::range("--mate-clearance", text, context.unit)?;
        Kind::Clearance(v1::ClearanceLimits { min: Some(min), max: Some(max) })
    } else if let Some(rule) = other.mate_running {
        let tolerance = other.mate_tolerance.as_deref();
        Kind::Running(v1::RunningRequirement {
            rule: rule.into(),
            tolerance: context.size_if_given("--mate-tolerance", tolerance)?,
        })
    } else {
        return Ok(None);
    };
    Ok(Some(v1::FitRequirement { kind: Some(kind) }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::tests::parse;
    use crate::args::{Command, ReconCommand};

    fn asked(line: &str) -> v1::WornDetails {
        let Command::Recon(ReconCommand::Propose(arguments)) = parse(line) else { panic!() };
        details(&arguments.place, &Context::of_mara()).unwrap()
    }

    #[test]
    fn what_is_not_said_is_not_sent() {
        assert_eq!(asked("recon propose P-1 --feature disc"), v1::WornDetails::default());
    }

    #[test]
    fn what_is_said_goes_out_as_typed() {
        let details = asked(
            "recon propose P-1 --feature disc --use sliding-journal --run-out 0in --power 2hp --rpm \
             1725 --replacement-cost \"410.00 USD\" --mate-clearance 0.001..0.0025in --end drive",
        );
        assert_eq!(details.r#use(), v1::FeatureUse::SlidingJournal);
        assert_eq!(details.run_out.unwrap().value, "0");
        let load = details.load.unwrap();
        assert_eq!((load.power.as_str(), load.power_unit.as_str()), ("2", "hp"));
        assert_eq!(details.replacement.unwrap().cost.unwrap().amount, "410.00");
        assert!(matches!(details.mate_fit.unwrap().kind, Some(Kind::Clearance(_))));
        let torque = asked("recon propose P-1 --feature disc --torque 12n_m").load.unwrap();
        assert_eq!((torque.torque.as_str(), torque.torque_unit.as_str()), ("12", "n_m"));
    }
}
