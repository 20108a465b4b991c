"""A tenthsd of its own for every test, and clients made from nothing but what it reflects."""

import contextlib
import os
import signal
import subprocess
import tempfile
import time
import uuid
from pathlib import Path

import grpc
import pytest
from grpc_shop import Shop

ROOT = Path(__file__).resolve().parents[2]
START_SECONDS_MAX = 30
STOP_SECONDS_MAX = 15


def binary(name):
    """A binary of the debug build; building it is the business of run.sh."""
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    path = target / "debug" / name
    assert path.exists(), f"no {path.name}: run cargo build --workspace first"
    return str(path)


def psql(sql, url=None):
    """Runs one statement on the PostgreSQL server of the tests, or on one of its databases."""
    installed = sorted(Path("/usr/lib/postgresql").glob("*/bin/psql"))
    program = str(installed[-1]) if installed else "psql"
    command = [program, "--no-psqlrc", "--quiet", "--set", "ON_ERROR_STOP=1", "--command", sql,
               url or os.environ["TENTHS_TEST_POSTGRES"]]
    subprocess.run(command, check=True, capture_output=True, text=True)


def kinds():
    """The databases that a test runs on: PostgreSQL where a server is named."""
    return ["sqlite"] + (["postgres"] if "TENTHS_TEST_POSTGRES" in os.environ else [])


@pytest.fixture(params=kinds())
def database(request, tmp_path):
    """The URL of an empty database, which goes with the test."""
    if request.param == "sqlite":
        yield f"sqlite://{tmp_path}/shop.db"
        return
    name = "tenths_" + uuid.uuid4().hex
    psql(f"CREATE DATABASE {name}")
    yield os.environ["TENTHS_TEST_POSTGRES"].rsplit("/", 1)[0] + "/" + name
    psql(f"DROP DATABASE {name} WITH (FORCE)")


def run_tenthsd(*arguments):
    """Runs tenthsd once, free of settings from the caller's environment."""
    return subprocess.run([binary("tenthsd"), *arguments], env=environment(), capture_output=True,
                          text=True, timeout=300)


def environment():
    return {key: value for key, value in os.environ.items() if not key.startswith("TENTHS_")}


@contextlib.contextmanager
def serving(database):
    """A shop over this database, until the end of the block; its server must stop when asked."""
    with tempfile.TemporaryDirectory() as folder, open(f"{folder}/log", "wb") as log:
        port_file = Path(folder, "port")
        command = [binary("tenthsd"), "serve", "--database", database, "--listen", "127.0.0.1:0",
                   "--port-file", str(port_file)]
        server = subprocess.Popen(command, env=environment(), stdin=subprocess.DEVNULL, stdout=log,
                                  stderr=log)
        try:
            address = wait_for_address(server, port_file, Path(folder, "log"))
            with grpc.insecure_channel(address) as channel:
                yield Shop(channel)
            server.send_signal(signal.SIGTERM)
            assert server.wait(STOP_SECONDS_MAX) == 0, Path(folder, "log").read_text()
        finally:
            if server.poll() is None:
                server.kill()
                server.wait()


@pytest.fixture
def shop(database):
    """A running shop whose database is sound when the test is over."""
    with serving(database) as served:
        yield served
        verified = run_tenthsd("verify", "--database", database)
        assert verified.returncode == 0, verified.stdout + verified.stderr


def wait_for_address(server, port_file, log):
    """The address that the server wrote once it listened."""
    deadline = time.monotonic() + START_SECONDS_MAX
    while time.monotonic() < deadline:
        if port_file.exists() and port_file.read_text().strip():
            return port_file.read_text().strip()
        assert server.poll() is None, "tenthsd ended: " + log.read_text()
        time.sleep(0.01)
    raise AssertionError("no address: " + log.read_text())
