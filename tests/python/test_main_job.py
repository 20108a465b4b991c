"""The main job, end to end, through an independent gRPC stack: codes, details and figures."""

import time
import datetime
import uuid

import grpc
import pytest
from grpc_shop import Refused

UNIT_IN = "LENGTH_UNIT_IN"
UNIT_MM = "LENGTH_UNIT_MM"


@pytest.fixture
def furnished(shop):
    """A shop with the common things in it."""
    furnish(shop)
    return shop


def furnish(shop):
    """Adds a shelf, a yard and a bench; a gauge; a shaft and a bearing in the catalogue; one lot."""
    for code, kind in [("A-1", "SHELF"), ("YARD", "CORE_YARD"), ("BENCH", "BENCH")]:
        number = shop.enum("LocationKind", "LOCATION_KIND_" + kind)
        location = shop.message("Location", code=code, kind=number)
        shop.act("StockService", "CreateLocation", location=location)
    gauge = shop.message(
        "Gauge",
        tag="M-07",
        description="0-1 in micrometer",
        resolution=shop.length("0.0001"),
        expanded_uncertainty=shop.length("0.0001"),
        setting_method=shop.enum("SettingMethod", "SETTING_METHOD_GAUGE_BLOCK"),
        calibration_due_time=datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=200),
    )
    shop.act("MeasuringService", "RegisterGauge", gauge=gauge)
    shop.act("CatalogueService", "CreateItem", item=shaft(shop))
    bearing = shop.message(
        "Item",
        code="BRG-6205",
        kind=shop.enum("ItemKind", "ITEM_KIND_ROLLING_BEARING"),
        designation="6205",
        description="deep groove ball bearing",
    )
    shop.act("CatalogueService", "CreateItem", item=bearing)
    shop.act("StockService", "ReceiveLot", tag="L-1", item_code="BRG-6205", quantity=20,
             location_code="A-1", date_code="2025-03")


def shaft(shop):
    """A shaft with one k5 seat of 25 mm and a wear limit of 0.0003 in."""
    seat = shop.message(
        "Feature",
        name="seat-a",
        kind=shop.enum("FeatureKind", "FEATURE_KIND_ROLLING_SEAT"),
        nominal=shop.length("25", UNIT_MM),
        tolerance_class="k5",
        wear_limit=shop.length("0.0003"),
        limit_source="shop practice",
    )
    kind = shop.enum("ItemKind", "ITEM_KIND_SHAFT")
    return shop.message("Item", code="SH-25", kind=kind, description="pump shaft", features=[seat])


def refused(code, function, /, *arguments, **fields):
    """Calls what must be refused with this code; every refusal carries ErrorInfo."""
    with pytest.raises(Refused) as caught:
        function(*arguments, **fields)
    refusal = caught.value
    assert refusal.code == code, refusal
    info = refusal.details["ErrorInfo"]
    assert info.reason and info.domain, refusal
    return refusal


def tear_down(shop, core_tag, piece_tag):
    shop.act(
        "ReceivingService", "LogCore", tag=core_tag, description="coolant pump",
        owner=shop.enum("OwnerKind", "OWNER_KIND_SHOP"),
        door_grade=shop.enum("CoreGrade", "CORE_GRADE_B"), grade_reasons=["one seat worn"],
        nameplate=[shop.message("KeyValue", key="hp", value="2")],
        deposit=shop.message("Money", amount="180.00", currency="USD"), location_code="YARD")
    piece = shop.message("TeardownPiece", tag=piece_tag, item_code="SH-25", location_code="BENCH")
    answer = shop.act("ReceivingService", "TearDownCore", tag=core_tag, pieces=[piece])
    assert answer.core.state == shop.enum("CoreState", "CORE_STATE_TORN_DOWN")
    assert list(answer.core.piece_tags) == [piece_tag]


def readings(shop, line):
    return shop.message("NewReadings", feature="seat-a", gauge_tag="M-07", line=line,
                        line_unit=shop.enum("LengthUnit", UNIT_IN))


