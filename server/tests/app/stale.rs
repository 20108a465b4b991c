//! A version that was read before somebody else's change is refused, and the change stands.

use crate::shop::{HOUR, Shop, act, disc_journal, look, micrometer, piece};
use crate::support::{TestDb, on_both};
use tenths_domain::state::{BuiltUp, CoreGrade, GaugeState, OwnerKind, RebuildState};
use tenths_server::app::catalogue::{self, SetFeature, UpdateItem};
use tenths_server::app::error::Error;
use tenths_server::app::holds::{self, ExtendReservation};
use tenths_server::app::measuring::{self, UpdateGauge};
use tenths_server::app::rebuilds::{self, CloseRebuild};
use tenths_server::app::receiving::{self, LogCore, MoveCore, RegradeCore};
use tenths_server::app::stock::{self, MovePiece, UpdatePiece};

on_both!(a_stale_version_is_refused_everywhere);

#[track_caller]
fn stale<T: std::fmt::Debug>(done: Result<T, Error>, kind: &str, name: &str) {
    match done {
        Err(Error::Stale { kind: found, name: named, revision }) => {
            assert_eq!((found, named.as_str()), (kind, name));
            assert!(revision > 1, "{kind} {name} is at version {revision}");
        }
        other => panic!("{kind} {name}: {other:?}"),
    }
}

/// Method: for each resource with a version, change it by the version read, then change it again by
/// that same version; the second must be refused with the version that there is now.
async fn a_stale_version_is_refused_everywhere(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let item = UpdateItem {
        code: "SH-30".to_owned(),
        etag: look!(shop, catalogue::get_item, "SH-30").unwrap().revision,
        description: "pump shaft".to_owned(),
        designation: String::new(),
        material: None,
        set: tenths_domain::substitution::SetSize::ONE,
        no_substitute: false,
    };
    let feature =
        SetFeature { item_code: item.code.clone(), etag: item.etag, feature: disc_journal() };
    act!(shop, catalogue::update_item, item.clone()).unwrap();
    stale(act!(shop, catalogue::update_item, item), "item", "SH-30");
    stale(act!(shop, catalogue::set_feature, feature), "item", "SH-30");

    let piece_etag = look!(shop, stock::get_piece, "P-1").unwrap().piece.revision;
    let update = UpdatePiece {
        tag: "P-1".to_owned(),
        etag: piece_etag,
        material: None,
        hardness: "28 HRC".to_owned(),
        built_up: BuiltUp::No,
        note: String::new(),
    };
    let moved = MovePiece {
        tag: "P-1".to_owned(),
        etag: Some(piece_etag),
        location_code: "B-01".to_owned(),
    };
    act!(shop, stock::update_piece, update.clone()).unwrap();
    stale(act!(shop, stock::update_piece, update), "piece", "P-1");
    stale(act!(shop, stock::move_piece, moved), "piece", "P-1");
    assert_eq!(look!(shop, stock::get_piece, "P-1").unwrap().location_code, "A-01");

    let gauge = UpdateGauge { etag: 1, state: GaugeState::InUse, gauge: micrometer("M-07") };
    act!(shop, measuring::update_gauge, gauge.clone()).unwrap();
    stale(act!(shop, measuring::update_gauge, gauge), "gauge", "M-07");

    shop.hold("R-1", vec![piece("P-2")]).await;
    let extend = ExtendReservation {
        tag: "H-1".to_owned(),
        etag: Some(1),
        until_at: shop.now() + 2 * HOUR,
        reason: String::new(),
    };
    act!(shop, holds::extend_reservation, extend.clone()).unwrap();
    stale(act!(shop, holds::extend_reservation, extend), "reservation", "H-1");
    stale_core(&shop).await;

    let close = CloseRebuild { tag: "R-2".to_owned(), etag: Some(1), state: RebuildState::Shipped };
    act!(shop, rebuilds::close_rebuild, close.clone()).unwrap();
    stale(act!(shop, rebuilds::close_rebuild, close), "rebuild", "R-2");
    shop.close().await;
}

async fn stale_core(shop: &Shop) {
    let log = LogCore {
        tag: None,
        item_code: None,
        description: "gear pump".to_owned(),
        nameplate: vec![("power".to_owned(), "4 kW".to_owned())],
        owner: OwnerKind::Customer,
        customer: "Nordhof".to_owned(),
        door_grade: CoreGrade::B,
        grade_reasons: vec!["seat worn".to_owned()],
        deposit: None,
        location_code: "A-01".to_owned(),
    };
    let core = act!(shop, receiving::log_core, log).unwrap().core;
    let regrade = RegradeCore {
        tag: core.tag.clone(),
        etag: core.revision,
        grade: CoreGrade::C,
        reasons: Vec::new(),
    };
    let moved =
        MoveCore { tag: core.tag.clone(), etag: core.revision, location_code: "B-01".to_owned() };
    act!(shop, receiving::regrade_core, regrade.clone()).unwrap();
    stale(act!(shop, receiving::regrade_core, regrade), "core", &core.tag);
    stale(act!(shop, receiving::move_core, moved), "core", &core.tag);
}
