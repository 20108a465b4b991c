"""The checks of layers and sizes find what they are for; a check that cannot fail proves nothing."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "lib"))
import layers  # noqa: E402
import sizes  # noqa: E402


def graph(**extra):
    """A workspace in order, with these further dependencies: crate name to names."""
    packages = []
    for name, allowed in layers.WORKSPACE.items():
        targets = sorted(allowed) + extra.get(name.replace("-", "_"), [])
        dependencies = [{"name": target} for target in targets]
        packages.append({"id": name, "name": name, "dependencies": dependencies})
    return {"packages": packages, "workspace_members": list(layers.WORKSPACE)}


def test_a_workspace_in_order_passes():
    assert layers.violations(graph(), {"tenths-domain", "libm", "thiserror"}) == []
    in_order = graph(tenths_storage=["sea-orm"], tenths_server=["tonic", "tonic-health"])
    assert layers.violations(in_order, set()) == []


def test_each_broken_rule_is_found():
    for extra, expected in [
        ({"tenths_domain": ["tenths-storage"]}, "tenths-domain must not depend on tenths-storage"),
        ({"tenths_storage": ["tenths-server"]}, "tenths-storage must not depend on tenths-server"),
        ({"tenths_cli": ["tenths-server"]}, "tenths-cli must not depend on tenths-server"),
        ({"tenths_server": ["sea-orm"]}, "tenths-server must not see sea-orm"),
        ({"tenths_server": ["sea-orm-migration"]}, "tenths-server must not see sea-orm-migration"),
        ({"tenths_storage": ["tonic"]}, "tenths-storage must not see tonic"),
    ]:
        assert layers.violations(graph(**extra), set()) == [expected]
    for crate in ("tokio", "tonic", "sea-orm", "rand", "rand_core"):
        found = layers.violations(graph(), {"tenths-domain", crate})
        assert found == [f"tenths-domain reaches {crate}"]
    alone = {"packages": [], "workspace_members": []}
    assert len(layers.violations(alone, set())) == len(layers.WORKSPACE)


def test_functions_are_measured_by_their_braces():
    text = '''
fn short() {}
trait T { fn no_body(&self) -> [u8; 4]; }
fn tricky<'a>(x: &'a str) -> char {
    let _ = "} fn not_one() {"; // }
    let _ = r#"}"#;
    /* } */ let brace = '}';
    brace
}
'''
    assert [(name, lines) for name, _, lines in sizes.functions(text)] == [("short", 1), ("tricky", 6)]


def test_what_is_too_big_is_found():
    long = "fn long() {\n" + "    step();\n" * 69 + "}\n"
    assert len(sizes.too_big(Path("a.rs"), long)) == 1
    assert sizes.too_big(Path("a.rs"), long.replace("    step();\n", "", 1)) == []
    assert len(sizes.too_big(Path("a.rs"), "\n" * 601)) == 1
    assert sizes.too_big(Path("iso286/tables.rs"), "\n" * 601) == []
