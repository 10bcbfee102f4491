"""The one place where the forms' HTML is made: templates that escape whatever they are given."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any, Final

from markupsafe import Markup

from ...look import templates, tokens

__all__ = ["STYLE", "ready_templates", "render"]

_TEMPLATES: Final = Path(__file__).parent / "templates"
#: How every form looks: one sheet, put beside the form so that it also works outside JupyterLab.
STYLE: Final = Markup("<style>{}{}</style>").format(
    Markup(tokens()), Markup((_TEMPLATES / "forms.css").read_text(encoding="utf-8")))


_environment: Final = partial(templates, _TEMPLATES)


def render(template: str, **values: Any) -> Markup:
    """Return a template filled in; only `Markup`, which this made, goes in as it is."""
    return Markup(_environment().get_template(f"{template}.html.j2").render(**values).strip())


def ready_templates() -> None:
    """Compile every template, so that none waits for it when it is first shown."""
    for name in _environment().list_templates(extensions=["j2"]):
        _environment().get_template(name)
