//! Measuring: entry traps, voids, gauges in doubt.

use crate::shop::{
    HOUR, Shop, act, assess, disc_journal, forbidden, length, look, micrometer, obstacles, read,
    record, seat,
};
use crate::support::{TestDb, on_both};
use tenths_domain::disposition::Disposition;
use tenths_domain::entry::EnteredTemperature;
use tenths_domain::ids::ReadingId;
use tenths_domain::measure::SettingMethod;
use tenths_domain::state::GaugeState;
use tenths_domain::substitution::SetSize;
use tenths_domain::temperature::{Material, Temperature, TemperatureScale};
use tenths_domain::units::Unit;
use tenths_domain::verdict::DecisionRule;
use tenths_server::app::catalogue::{self, SetFeature, UpdateItem};
use tenths_server::app::judging;
use tenths_server::app::measuring::{
    self, NewReadings, ReadingsNamed, RecordReadings, UpdateGauge, VoidReading,
};
use tenths_server::app::stock;
use tenths_storage::{Page, PieceSize};

on_both!(
    a_digit_swap_is_asked_about_and_kept_with_its_reason,
    a_void_takes_a_reading_out_of_the_size,
    the_newest_reading_of_a_place_speaks,
    a_gauge_found_wrong_names_what_rests_on_it,
    a_gauge_that_is_not_in_use_takes_no_readings,
    a_gauge_found_wrong_proves_nothing,
    a_plug_gauge_gives_no_reading,
    the_reference_station_cannot_change_under_readings,
    part_and_gauge_are_brought_to_20c_each_for_itself,
    a_hot_gauge_in_celsius_is_asked_about,
    the_rule_of_an_assessment_is_kept_and_named,
);

const ALL: Page = Page { after: 0, limit: 100 };

async fn journal_of(shop: &Shop, tag: &'static str) -> PieceSize {
    let piece = look!(shop, stock::get_piece, tag).unwrap();
    let found = piece.sizes.into_iter().find(|(feature, _)| feature.feature.name == "journal");
    found.unwrap().1
}

async fn readings(shop: &Shop) -> Vec<measuring_view::View> {
    let found = look!(shop, measuring::list_readings, ALL, ReadingsNamed::default()).unwrap();
    found.into_iter().map(measuring_view::View::from).collect()
}

mod measuring_view {
    //! A reading as these tests look at it.

    use tenths_server::app::views::ReadingView;

    pub(crate) struct View {
        pub(crate) id: tenths_domain::ids::ReadingId,
        pub(crate) text: String,
        pub(crate) trap: String,
        pub(crate) reason: String,
        pub(crate) is_void: bool,
        pub(crate) is_overdue: bool,
    }

    impl From<ReadingView> for View {
        fn from(view: ReadingView) -> Self {
            let reading = view.reading;
            View {
                id: reading.id,
                text: reading.value_text,
                trap: reading.trap,
                reason: reading.override_reason,
                is_void: reading.void.is_some(),
                is_overdue: reading.gauge_overdue,
            }
        }
    }
}

/// Goal: nothing suspicious is saved unasked, and what is kept all the same says why. Method: one
/// swapped digit among good readings: refused with one question, nothing saved; with a reason, all
/// are saved and the one carries question and reason.
async fn a_digit_swap_is_asked_about_and_kept_with_its_reason(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let line = read("journal", "M-07", "A0 0.9374 A90 0.9734 B0 0.9374 B90 0.9374");
    let order = record("P-1", line);
    let asked = obstacles(act!(shop, measuring::record_readings, order.clone()));
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert_eq!(asked[0].0, "ENTRY_TRAP");
    assert!(
        asked[0].1.contains("A90 = 0.9734 in") && asked[0].1.contains("digit_swap"),
        "{asked:?}"
    );
    assert!(readings(&shop).await.is_empty());
    assert_eq!(journal_of(&shop, "P-1").await.reading_count, 0);
    let kept = RecordReadings { override_reason: "a weld bead".to_owned(), ..order };
    act!(shop, measuring::record_readings, kept).unwrap();
    let saved = readings(&shop).await;
    assert_eq!(saved.len(), 4);
    for reading in &saved {
        let is_odd = reading.text == "0.9734";
        assert_eq!(reading.trap.contains("digits swapped?"), is_odd, "{}", reading.trap);
        assert_eq!(reading.reason == "a weld bead", is_odd, "{}", reading.reason);
    }
    let size = journal_of(&shop, "P-1").await;
    assert_eq!(size.max, Some(length("0.9734", Unit::Inch)));
    shop.close().await;
}

