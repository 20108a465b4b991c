//! Files of questions against a double that answers what was prepared.

use super::*;
use crate::commands::reach::run_line;
use crate::shop_double::ShopDouble;
use prost::Message;

fn questions(text: &str) -> Result<Questions, Failure> {
    Questions::from(text.as_bytes(), "sizes.csv", &["size", "unit", "class", "note"], &["note"])
}

async fn bulk(
    double: &ShopDouble,
    command: &str,
    text: &str,
    format: Format,
) -> (Result<(), Failure>, String, String) {
    let server = double.serve().await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("asked.csv");
    std::fs::write(&file, text).unwrap();
    run_line(&server, format, &format!("{command} --from {}", file.display())).await
}

fn limits(lower_deviation_nm: i64) -> v1::LimitsAnswer {
    v1::LimitsAnswer {
        lower_deviation_nm,
        upper_deviation_nm: 11_000,
        lower_nm: 25_000_000 + lower_deviation_nm,
        upper_nm: 25_011_000,
        ..Default::default()
    }
}

fn refused() -> v1::LimitsAnswer {
    v1::LimitsAnswer { problem: "class q5 does not exist".into(), ..Default::default() }
}

#[test]
fn numbers_are_exact_and_without_idle_zeros() {
    for (nm, um, mm) in [
        (0, "0", "0"),
        (-2_000, "-2", "-0.002"),
        (500, "0.5", "0.0005"),
        (-7_620, "-7.62", "-0.00762"),
        (25_000_001, "25000.001", "25.000001"),
        (120_000_000, "120000", "120"),
        (i64::MIN, "-9223372036854775.808", "-9223372036854.775808"),
    ] {
        assert_eq!((micrometres(nm).as_str(), millimetres(nm).as_str()), (um, mm), "{nm} nm");
    }
}

#[test]
fn a_word_that_is_none_is_told_with_those_that_are() {
    let read = questions("size,unit,class\n25,mm,iso\n").unwrap();
    let row = read.rows().next().unwrap();
    let standard = row.member("class", "KEY_STANDARD_", v1::KeyStandard::from_str_name, |at| {
        v1::KeyStandard::try_from(at).ok().map(|one| one.as_str_name())
    });
    assert_eq!(standard.unwrap_err(), "class \"iso\" is not known; allowed: ansi_b17_1, iso_773");
}

#[test]
fn columns_come_in_any_order_and_none_unknown() {
    let read = questions("class,size,unit\nk5,25,mm\n").unwrap();
    let row = read.rows().next().unwrap();
    assert_eq!([row.at("size"), row.at("class"), row.at("note")], ["25", "k5", ""]);
    for (text, part) in [
        ("size,unit\n25,mm\n", "\"class\" is missing"),
        ("size,unit,class,clas\n", "\"clas\" is not known"),
        ("size,unit,class,unit\n", "\"unit\" stands twice"),
    ] {
        let Err(Failure::Usage(message)) = questions(text) else { panic!("{text}") };
        assert!(message.contains(part) && message.contains("size, unit, class"), "{message}");
    }
}

/// Every row is answered in its place: what makes no question is not sent.
#[tokio::test]
async fn every_row_is_answered_in_its_place() {
    let double = ShopDouble::default();
    let answers = vec![limits(2_000), refused(), limits(-500)];
    double.answer("StandardsService/BatchGetLimits", &v1::BatchGetLimitsResponse { answers });
    let text = "unit,class,size\nmm,k5,25\nfurlong,k5,25\nmm,q5,25\n,k5,25\nmm,k5\nin,h6,15/16\n";
    let (outcome, out, _) = bulk(&double, "limits", text, Format::Table).await;
    assert_eq!(
        out,
        "\
size,unit,class,lower,upper,lower_limit,upper_limit,unconfirmed,problem
25,mm,k5,2,11,25.002,25.011,no,
25,furlong,k5,,,,,,\"unit \"\"furlong\"\" is not known; allowed: mm, in, um, thou\"
25,mm,q5,,,,,,class q5 does not exist
25,,k5,,,,,,\"size: \"\"25\"\" has no unit; add one of mm, in, \"\", um, thou\"
,mm,k5,,,,,,line 6 has 2 values; the first line names 3
15/16,in,h6,-0.5,11,24.9995,25.011,no,
"
    );
    assert!(matches!(outcome, Err(Failure::RowProblems { bad: 4 })), "{outcome:?}");
    let calls = double.calls();
    let sent = v1::BatchGetLimitsRequest::decode(calls[0].1.as_slice()).unwrap().questions;
    let sent: Vec<String> = sent.into_iter().map(|asked| asked.size.unwrap().value).collect();
    assert_eq!(sent, ["25", "25", "15/16"]);

    let (_, out, _) = bulk(&double, "limits", text, Format::Json).await;
    let value: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(value[0]["upper_limit"], "25.011");
    assert_eq!(value[2]["problem"], "class q5 does not exist");
}

