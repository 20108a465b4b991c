"""Reflection, health and deadlines as a gRPC stack that shares no code with the server sees them."""

import grpc
import pytest
from grpc_health.v1 import health_pb2, health_pb2_grpc
from grpc_reflection.v1alpha import reflection_pb2
from grpc_shop import PACKAGE, Refused

SERVICES = ["AssemblyService", "CatalogueService", "FindingService", "FitsService", "MeasuringService",
            "PlanningService", "PolicyService", "RebuildsService", "ReceivingService",
            "ReconditioningService", "RepairsService", "StandardsService", "StockService",
            "TransferService"]


@pytest.mark.parametrize("version", ["v1", "v1alpha"])
def test_reflection_lists_every_service(shop, version):
    # The messages of both versions are the same on the wire; grpcio carries v1alpha's only.
    call = shop.channel.stream_stream(
        f"/grpc.reflection.{version}.ServerReflection/ServerReflectionInfo",
        request_serializer=reflection_pb2.ServerReflectionRequest.SerializeToString,
        response_deserializer=reflection_pb2.ServerReflectionResponse.FromString,
    )
    answers = call(iter([reflection_pb2.ServerReflectionRequest(list_services="")]), timeout=10)
    listed = [service.name for service in next(answers).list_services_response.service]
    assert {f"{PACKAGE}.{name}" for name in SERVICES} <= set(listed)
    assert "grpc.health.v1.Health" in listed


def test_reflection_describes_every_rpc(shop):
    ours = [name for name in shop.services() if name.startswith(PACKAGE + ".")]
    assert ours == sorted(f"{PACKAGE}.{name}" for name in SERVICES)
    methods = [method for name in ours for method in shop.pool.FindServiceByName(name).methods]
    assert len(methods) >= 74
    assert all(method.input_type.name == method.name + "Request" for method in methods)
    assert all(method.output_type.name == method.name + "Response" for method in methods)


def test_health_says_serving(shop):
    health = health_pb2_grpc.HealthStub(shop.channel)
    answer = health.Check(health_pb2.HealthCheckRequest(service=""), timeout=10)
    assert answer.status == health_pb2.HealthCheckResponse.SERVING
    with pytest.raises(grpc.RpcError) as unknown:
        health.Check(health_pb2.HealthCheckRequest(service="no.such.Service"), timeout=10)
    assert unknown.value.code() == grpc.StatusCode.NOT_FOUND
    watch = health.Watch(health_pb2.HealthCheckRequest(service=""), timeout=10)
    assert next(watch).status == health_pb2.HealthCheckResponse.SERVING
    watch.cancel()


def test_an_unknown_rpc_is_unimplemented(shop):
    call = shop.channel.unary_unary(f"/{PACKAGE}.StockService/NoSuchRpc")
    with pytest.raises(grpc.RpcError) as refused:
        call(b"", timeout=10)
    assert refused.value.code() == grpc.StatusCode.UNIMPLEMENTED


def test_a_deadline_that_has_passed_says_so(shop):
    call = shop.channel.unary_unary(f"/{PACKAGE}.StockService/ListLocations")
    with pytest.raises(grpc.RpcError) as late:
        call(b"", timeout=0.000001)
    assert late.value.code() == grpc.StatusCode.DEADLINE_EXCEEDED
    assert shop.call("StockService", "ListLocations").locations == []


def test_broken_messages_break_nothing(shop):
    for message in [b"\xff" * 40, b"\x0a\x05ab", b"\x08" * 7]:
        call = shop.channel.unary_unary(f"/{PACKAGE}.StockService/GetLot")
        with pytest.raises(grpc.RpcError) as refused:
            call(message, timeout=10)
        assert refused.value.code() in (grpc.StatusCode.INTERNAL, grpc.StatusCode.INVALID_ARGUMENT)
    with pytest.raises(Refused) as refused:
        shop.call("StockService", "GetLot", tag="L-404")
    assert refused.value.code == grpc.StatusCode.NOT_FOUND


def test_a_message_too_large_is_refused_not_fatal(shop):
    call = shop.channel.unary_unary(f"/{PACKAGE}.StockService/GetLot")
    field = b"\x0a" + varint(16 << 20) + b"L" * (16 << 20)
    with pytest.raises(grpc.RpcError) as refused:
        call(field, timeout=30)
    allowed = (grpc.StatusCode.OUT_OF_RANGE, grpc.StatusCode.RESOURCE_EXHAUSTED,
               grpc.StatusCode.INVALID_ARGUMENT)
    assert refused.value.code() in allowed
    assert shop.call("StockService", "ListLots").lots == []


def varint(number):
    """A number as protobuf writes it."""
    encoded = bytearray()
    while number > 0x7F:
        encoded.append(number & 0x7F | 0x80)
        number >>= 7
    return bytes(encoded) + bytes([number])