/// Goal: the kept size is that of the readings that stand. Method: record four readings, void the
/// smallest, then a second time the same, then all.
async fn a_void_takes_a_reading_out_of_the_size(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let line = read("journal", "M-07", "REF0 0.9380 A0 0.9370 A90 0.9375 B0 0.9376");
    act!(shop, measuring::record_readings, record("P-1", line)).unwrap();
    let size = journal_of(&shop, "P-1").await;
    assert_eq!(size.min, Some(length("0.9370", Unit::Inch)));
    assert_eq!(size.max, Some(length("0.9376", Unit::Inch)), "the reference station is left out");
    assert_eq!(size.reading_count, 4);
    let saved = readings(&shop).await;
    let void = |reading: ReadingId| VoidReading { reading, reason: "chip under anvil".to_owned() };
    let voided = act!(shop, measuring::void_reading, void(saved[1].id)).unwrap();
    assert_eq!(voided.reading.void.unwrap().reason, "chip under anvil");
    let size = journal_of(&shop, "P-1").await;
    assert_eq!((size.min, size.reading_count), (Some(length("0.9375", Unit::Inch)), 3));
    forbidden(act!(shop, measuring::void_reading, void(saved[1].id)), "READING_VOID", &[]);
    for index in [0, 2, 3] {
        act!(shop, measuring::void_reading, void(saved[index].id)).unwrap();
    }
    let size = journal_of(&shop, "P-1").await;
    assert_eq!((size.min, size.max, size.reading_count), (None, None, 0));
    assert!(readings(&shop).await.iter().all(|reading| reading.is_void));
    let nothing = act!(shop, judging::assess_piece, assess("P-1"));
    forbidden(nothing, "NOT_MEASURED", &["P-1 has no readings"]);
    shop.close().await;
}

/// Goal: measuring a place again lets the newer reading speak, until it is voided. Method: read two
/// places, read one of them again, void that; look at the kept size and the invariants after each.
async fn the_newest_reading_of_a_place_speaks(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for (line, smallest) in [("A0 0.9370 B0 0.9376", "0.9370"), ("A0 0.9373", "0.9373")] {
        // Larger than before: asked about, and answered.
        let override_reason = "wiped clean".to_owned();
        let order = record("P-1", read("journal", "M-07", line));
        let order = RecordReadings { override_reason, ..order };
        act!(shop, measuring::record_readings, order).unwrap();
        let size = journal_of(&shop, "P-1").await;
        assert_eq!(size.min, Some(length(smallest, Unit::Inch)), "{line}");
        assert_eq!(size.reading_count, 2, "{line}");
        shop.assert_sound().await;
    }
    let newest = readings(&shop).await.pop().unwrap();
    let void = VoidReading { reading: newest.id, reason: "wrong end".to_owned() };
    act!(shop, measuring::void_reading, void).unwrap();
    let size = journal_of(&shop, "P-1").await;
    assert_eq!(size.min, Some(length("0.9370", Unit::Inch)));
    assert_eq!(readings(&shop).await.len(), 3, "nothing that was read is gone");
    shop.close().await;
}

/// Goal: a gauge found wrong is traceable to every verdict that it made. Method: assessments of two
/// pieces, one by another gauge too; mark each gauge in turn.
async fn a_gauge_found_wrong_names_what_rests_on_it(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    act!(shop, measuring::register_gauge, micrometer("M-08")).unwrap();
    shop.measure_well("P-1").await;
    let other = read("journal", "M-08", "A0 0.9375 A90 0.9375");
    act!(shop, measuring::record_readings, record("P-2", other)).unwrap();
    act!(shop, judging::assess_piece, assess("P-2")).unwrap();
    act!(shop, judging::assess_piece, assess("P-1")).unwrap();
    let mark = |tag: &str, etag: i64, state: GaugeState| UpdateGauge {
        etag,
        state,
        gauge: micrometer(tag),
    };
    // P-1 was assessed twice, each time its journal and its seat.
    for (tag, expected) in [("M-07", 4), ("M-08", 1)] {
        let wrong = mark(tag, 1, GaugeState::FoundWrong);
        let (_, in_doubt) = act!(shop, measuring::update_gauge, wrong).unwrap();
        assert_eq!(in_doubt, expected, "{tag}");
        let listed = look!(shop, judging::list_assessments, ALL, None, Some(tag.to_owned()));
        assert_eq!(i64::try_from(listed.unwrap().len()).unwrap(), expected, "{tag}");
    }
    let (_, in_doubt) =
        act!(shop, measuring::update_gauge, mark("M-07", 2, GaugeState::InUse)).unwrap();
    assert_eq!(in_doubt, 0);
    shop.close().await;
}

