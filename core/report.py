"""A page to read beside the files: how the take goes, its sections and bars, and how exact the map is.

One HTML file that holds all it needs: no script, no font, no picture from elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import BinaryIO

from core.grid import Beat
from core.planned import Making, Plan, PlannedFile, counted
from core.report_curve import tempo_picture
from core.section_rows import SectionRow, section_rows

_STYLE = """\
body{font:14px/1.45 system-ui,sans-serif;color:#20242a;background:#fff;max-width:1000px}
body{margin:28px auto;padding:0 20px}
h1{font-size:22px;margin:0 0 2px}h2{font-size:15px;margin:22px 0 6px}p{margin:4px 0}.quiet{color:#5e636b}
svg{width:100%;height:auto}svg text{font:11px system-ui,sans-serif;fill:#5e636b}
table{border-collapse:collapse}th{text-align:left;font-weight:600;color:#5e636b}
td,th{padding:1px 14px 1px 0;vertical-align:top}.n{text-align:right;font-variant-numeric:tabular-nums}
.bars{columns:3 290px;column-gap:28px;font-size:12px}.bars table{break-inside:avoid;width:100%;margin-bottom:10px}
ul{margin:4px 0;padding-left:20px}
@media print{body{margin:0;font-size:11px}.bars{font-size:9px}}"""

_ROWS = 16
"""Bars that stay together where the list is broken into columns."""


def report_file(name: str) -> PlannedFile:
    """Plan the page; it tells of the map as it was read back."""
    words = "a page to read: tempo, sections, every bar, and how exact the map is"
    return PlannedFile("report", name, words, make=_write)


def _write(file: BinaryIO, making: Making) -> None:
    file.write(page(making).encode("utf-8", "replace"))


def page(making: Making) -> str:
    """Make the whole page."""
    plan = making.plan
    name = escape(plan.settings.name)
    rows = section_rows(plan.grid, plan.sections)
    lines = plan.grid.bar_lines
    placed = sum(line.placed for line in lines)
    doubtful = sum(line.doubtful for line in lines)
    length = lines[-1].time - lines[0].time
    summary = (
        f"{counted(len(lines) - 1, 'bar')} in {_clock(length)}, from bar {lines[0].bar} to bar {lines[-1].bar}; "
        f"{placed} bar lines placed, {len(lines) - placed} suggested, {doubtful} of them doubtful."
    )
    parts = [
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{name}: bars and tempo</title>\n<style>\n{_STYLE}\n</style>\n</head>\n<body>",
        f"<h1>{name}</h1>\n<p>{summary}</p>\n<p>{escape(plan.placing)}</p>",
        f"<h2>Tempo</h2>\n{tempo_picture(plan.grid, rows)}",
        '<p class="quiet">'
        "Quarters a minute in each bar over the time of the take; dots are bar lines you placed.</p>",
        _sections(rows),
        _proof(making),
        _files(making),
        "<h2>Bars</h2>",
        _bars(plan),
        "</body>\n</html>\n",
    ]
    return "\n".join(part for part in parts if part)


def _sections(rows: Sequence[SectionRow]) -> str:
    if not rows:
        return ""
    table = _table(
        ("Section", "From bar", "Bars", "Starts", "Length", "Mean tempo", "Spread"),
        (
            (
                *(row.name, str(row.bar), str(row.bars), _clock(row.start), f"{row.length:.1f} s"),
                *(f"{row.tempo:.1f}", f"±{row.spread:.1f}"),
            )
            for row in rows
        ),
        words=1,
    )
    return f"<h2>Sections</h2>\n{table}"


def _proof(making: Making) -> str:
    plan, back = making.plan, making.read_back
    assert back is not None, "the map is read back before the page is made"
    sentences = [
        f"The written map was read again by another path: {counted(back.bars, 'bar line')}, the lead-in's "
        f"included, the worst {1000 * back.worst:.4f} ms from the tempo map (bar {back.worst_bar} of the session) "
        f"and {1000 * back.worst_to_grid:.4f} ms from the bar line it stands for."
    ]
    cautions = "".join(f"<li>{escape(caution.text)}</li>" for caution in plan.cautions)
    return f"<h2>How exact</h2>\n<p>{escape(' '.join(sentences))}</p>" + (
        f"\n<ul>{cautions}</ul>" if cautions else ""
    )


def _files(making: Making) -> str:
    holds = {file.name: file.holds for file in making.plan.files}
    rows = ((done.path.name, holds[done.path.name], f"{done.size:,}") for done in making.done)
    return f"<h2>Files</h2>\n{_table(('File', 'What it holds', 'Bytes'), rows, words=2)}"


def _bars(plan: Plan) -> str:
    grid, lines = plan.grid, plan.grid.bar_lines

    def row(line: Beat, following: Beat | None) -> tuple[str, ...]:
        signature = grid.metre.at(line.bar)
        tempo = f"{60 * float(signature.quarters) / (following.time - line.time):.1f}" if following else ""
        how = "placed" if line.placed else f"{line.confidence:.0%}{' ?' if line.doubtful else ''}"
        return (str(line.bar), f"{line.time:.3f}", signature.full, tempo, how)

    rows = [row(line, following) for line, following in zip(lines, [*lines[1:], None], strict=True)]
    heads = ("Bar", "Second", "Metre", "Tempo", "Sure")
    tables = [_table(heads, rows[i : i + _ROWS], words=0) for i in range(0, len(rows), _ROWS)]
    return f'<div class="bars">\n{"".join(tables)}\n</div>'


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, words: int) -> str:
    """Make a table whose first columns are words and whose others are numbers."""

    def cells(tag: str, values: Sequence[str]) -> str:
        marks = [tag if i < words else f'{tag} class="n"' for i in range(len(values))]
        return "".join(f"<{mark}>{escape(value)}</{tag}>" for mark, value in zip(marks, values, strict=True))

    body = "\n".join(f"<tr>{cells('td', row)}</tr>" for row in rows)
    return f"<table>\n<tr>{cells('th', heads)}</tr>\n{body}\n</table>"


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"
