"""A client of tenths.v1 made at run time from server reflection: no generated code, no proto file."""

import uuid

import grpc
from google.protobuf import descriptor_pool, message_factory
from google.rpc import error_details_pb2
from grpc_reflection.v1alpha.proto_reflection_descriptor_database import (
    ProtoReflectionDescriptorDatabase,
)
from grpc_status import rpc_status

PACKAGE = "tenths.v1"
CALL_SECONDS_MAX = 30

DETAILS = {
    "ErrorInfo": error_details_pb2.ErrorInfo,
    "BadRequest": error_details_pb2.BadRequest,
    "PreconditionFailure": error_details_pb2.PreconditionFailure,
    "ResourceInfo": error_details_pb2.ResourceInfo,
    "RetryInfo": error_details_pb2.RetryInfo,
}


class Refused(Exception):
    """A call that the server refused: its code, its message and its details by name."""

    def __init__(self, error):
        super().__init__(f"{error.code().name}: {error.details()}")
        self.code = error.code()
        status = rpc_status.from_call(error)
        assert status is not None, f"no google.rpc.Status with {self}"
        assert status.code == self.code.value[0], "the code in the details is another one"
        self.details = {}
        for packed in status.details:
            name = packed.type_url.rsplit(".", 1)[-1]
            detail = DETAILS[name]()
            assert packed.Unpack(detail), packed.type_url
            self.details[name] = detail

    def fields(self):
        """The fields that BadRequest names."""
        return [violation.field for violation in self.details["BadRequest"].field_violations]


class Shop:
    """Calls by name: shop.call("StockService", "GetLot", tag="L-1")."""

    def __init__(self, channel):
        self.channel = channel
        self.reflection = ProtoReflectionDescriptorDatabase(channel)
        self.pool = descriptor_pool.DescriptorPool(self.reflection)

    def services(self):
        """The names of every service that the server reflects."""
        return sorted(self.reflection.get_services())

    def method(self, service, name):
        """The description of an rpc."""
        return self.pool.FindServiceByName(f"{PACKAGE}.{service}").FindMethodByName(name)

    def message(self, name, /, **fields):
        """A message of the package, made from its fields."""
        descriptor = self.pool.FindMessageTypeByName(f"{PACKAGE}.{name}")
        return message_factory.GetMessageClass(descriptor)(**fields)

    def call(self, service, name, /, *, timeout=CALL_SECONDS_MAX, **fields):
        """Calls a unary rpc; raises Refused."""
        method = self.method(service, name)
        request = message_factory.GetMessageClass(method.input_type)(**fields)
        answer = message_factory.GetMessageClass(method.output_type)
        call = self.channel.unary_unary(
            f"/{PACKAGE}.{service}/{name}",
            request_serializer=type(request).SerializeToString,
            response_deserializer=answer.FromString,
        )
        try:
            return call(request, timeout=timeout)
        except grpc.RpcError as error:
            raise Refused(error) from error

    def act(self, service, name, /, *, person="iven", **fields):
        """Calls an rpc that changes something, under a fresh request id unless one is given."""
        fields.setdefault("request_id", str(uuid.uuid4()))
        return self.call(service, name, person=person, **fields)

    def enum(self, name, member):
        """The number of an enumeration's member."""
        return self.pool.FindEnumTypeByName(f"{PACKAGE}.{name}").values_by_name[member].number

    def length(self, value, unit="LENGTH_UNIT_IN"):
        """A length as a person writes it."""
        return self.message("Length", value=value, unit=self.enum("LengthUnit", unit))
