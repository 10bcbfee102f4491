"""Files chosen on a page, taken into the logbook as `reedlab import` does it: all or nothing."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from ...errands.book import Book
from ...errors import InputError
from ...wording import tr

__all__ = ["take_in"]


def take_in(book: Book, files: Iterable[Mapping[str, Any]], *, decimal_comma: bool = False) -> str:
    """Read CSV files, or one spreadsheet, into the logbook and return what was read in.

    Parameters
    ----------
    book : Book
    files : iterable of mapping
        Each with `name` and `content` (bytes), as the page hands them over.
    decimal_comma : bool
        As for `reedlab.logbook.exchange.import_folder`.

    Raises
    ------
    InputError, ExchangeError
        What has to be put right. Nothing was taken in, and no empty logbook is left behind.
    """
    from ...logbook.exchange import import_into

    chosen = {Path(str(f["name"])).name: bytes(f["content"]) for f in files}
    sheets = [n for n in chosen if n.lower().endswith((".xlsx", ".xlsm", ".ods"))]
    if not chosen:
        raise InputError(tr("Choose the files first: the CSV files together, or one spreadsheet."))
    if sheets and len(chosen) > 1:
        raise InputError(tr("Choose either CSV files or one spreadsheet, not both."))
    with tempfile.TemporaryDirectory(prefix="reedlab-") as made:
        for name, content in chosen.items():
            (Path(made) / name).write_bytes(content)
        source = Path(made) / sheets[0] if sheets else Path(made)
        said = str(import_into(source, book.path, decimal_comma=decimal_comma, now=book.now))
    book.tell_forms()
    return said
