"""A report in the format that was asked for, as bytes: what a command and a screen write."""

from __future__ import annotations

import json
from typing import Literal, get_args

from tally.formats import Units
from tally.job.state import State
from tally.job.view.report import ReportView

Format = Literal["md", "pdf", "csv", "json"]
FORMATS: tuple[Format, ...] = get_args(Format)


def document(view: ReportView, state: State, form: Format, units: Units) -> dict[str, bytes]:
    """What is appended to a file's stem, to its bytes. CSV makes a file a table, the others one each."""
    if form == "csv":
        from tally.report.tables import tables

        return {f"-{name}.csv": text.encode() for name, text in tables(view).items()}
    if form == "json":
        from tally.report.tables import as_json

        text = json.dumps(as_json(view), indent=2, ensure_ascii=False, allow_nan=False)
        return {".json": f"{text}\n".encode()}
    if form == "pdf":
        from tally.job.view.charted import charts
        from tally.report.charts import drawings
        from tally.report.pdf import pdf

        return {".pdf": pdf(view, units, drawings(charts(state), units))}
    from tally.report.markdown import markdown

    return {".md": markdown(view, units).encode()}