/// Method: mark the gauge found wrong: no readings; back in use but past its date: readings that
/// are marked, with a note.
async fn a_gauge_that_is_not_in_use_takes_no_readings(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let order = record("P-1", read("journal", "M-07", "A0 0.9375"));
    for (etag, state) in [(1, GaugeState::FoundWrong), (2, GaugeState::Retired)] {
        let gauge = UpdateGauge { etag, state, gauge: micrometer("M-07") };
        act!(shop, measuring::update_gauge, gauge).unwrap();
        let refused = act!(shop, measuring::record_readings, order.clone());
        forbidden(refused, "GAUGE_STATE", &["M-07", state.as_str()]);
    }
    let gauge = UpdateGauge { etag: 3, state: GaugeState::InUse, gauge: micrometer("M-07") };
    act!(shop, measuring::update_gauge, gauge).unwrap();
    shop.pass(2000 * HOUR);
    let notes = act!(shop, measuring::record_readings, order).unwrap().notes;
    assert!(notes[0].contains("past its calibration date"), "{notes:?}");
    assert!(readings(&shop).await[0].is_overdue);
    shop.close().await;
}

/// Goal: a part is not reused on the word of a gauge that was found wrong. Method: mark the gauge
/// after good readings; a new assessment holds the part and says why.
async fn a_gauge_found_wrong_proves_nothing(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let good = read("journal", "M-07", "R0 0.9375 A0 0.9375 A90 0.9375");
    act!(shop, measuring::record_readings, record("P-1", good)).unwrap();
    act!(shop, judging::assess_piece, assess("P-1")).unwrap();
    let wrong = UpdateGauge { etag: 1, state: GaugeState::FoundWrong, gauge: micrometer("M-07") };
    act!(shop, measuring::update_gauge, wrong).unwrap();
    let again = act!(shop, judging::assess_piece, assess("P-1")).unwrap();
    assert_eq!(again.disposition, Disposition::HoldForDecision);
    let reasons = &again.assessments[0].assessment.record.reasons;
    assert!(reasons[0].contains("M-07 was found wrong"), "{reasons:?}");
    shop.close().await;
}

fn warmth(text: &str, scale: TemperatureScale) -> Option<(EnteredTemperature, String)> {
    let temperature = Temperature::parse_confirmed(text, scale).unwrap();
    Some((EnteredTemperature { temperature, scale }, text.to_owned()))
}

/// Goal: part and gauge are each corrected with their own coefficient, what was entered is kept, and
/// every number is traced. Method: a steel journal at 30 C under a gauge at 25 C, of steel and then
/// registered as aluminium: 23.8125 mm * (11.5 * 10 - 11.5 * 5) ppm = 1.369 um large, and with the
/// aluminium gauge 23.8125 mm * (11.5 * 10 - 23.1 * 5) ppm = 0.012 um small, by hand from the
/// coefficients of NIST (see `Material`); without the gauge's temperature like bodies cancel.
async fn part_and_gauge_are_brought_to_20c_each_for_itself(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let aluminium =
        measuring::RegisterGauge { material: Some(Material::Aluminium), ..micrometer("M-AL") };
    act!(shop, measuring::register_gauge, aluminium).unwrap();
    let steel = UpdateItem {
        code: "SH-30".to_owned(),
        etag: look!(shop, catalogue::get_item, "SH-30").unwrap().revision,
        description: "pump shaft".to_owned(),
        designation: String::new(),
        material: Some(Material::Steel),
        set: SetSize::ONE,
        no_substitute: false,
    };
    act!(shop, catalogue::update_item, steel).unwrap();
    let celsius = TemperatureScale::Celsius;
    for (tag, gauge_at, correction_nm) in
        [("M-07", Some("25"), -1_369), ("M-AL", Some("25"), 12), ("M-07", None, 0)]
    {
        let readings = NewReadings {
            temperature: warmth("30", celsius),
            gauge_temperature: gauge_at.and_then(|text| warmth(text, celsius)),
            ..read("journal", tag, "A0 0.9375")
        };
        let done = act!(shop, measuring::record_readings, record("P-1", readings)).unwrap();
        let reading = &done.readings[0].reading;
        assert_eq!((reading.at_20c - reading.value).nm(), correction_nm, "{tag} {gauge_at:?}");
        let kept = reading.gauge_temperature.clone();
        assert_eq!(kept, gauge_at.map(|text| (text.to_owned(), celsius)));
        // What is stored is what is answered.
        let stored = look!(shop, measuring::list_readings, ALL, ReadingsNamed::default()).unwrap();
        assert_eq!(&stored.last().unwrap().reading, reading);
        let whats: Vec<&str> = done.traces.iter().map(|trace| trace.what.as_str()).collect();
        for what in ["part temperature", "gauge temperature", "A0 at 20 C", "A0 U (k=2)"] {
            assert!(whats.contains(&what), "{what}: {whats:?}");
        }
        assert!(done.traces.iter().all(|trace| !trace.source.is_empty()));
        let assumed = done.notes.iter().any(|note| note.contains("as warm as the part, 30.0 C"));
        assert_eq!(assumed, gauge_at.is_none(), "{:?}", done.notes);
    }
    shop.assert_sound().await;
    shop.close().await;
}

