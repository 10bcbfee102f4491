"""The phone's forms, sent without any script: what is written, refused, asked, changed and taken back."""

from __future__ import annotations

import html
import re
from datetime import timedelta
from typing import Any
from urllib.parse import quote

import pytest

from reedlab.folder.clock import TODAY_FILE
from reedlab.logbook import Logbook
from reedlab.rows.records import Sitting

from .conftest import START


@pytest.fixture
def inside(phone: Any) -> Any:
    """A phone that was let in."""
    phone.enter()
    return phone


def said(reply: Any) -> str:
    """Return what stands at the head of a page, without its tags."""
    found = re.search(r'<div id="said".*?</div>', reply.text, re.S)
    assert found
    return html.unescape(re.sub(r"<[^>]+>", " ", found[0])).strip()


def test_a_rating_is_saved_read_back_and_the_next_reed_is_open(inside: Any) -> None:
    reply = inside.send("/save", {**inside.form("line-1-02"), "overall": "7", "half": "yes"})
    assert reply.status == 303
    page = inside.ask("GET", reply.headers["Location"])
    assert said(page) == "✓ Saved: 1-02, 10 minutes, overall 7.5, wetting in <b>water."
    lines = re.findall(r'<details class="line.*?</summary>', page.text, re.S)
    assert [" open>" in line for line in lines] == [False, True, False, False]
    assert "✓ 7.5" in lines[0]
    row = inside.rows().iloc[-1]
    assert (row["reed"], row["play_min"], row["overall"], row["habit"], row["where"], row["order"]) == (
        "1-02", 10.0, 7.5, "water", "practice", 1)


def test_the_same_form_sent_twice_is_written_once(inside: Any) -> None:
    fields = {**inside.form("line-1-02"), "overall": "7"}
    first = inside.send("/save", fields)
    again = inside.send("/save", {**fields, "overall": "2"})
    assert first.headers["Location"] == again.headers["Location"]
    assert inside.rows()["overall"].tolist() == [3.5, 7.0]
    by_script = inside.send("/save", fields, X_Reedlab="script")
    assert (by_script.status, by_script.headers["X-Reedlab"]) == (200, "written")
    assert said(by_script).startswith("✓ In the book already: 1-02")


def test_what_is_refused_stays_typed_and_says_what_to_put_right(inside: Any) -> None:
    reply = inside.send("/save", {**inside.form("line-1-02"), "play_min": "a lot", "remark": '"><script>x</script>'})
    assert reply.status == 422
    assert "Minutes: you gave 'a lot'" in said(reply)
    assert "Overall: it is empty" in said(reply)
    assert 'value="a lot"' in reply.text
    assert "<script>x" not in reply.text
    assert "&#34;&gt;&lt;script&gt;x" in reply.text
    assert len(inside.rows()) == 1


def test_what_is_odd_is_asked_once_and_kept_after_a_yes(inside: Any) -> None:
    fields = {**inside.form("line-1-02"), "overall": "6", "habit": "mouth"}
    asked = inside.send("/save", fields)
    assert "Is this right?" in said(asked)
    assert "The plan for 1-02 says wetting in <b>water" in said(asked)
    token = re.search(r'name="sure" value="(\w+)"', asked.text)
    assert token
    assert "Yes, keep it" in asked.text
    assert inside.send("/save", {**fields, "sure": token[1]}).status == 303
    assert inside.rows().iloc[-1][["habit", "confirmed"]].tolist() == ["mouth", True]


def test_a_reed_rated_at_the_desk_meanwhile_is_asked_about(inside: Any) -> None:
    fields = {**inside.form("line-1-02"), "overall": "6"}
    with Logbook.open(inside.folder / "reeds.logbook") as logbook:
        logbook.add(Sitting(date=logbook.today, reed="1-02", play_min=10, overall=8, habit="water"))
    asked = inside.send("/save", fields)
    assert "has an entry on 2026-03-02 already. Is this one more?" in said(asked)
    assert "Yes, keep it" in asked.text


