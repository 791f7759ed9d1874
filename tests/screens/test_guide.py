"""The guided plan by keys alone: asked, checked as it is typed, worked out beside it, saved, left and taken up."""

from pathlib import Path

import pytest
from textual.events import Key

from tally import planfile
from tally.job.plan import Plan
from tally.planfile.guided import draft
from tally.screens.start import Choice, StartApp
from tests.planfile.test_guided import METRIC, interviewed
from tests.screens.support import MIDDLE, Bench, started

ORDER = interviewed(METRIC)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TZ", "Europe/Oslo")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def app(here: Path, **more: str) -> StartApp:
    return StartApp((), here, **more)  # type: ignore[arg-type]


def drafted(here: Path, upto: str) -> None:
    """A draft of every answer before `upto`."""
    said: dict[str, str] = {}
    for name, value in ORDER.items():
        if name == upto:
            break
        said[name] = value
    assert not said or draft.saved(here, said) == ""


async def type_all(screen: Bench, *, since: str = "job.name", upto: str = "") -> None:
    names = list(ORDER)
    for name in names[names.index(since) : names.index(upto) if upto else None]:
        await screen.write("" if name == "job.time_zone" else METRIC.get(name, ""))
        await screen.until(lambda name=name: name in screen.app.screen._answers, f"{name} was taken")  # type: ignore[misc]


@pytest.mark.parametrize("since", [pytest.param("job.name", marks=pytest.mark.long), "line.starts"])
async def test_a_plan_is_typed_saved_and_recorded(here: Path, since: str) -> None:
    drafted(here, since)
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        if since == "job.name":
            await screen.keys("backspace")
        await type_all(screen, since=since)
        await screen.shows("Save the plan as ▸ upper-brook-well-4.toml", "LOOK AT FIRST", "TO SURFACE", "need")
        await screen.keys("enter")
        await screen.shows("Start recording now?", "The plan is saved as upper-brook-well-4.toml")
        await screen.keys("1")
        await screen.until(lambda: screen.app._exit, "it ended")
        assert screen.app.return_value == Choice("record", Path("upper-brook-well-4.toml"))
    plan = planfile.read(here / "upper-brook-well-4.toml")
    assert isinstance(plan, Plan), plan
    assert plan.job.time_zone == "Europe/Oslo"
    assert len(plan.casing.rack_m) == 9
    assert draft.read(here) == {}


async def test_what_is_typed_is_read_while_it_is_typed(here: Path) -> None:
    drafted(here, "hole.section[2].diameter")
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        await screen.shows("Diameter of that section (mm) ▸")
        await screen.keys(*"8 5/8")
        await screen.shows("= 8 5/8 mm")
        await screen.keys(*" in")
        await screen.shows("= 8 5/8 in = 219.1 mm   Enter takes it")
        await screen.keys(*"x")
        await screen.shows("given 8 5/8 inx", "accepted: a length")
        await screen.keys("enter")
        await screen.shows("✗ given 8 5/8 inx")
        await screen.keys("backspace", "enter")
        await screen.shows("open hole", "[Enter: open hole]")


async def test_an_answer_that_does_not_fit_is_not_taken(here: Path) -> None:
    drafted(here, "casing.target_shoe_depth")
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        await screen.write("49")
        await screen.shows("✗ given the shoe is planned at 49 m, below the bottom at 48 m")
        assert "casing.target_shoe_depth" not in draft.read(here)
        await screen.keys("backspace", "backspace")
        await screen.write("47.5")
        await screen.shows("Stick-up above ground")


async def test_a_change_leads_to_the_later_answer_that_it_does_not_go_with(here: Path) -> None:
    names = list(ORDER)
    drafted(here, names[names.index("casing.joint_range[2]") + 1])
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        for name in reversed(names[names.index("casing.rack[1]") : names.index("casing.joint_range[2]") + 1]):
            await screen.keys("up")
            await screen.until(lambda name=name: screen.app.screen._at == name, name)  # type: ignore[misc]
        await screen.write("4 x 6.80")
        await screen.shows("No joint is longer than (m) ▸ 6.5")
        await screen.shows("this does not go with casing.rack[1]: given 4 x 6.80 m")
        assert draft.read(here)["casing.rack[1]"].startswith("4 x 6.80")
        await screen.keys("backspace", "backspace", "backspace", "backspace", "backspace")
        await screen.write("7")
        await screen.until(lambda: draft.read(here).get("casing.joint_range[2]") == "7 m", "the range was taken")


async def test_figures_move_as_an_earlier_answer_is_changed(here: Path) -> None:
    drafted(here, "meter.is")
    async with started(app(here), size=MIDDLE) as screen:
        await screen.keys("1", "1")
        await screen.shows("A meter that counts grout?", "pump likely")

        def likely() -> str:
            return next(line for line in screen.lines if "pump likely" in line).split("pump likely")[1].strip()

        before = likely()
        # Up to the allowance: its more and spread lie between.
        await screen.keys("up", "up")
        await screen.shows("Allowance on the annulus (%) ▸ 15 %")
        await screen.keys(*"30")
        await screen.until(lambda: likely() != before, "the volume moved")
        await screen.keys("enter")
        await screen.shows("A meter that counts grout? ▸")
        assert draft.read(here)["stage[1].allowance"] == "30 %"


