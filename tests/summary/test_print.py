"""The handout prints on exactly one page, whatever the answer, on both usual sizes of paper."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from reedlab.summary import answer, together_answer
from reedlab.summary.page import PRINTED
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.result import Remark, Together, TrialResult

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

from tests.summary.test_together import NUMBERS, together

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
LONG_ASK = ("Do my reeds stay in better shape over a whole term of rehearsals when I soak them for three minutes "
            "in a glass of warm water, or is a minute in the mouth just as good?")


def results() -> list[TrialResult]:
    """The whole grid, and for every outcome each verdict with every remark, long names and a long question.

    The figures of the folds do not print, so the tables they are drawn from are left out.
    """
    every = [r for _, r in made.grid()]
    for outcome in OUTCOMES:
        for verdict in (*made.VERDICTS, None):
            state = "diary" if verdict == "hint_only" else "finished"
            every.append(made.result(outcome, verdict, state=state, habits="long", remarks=made.all_remarks(),
                                     plan_more={"ask": LONG_ASK, "trial": "The long trial of the autumn term"}))
    return [replace(r, units=None, points=None) for r in every]


def pages_of(html: str, folder: Path) -> int:
    """Print to PDF and count the pages."""
    source, target = folder / "page.html", folder / "page.pdf"
    source.write_text(html, encoding="utf8")
    subprocess.run([str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
                    f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={target}", source.as_uri()],
                   check=True, capture_output=True, timeout=300)
    return len(re.findall(rb"/Type\s*/Page\b", target.read_bytes()))


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="needs chromium")
def test_every_answer_prints_on_exactly_one_page(tmp_path: Path) -> None:
    """Each answer starts a new page of one document, so there are as many pages as answers if each fits."""
    every = results()
    whole = answer(every[0]).to_html()
    head = whole[: whole.index("<body>")]
    body = "".join(f"<section>{answer(r)._repr_html_()}</section>" for r in every)
    for size in ("A4", "letter"):
        style = f"<style>@page {{ size: {size}; }} section + section {{ break-before: page; }}</style>"
        assert pages_of(f"{head}<body>{style}{body}</body></html>", tmp_path) == len(every), size


@pytest.mark.browser
@pytest.mark.skipif(CHROMIUM is None, reason="needs chromium")
def test_the_page_itself_prints_on_one_page(tmp_path: Path) -> None:
    r = made.result("life_hours", "cannot_tell", habits="long", remarks=made.all_remarks())
    assert pages_of(answer(r).to_html(), tmp_path) == 1


def classes() -> list[Together]:
    """Classes of 2, 12 and 30 with every verdict, every remark and long names, as wordy as they can get."""
    out = []
    for n in (2, 12, 30):
        for verdict in NUMBERS:
            for outcome in ("day_rating", "wear_rate", "life_hours"):
                t = together(verdict, outcome, players=n)
                labels = [f"P{i:02d}" for i in range(1, n + 1)]
                parts = tuple(replace(t.parts[0], label=x, player=x, p_without=0.2 if i % 2 else 0.01)
                              for i, x in enumerate(labels))
                facts = (("reeds", 2), ("sittings", 4), ("missing", 9))
                remarks = tuple((x, Remark(code, facts)) for x in labels for code in (
                    "worked_on", "setup_changed", "plan_not_followed", "missing_days"))
                plan = made.plan(outcome, habits="long")
                out.append(replace(
                    t, protocol=replace(plan, ask=LONG_ASK), parts=parts, players=n, remarks=remarks, looks=3,
                    ended_early=tuple(labels), instruments=("alto saxophone", "clarinet"),
                    fingerprints=tuple((x, "ab12" * 16) for x in labels)))
    return out


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="needs chromium")
def test_every_combined_answer_prints_on_exactly_one_page(tmp_path: Path) -> None:
    every = [together_answer(t) for t in classes()]
    head = every[0].to_html().partition("<body>")[0]
    body = "".join(f"<section>{a._repr_html_()}</section>" for a in every)
    for size in ("A4", "letter"):
        style = f"<style>@page {{ size: {size}; }} section + section {{ break-before: page; }}</style>"
        assert pages_of(f"{head}<body>{style}{body}</body></html>", tmp_path) == len(every), size


@pytest.mark.browser
@pytest.mark.skipif(CHROMIUM is None, reason="needs chromium")
def test_the_combined_page_itself_prints_on_one_page_with_figure_cautions_and_fingerprints(tmp_path: Path) -> None:
    html = together_answer(classes()[0]).to_html()
    assert pages_of(html, tmp_path) == 1
    printed = re.sub(r"<details.*?</details>", "", html, flags=re.DOTALL)  # the folds are not printed
    for what in ("<img", "Never share a reed.", "Sand cane wet", "P01 <code>ab12ab12ab12</code>", "P02 <code>"):
        assert what in printed, what


def test_the_gravest_remark_stands_in_front_and_the_rest_are_counted() -> None:
    a = answer(made.result("mean_rating", "cannot_tell", remarks=made.all_remarks(), frames=False))
    html = a.to_html()
    front, folded = html.split('class="rl-folds"')
    codes = [w["code"] for w in a.warnings]
    assert re.findall(r'data-code="(\w+)"', front) == codes[:PRINTED]
    assert re.findall(r'data-code="(\w+)"', front.partition('class="rl-print"')[0]) == codes[:1]
    assert f"And {len(codes) - PRINTED} smaller remarks" in html
    assert re.findall(r'data-code="(\w+)"', folded) == codes[1:]
