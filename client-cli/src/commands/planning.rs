//! `tenths recon plan` and `tenths recon yields`.

use crate::args::{ReconPlan, ReconYields};
use crate::connect::{Session, rpc};
use crate::failure::{Failure, broken_answer};
use crate::lines::hanging;
use crate::output::Format;
use crate::words::word;
use tenths_proto::v1;
use tenths_proto::v1::planning_service_client::PlanningServiceClient;

pub(crate) async fn plan(session: &mut Session, arguments: ReconPlan) -> Result<(), Failure> {
    let (machine, day_minutes, assumed_minutes) =
        (arguments.machine.into(), arguments.day, arguments.assume);
    let plan = if arguments.release {
        let request = v1::ReleasePlanRequest {
            request_id: session.context.request_id(),
            person: session.context.person()?,
            machine,
            day_minutes,
            assumed_minutes,
        };
        rpc!(session, PlanningServiceClient.release_plan(request))?.plan
    } else {
        let request = v1::PlanDayRequest { machine, day_minutes, assumed_minutes };
        rpc!(session, PlanningServiceClient.plan_day(request))?.plan
    };
    let plan = plan.ok_or_else(|| broken_answer("plan"))?;
    if session.printer.format == Format::Table {
        let columns = session.printer.columns;
        session.printer.text(&hanging("", &summary(&plan, arguments.release), 2, columns))?;
    }
    if session.printer.format != Format::Table || !plan.lines.is_empty() {
        session.printer.rows(&plan, &["lines", "batches"])?;
    }
    session.printer.notes("note", &plan.assumptions)
}

/// What the tables do not say.
fn summary(plan: &v1::DayPlan, is_released: bool) -> String {
    let machine = word(plan.machine().as_str_name(), "WORK_MACHINE_");
    let mut said = format!("{machine}: {} waiting, {} in work", plan.waiting, plan.in_progress);
    if let Some(most) = plan.wip_max {
        said = format!("{said} of {most} at most");
    }
    if plan.not_planned > 0 {
        said = format!("{said}; the most pressing {} are planned", plan.lines.len());
    }
    said = format!(
        "{said}; set-ups take {} min, batching saves {} min; policy version {}",
        plan.setup_minutes, plan.setup_minutes_saved, plan.policy_version
    );
    match is_released {
        true => format!("{said}; released: claims follow this order"),
        false => format!("{said}; not released"),
    }
}

pub(crate) async fn yields(session: &mut Session, arguments: ReconYields) -> Result<(), Failure> {
    let request = v1::ListYieldsRequest {
        operation: arguments.operation.unwrap_or_default().into(),
        vendor: arguments.vendor,
    };
    let answer = rpc!(session, PlanningServiceClient.list_yields(request))?;
    let prior = format!(
        "before anything is counted, policy version {} takes {} as passed and {} as failed; the \
         yield is above its lower bound with 19 chances in 20",
        answer.policy_version, answer.prior_passed, answer.prior_failed
    );
    session.printer.rows(&answer, &["yields"])?;
    session.printer.notes("note", &[prior])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::reach::run_line;
    use crate::shop_double::ShopDouble;

    fn line(place: i32, job: &str, forced: v1::Floor, when: v1::PlannedFor) -> v1::PlanLine {
        v1::PlanLine {
            place,
            batch: 1,
            job_tag: job.to_owned(),
            piece_tag: format!("P-{place}"),
            feature: "journal-c".to_owned(),
            operation: v1::OperationKind::FinishGrind.into(),
            finish_size: Some(v1::Length {
                value: "0.7400".to_owned(),
                unit: v1::LengthUnit::In.into(),
                nm: 18_796_000,
            }),
            planned_for: when.into(),
            forced_by: forced.into(),
            finish_time: Some(prost_types::Timestamp { seconds: 1_795_910_400, nanos: 0 }),
            setup_minutes: 20,
            minutes: 30,
            chance: 0.9,
            ..Default::default()
        }
    }

    fn two_lines() -> v1::DayPlan {
        v1::DayPlan {
            machine: v1::WorkMachine::CylindricalGrinder.into(),
            policy_version: 3,
            lines: vec![
                line(1, "J-4", v1::Floor::DueDate, v1::PlannedFor::Now),
                line(2, "J-2", v1::Floor::Unspecified, v1::PlannedFor::Today),
            ],
            batches: vec![v1::PlanBatch {
                number: 1,
                jobs: 2,
                text: "2 at 0.7400 in, one set-up (20 min)".to_owned(),
                ..Default::default()
            }],
            setup_minutes: 20,
            setup_minutes_saved: 20,
            waiting: 3,
            not_planned: 1,
            in_progress: 1,
            wip_max: Some(2),
            assumptions: vec!["times count working minutes".to_owned()],
            ..Default::default()
        }
    }

    /// A plan reads in eighty columns, and what it takes for granted is said.
    #[tokio::test]
    async fn a_plan_is_read_at_eighty_columns() {
        let double = ShopDouble::default();
        let answer = v1::PlanDayResponse { plan: Some(two_lines()) };
        double.answer("PlanningService/PlanDay", &answer);
        let server = double.serve().await;
        let line = "recon plan cylindrical-grinder";
        let (outcome, out, notes) = run_line(&server, Format::Table, line).await;
        outcome.unwrap();
        assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
        let rows: Vec<&str> = out.lines().filter(|line| line.contains("J-")).collect();
        assert!(rows.iter().all(|row| row.chars().count() <= 80), "{out}");
        for said in [
            "3 waiting, 1 in work of 2 at most",
            "the most pressing 2 are planned",
            "batching saves 20 min",
            "not released",
            "due_date",
            "2 at 0.7400 in, one set-up (20 min)",
        ] {
            assert!(out.replace("\n  ", " ").contains(said), "{said:?} in {out}");
        }
        assert_eq!(notes, "note: times count working minutes\n");
    }

    #[tokio::test]
    async fn a_release_is_asked_for_once_and_says_so() {
        let double = ShopDouble::default();
        let answer = v1::ReleasePlanResponse { plan: Some(two_lines()) };
        double.answer("PlanningService/ReleasePlan", &answer);
        let server = double.serve().await;
        let line = "recon plan lathe --release --day 240 --assume 45";
        let (outcome, out, _) = run_line(&server, Format::Table, line).await;
        outcome.unwrap();
        assert!(out.contains("released: claims follow this order"), "{out}");
        let calls = double.calls();
        let [(path, payload)] = calls.as_slice() else { panic!("{calls:?}") };
        assert_eq!(path, "/tenths.v1.PlanningService/ReleasePlan");
        let asked = <v1::ReleasePlanRequest as prost::Message>::decode(payload.as_slice()).unwrap();
        assert_eq!(asked.machine(), v1::WorkMachine::Lathe);
        assert_eq!((asked.day_minutes, asked.assumed_minutes), (Some(240), Some(45)));
        assert_eq!(asked.person, "mara");
    }
}