async def test_nothing_is_offered_that_is_not_shown_and_nothing_taken_without_enter(here: Path) -> None:
    drafted(here, "casing.weld_gap")
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        await screen.shows("Gap at each weld (mm) ▸", "[Enter: 2 mm]")
        assert "casing.weld_gap" not in draft.read(here)
        await screen.keys("enter")
        await screen.shows("Joint 1 on the rack (m) ▸")
        assert draft.read(here)["casing.weld_gap"] == "2 mm"
        await screen.keys("enter")
        await screen.shows("✗ nothing was given")


async def test_answers_typed_ahead_go_to_their_questions(here: Path) -> None:
    """A burst, as from fast fingers over a slow link: nothing is drawn between the keys."""
    async with started(app(here)) as screen:
        await screen.keys("1")
        await screen.shows("Name of the job ▸")
        driver = screen.app._driver
        for key in [*"Well 4", "enter", "enter", "enter", "enter", "1", "enter", "enter", *"A. Brook", "enter"]:
            event = Key(*(("space", " ") if key == " " else (key, key if len(key) == 1 else None)))
            event.set_sender(screen.app)
            driver.send_message(event)
        await screen.shows("Licence ▸")
        said = draft.read(here)
        assert (said["job.name"], said["crew.driller"]) == ("Well 4", "A. Brook")


async def test_leaving_keeps_every_answer(here: Path) -> None:
    async with started(app(here)) as screen:
        await screen.keys("1")
        await type_all(screen, upto="crew.driller")
        await screen.keys("escape")
        await screen.shows("A NEW JOB")
    async with started(app(here)) as screen:
        await screen.keys("1")
        await screen.shows("A plan was begun", "Upper Brook, well 4: 6 answers")
        await screen.keys("1")
        await screen.shows("Driller, who records ▸", "Upper Brook, well 4")
        await screen.keys("escape")
        await screen.shows("A NEW JOB")
        await screen.keys("1")
        await screen.shows("A plan was begun")
        await screen.keys("2")
        await screen.shows("Name of the job ▸")
        assert (here / f"{draft.NAME}-1").exists()


async def test_a_file_that_is_there_is_not_written_over_unasked(here: Path) -> None:
    (here / "upper-brook-well-4.toml").write_text("mine", encoding="utf-8")
    drafted(here, "")
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        await screen.shows("Save the plan as")
        await screen.keys("enter")
        await screen.shows("is there already. Write over it?")
        await screen.keys("1")
        assert (here / "upper-brook-well-4.toml").read_text(encoding="utf-8") == "mine"
        await screen.keys("enter")
        await screen.shows("Write over it?")
        await screen.keys("2")
        await screen.shows("Start recording now?")
        await screen.keys("2")
        await screen.shows("The plan was saved as upper-brook-well-4.toml", "A NEW JOB")
    assert isinstance(planfile.read(here / "upper-brook-well-4.toml"), Plan)


async def test_a_plan_saved_in_another_folder_still_finds_its_log(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (here / "hole.csv").write_text("depth_m,diameter_mm\n7,320\n27,320\n47,320\n", encoding="utf-8")
    (here / "wells").mkdir()
    answers = interviewed(METRIC | {"hole.caliper": "hole.csv"})
    assert draft.saved(here, answers) == ""
    async with started(app(here)) as screen:
        await screen.keys("1", "1")
        await screen.shows("Save the plan as")
        await screen.write("wells/four")
        await screen.shows("Start recording now?")
    monkeypatch.chdir(here / "wells")
    found = planfile.read("four.toml")
    assert isinstance(found, Plan), found
    assert len(found.hole.log) == 3


async def test_hostile_answers_are_drawn_and_written_as_text(here: Path) -> None:
    name = '[/] [red] [@click=app.quit]x[/] "q" \\n 穴 é'
    async with started(app(here)) as screen:
        await screen.keys("1")
        await screen.write(name)
        await screen.shows("[/] [red]", "Place ▸")
        assert draft.read(here)["job.name"] == name


async def test_a_log_and_a_mix_are_told_while_they_are_typed(here: Path) -> None:
    (here / "hole.csv").write_text("depth_m,diameter_mm\n7,320\n27,320\n47,320\n", encoding="utf-8")
    drafted(here, "hole.caliper")
    async with started(app(here), size=MIDDLE) as screen:
        await screen.keys("1", "1")
        await screen.shows("Caliper log of the hole ▸", "Enter alone: none")
        await screen.keys(*"hole.cs")
        await screen.shows("given hole.cs", "the name of a .csv or .las file")
        await screen.keys("v")
        await screen.shows("= hole.csv: 3 points read, from 7.00 m to 47.00 m, 320.0 mm on the average")
    drafted(here, "mix[1].water_per_bag")
    async with started(app(here), size=MIDDLE) as screen:
        await screen.keys("1", "1")
        await screen.shows("Water to a bag (L) ▸", "[Enter: 18.4 L]")
        await screen.keys(*"18.4")
        await screen.shows("weighs 1.88 kg/L, a bag makes 31.1 L")
