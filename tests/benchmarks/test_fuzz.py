"""A few hundred of the spoilt inputs of `fuzz.py`: words, never a traceback, and nothing half-written."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reedlab.errors import ProtocolError
from reedlab.rows.tables import TABLES, Field
from reedlab.rows.values import read_value
from reedlab.trial.protocol import Protocol
from tests.benchmarks.fuzz import CASES, Bench, run

SHORT = {"csv": 60, "xlsx": 30, "plan": 120, "shared": 30, "line": 40, "value": 100, "form": 12}


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return Bench(tmp_path_factory.mktemp("fuzz"))


@pytest.mark.slow
@pytest.mark.parametrize("kind", CASES)
def test_spoilt_input_is_refused_in_words_with_nothing_half_written(kind: str, bench: Bench) -> None:
    told = run(bench, kind, range(SHORT[kind]))
    assert told.tracebacks == []
    assert told.half_written == []
    assert [s for s in told.slow if s[1] > 10] == []
    assert told.refused > 0


def test_the_harness_sees_a_traceback_a_slow_case_and_a_half_written_logbook(
        bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.benchmarks import fuzz

    def fails(bench: Bench, chance: object) -> None:
        raise KeyError("x")

    def half(bench: Bench, chance: object) -> None:
        raise fuzz.HalfWritten

    monkeypatch.setitem(fuzz.CASES, "csv", fails)
    monkeypatch.setitem(fuzz.CASES, "line", half)
    monkeypatch.setattr(fuzz, "SLOW_S", -1.0)
    assert [seed for seed, _ in run(bench, "csv", range(2)).tracebacks] == [0, 1]
    assert run(bench, "line", range(1)).half_written == [0]
    assert len(run(bench, "csv", range(2)).slow) == 2


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3), max_leaves=8)


@given(PLAIN, st.data())
@settings(max_examples=150, deadline=None)
def test_whatever_stands_in_a_field_of_a_plan_is_named_or_is_a_plan(bench: Bench, value: object,
                                                                    data: st.DataObject) -> None:
    whole = json.loads(bench.protocol.to_json())
    name = data.draw(st.sampled_from(sorted(whole)))
    try:
        plan = Protocol.from_plain({**whole, name: value})
    except ProtocolError as err:
        assert str(err)  # noqa: PT017
    else:
        assert Protocol.from_json(plan.to_json()) == plan


@given(PLAIN, st.sampled_from([f for t in TABLES.values() for f in t.fields]))
@settings(max_examples=300, deadline=None)
def test_whatever_is_typed_into_a_field_is_read_or_told(value: object, field: Field) -> None:
    read, want = read_value(field, value)
    assert want is None or read in (None, False)
    assert want is not None or read is None or read_value(field, read) == (read, None)
