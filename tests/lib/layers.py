"""Checks from cargo's own graph that the crates depend on each other one way only.

domain <- storage <- server; only storage and migrations see sea-orm; only proto, server, the CLI and
the tests see tonic; the domain sees no runtime, no database, no wire and no chance.
"""

import json
import subprocess
import sys

# Which crates of the workspace each crate may depend on.
WORKSPACE = {
    "tenths-domain": set(),
    "tenths-migrations": set(),
    "tenths-proto": set(),
    "tenths-storage": {"tenths-domain", "tenths-migrations"},
    "tenths-server": {"tenths-domain", "tenths-proto", "tenths-storage"},
    # The CLI reads and shows lengths with the domain's units; it holds no rule of the shop.
    "tenths-cli": {"tenths-domain", "tenths-proto"},
    "tenths-tests": {"tenths-proto"},
}
SEA_ORM = {"tenths-storage", "tenths-migrations"}
TONIC = {"tenths-proto", "tenths-server", "tenths-cli", "tenths-tests"}
# Crates that the domain may not reach, not even through others.
NOT_IN_DOMAIN = ("tokio", "tonic", "sea-orm", "sqlx", "rand", "rand_core", "prost", "chrono", "time")


def is_of(name, family):
    """Whether a crate is `family` itself or one of its parts, such as sea-orm-migration."""
    return name == family or name.startswith(family + "-")


def violations(metadata, domain_tree):
    """Every broken rule, as a sentence; `domain_tree` names the crates that the domain is built with."""
    names = {package["id"]: package["name"] for package in metadata["packages"]}
    members = {names[member] for member in metadata["workspace_members"]}
    found = [f"{name} is in no layer: add it to layers.py" for name in members - WORKSPACE.keys()]
    found += [f"{name} is not in the workspace" for name in WORKSPACE.keys() - members]
    for package in metadata["packages"]:
        if package["name"] in members and package["name"] in WORKSPACE:
            found += misplaced(package, members)
    found += [
        f"tenths-domain reaches {name}"
        for name in domain_tree
        if any(is_of(name, family) for family in NOT_IN_DOMAIN)
    ]
    return sorted(set(found))


def misplaced(package, members):
    """The direct dependencies, those of tests and build scripts included, that break a rule."""
    name = package["name"]
    for dependency in package["dependencies"]:
        target = dependency["name"]
        if target in members and target != name and target not in WORKSPACE[name]:
            yield f"{name} must not depend on {target}"
        if is_of(target, "sea-orm") and name not in SEA_ORM:
            yield f"{name} must not see {target}"
        if is_of(target, "tonic") and name not in TONIC:
            yield f"{name} must not see {target}"


def output(command):
    """What a command prints; a failure of it ends the check."""
    return subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout


def main():
    metadata = json.loads(output(["cargo", "metadata", "--locked", "--format-version", "1"]))
    # Not from the metadata: its graph has the features of the whole workspace switched on.
    tree = output(["cargo", "tree", "--locked", "--package", "tenths-domain", "--edges",
                   "normal,build", "--prefix", "none", "--format", "{p}"])
    domain_tree = {line.split()[0] for line in tree.splitlines() if line.strip()}
    if "tenths-domain" not in domain_tree:
        sys.exit("cargo tree does not show tenths-domain")
    found = violations(metadata, domain_tree)
    if found:
        sys.exit("\n".join(found))
    print(f"{len(WORKSPACE)} crates keep to their layers")


if __name__ == "__main__":
    main()