#[tokio::test]
async fn long_files_are_asked_in_bounded_calls() {
    let double = ShopDouble::default();
    let answers = vec![limits(2_000); QUESTIONS_MAX];
    double.answer("StandardsService/BatchGetLimits", &v1::BatchGetLimitsResponse { answers });
    let text = "size,unit,class\n".to_owned() + &"25,mm,k5\n".repeat(3 * QUESTIONS_MAX);
    let (outcome, out, _) = bulk(&double, "limits", &text, Format::Csv).await;
    outcome.unwrap();
    assert_eq!(out.lines().count(), 1 + 3 * QUESTIONS_MAX);
    let asked =
        |payload: &[u8]| v1::BatchGetLimitsRequest::decode(payload).unwrap().questions.len();
    let calls: Vec<usize> = double.calls().iter().map(|(_, payload)| asked(payload)).collect();
    assert_eq!(calls, [QUESTIONS_MAX; 3]);
}

/// Answers that do not match the questions would stand in wrong rows: none is printed.
#[tokio::test]
async fn a_missing_answer_spoils_all() {
    let double = ShopDouble::default();
    let answers = vec![limits(2_000)];
    double.answer("StandardsService/BatchGetLimits", &v1::BatchGetLimitsResponse { answers });
    let text = "size,unit,class\n25,mm,k5\n30,mm,k5\n";
    let (outcome, out, _) = bulk(&double, "limits", text, Format::Csv).await;
    assert!(matches!(outcome, Err(Failure::Local(_))), "{outcome:?}");
    assert_eq!(out, "");
}

#[tokio::test]
async fn a_file_without_rows_asks_nothing() {
    let double = ShopDouble::default();
    let (outcome, out, _) = bulk(&double, "bearing", "designation\n", Format::Csv).await;
    outcome.unwrap();
    assert!(out.starts_with("designation,ring_class,basic_number,bore,"), "{out}");
    assert_eq!((out.lines().count(), double.calls().len()), (1, 0));
}

#[tokio::test]
async fn keys_and_bearings_are_answered_in_millimetres() {
    let length = |nm| Some(v1::Length { nm, ..Default::default() });
    let double = ShopDouble::default();
    let key = v1::GetKeyResponse {
        width: length(6_350_000),
        keyseat_width: Some(v1::SizeRange { lower: length(6_350_000), upper: length(6_400_800) }),
        unconfirmed: true,
        ..Default::default()
    };
    let answers = vec![v1::KeyAnswer { key: Some(key), problem: String::new() }];
    double.answer("StandardsService/BatchGetKeys", &v1::BatchGetKeysResponse { answers });
    let text = "shaft,unit,fit\n1,in,class_2\n1,in,snug\n";
    let (outcome, out, _) = bulk(&double, "key", text, Format::Csv).await;
    assert!(matches!(outcome, Err(Failure::RowProblems { bad: 1 })), "{outcome:?}");
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines[1], "1,in,,class_2,6.35,,,,,,,6.35,6.4008,,,,yes,");
    assert!(lines[2].contains("fit \"\"snug\"\" is not known"), "{out}");
    let calls = double.calls();
    let sent = v1::BatchGetKeysRequest::decode(calls[0].1.as_slice()).unwrap().questions;
    assert_eq!(sent[0].fit(), v1::KeyseatFit::Class2);

    let bearing = v1::GetBearingResponse {
        basic_number: "6205".into(),
        bore: length(25_000_000),
        clearance_group: "C3".into(),
        bore_limits: Some(v1::SizeRange { lower: length(24_990_000), upper: length(25_000_000) }),
        uninterpreted: vec!["X1".into(), "Y".into()],
        ..Default::default()
    };
    let answers = vec![v1::BearingAnswer { bearing: Some(bearing), problem: String::new() }];
    double.answer("StandardsService/BatchGetBearings", &v1::BatchGetBearingsResponse { answers });
    let (_, out, _) = bulk(&double, "bearing", "designation\n6205 C3\n", Format::Csv).await;
    assert_eq!(out.lines().nth(1).unwrap(), "6205 C3,,6205,25,,,,C3,,,24.99,25,,,,,X1 Y,no,");
}

