//! `tenths close-in`, `running-clearance`, `assembly`, `strength`: what putting parts together
//! does and takes.

use super::fit::knowledge;
use crate::args::{CloseIn, Joint, Known, RunningClearance, Strength};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::failure::Failure;
use crate::output::Format;
use tenths_proto::v1;
use tenths_proto::v1::assembly_service_client::AssemblyServiceClient;

pub(crate) async fn close_in(session: &mut Session, arguments: CloseIn) -> Result<(), Failure> {
    let context = &session.context;
    let request = v1::GetCloseInRequest {
        bore: Some(known(arguments.bore, context)?),
        outside_diameter: Some(known(arguments.od, context)?),
        bushing_material: arguments.bushing_material.into(),
        housing_bore: Some(known(arguments.housing, context)?),
        housing_outside_diameter: Some(context.size("--housing-od", &arguments.housing_od)?),
        housing_material: arguments.housing_material.into(),
    };
    let mut answer = rpc!(session, AssemblyServiceClient.get_close_in(request))?;
    if session.printer.format != Format::Json {
        // An estimate from usual moduli: more places would say what nobody knows.
        answer.share = (answer.share * 100.0).round() / 100.0;
    }
    session.printer.notes("caution", &answer.cautions)?;
    session.printer.traced(&answer, arguments.explain)
}

/// What is known of a size that has to be known.
fn known(given: impl Into<Known>, context: &Context) -> Result<v1::SizeKnowledge, Failure> {
    let given = given.into();
    let flag = given.flag;
    let kind = knowledge(given, context)?.ok_or_else(|| {
        let ways = format!("--{flag}, --{flag}-limits, --{flag}-piece, ...");
        Failure::Usage(format!("say what is known of the {flag}: {ways}"))
    })?;
    Ok(v1::SizeKnowledge { kind: Some(kind) })
}

pub(crate) async fn running_clearance(
    session: &mut Session,
    arguments: RunningClearance,
) -> Result<(), Failure> {
    let request = v1::GetRunningClearanceRequest {
        journal: Some(session.context.size("--journal", &arguments.journal)?),
        rule: arguments.rule.into(),
    };
    let answer = rpc!(session, AssemblyServiceClient.get_running_clearance(request))?;
    session.printer.traced(&answer, arguments.explain)
}

pub(crate) async fn joint(session: &mut Session, arguments: Joint) -> Result<(), Failure> {
    let explain = arguments.explain;
    let request = joint_request(arguments, &session.context)?;
    let answer = rpc!(session, AssemblyServiceClient.get_assembly_advice(request))?;
    session.printer.notes("caution", &answer.cautions)?;
    session.printer.traced(&answer, explain)
}

fn joint_request(
    arguments: Joint,
    context: &Context,
) -> Result<v1::GetAssemblyAdviceRequest, Failure> {
    let size = |flag, text: &Option<String>| context.size_if_given(flag, text.as_deref());
    Ok(v1::GetAssemblyAdviceRequest {
        internal: Some(known(arguments.bore, context)?),
        external: Some(known(arguments.shaft, context)?),
        inner_bore: size("--inner-bore", &arguments.inner_bore)?,
        outer_diameter: Some(context.size("--outer-diameter", &arguments.outer_diameter)?),
        length: Some(context.size("--length", &arguments.length)?),
        inner_material: arguments.inner_material.into(),
        outer_material: arguments.outer_material.into(),
        friction: arguments.friction.unwrap_or_default().into(),
        heated: arguments.heated.into(),
        moving_clearance: size("--moving-clearance", &arguments.moving_clearance)?,
        designation: arguments.bearing.unwrap_or_default(),
        hotter_inner: size("--hotter-inner", &arguments.hotter_inner)?,
        text_unit: context.text_unit().into(),
    })
}

pub(crate) async fn strength(session: &mut Session, arguments: Strength) -> Result<(), Failure> {
    let (power, power_unit) = power(&arguments.power)?;
    let diameter = arguments.diameter.as_deref();
    let request = v1::GetShaftStrengthRequest {
        power,
        power_unit,
        speed_rpm: arguments.rpm,
        keyway: arguments.keyway,
        shock_torsion: arguments.shock.unwrap_or_default(),
        diameter: session.context.size_if_given("--diameter", diameter)?,
        text_unit: session.context.text_unit().into(),
    };
    let answer = rpc!(session, AssemblyServiceClient.get_shaft_strength(request))?;
    session.printer.notes("caution", &answer.cautions)?;
    session.printer.traced(&answer, arguments.explain)
}

