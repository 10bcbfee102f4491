"""What a person who scripts meets: columns by name, frames back, a table in a notebook, plain refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from reedlab import Frames, compare, compare_lives
from reedlab.errors import EntryRefused, InputError

REEDS = pd.DataFrame({
    "rating": [6.0, 7.5, 5.5, 6.5, 7.0, 8.0, 4.5, 6.5, 6.0, 7.0, 5.0, np.nan],
    "hours": [9.0, 14.0, 12.0, 20.0, 8.0, 16.5, 11.0, 18.0, 10.0, 13.0, 7.0, 15.0],
    "worn": [True, True, True, False, True, True, False, True, True, True, True, False],
    "way": ["mouth", "water"] * 6, "pair": np.repeat(range(6), 2)}, index=range(30, 42))


def test_columns_by_name_give_what_arrays_give() -> None:
    by_name = compare("rating", "way", "pair", data=REEDS, matters=1.0)
    assert by_name == compare(REEDS["rating"].to_numpy(), REEDS["way"].tolist(), REEDS["pair"].to_numpy(), matters=1.0)
    lives = compare_lives(hours="hours", worn_out="worn", arm="way", data=REEDS, matters=1.5)
    assert lives == compare_lives(REEDS["hours"].tolist(), REEDS["worn"].tolist(), REEDS["way"].tolist(), matters=1.5)


def test_a_column_that_is_not_there_is_named_beside_those_that_are() -> None:
    with pytest.raises(InputError, match=r"`outcome` must name a column of `data` \(rating, .*\), got 'ratings'"):
        compare("ratings", "way", data=REEDS)
    with pytest.raises(InputError, match=r"`arm` must name a column"):
        compare("rating", REEDS["way"], data=REEDS)
    with pytest.raises(InputError, match="got list"):
        compare("rating", "way", data=[1, 2])  # type: ignore[arg-type]


def test_a_result_is_one_row_of_a_frame() -> None:
    found = compare("rating", "way", "pair", data=REEDS, matters=1.0)
    row = found.to_frame().iloc[0]
    assert (row["labels_a"], row["labels_b"], row["units_a"], row["units_b"]) == ("mouth", "water", 5, 5)
    assert row["estimate"] == found.estimate
    assert row["verdict"] == found.verdict
    lives = compare_lives("hours", "worn", "way", data=REEDS).to_frame()
    assert lives.loc[0, ["estimate", "events_a", "events_b"]].tolist() == [
        compare_lives("hours", "worn", "way", data=REEDS).ratio, 5, 4]
    assert "ratio" not in lives.columns


def test_a_notebook_shows_a_table() -> None:
    assert "p_value" in compare("rating", "way", data=REEDS)._repr_html_()


def test_frames_refuse_what_no_logbook_takes_all_at_once() -> None:
    with pytest.raises(EntryRefused) as refused:
        Frames.of(sittings=[{"sitting": "a", "date": "2026-03-02", "reed": "1-01", "play_min": 10, "overall": 77}],
                  reeds=pd.DataFrame([{"reed": "1-01", "box": "1", "set_aside": "perhaps"}]), reads=[])
    said = [(f.file, f.line, f.column) for f in refused.value.faults]
    assert sorted(said, key=str) == sorted(
        [("reads", None, None), ("sittings", 1, "overall"), ("reeds", 1, "set_aside")], key=str)


def test_frames_read_no_as_no_and_a_date_as_text() -> None:
    frames = Frames.of(days=[{"date": "2026-03-02", "pause": "no"}, {"date": "2026-03-03", "pause": "yes"}])
    assert frames.days["pause"].tolist() == [False, True]
    assert frames.days["date"].tolist() == [pd.Timestamp(2026, 3, 2), pd.Timestamp(2026, 3, 3)]
    with pytest.raises(EntryRefused, match="year-month-day"):
        Frames.of(days=[{"date": "3.4.2026"}])


def test_further_columns_are_kept() -> None:
    frames = Frames.of(reeds=[{"reed": "1-01", "box": "1", "mood": "grey"}])
    assert frames.reeds["mood"].tolist() == ["grey"]