def test_todays_entry_is_changed_and_taken_back_and_the_rest_of_it_stays(inside: Any) -> None:
    inside.send("/save", {**inside.form("line-1-02"), "overall": "7", "remark": "windy", "from_memory": "yes"})
    number = int(inside.rows()["entry_id"].iloc[-1])
    form = inside.form(f"change-{number}")
    assert (form["overall"], form["remark"], form["from_memory"], form["play_min"]) == ("7", "windy", "yes", "10")
    del form["from_memory"]
    assert inside.send("/save", {**form, "overall": "4"}).status == 303
    row = inside.rows().iloc[-1]
    assert (row["overall"], row["remark"], row["from_memory"], row["habit"], row["order"]) == (
        4.0, "windy", False, "water", 1)
    back = inside.form(f"back-{row['entry_id']}")
    asked = inside.send("/back", back)
    assert "Take this entry back?" in said(asked)
    assert len(inside.rows()) == 2
    for _ in range(2):
        reply = inside.send("/back", {**back, "sure": "yes"})
        assert said(inside.ask("GET", reply.headers["Location"])) == "✓ Taken back. It no longer counts."
    assert len(inside.rows()) == 1
    assert inside.form("line-1-02")["reed"] == "1-02"


def test_entries_of_other_days_are_changed_at_the_desk(inside: Any) -> None:
    number = str(inside.rows()["entry_id"].iloc[0])
    token = inside.form("other")["token"]
    for path in ("/save", "/back"):
        reply = inside.send(path, {"token": token, "changed": number, "overall": "1", "sure": "yes"})
        assert (reply.status, reply.headers["X-Reedlab"]) == (422, "refused")
        assert "changed on the computer" in said(reply)
    for strange in ("", "999", "0", "-1", "x", "9" * 15, "9" * 400):
        reply = inside.send("/back", {"token": token, "changed": strange, "sure": "yes"})
        assert (reply.status, reply.headers["X-Reedlab"]) == (422, "refused")
    assert inside.rows()["overall"].tolist() == [3.5]


def test_another_reed_a_rehearsal_and_yesterday_are_behind_one_form(inside: Any) -> None:
    (inside.folder / TODAY_FILE).write_text("2026-03-03", encoding="utf8")
    for more in ({"reed": "1-03", "where": "rehearsal", "play_min": "45", "date": "2026-03-03"},
                 {"reed": "1-01", "where": "practice", "play_min": "10", "date": "2026-03-02", "overall": "5",
                  "habit": "as planned", "from_memory": "yes"}):
        assert inside.send("/save", {**inside.form("other"), **more}).status == 303
    rows = inside.rows().sort_values("entry_id")
    assert rows["where"].fillna("").tolist()[1:] == ["rehearsal", "practice"]
    assert rows["habit"].fillna("").tolist()[1:] == ["", "mouth"]
    assert "Rehearsal" in inside.ask("GET", "/").text


def test_no_earlier_rating_and_no_total_is_on_the_page(inside: Any) -> None:
    page = inside.ask("GET", "/").text
    by_chance = r'(nonce|data-book|data-token)="[^"]*"|value="[^"]{20,}"'
    body = re.sub(rf"<(style|script).*?</\1>|{by_chance}", "", page, flags=re.S)
    assert "3.5" not in body
    assert "17" not in body  # the minutes of that day


def test_the_first_page_is_one_request_of_at_most_40_kilobytes(inside: Any) -> None:
    page = inside.ask("GET", "/").text
    assert len(page.encode()) <= 40_000
    assert not re.findall(r'(?:src|href)="(?!data:)[^"]*"|url\(|@import', page)
    script = re.search(r"<script[^>]*>(.*?)</script>", page, re.S)
    assert script
    assert len(script[1].encode()) <= 5_120


HOSTILE = ["\0", "\ud800", "9" * 5000, "<script>alert(1)</script>", "'; DROP TABLE sittings; --", "{{ 7*7 }}", "-0",
           "1e999", "NaN", "2026-02-30", "../../x", "\r\nSet-Cookie: a=b", "=1+1", "١٢", "0x10", "1_0"]


FIELDS = ("reed", "date", "play_min", "overall", "tone", "stiffness", "habit", "where", "setup", "remark", "key",
          "changed", "sure", "form", "half", "nothing")


