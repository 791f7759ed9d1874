"""A report as text in the format that was asked for. `tally.report.pdf` prints it."""

from __future__ import annotations

import json
from typing import Literal

from tally.formats import Units
from tally.job.view.report import ReportView

TextFormat = Literal["md", "csv", "json"]


def document(view: ReportView, form: TextFormat, units: Units) -> dict[str, bytes]:
    """What is appended to a file's stem, to its bytes. CSV makes a file a table, the others one each."""
    if form == "csv":
        from tally.report.tables import tables

        return {f"-{name}.csv": text.encode() for name, text in tables(view).items()}
    if form == "json":
        from tally.report.tables import as_json

        text = json.dumps(as_json(view), indent=2, ensure_ascii=False, allow_nan=False)
        return {".json": f"{text}\n".encode()}
    from tally.report.markdown import markdown

    return {".md": markdown(view, units).encode()}
