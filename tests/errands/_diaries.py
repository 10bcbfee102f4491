"""Invented diaries of many shapes, and a player who answers what is asked with what is offered."""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import openpyxl

from reedlab.diaries.asks import Ask
from reedlab.diaries.matching import Matching, Scale
from reedlab.errands.take_diary import Diary, look_at, matching_for, read

TODAY = date(2026, 6, 30)


def csv(*lines: str) -> bytes:
    return "\n".join(lines).encode()


def xlsx(rows: Sequence[Sequence[Any]], merge: Sequence[str] = (), title: str = "Sheet1",
         **more: Sequence[Sequence[Any]]) -> bytes:
    """A workbook of one sheet, and `more` sheets by name."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    for span in merge:
        sheet.merge_cells(span)
    for name, lines in more.items():
        other = book.create_sheet(name)
        for row in lines:
            other.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ods(rows: Sequence[Sequence[Any]], title: str = "Reeds") -> bytes:
    """A small spreadsheet as OpenDocument writes it."""
    shown = "<text:p>as shown</text:p></table:table-cell>"

    def cell(value: Any) -> str:
        if value is None:
            return "<table:table-cell/>"
        if isinstance(value, date):
            return f'<table:table-cell office:value-type="date" office:date-value="{value}">{shown}'
        if isinstance(value, timedelta):
            h, m = divmod(int(value.total_seconds()) // 60, 60)
            return f'<table:table-cell office:value-type="time" office:time-value="PT{h:02d}H{m:02d}M00S">{shown}'
        if isinstance(value, int | float):
            return f'<table:table-cell office:value-type="float" office:value="{value}">{shown}'
        return f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'

    names = "".join(f' xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in ("office", "table", "text"))
    lines = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
    blank = ('<table:table-row table:number-rows-repeated="1048000">'
             '<table:table-cell table:number-columns-repeated="1024"/></table:table-row>')
    text = (f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{names}><office:body><office:spreadsheet>'
            f'<table:table table:name="{title}">{lines}{blank}</table:table></office:spreadsheet></office:body>'
            "</office:document-content>")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("content.xml", text)
    return out.getvalue()


def answered(matching: Matching, ask: Ask, says: Mapping[str, Any]) -> Matching:
    """Say one thing: what `says` holds, else what is offered or guessed."""
    if ask.code in says:
        said = says[ask.code]
    elif ask.words:
        said = {w: g for w, (_, g) in ask.words.items()}
    else:
        said = ask.guess
    if ask.code == "scale":
        scale = said if isinstance(said, Scale) else ask.guess
        words = said if isinstance(said, dict) else {w: g for w, (_, g) in ask.words.items()}
        return matching.and_(scale=replace(scale, words={**scale.words, **words}))
    if ask.code in ("ways", "reeds"):
        return matching.and_(**{ask.code: {**getattr(matching, ask.code), **said}})
    return matching.and_(**{ask.code: said})


def looked(content: bytes, file: str, book: Path, says: Mapping[str, Any] | None = None) -> tuple[Diary, list[str]]:
    """Look at a diary and answer until nothing is asked; return it and the codes of what was asked."""
    grid = read(content, file)
    matching = matching_for(grid, TODAY, book, file)
    codes: list[str] = []
    diary = look_at(grid, file, matching, book, today=TODAY)
    while diary.understood.asks:
        for ask in diary.understood.asks:
            codes.append(ask.code)
            assert ask.code != "columns", ask.text
            matching = answered(matching, ask, says or {})
        diary = look_at(grid, file, matching, book, today=TODAY)
        assert len(codes) < 30, codes
    return diary, codes


def big(rows: int) -> bytes:
    """A long English diary with a slip of the pen every few hundred rows."""
    rng = random.Random(5)
    first = date(2023, 1, 2)
    lines = ["When,Which reed,How long,Stars,Wetting,Notes"]
    for k in range(rows):
        on = first + timedelta(days=k // 3)
        lines.append(f"{on:%d/%m/%Y},Box {k // 400 + 1} reed {k % 3 + 1},{rng.randint(10, 60)} min,{rng.randint(1, 5)},"
                     f"{rng.choice(['Water', 'mouth'])},\"day {k}, fine\"")
    return "\n".join(lines).encode()
