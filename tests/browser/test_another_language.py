"""The pages as a browser shows them in a made-up language: what is made there alone is another text, too."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from reedlab.desk.pages import PAGES

from ..wording.test_made_up_language import TYPED, WORD, catalogue, turned
from .conftest import PATIENCE, TOKEN, serving
from .test_for_everyone import press_all, unfold
from .test_one_tool import visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

#: What is typed as it stands, and the phone's address.
KEPT = re.compile(f"{TYPED.pattern}|http://\\S+")
#: A player with a trial on its first day, whose ways are named in the language that is spoken.
BEGUN = """
import sys
from pathlib import Path
from tests.benchmarks.stopwatch import four_reeds

four_reeds(Path(sys.argv[1]), trial="2026")
"""
#: All that is seen or read out of the page in sight, but for its code.
TEXTS = """() => {
  const seen = e => e.checkVisibility({visibilityProperty: true}) && !e.closest('.jp-InputArea, style, script, select');
  const page = [...document.querySelectorAll('.reedlab-page')].find(p => p.offsetParent);
  const walk = document.createTreeWalker(page, NodeFilter.SHOW_TEXT), out = [document.title];
  while (walk.nextNode()) {
    if (walk.currentNode.data.trim() && seen(walk.currentNode.parentElement)) { out.push(walk.currentNode.data); }
  }
  for (const e of page.querySelectorAll('[title], [aria-label], [placeholder], option')) {
    if (e.matches('option') || seen(e) && !e.closest('.jp-Cell-inputWrapper') && e.closest('.reedlab, nav')) {
      out.push(e.title || '', e.ariaLabel || '', e.placeholder || '', e.matches('option') ? e.text : '');
    }
  }
  return out.filter(t => t.trim()).map(t => t.replace(/\\s+/g, ' ').trim());
}"""


def test_every_text_in_the_browser_is_another(profile: Any, tmp_path: Path) -> None:
    texts = [t for m in catalogue.texts() if m.id for t in (m.id if m.pluralizable else (m.id,))]
    catalogue.write_language(tmp_path / "locale", "xx", {t: turned(t) for t in texts})
    language = {"REEDLAB_LANG": "xx", "REEDLAB_LOCALE": str(tmp_path / "locale")}
    subprocess.run([sys.executable, "-c", BEGUN, str(tmp_path / "my reeds")], check=True,
                   cwd=Path(__file__).parents[2], env={**os.environ, **language})
    stays: list[tuple[str, str]] = []
    seen = 0
    with serving(tmp_path, **language) as server:
        tab = profile.new_page()
        tab.set_default_timeout(PATIENCE)
        tab.goto(f"http://127.0.0.1:{server.port}/reeds/start?token={TOKEN}")
        tab.locator(".reedlab-page.reedlab-ready:visible .reedlab").first.wait_for()
        for page in PAGES:
            visit(tab, page)
            unfold(tab)
            press_all(tab)
            told = tab.evaluate(TEXTS)
            seen += len(told)
            stays += [(page, text) for text in told if WORD.findall(KEPT.sub(" ", text))]
        tab.close()
    assert seen > 500
    assert not stays, "\n".join(f"{page}: {text}" for page, text in stays)