/// A power such as `2hp` or `1.5 kW`: its number and the contract's word for its unit.
pub(super) fn power(text: &str) -> Result<(String, String), Failure> {
    let lower = text.trim().to_ascii_lowercase();
    let parts = ["hp", "kw"].into_iter().find_map(|unit| {
        lower.strip_suffix(unit).map(|number| (number.trim_end().to_owned(), unit.to_owned()))
    });
    parts.filter(|(number, _)| !number.is_empty()).ok_or_else(|| {
        let message = format!("--power: {text:?} has no unit; write it as 2hp or 1.5kW");
        Failure::Usage(message)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;
    use crate::commands::reach::run_line;
    use crate::shop_double::ShopDouble;
    use tenths_proto::v1::size_knowledge::Kind;

    #[test]
    fn a_power_has_a_number_and_a_unit() {
        for (text, number, unit) in
            [("2hp", "2", "hp"), ("1.5 kW", "1.5", "kw"), ("3HP", "3", "hp")]
        {
            assert_eq!(power(text).unwrap(), (number.to_owned(), unit.to_owned()));
        }
        for text in ["2", "hp", "", "2 W"] {
            assert!(matches!(power(text), Err(Failure::Usage(_))), "{text}");
        }
    }

    #[test]
    fn the_bore_is_the_outer_parts_and_both_must_be_known() {
        let line = "assembly --bore-limits 24.990..25.000mm --shaft 25.008mm --outer-diameter 31mm \
                    --length 15mm --inner-material steel --outer-material cast_iron --heated \
                    plain_hub --moving-clearance 0.02mm --bearing 6205-C3 --hotter-inner 5um";
        let Command::Assembly(arguments) = parse(line) else { panic!() };
        let request = joint_request(*arguments, &Context::of_mara()).unwrap();
        let kind = |side: &Option<v1::SizeKnowledge>| side.as_ref().unwrap().kind.clone().unwrap();
        assert!(matches!(kind(&request.internal), Kind::Limits(_)));
        assert!(matches!(kind(&request.external), Kind::Measured(_)));
        assert_eq!(request.moving_clearance.as_ref().unwrap().value, "0.02");
        assert_eq!(request.designation, "6205-C3");
        assert_eq!(request.hotter_inner.as_ref().unwrap().value, "5");
        let materials = (request.inner_material(), request.outer_material());
        assert_eq!(materials, (v1::Material::Steel, v1::Material::CastIron));

        let Command::Assembly(arguments) = parse(&line.replace("--shaft 25.008mm ", "")) else {
            panic!()
        };
        let refused = joint_request(*arguments, &Context::of_mara());
        let Err(Failure::Usage(message)) = refused else { panic!() };
        assert!(message.contains("known of the shaft"), "{message}");
    }

    #[tokio::test]
    async fn a_share_is_shown_as_roughly_as_it_is_known() {
        let double = ShopDouble::default();
        let answer = v1::GetCloseInResponse { share: 0.748_427_5, ..Default::default() };
        double.answer("AssemblyService/GetCloseIn", &answer);
        let server = double.serve().await;
        let line = "close-in --bore 20mm --od 24.03mm --bushing-material bronze --housing 24mm \
                    --housing-od 40mm --housing-material steel";
        let (_, out, _) = run_line(&server, Format::Table, line).await;
        assert_eq!(out, "share  0.75\n");
        let (_, out, _) = run_line(&server, Format::Json, line).await;
        assert!(out.contains("0.7484275"), "{out}");
    }

    #[tokio::test]
    async fn advice_comes_with_its_cautions() {
        let double = ShopDouble::default();
        let temperature = |value: &str| {
            Some(v1::Temperature { value: value.into(), unit: v1::TemperatureUnit::C.into() })
        };
        let answer = v1::GetAssemblyAdviceResponse {
            pressure_min_mpa: 12.4,
            pressure_max_mpa: 31.0,
            press_force_min_n: 900,
            press_force_max_n: 4_200,
            heat_at_least: temperature("71"),
            heat_to: temperature("95"),
            never_over: temperature("120"),
            heat_outcome: "enough".into(),
            cautions: vec!["press on the ring that is fitted".into()],
            ..Default::default()
        };
        double.answer("AssemblyService/GetAssemblyAdvice", &answer);
        let server = double.serve().await;
        let line = "assembly --bore 24.995mm --shaft 25.008mm --outer-diameter 31mm --length 15mm \
                    --inner-material steel --outer-material steel --heated open_bearing";
        let (outcome, out, notes) = run_line(&server, Format::Table, line).await;
        outcome.unwrap();
        assert_eq!(notes, "caution: press on the ring that is fitted\n");
        for expected in [
            "pressure       12.4..31.0 MPa\n",
            "press force    900..4200 N\n",
            "never over     120 C\n",
        ] {
            assert!(out.contains(expected), "{out}");
        }
    }
}