def measure(shop, piece_tag, line):
    """Records readings and gives the name of the disposition that is proposed."""
    shop.act("MeasuringService", "RecordReadings", piece_tag=piece_tag, readings=readings(shop, line))
    answer = shop.act("MeasuringService", "AssessPiece", piece_tag=piece_tag)
    enumeration = shop.pool.FindEnumTypeByName("tenths.v1.Disposition")
    return enumeration.values_by_number[answer.disposition].name


def test_main_job(furnished):
    shop = furnished
    tear_down(shop, "C-1", "P-1")
    tear_down(shop, "C-2", "P-2")
    assert measure(shop, "P-1", "A0 0.9845 A90 0.9845 B0 0.9844 B90 0.9845") == "DISPOSITION_REUSE"
    accepted = shop.act("StockService", "AcceptPiece", tag="P-1", location_code="A-1")
    assert accepted.piece.state == shop.enum("PieceState", "PIECE_STATE_IN_STOCK")

    worn = measure(shop, "P-2", "A0 0.9834 A90 0.9834 B0 0.9835 B90 0.9834")
    assert worn == "DISPOSITION_RECONDITION"
    recondition(shop, "P-2")
    find_and_hold(shop)


def recondition(shop, piece_tag):
    queued = shop.act(
        "ReconditioningService", "EnqueueJob", piece_tag=piece_tag, feature="seat-a",
        method=shop.enum("Method", "METHOD_BUILD_UP"), reason="seat worn")
    claim = shop.act("ReconditioningService", "ClaimJob", person="oto")
    assert claim.job.tag == queued.job.tag
    good = readings(shop, "A0 0.9845 A90 0.9845")
    late = refused(
        grpc.StatusCode.FAILED_PRECONDITION, shop.act, "ReconditioningService", "FinishJob",
        tag=claim.job.tag, fencing_token=claim.fencing_token + 1, readings=good)
    assert late.details["PreconditionFailure"].violations
    done = shop.act("ReconditioningService", "FinishJob", person="oto", tag=claim.job.tag,
                    fencing_token=claim.fencing_token, readings=good, location_code="A-1")
    assert done.job.outcome == shop.enum("JobOutcome", "JOB_OUTCOME_TO_STOCK"), done


def find_and_hold(shop):
    part = shop.message("PieceFeature", piece_tag="P-1", feature="seat-a")
    requirement = shop.message(
        "FitRequirement", class_pair=shop.message("ClassPair", shaft_class="k5"))
    # What is searched follows the books within a fraction of a second.
    time.sleep(1)
    found = shop.call(
        "FindingService", "FindFit", measured=shop.message("MeasuredPart", piece_feature=part),
        sought=shop.enum("ItemKind", "ITEM_KIND_ROLLING_BEARING"), requirement=requirement)
    assert [fit.candidate.lot_tag for fit in found.fits] == ["L-1"]
    assert (found.fits[0].clearance_min.nm, found.fits[0].clearance_max.nm) == (-16_300, -3_760)

    for tag in ("R-1", "R-2"):
        shop.act("RebuildsService", "OpenRebuild", tag=tag, description="coolant pump")
    lines = [shop.message("ReserveLine", piece_tag="P-1"),
             shop.message("ReserveLine", lot_tag="L-1", quantity=2)]
    held = shop.act("RebuildsService", "Reserve", person="mara", rebuild_tag="R-1", lines=lines)
    second = refused(
        grpc.StatusCode.FAILED_PRECONDITION, shop.act, "RebuildsService", "Reserve",
        rebuild_tag="R-2", lines=lines[:1])
    said = " ".join(v.description for v in second.details["PreconditionFailure"].violations)
    assert "mara" in said and held.reservations[0].tag in said + str(second.details)

    consumed = shop.act("RebuildsService", "ConsumeReservations", rebuild_tag="R-1")
    assert sorted(entry.quantity_delta for entry in consumed.entries) == [-2, -1]
    lot = shop.call("StockService", "GetLot", tag="L-1").lot
    entries = shop.call("StockService", "ListLedgerEntries", tag="L-1").entries
    assert lot.on_hand == sum(entry.quantity_delta for entry in entries) == 18


