"""How every form looks: one sheet, put beside the form so that it also works outside JupyterLab."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from markupsafe import Markup

from ...look import tokens

__all__ = ["STYLE"]

STYLE: Final = Markup("<style>{}{}</style>").format(
    Markup(tokens()), Markup((Path(__file__).parent / "templates" / "forms.css").read_text(encoding="utf-8")))
