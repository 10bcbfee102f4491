"""The phone's door: who is let in, what answers, and that nothing but the phone's pages is behind it."""

from __future__ import annotations

import contextlib
import json
import re
import stat
from pathlib import Path
from typing import Any

import pytest

from reedlab.errors import LogbookError
from reedlab.phone import keys
from reedlab.phone.door import open_door
from reedlab.phone.tries import Tries

JUPYTER = ("/lab", "/tree", "/login", "/api", "/api/kernels", "/api/kernels/1-2-3-4-5/restart", "/api/contents",
           "/api/contents/today.ipynb", "/api/sessions", "/api/terminals", "/terminals/1", "/files/reeds.logbook",
           "/voila/render/today.ipynb", "/static/style.css", "/reeds.logbook", "/.reedlab-phone.json",
           "/../reeds.logbook", "/%2e%2e/reeds.logbook", "//", "/in", "/in/", "/save/", "/reedlab/pages", "/metrics")
SOCKET = {"Upgrade": "websocket", "Connection": "Upgrade", "Sec-WebSocket-Version": "13",
          "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}
STRANGE = {"none": "", "a wrong cookie": "abc.def", "the desk's token": "only-for-this-test",
           "a cookie cut short": "x"}


def shut(reply: Any) -> bool:
    """True if the reply is our plain page and says nothing of the day or of the program behind it."""
    return (reply.status in (403, 404, 405) and "Traceback" not in reply.text and "1-01" not in reply.text
            and "Server" not in reply.headers and "<h1>My reeds</h1>" in reply.text)


def open_ones(phone: Any, paths: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return what answers of these paths, read, written to or asked for a line of its own."""
    asked = [(how, path, phone.ask(method, path, body, **more)) for path in paths for how, method, body, more in (
        ("read", "GET", None, {}), ("written", "POST", "reed=1-01&token=x", {}), ("socket", "GET", None, SOCKET),
        ("by the desk's token", "GET", None, {"Authorization": "token only-for-this-test"}),
        ("from elsewhere", "GET", None, {"Origin": "http://strange.example"}))]
    return [(how, path) for how, path, reply in asked if not shut(reply)]


@pytest.mark.parametrize("cookie", STRANGE.values(), ids=STRANGE)
def test_nothing_answers_a_phone_that_was_not_let_in(phone: Any, cookie: str) -> None:
    phone.cookie = f"reedlab_phone_{phone.port}={cookie}"
    assert open_ones(phone, ("/", "/save", "/back", *JUPYTER)) == []
    assert len(phone.rows()) == 1


def test_a_phone_let_in_gets_no_further_than_its_own_page(phone: Any) -> None:
    phone.enter()
    assert open_ones(phone, JUPYTER) == []
    assert open_ones(phone, ("/", "/save", "/back")) == [("read", "/"), ("by the desk's token", "/")]


# What the page and the form answer a phone that holds a cookie: by what is wrong with the request.
@pytest.mark.parametrize(("more", "status"), [
    ({}, 200), ({"Origin": "own"}, 200), ({"Origin": "http://strange.example"}, 403), ({"Origin": "null"}, 403),
    ({"Host": "strange.example"}, 403), ({"Host": "127.0.0.1"}, 403), ({"Host": "localhost:8888"}, 403),
    (SOCKET, 403)], ids=str)
def test_the_page_answers_its_own_name_and_origin_alone(phone: Any, more: dict[str, str], status: int) -> None:
    phone.enter()
    more = {k: f"http://{phone.host}" if v == "own" else v for k, v in more.items()}
    reply = phone.ask("GET", "/", **more)
    assert reply.status == status
    assert shut(reply) == (status != 200)


@pytest.mark.parametrize(("more", "drop", "status"), [
    ({}, (), 303), ({"Origin": None}, (), 403), ({"Origin": "http://strange.example"}, (), 403),
    ({"Origin": "null"}, (), 403), ({"Sec-Fetch-Site": "cross-site"}, (), 403),
    ({"Sec-Fetch-Site": "same-origin"}, (), 303), ({"Host": "strange.example"}, (), 403), (SOCKET, (), 403),
    ({"Content-Type": "text/plain"}, (), 403), ({"Content-Type": "application/json"}, (), 403), ({}, ("token",), 403)],
    ids=str)
def test_a_form_is_taken_from_our_own_page_alone(phone: Any, more: dict[str, Any], drop: tuple[str, ...],
                                                 status: int) -> None:
    phone.enter()
    fields = {k: v for k, v in phone.form("line-1-02").items() if k not in drop}
    reply = phone.send("/save", {**fields, "overall": "7"}, **more)
    assert reply.status == status
    assert len(phone.rows()) == (2 if status == 303 else 1)


def test_a_form_of_another_phone_is_not_taken(phone: Any) -> None:
    phone.enter()
    fields = phone.form("line-1-02")
    phone.enter()  # a second phone
    assert phone.send("/save", {**fields, "overall": "7"}).status == 403


@pytest.mark.parametrize("method", ["HEAD", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"])
def test_methods_that_no_page_needs_are_refused(phone: Any, method: str) -> None:
    phone.enter()
    reply = phone.ask(method, "/")
    assert reply.status == 405
    assert "Allow-Origin" not in str(reply.headers)


def test_the_key_is_swapped_for_a_cookie_and_leaves_the_address(phone: Any) -> None:
    reply = phone.enter()
    key = keys.read(phone.folder)
    assert key is not None
    assert (reply.status, reply.headers["Location"]) == (303, "/")
    cookie = reply.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert "expires" not in cookie.lower()
    assert key.key not in cookie
    assert key.secret not in cookie
    assert key.key not in phone.ask("GET", "/").text


def test_every_page_forbids_what_it_does_not_need(phone: Any) -> None:
    replies = [phone.ask("GET", "/"), phone.ask("GET", "/lab"), phone.enter(), phone.ask("GET", "/")]
    for reply in replies:
        policy = reply.headers["Content-Security-Policy"]
        nonce = re.search(r"script-src 'nonce-([^']+)'", policy)
        assert nonce
        assert "unsafe" not in policy
        for rule in ("default-src 'none'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"):
            assert rule in policy
        assert reply.headers["Cache-Control"] == "no-store"
        assert reply.headers["X-Content-Type-Options"] == "nosniff"
        assert reply.headers["Referrer-Policy"] == "same-origin"
        assert not {"Server", "Etag", "Access-Control-Allow-Origin"} & set(reply.headers)
        for tag in re.findall(r"<(?:script|style)[^>]*>", reply.text):
            assert f'nonce="{nonce[1]}"' in tag
    assert len({r.headers["Content-Security-Policy"] for r in replies}) == len(replies)


def test_wrong_keys_are_counted_and_the_right_one_then_has_to_wait(phone: Any) -> None:
    for _ in range(10):
        assert phone.ask("GET", "/in/" + "x" * 32).status == 403
    key = keys.read(phone.folder)
    assert key is not None
    reply = phone.ask("GET", f"/in/{key.key}")
    assert reply.status == 429
    assert "Wait five minutes" in reply.text


def test_wrong_keys_are_remembered_for_a_while_in_a_bounded_memory() -> None:
    tries = Tries(most=2, seconds=10, addresses=3)
    for address in ("a", "a", "b"):
        tries.wrong(address, 0.0)
    assert [tries.must_wait(a, 5.0) for a in "abc"] == [True, False, False]
    assert not tries.must_wait("a", 10.5)
    for n in range(1000):
        tries.wrong(str(n), 6.0)
    assert len(tries._wrong) == 3
    assert all(len(times) <= 2 for times in tries._wrong.values())


def test_locking_out_ends_every_cookie_and_the_old_code_at_once(phone: Any) -> None:
    old = keys.read(phone.folder)
    assert old is not None
    phone.enter()
    fields = phone.form("line-1-02")
    keys.lock_out(phone.folder)
    assert phone.ask("GET", "/").status == 403
    assert phone.send("/save", {**fields, "overall": "7"}).status == 403
    assert phone.ask("GET", f"/in/{old.key}").status == 403
    assert len(phone.rows()) == 1
    phone.enter()
    assert phone.ask("GET", "/").status == 200


@pytest.mark.parametrize("file", ["", "{}", "[]", '{"key": "", "secret": "", "kept": true, "host": "", "port": 1}'])
def test_without_a_sound_key_nobody_gets_in(phone: Any, file: str) -> None:
    phone.enter()
    (phone.folder / keys.FILE).write_text(file, encoding="utf8")
    assert phone.ask("GET", "/").status == 403
    assert phone.ask("GET", "/in/x").status == 403


def test_each_start_has_a_new_key_unless_the_player_keeps_the_phone(tmp_path: Path) -> None:
    first = keys.begin(tmp_path, host="10.0.0.9", port=1)
    assert stat.S_IMODE((tmp_path / keys.FILE).stat().st_mode) == 0o600
    cookie = first.cookie()
    second = keys.begin(tmp_path, host="10.0.0.9", port=1)
    assert not second.opens(first.key)
    assert second.phone_of(cookie) is None
    kept = keys.begin(tmp_path, host="10.0.0.9", port=1, keep=True)
    assert kept.key not in (first.key, second.key)  # a key that was for one start only is not kept on
    again = keys.begin(tmp_path, host="10.0.0.8", port=2, keep=True)
    assert again.phone_of(kept.cookie("a")) == "a"
    keys.forget(tmp_path)
    assert keys.read(tmp_path) == again
    gone = keys.begin(tmp_path, host="10.0.0.9", port=1)
    assert gone.phone_of(kept.cookie("a")) is None
    keys.forget(tmp_path)
    assert keys.read(tmp_path) is None


def test_a_cookie_is_ours_whole_or_not_at_all(tmp_path: Path) -> None:
    key = keys.begin(tmp_path, host="10.0.0.9", port=1)
    cookie = key.cookie("name")
    assert key.phone_of(cookie) == "name"
    for wrong in (None, "", ".", "name", "name.", cookie[:-1], cookie + "0", "other." + cookie.split(".")[1],
                  "näme." + cookie.split(".")[1], "name.ä"):
        assert key.phone_of(wrong) is None


def test_no_door_is_opened_unless_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("REEDLAB_PHONE_AT", raising=False)
    open_door(tmp_path, 8888, pytest.fail)
    assert not (tmp_path / keys.FILE).exists()


@pytest.mark.parametrize("trouble", [LogbookError("The logbook is busy. Try again in a moment."), OSError("secret")])
def test_a_logbook_in_trouble_gives_a_message_and_what_was_sent_can_be_sent_again(
        phone: Any, monkeypatch: pytest.MonkeyPatch, trouble: Exception) -> None:
    from reedlab.errands.book import Book

    phone.enter()
    fields = {**phone.form("line-1-02"), "overall": "7"}

    def fail(*_: object, **__: object) -> Any:
        raise trouble

    with monkeypatch.context() as broken:
        for part in ("reading", "writing", "frames_now"):
            broken.setattr(Book, part, fail)
        for reply in (phone.ask("GET", "/"), phone.send("/save", fields)):
            assert reply.status == (503 if isinstance(trouble, LogbookError) else 500)
            assert ("is busy" in reply.text) == isinstance(trouble, LogbookError)
            assert "secret" not in reply.text
            assert "Traceback" not in reply.text
            assert "X-Reedlab" not in reply.headers  # so the phone keeps the entry
    assert phone.send("/save", fields).status == 303


def test_too_much_is_not_read(phone: Any) -> None:
    phone.enter()
    with contextlib.suppress(OSError):  # the line was cut while we were still sending
        assert phone.ask("POST", "/save", "remark=" + "x" * 20_000).status == 400
    assert phone.ask("GET", "/").status == 200


def test_the_file_of_the_key_is_plain_json_that_a_new_start_can_read(tmp_path: Path) -> None:
    key = keys.begin(tmp_path, host="10.0.0.9", port=8888)
    assert set(json.loads((tmp_path / keys.FILE).read_text(encoding="utf8"))) == set(vars(key))