@pytest.mark.slow
@pytest.mark.parametrize("part", [0, 1, 2, 3])
def test_whatever_stands_in_a_field_is_answered_in_words_and_breaks_nothing(inside: Any, part: int) -> None:
    usual = {**inside.form("line-1-02"), "overall": "7"}
    for n, field in enumerate(FIELDS):
        for text in HOSTILE[(n + part) % 4::4]:
            fields = {**usual, "key": f"phone-{n:022d}", field: text}
            body = "&".join(f"{k}={quote(v, errors='surrogatepass')}" for k, v in fields.items())
            reply = inside.ask("POST", "/save", body)
            assert reply.status in (200, 303, 400, 403, 422), (field, text, reply.status)
            assert "Traceback" not in reply.text
            assert "<script>alert" not in reply.text
            assert "Set-Cookie" not in reply.headers
    page = inside.ask("GET", "/")
    assert page.status == 200
    assert "<script>alert" not in page.text
    with Logbook.open(inside.folder / "reeds.logbook", read_only=True) as logbook:
        assert logbook.check() == []


def test_a_days_page_follows_the_day(inside: Any) -> None:
    from reedlab.folder.clock import today_in

    (inside.folder / TODAY_FILE).write_text((today_in(inside.folder) + timedelta(days=1)).isoformat(), encoding="utf8")
    assert "day 2 of 2" in inside.ask("GET", "/").text


def days_of(inside: Any) -> Any:
    with Logbook.open(inside.folder / "reeds.logbook", read_only=True) as logbook:
        return logbook.frame("days")


def test_not_playing_today_moves_the_trial_along_once_and_can_be_taken_back(inside: Any) -> None:
    page = inside.ask("GET", "/").text
    assert "moves along by 1 day: its last day is then Wednesday 4 March" in page  # said before it is saved
    form = inside.form("away")
    for _ in range(2):
        reply = inside.send("/away", form)
        assert reply.headers["Location"] == "/?saved=away"
        assert said(inside.ask("GET", reply.headers["Location"])) == "✓ Saved: not playing today."
        assert days_of(inside)[["day_off", "pause"]].to_numpy().tolist() == [[True, True]]
    page = inside.ask("GET", "/").text
    assert "not playing today, the rest moves along" in page
    assert 'id="reed-1"' not in page  # nothing is due
    by_script = inside.send("/away", inside.form("away"), X_Reedlab="script")
    assert said(by_script).startswith("✓ Saved: you play today after all.")
    assert "moves back by 1 day" in said(by_script)
    assert not days_of(inside)[["day_off", "pause"]].to_numpy().any()
    assert inside.form("line-1-02")["reed"] == "1-02"


def test_not_playing_that_was_kept_on_the_phone_counts_for_its_own_day(inside: Any) -> None:
    form = inside.form("away")
    (inside.folder / TODAY_FILE).write_text((START + timedelta(days=1)).isoformat(), encoding="utf8")
    assert inside.send("/away", form).status == 303
    assert days_of(inside)["date"].dt.date.tolist() == [START]
    (inside.folder / TODAY_FILE).write_text((START + timedelta(days=2)).isoformat(), encoding="utf8")
    late = inside.send("/away", form)
    assert (late.status, late.headers["X-Reedlab"]) == (422, "refused")
    assert "put right on the computer" in said(late)
    for strange in ("", "x", "2026-02-30", "9" * 400):
        assert inside.send("/away", {**form, "date": strange}).status == 422
    assert len(days_of(inside)) == 1


def test_a_page_in_sight_learns_that_something_was_written(inside: Any) -> None:
    before = inside.ask("GET", "/changed").text
    assert inside.ask("GET", "/changed").text == before
    inside.send("/save", {**inside.form("line-1-02"), "overall": "7"})
    assert inside.ask("GET", "/changed").text != before
    inside.cookie = "reedlab_phone=none"
    assert inside.ask("GET", "/changed").status == 403


def test_the_demo_says_that_it_is_invented(inside: Any) -> None:
    assert "Invented: the player, the reeds and the ratings." in inside.ask("GET", "/").text
    (inside.folder / TODAY_FILE).unlink()
    assert "Invented" not in inside.ask("GET", "/").text