def test_refusals_carry_their_details(furnished):
    shop = furnished
    missing = refused(grpc.StatusCode.NOT_FOUND, shop.call, "StockService", "GetLot", tag="L-404")
    assert missing.details["ResourceInfo"].resource_name == "L-404"
    taken = refused(grpc.StatusCode.ALREADY_EXISTS, shop.act, "CatalogueService", "CreateItem",
                    item=shaft(shop))
    assert taken.details["ResourceInfo"].resource_name == "SH-25"
    bad = refused(
        grpc.StatusCode.INVALID_ARGUMENT, shop.act, "StockService", "ReceiveLot", person="",
        request_id="7", item_code="", quantity=-1, location_code="", date_code="2025-13")
    fields = set(bad.fields())
    assert {"request_id", "person", "item_code", "quantity", "location_code", "date_code"} <= fields
    fine = refused(grpc.StatusCode.INVALID_ARGUMENT, shop.call, "FitsService", "GetLimits",
                   size=shop.length("0.984251"), tolerance_class="k5")
    assert any(field.startswith("size") for field in fine.fields())


def test_a_stale_etag_is_aborted(furnished):
    shop = furnished
    item = shop.call("CatalogueService", "GetItem", code="SH-25").item
    shop.act("CatalogueService", "UpdateItem", code="SH-25", etag=item.etag, description="first")
    refused(grpc.StatusCode.ABORTED, shop.act, "CatalogueService", "UpdateItem", code="SH-25",
            etag=item.etag, description="second")
    assert shop.call("CatalogueService", "GetItem", code="SH-25").item.description == "first"


def test_the_same_request_has_one_effect(furnished):
    shop = furnished
    request = {"request_id": str(uuid.uuid4()), "item_code": "BRG-6205", "quantity": 3,
               "location_code": "A-1"}
    answers = [shop.act("StockService", "ReceiveLot", **request) for _ in range(3)]
    assert answers[0] == answers[1] == answers[2]
    other = refused(grpc.StatusCode.INVALID_ARGUMENT, shop.act, "StockService", "ReceiveLot",
                    **(request | {"quantity": 4}))
    assert "request_id" in other.fields()
    assert len(shop.call("StockService", "ListLots").lots) == 2


def test_a_worn_journal_under_a_disc(furnished):
    """0.003 in of wear where 0.002 in is the most accepted: common practice, no published source."""
    shop = furnished
    journal = shop.message(
        "Feature",
        name="journal",
        kind=shop.enum("FeatureKind", "FEATURE_KIND_JOURNAL"),
        nominal=shop.length("0.938"),
        wear_limit=shop.length("0.002"),
        reference_station="R",
        limit_source="common practice",
    )
    kind = shop.enum("ItemKind", "ITEM_KIND_SHAFT")
    item = shop.message("Item", code="SH-DISC", kind=kind, description="drive motor shaft",
                        features=[journal])
    shop.act("CatalogueService", "CreateItem", item=item)
    expected = {"0.935": (76_200, "DISPOSITION_RECONDITION"), "0.936": (50_800, "DISPOSITION_REUSE")}
    for number, (worst, (wear_nm, disposition)) in enumerate(expected.items()):
        tag = f"P-{number}"
        condition = shop.enum("PieceCondition", "PIECE_CONDITION_USED")
        shop.act("StockService", "CreatePiece", tag=tag, item_code="SH-DISC", condition=condition,
                 location_code="BENCH")
        read = readings(shop, f"R0 0.938 A0 0.938 B0 0.937 C0 {worst}")
        read.feature = "journal"
        shop.act("MeasuringService", "RecordReadings", piece_tag=tag, readings=read)
        answer = shop.act("MeasuringService", "AssessPiece", piece_tag=tag)
        assert answer.assessments[0].wear.nm == wear_nm
        assert answer.disposition == shop.enum("Disposition", disposition)
