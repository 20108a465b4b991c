//! Goal: the paper says everything that is safe to work by, and nothing on it is markup but its own.

use super::Traveler;
use tenths_proto::v1;

fn inch(value: &str, nm: i64) -> Option<v1::Length> {
    Some(v1::Length { value: value.to_owned(), unit: v1::LengthUnit::In.into(), nm })
}

fn grinding() -> v1::PlannedOperation {
    v1::PlannedOperation {
        kind: v1::OperationKind::FinishGrind.into(),
        machine: v1::WorkMachine::CylindricalGrinder.into(),
        site: v1::Site::InHouse.into(),
        from: inch("0.7465", 18_961_100),
        to_lower: inch("0.7397", 18_788_380),
        to_upper: inch("0.7400", 18_796_000),
        change_on_diameter: inch("0.0068", 172_720),
        change_per_side: inch("0.0034", 86_360),
        minutes: Some(35),
        cautions: vec!["no gloves near rotation".to_owned()],
        text: "finish grind from 0.7465 in".to_owned(),
        ..Default::default()
    }
}

fn job() -> v1::Job {
    let operation =
        |position, plan| v1::Operation { position, plan: Some(plan), ..Default::default() };
    let plating = v1::PlannedOperation {
        kind: v1::OperationKind::Plate.into(),
        site: v1::Site::Vendor.into(),
        vendor: "PLATER-2".to_owned(),
        ..Default::default()
    };
    v1::Job {
        tag: "J-12".to_owned(),
        piece_tag: "P-104".to_owned(),
        feature: "journal-c".to_owned(),
        method: v1::Method::Regrind.into(),
        target_lower: inch("0.7397", 18_788_380),
        target_upper: inch("0.7400", 18_796_000),
        reason: "worn".to_owned(),
        policy_version: Some(3),
        operations: vec![operation(1, grinding()), operation(2, plating)],
        ..Default::default()
    }
}

fn page(job: &v1::Job, piece: &v1::Piece, item: &v1::Item) -> String {
    Traveler { job, piece, item, readings: &[], unit: None }.page()
}

fn piece() -> v1::Piece {
    let size = v1::FeatureSize {
        feature: "journal-c".to_owned(),
        min: inch("0.7461", 18_950_940),
        max: inch("0.7465", 18_961_100),
        ..Default::default()
    };
    v1::Piece { tag: "P-104".to_owned(), sizes: vec![size], ..Default::default() }
}

#[test]
fn both_amounts_every_size_and_room_to_sign_are_on_the_paper() {
    let page = page(&job(), &piece(), &v1::Item::default());
    for said in [
        "<h1>Traveler J-12</h1>",
        "<td>P-104</td>",
        "0.7461..0.7465 in",
        "0.7397..0.7400 in",
        "<th>PER SIDE</th><th>ON DIAMETER</th>",
        "<td>0.0034 in</td><td>0.0068 in</td><td>35</td><td></td>",
        "Caution: no gloves near rotation",
        "sent out: PLATER-2",
        "version 3",
        "not known: look before grinding",
        "released by",
        "qualified people govern",
    ] {
        assert!(page.contains(said), "{said:?} is not in\n{page}");
    }
}

/// Method: put markup into every text that a person could have entered; the page must hold none of
/// it as it stands, and must ask for nothing from elsewhere.
#[test]
fn nothing_that_was_entered_becomes_markup() {
    let nasty = "<script>alert('&\"x')</script>".to_owned();
    let mut job = job();
    (job.tag, job.feature, job.reason) = (nasty.clone(), nasty.clone(), nasty.clone());
    (job.rebuild_tag, job.rework_of) = (nasty.clone(), nasty.clone());
    for operation in &mut job.operations {
        operation.worker.clone_from(&nasty);
        operation.finish_time = Some(prost_types::Timestamp::default());
        let plan = operation.plan.as_mut().unwrap();
        (plan.text, plan.vendor, plan.cautions) =
            (nasty.clone(), nasty.clone(), vec![nasty.clone()]);
    }
    let mut piece = piece();
    (piece.tag, piece.hardness, piece.location_code) =
        (nasty.clone(), nasty.clone(), nasty.clone());
    let item = v1::Item {
        code: nasty.clone(),
        description: nasty.clone(),
        designation: nasty.clone(),
        ..Default::default()
    };
    let page = page(&job, &piece, &item);
    assert!(!page.contains("<script") && !page.contains("alert('"), "{page}");
    assert!(page.contains("&lt;script&gt;alert(&#39;&amp;&quot;x&#39;)&lt;/script&gt;"), "{page}");
    for foreign in ["http", "src=", "href=", "@import", "url("] {
        assert!(!page.contains(foreign), "{foreign:?} in\n{page}");
    }
}

/// Once a job has ended the piece's size is another one: the sheet tells its readings apart by the
/// round and the times, also where the piece was worked on again since.
#[test]
fn an_ended_job_shows_what_was_read_before_it_and_after_it() {
    let at = |seconds| Some(prost_types::Timestamp { seconds, nanos: 0 });
    let reading = |seconds, round, value: &str, nm| v1::Reading {
        station: "A".to_owned(),
        round,
        value_at_20c: inch(value, nm),
        time: at(seconds),
        ..Default::default()
    };
    let mut voided = reading(2, 0, "0.9999", 25_397_460);
    voided.void = Some(v1::ReadingVoid::default());
    let readings = [
        reading(1, 0, "0.7456", 18_938_240),
        reading(2, 0, "0.7455", 18_935_700),
        voided,
        reading(5, 1, "0.7402", 18_801_080),
        reading(9, 1, "0.7388", 18_765_520),
        reading(20, 2, "0.7300", 18_542_000),
    ];
    let operation = v1::Operation { finish_time: at(5), ..Default::default() };
    let ended = v1::Job {
        create_time: at(3),
        state: v1::JobState::Done.into(),
        outcome: v1::JobOutcome::ToStock.into(),
        operations: vec![operation],
        ..job()
    };
    let (piece, item) = (piece(), v1::Item::default());
    let page =
        Traveler { job: &ended, piece: &piece, item: &item, readings: &readings, unit: None }
            .page();
    assert!(page.contains("0.7455 in"), "{page}");
    assert!(page.contains("After (at 20 C): to stock") && page.contains("0.7402 in"), "{page}");
    for other in ["0.9999", "0.7456", "0.7388", "0.7300", "0.7461", "measured by"] {
        assert!(!page.contains(other), "{other} in {page}");
    }
}
