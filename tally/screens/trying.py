"""A meter tried without any job: the same questions and the same listening, and in the end the lines for a plan."""

from __future__ import annotations

from pathlib import Path

from textual.content import Content

from tally import formats
from tally.formats import Units
from tally.planfile.guided import draft, sequence, written
from tally.planfile.guided.question import Answers, Question
from tally.screens import words
from tally.screens.guide import GuideScreen
from tally.screens.words import line

HEAD = "# For a plan file: put these lines in place of its own [meter] and [[instrument]] tables."
NOTHING = "nothing is known yet: ↑ goes back to the questions"


class TryScreen(GuideScreen):
    TITLE_SAID = "TRY A METER"
    DRAFT = draft.METER
    FILE = Question(
        id="lines",
        step="lines",
        words="Write the lines to",
        remark="hold what is read against the meter's own display. Enter writes the lines to that file, Esc leaves",
    )

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self._answers = {"meter.is": "yes"}

    def _sequence(self, answers: Answers) -> list[Question]:
        return [each for each in sequence.instruments_alone(answers) if each.id != "meter.is"]

    @property
    def _units(self) -> Units:
        return self.start.units or "metric"

    def _file_name(self) -> str:
        return "meter.toml"

    def _step(self, asked: Question) -> str:
        return "no job" if asked is not self.FILE else "the lines for a plan"

    def _work_out(self) -> None:
        """No job, no figures."""

    def _listens(self, asked: Question) -> str:
        return super()._listens(asked) or "meter"

    def _text(self) -> str:
        return written.plan_text(self._answers, self._sequence(self._answers), head="").strip()

    def _at_the_end(self, width: int) -> list[Content]:
        return [line(words.cut(f" {row}", width)) for row in (self._text() or NOTHING).splitlines() if row]

    def _save(self, name: str, *, overwrite: bool = False) -> None:
        name, text = formats.plain(name).strip(), self._text()
        if not text or not name:
            self._say(
                f"✗ {NOTHING if not text else 'nothing was given; a name that ends in .toml is accepted'}", "bold"
            )
            return
        path = Path(name if name.lower().endswith(".toml") else f"{name}.toml").expanduser()
        if path.exists() and not overwrite:
            self._ask_overwrite(path, name)
            return
        if wrong := written.saved(path, f"{HEAD}\n\n{text}\n", overwrite=overwrite):
            self._say(f"✗ {wrong}", "bold")
            return
        self.start.said = f"The lines for a plan were written to {path}"
        self.dismiss()

    def _resumed(self, kept: dict[str, str]) -> tuple[str, str]:
        return "A meter was tried before", kept.get("meter.port") or "on no port yet"
