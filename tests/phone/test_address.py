"""The phone's address and code, without a server."""

from __future__ import annotations

import re

import pytest

from reedlab.desk import home
from reedlab.errors import InputError
from reedlab.phone import PHONE_AT, address, page_address, qr_code, qr_svg, told_for_phone


def test_phone_is_served_only_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PHONE_AT, "10.0.0.9")
    assert PHONE_AT not in home.lab_environment()
    assert home.lab_environment(phone_at="192.168.1.5")[PHONE_AT] == "192.168.1.5"


@pytest.mark.parametrize("found", ["", "127.0.0.1", "0.0.0.0"])
def test_without_a_network_the_phone_is_refused_in_plain_words(found: str) -> None:
    with pytest.raises(InputError, match="is on no network"):
        address._checked(found)


def test_address_open_to_the_whole_internet_is_refused() -> None:
    with pytest.raises(InputError, match="whole internet"):
        address._checked("8.8.8.8")
    assert address._checked("192.168.1.5") == "192.168.1.5"


def test_player_is_told_the_address_the_code_and_when_it_works() -> None:
    said = told_for_phone(page_address("192.168.1.5", 8888, "secret"))
    assert "http://192.168.1.5:8888/in/secret" in said
    assert "only while this computer is on and both are on the same network" in said
    assert "a late entry costs nothing" in said
    assert "█" in said or "▄" in said


def test_code_fits_a_terminal_of_eighty_columns() -> None:
    lines = re.sub(r"\x1b\[[0-9;]*m", "", qr_code(page_address("192.168.100.100", 8888, "x" * 32))).splitlines()
    assert max(map(len, lines)) <= 80


def test_code_for_a_page_holds_nothing_but_its_own_drawing() -> None:
    drawn = qr_svg(page_address("192.168.1.5", 8888, "x" * 32))
    assert drawn.startswith("<svg")
    assert "script" not in drawn
    assert "x" * 32 not in drawn
