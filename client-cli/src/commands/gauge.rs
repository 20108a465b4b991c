//! `tenths gauge ...`: the gauge register.

use crate::args::{GaugeAdd, GaugeCommand, GaugeUpdate};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::{Failure, broken_answer};
use crate::paging;
use tenths_proto::v1::measuring_service_client::MeasuringServiceClient;
use tenths_proto::v1::{self, Gauge};

pub(crate) async fn run(session: &mut Session, command: GaugeCommand) -> Result<(), Failure> {
    match command {
        GaugeCommand::Add(arguments) => {
            let request = v1::RegisterGaugeRequest {
                request_id: session.context.request_id(),
                person: session.context.person()?,
                gauge: Some(new_gauge(arguments, &session.context)?),
            };
            let answer = rpc!(session, MeasuringServiceClient.register_gauge(request))?;
            session.printer.rows(&answer, &["gauge"])
        }
        GaugeCommand::Show { tag } => {
            let request = v1::GetGaugeRequest { tag };
            let answer = rpc!(session, MeasuringServiceClient.get_gauge(request))?;
            session.printer.record(&answer, "gauge")
        }
        GaugeCommand::List { paging } => {
            let request = v1::ListGaugesRequest::default();
            paging::list(session, &paging, request, "gauges", async |session, request| {
                rpc!(session, MeasuringServiceClient.list_gauges(request))
            })
            .await
        }
        GaugeCommand::Update(arguments) => update(session, arguments).await,
    }
}

fn new_gauge(arguments: GaugeAdd, context: &Context) -> Result<Gauge, Failure> {
    Ok(Gauge {
        tag: arguments.tag,
        description: arguments.description,
        resolution: Some(context.size("--resolution", &arguments.resolution)?),
        expanded_uncertainty: Some(context.size("--uncertainty", &arguments.uncertainty)?),
        setting_method: arguments.setting.into(),
        calibration_due_time: Some(arguments.due),
        side: arguments.side.unwrap_or_default().into(),
        size_min: context.size_if_given("--from-size", arguments.from_size.as_deref())?,
        size_max: context.size_if_given("--to-size", arguments.to_size.as_deref())?,
        material: arguments.material.unwrap_or_default().into(),
        ..Default::default()
    })
}

async fn update(session: &mut Session, arguments: GaugeUpdate) -> Result<(), Failure> {
    let person = session.context.person()?;
    let request = v1::GetGaugeRequest { tag: arguments.tag.clone() };
    let answer = rpc!(session, MeasuringServiceClient.get_gauge(request))?;
    let known = answer.gauge.ok_or_else(|| broken_answer("gauge"))?;
    let request = v1::UpdateGaugeRequest {
        request_id: session.context.request_id(),
        person,
        etag: arguments.etag.clone().unwrap_or_else(|| known.etag.clone()),
        gauge: Some(changed(known, arguments, &session.context)?),
    };
    let answer = rpc!(session, MeasuringServiceClient.update_gauge(request))?;
    if answer.assessments_in_doubt > 0 {
        let doubt = format!(
            "{} recorded assessments rest on this gauge; see them with `tenths assessments --gauge`",
            answer.assessments_in_doubt
        );
        session.printer.notes("note", &[doubt])?;
    }
    session.printer.rows(&answer, &["gauge"])
}

/// The gauge as it is known, with what the arguments give put over it.
fn changed(known: Gauge, arguments: GaugeUpdate, context: &Context) -> Result<Gauge, Failure> {
    let size = |flag, text: &Option<String>| context.size_if_given(flag, text.as_deref());
    Ok(Gauge {
        description: arguments.description.unwrap_or(known.description),
        resolution: size("--resolution", &arguments.resolution)?.or(known.resolution),
        expanded_uncertainty: size("--uncertainty", &arguments.uncertainty)?
            .or(known.expanded_uncertainty),
        setting_method: arguments.setting.map_or(known.setting_method, i32::from),
        calibration_due_time: arguments.due.or(known.calibration_due_time),
        state: arguments.state.map_or(known.state, i32::from),
        side: arguments.side.map_or(known.side, i32::from),
        size_min: size("--from-size", &arguments.from_size)?.or(known.size_min),
        size_max: size("--to-size", &arguments.to_size)?.or(known.size_max),
        material: arguments.material.map_or(known.material, i32::from),
        tag: known.tag,
        etag: known.etag,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;
    use crate::entry::times;

    fn gauge(line: &str) -> GaugeCommand {
        let Command::Gauge(command) = parse(line) else { panic!() };
        command
    }

    #[test]
    fn a_gauge_is_registered_as_typed_and_changed_in_part() {
        let line = "gauge add M-07 --description mic --resolution 0.0001in --uncertainty \
                    0.00018in --setting gauge_block --due 2027-03-01 --side external \
                    --from-size 1in --to-size 2in";
        let GaugeCommand::Add(arguments) = gauge(line) else { panic!() };
        let known = new_gauge(arguments, &Context::of_mara()).unwrap();
        assert_eq!(known.expanded_uncertainty.as_ref().unwrap().value, "0.00018");
        assert_eq!(known.setting_method(), v1::SettingMethod::GaugeBlock);
        assert_eq!(known.side(), v1::GaugeSide::External);
        let reach =
            [&known.size_min, &known.size_max].map(|size| size.as_ref().unwrap().value.as_str());
        assert_eq!(reach, ["1", "2"]);
        assert_eq!(times::shown(&known.calibration_due_time.unwrap()), "2027-03-01 23:59");

        let GaugeCommand::Update(arguments) = gauge("gauge update M-07 --state found_wrong") else {
            panic!()
        };
        let expected = Gauge { state: v1::GaugeState::FoundWrong.into(), ..known.clone() };
        assert_eq!(changed(known.clone(), arguments, &Context::of_mara()).unwrap(), expected);

        let line = "gauge update M-07 --side internal --to-size 50mm --material aluminium";
        let GaugeCommand::Update(arguments) = gauge(line) else { panic!() };
        let changed = changed(known.clone(), arguments, &Context::of_mara()).unwrap();
        assert_eq!((changed.side(), &changed.size_min), (v1::GaugeSide::Internal, &known.size_min));
        assert_eq!(changed.material(), v1::Material::Aluminium);
        assert_eq!(known.material(), v1::Material::Unspecified);
        assert_eq!(changed.size_max.unwrap().value, "50");
    }
}
