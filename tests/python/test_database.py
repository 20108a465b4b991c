"""What the database itself holds, tried by somebody who goes past the server.

`tenthsd verify` has to find a break, or its word that there is none is worth nothing; and history
cannot be changed, not even by hand.
"""

import sqlite3
import subprocess

import pytest
from conftest import psql, run_tenthsd, serving
from test_main_job import furnish, measure, tear_down


@pytest.fixture
def stopped(database):
    """The URL of a database with a lot, a measured piece and some history, whose server has stopped."""
    with serving(database) as shop:
        furnish(shop)
        shop.act("StockService", "AdjustLot", tag="L-1", location_code="A-1", counted=19,
                 reason="counted")
        tear_down(shop, "C-1", "P-1")
        measure(shop, "P-1", "A0 0.9845 A90 0.9845")
    return database


def execute(database, sql):
    """Runs one statement by hand; raises if the database refuses it."""
    if database.startswith("postgres"):
        psql(sql, database)
        return
    connection = sqlite3.connect(database.removeprefix("sqlite://"))
    try:
        with connection:
            connection.execute(sql)
    finally:
        connection.close()


def verify(database):
    return run_tenthsd("verify", "--database", database)


def test_verify_is_content_with_a_sound_database(stopped):
    verified = verify(stopped)
    assert verified.returncode == 0, verified.stdout + verified.stderr
    assert verified.stdout.strip(), "it says what it checked"


def test_verify_finds_a_count_that_the_ledger_does_not_give(stopped):
    execute(stopped, "UPDATE lot_stock SET on_hand = on_hand + 1")
    verified = verify(stopped)
    assert verified.returncode == 1, verified.stdout + verified.stderr
    assert "on hand 20, ledger 19" in verified.stdout, verified.stdout


def test_verify_needs_a_database_that_is_up_to_date(database):
    if database.startswith("sqlite"):
        sqlite3.connect(database.removeprefix("sqlite://")).close()
    verified = verify(database)
    assert verified.returncode == 2, verified.stdout + verified.stderr
    assert verified.stderr, "it says why"
    for _ in range(2):
        migrated = run_tenthsd("migrate", "--database", database)
        assert migrated.returncode == 0, migrated.stderr
    assert verify(database).returncode == 0


@pytest.mark.parametrize("table", ["ledger", "requests", "readings", "assessments"])
@pytest.mark.parametrize("change", ["DELETE FROM {}", "UPDATE {} SET person = 'oto'"])
def test_history_cannot_be_changed(stopped, table, change):
    with pytest.raises((sqlite3.DatabaseError, subprocess.CalledProcessError)):
        execute(stopped, change.format(table))
    assert verify(stopped).returncode == 0