#[tokio::test]
async fn pairs_are_judged_as_the_row_says() {
    let length = |nm| Some(v1::Length { nm, ..Default::default() });
    let verdict = v1::Verdict {
        kind: v1::VerdictKind::ProbableIn.into(),
        probability_in: 0.973,
        text: "probable in (P 0.973)".into(),
    };
    let fit = v1::JudgeFitResponse {
        clearance_min: length(-16_500),
        clearance_max: length(-6_000),
        fit_kind: "interference".into(),
        verdict: Some(verdict),
        measure_next: "measure the bore with M-07".into(),
        decision: v1::Decision::Accept.into(),
        decision_text: "accepted as it reads (simple acceptance)".into(),
        probability_is_at_most: true,
        internal_basis: v1::SizeBasis::Toleranced.into(),
        external_basis: v1::SizeBasis::Measured.into(),
        ..Default::default()
    };
    let double = ShopDouble::default();
    let answer = v1::FitAnswer { fit: Some(fit), problem: String::new() };
    let answers = vec![answer; 3];
    double.answer("FitsService/BatchJudgeFits", &v1::BatchJudgeFitsResponse { answers });
    let text = "nominal,unit,bore,bore_uncertainty,shaft,shaft_uncertainty,class\n\
                25,mm,,,25.008..25.010,0.003,k5\n25,mm,25.003,,,,H7/k6\n25,mm,,0.003,,,H7/k6\n\
                1,in,,,0.9988,,RC4\n";
    let (outcome, out, _) = bulk(&double, "fit --rule iso_14253_1_2013", text, Format::Csv).await;
    assert!(matches!(outcome, Err(Failure::RowProblems { bad: 1 })), "{outcome:?}");
    let lines: Vec<&str> = out.lines().collect();
    assert!(
        lines[1].contains(
            ",k5,-16.5,-6,,,interference,,probable in (P 0.973),0.973,measure the bore with M-07,no,\
             accepted as it reads (simple acceptance),yes,\"unmeasured, taken within its limits\",\
             measured,"
        ),
        "{out}"
    );
    assert!(lines[3].ends_with(",\"bore_uncertainty is given, but no bore\""), "{out}");

    use v1::size_knowledge::Kind;
    let calls = double.calls();
    let sent = v1::BatchJudgeFitsRequest::decode(calls[0].1.as_slice()).unwrap().questions;
    let kind = |side: &Option<v1::SizeKnowledge>| side.as_ref().unwrap().kind.clone().unwrap();
    assert_eq!(kind(&sent[0].internal), Kind::RingClass("normal".into()));
    let Kind::Measured(shaft) = kind(&sent[0].external) else { panic!() };
    let [min, max, doubt] =
        [shaft.min, shaft.max, shaft.expanded_uncertainty].map(|length| length.unwrap().value);
    assert_eq!([min.as_str(), max.as_str(), doubt.as_str()], ["25.008", "25.010", "0.003"]);
    assert_eq!(kind(&sent[1].external), Kind::ToleranceClass("k6".into()));
    assert_eq!(sent[1].rule(), v1::DecisionRule::Iso1425312013);
    assert_eq!(kind(&sent[2].internal), Kind::InchFitClass("RC4".into()));
    let required = sent[2].requirement.as_ref().unwrap().kind.clone().unwrap();
    assert_eq!(required, v1::fit_requirement::Kind::InchFitClass("RC4".into()));
}
