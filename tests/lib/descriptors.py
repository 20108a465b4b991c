"""Checks that two descriptor sets say the same: buf's and the one that the server reflects."""

import sys
from pathlib import Path

from google.protobuf import descriptor_pb2


def contract_files(path):
    """The files of our package by name, without comments and places in the source."""
    descriptors = descriptor_pb2.FileDescriptorSet.FromString(Path(path).read_bytes())
    files = {}
    for file in descriptors.file:
        if file.package == "tenths.v1":
            file.ClearField("source_code_info")
            normalise(file)
            files[file.name] = file
    return files


def normalise(file):
    """Drops names that compilers may leave out: a json_name that follows from the name."""
    pending = list(file.message_type)
    while pending:
        message = pending.pop()
        pending.extend(message.nested_type)
        for field in message.field:
            field.ClearField("json_name")


def main():
    first, second = (contract_files(path) for path in sys.argv[1:3])
    if not first:
        sys.exit("no file of tenths.v1 in " + sys.argv[1])
    if first.keys() != second.keys():
        sys.exit(f"different files: {sorted(first)} and {sorted(second)}")
    different = [name for name in sorted(first) if first[name] != second[name]]
    if different:
        sys.exit("described differently: " + ", ".join(different))
    print(f"{len(first)} files described the same")


if __name__ == "__main__":
    main()