/// Method: 70 in a Celsius field for the gauge: asked, nothing saved; in Fahrenheit it is taken.
async fn a_hot_gauge_in_celsius_is_asked_about(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let with = |scale| {
        let readings = read("journal", "M-07", "A0 0.9375");
        record("P-1", NewReadings { gauge_temperature: warmth("70", scale), ..readings })
    };
    let asked = act!(shop, measuring::record_readings, with(TemperatureScale::Celsius));
    forbidden(asked, "ENTRY_TRAP", &["with a gauge at 70.0 C", "Fahrenheit"]);
    assert!(readings(&shop).await.is_empty());
    act!(shop, measuring::record_readings, with(TemperatureScale::Fahrenheit)).unwrap();
    shop.close().await;
}

/// Goal: the rule of an assessment is recorded with it, and every figure is traced. Method: the same
/// readings by each rule; listed afterwards each has its own.
async fn the_rule_of_an_assessment_is_kept_and_named(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let line = read("journal", "M-07", "REF0 0.9375 A0 0.9374 A90 0.9374 B0 0.9373 B90 0.9374");
    act!(shop, measuring::record_readings, record("P-1", line)).unwrap();
    for rule in DecisionRule::ALL.iter().copied() {
        let mut order = assess("P-1");
        order.manner.rule = rule;
        let done = act!(shop, judging::assess_piece, order).unwrap();
        assert_eq!(done.assessments[0].assessment.record.rule, rule);
        let trace = |what: &str| {
            let found = done.traces.iter().find(|trace| trace.what == format!("journal: {what}"));
            found.unwrap_or_else(|| panic!("{what}: {:#?}", done.traces)).clone()
        };
        assert!(trace("decision rule").value.starts_with(rule.as_str()));
        assert_eq!(trace("decision rule").source, rule.source());
        for what in ["nominal", "A0 at 20 C", "smallest", "mean", "wear", "U (k=2) of a size"] {
            assert!(!trace(what).source.is_empty(), "{what}");
        }
        assert!(trace("A0 at 20 C").source.contains("with gauge M-07"));
        for finding in &done.assessments[0].assessment.record.findings {
            assert!(
                trace(&format!("verdict on {}", finding.criterion.replace('_', " ")))
                    .source
                    .contains("JCGM 106:2012")
            );
        }
    }
    let listed = look!(shop, judging::list_assessments, ALL, None, None).unwrap();
    let rules: Vec<DecisionRule> = listed.iter().map(|one| one.assessment.record.rule).collect();
    assert_eq!(rules, DecisionRule::ALL);
    shop.close().await;
}

/// Goal: a fixed gauge says that a size is beyond its own, and no more.
async fn a_plug_gauge_gives_no_reading(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let plug = measuring::RegisterGauge {
        setting_method: SettingMethod::PlugOrRingGauge,
        ..micrometer("PG-1")
    };
    act!(shop, measuring::register_gauge, plug).unwrap();
    let order = record("P-1", read("journal", "PG-1", "A0 0.9375"));
    let refused = act!(shop, measuring::record_readings, order);
    forbidden(refused, "GAUGE_GIVES_A_BOUND", &["PG-1", "bound"]);
    shop.close().await;
}

/// Goal: a kept size never stops being what its readings say. Method: measure a journal with its
/// reference station, then give the feature another reference station or none, in all that the use
/// case allows; the invariants must hold whatever it answers.
async fn the_reference_station_cannot_change_under_readings(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.measure_well("P-1").await;
    for (station, feature) in [(None, "journal"), (Some("A"), "journal"), (Some("A"), "seat")] {
        let mut changed = if feature == "seat" { seat() } else { disc_journal() };
        changed.feature.reference_station = station.map(str::to_owned);
        let etag = look!(shop, catalogue::get_item, "SH-30").unwrap().revision;
        let change = SetFeature { item_code: "SH-30".to_owned(), etag, feature: changed };
        let done = act!(shop, catalogue::set_feature, change);
        if done.is_err() {
            forbidden(done, "FEATURE_HAS_READINGS", &[]);
        }
        shop.assert_sound().await;
    }
    shop.close().await;
}
