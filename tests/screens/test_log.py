"""The log: every entry in words, and corrections made from it."""

from tally.job import events as ev
from tally.job import intents as want
from tally.job.standing import OPERATORS, standing
from tally.screens import correcting
from tally.screens.question import Ask, answered
from tests.eventful import eventful_day
from tests.scenario import JOINT_M, Day
from tests.screens.support import SMALL, bench


def some() -> Day:
    day = Day()
    day.joints([JOINT_M] * 2)
    day.hook(3_000.0)
    day.record(ev.NoteWritten(text="wind from the west"))
    return day


async def test_every_entry_is_told_newest_last() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows(
            "session opened", "joint of 5.05 m on", "hook load read, 0.31 t, still", "wind from the west"
        )
        told = [line.split()[0] for line in screen.lines if line.strip()[:1].isdecimal()]
        assert told[:5] == ["1", "2", "3", "4", "5"]
        screen.day.joint()
        await screen.shows(" 6  ")


async def test_arrows_move_the_bar_and_say_the_entry_in_full() -> None:
    day = some()
    words = "the tape was read twice, by both of the crew, and both of them found the same to the centimetre again"
    day.record(ev.NoteWritten(text=words))
    async with bench(day, place="log") as screen:
        await screen.shows("…")
        await screen.keys("up", "up", "down")
        await screen.settled()
        assert words.split()[-1] not in screen.text
        await screen.keys("down")
        await screen.shows("centimetre again")
        await screen.keys("pageup")
        await screen.shows("session opened by")


async def test_an_entry_is_voided_from_the_log() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("up", "up", "v")
        await screen.shows("void 3 (joint of 5.05 m on), why")
        await screen.write("Typed twice")
        voided = await screen.recorded(ev.EntryVoided)
        assert (voided.entry, voided.reason) == (3, "Typed twice")
        await screen.shows("VOID joint of 5.05 m on", "entry 3 voided: Typed twice")


async def test_a_joint_is_entered_again_in_its_place() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("up", "up", "e")  # from the note up to the second joint
        await screen.shows("entry 3, joint length (m) ▸ 5.05 m")
        await screen.write("5.25")
        await screen.shows("correct entry 3, why ▸ read or typed wrong")
        await screen.keys("enter")
        fix = await screen.recorded(ev.EntryCorrected)
        assert (fix.entry, fix.reason) == (3, "read or typed wrong")
        assert (fix.event.length_m, fix.event.typed) == (5.25, "5.25 m")
        assert [joint.length_m for joint in screen.day.state.string.joints] == [JOINT_M, 5.25]
        await screen.shows("VOID joint of 5.05 m on", "entry 3 corrected to: joint of 5.25 m on; why: read or typed")


async def test_keys_pressed_ahead_of_the_question_for_the_reason_belong_to_it() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("up", "up", "e", *"5.25", "enter", *"wrong end of the tape", "enter")
        assert (await screen.recorded(ev.EntryCorrected)).reason == "wrong end of the tape"


async def test_a_correction_is_refused_where_it_is_typed_and_insisted_on_there() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("up", "up", "e")
        await screen.write("55 m")
        await screen.shows("from 0.10 m to 30.00 m is accepted")
        assert screen.typed == "55 m"
        await screen.keys("escape", "e")
        await screen.write("long")
        await screen.shows("given long (not a number")
        await screen.keys("escape", "e")
        await screen.write("3 m")
        await screen.shows("outside the delivered range", "Enter again records it")
        assert screen.typed == "3 m"
        await screen.keys("enter")
        await screen.shows("correct entry 3, why")
        assert not screen.events(ev.EntryCorrected)
        await screen.keys("enter")
        assert (await screen.recorded(ev.EntryCorrected)).event.length_m == 3.0


async def test_a_missed_joint_goes_in_before_the_one_under_the_bar() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("up", "up", "i")
        await screen.shows("joint missed before entry 3, length (m) ▸")
        await screen.write("4.90")
        await screen.shows("joint missed, why ▸ not written down when it went on")
        await screen.keys("enter")
        late = await screen.recorded(ev.EntryInserted)
        assert late.after == 2
        await screen.shows("entered late, after entry 2: joint of 4.90 m on")
        assert [joint.length_m for joint in screen.day.state.string.joints] == [JOINT_M, 4.90, JOINT_M]
        # The bar has stayed on entry 3; a second one that was missed goes between the first and it.
        await screen.keys("i", *"4.80", "enter", "enter")
        await screen.recorded(ev.EntryInserted, 2)
        assert [joint.length_m for joint in screen.day.state.string.joints] == [JOINT_M, 4.90, 4.80, JOINT_M]


async def test_a_correction_is_taken_back() -> None:
    day = some()
    day.do(want.CorrectEntry(3, want.AddJoint(5.20, "5.20 m"), "misread"))
    async with bench(day, place="log") as screen:
        await screen.shows("corrected to")
        await screen.keys("v")
        await screen.shows("take back 6 (entry 3 corrected to")
        await screen.write("It was right")
        await screen.recorded(ev.EntryVoided)
        await screen.shows("correction 6 taken back, entry 3 stands again: It was right", "VOID entry 3 corrected")
        assert [joint.length_m for joint in screen.day.state.string.joints] == [JOINT_M, JOINT_M]


async def test_what_was_picked_is_picked_again_and_a_switch_stands_where_it_stood() -> None:
    day = some()
    day.hook(9_000.0, "picking up")
    day.landed("rock")
    async with bench(day, place="log") as screen:
        await screen.shows("landed on rock")
        await screen.keys("e")
        await screen.shows("Entry 7: Casing landed")
        await screen.keys("2", "enter")
        await screen.shows("50.50 m above its planned depth", "Enter again records it")
        await screen.keys("enter")
        assert (await screen.recorded(ev.EntryCorrected)).event.on == "hung"
        await screen.keys("up", "up", "e")
        await screen.shows("entry 6, hook load, picking up (space changes)")
        await screen.keys("enter")
        await screen.shows("entry 6 says that already")


async def test_what_the_crew_was_at_is_put_right_and_the_times_follow() -> None:
    """A joint, 100 s said to be standby that were repair of the mast; weather and who records, each typed wrong."""
    day = some()
    day.do(want.BeginActivity("standby", "for the welder"))
    day.tick(100.0)
    day.do(want.BeginActivity("job"))
    day.do(want.NoteWeather("sleet, 11 C"))
    day.do(want.ChangeCrew("Driller Q", "Helper C"))
    async with bench(day, place="log") as screen:
        await screen.shows("standby from now: for the welder", "Driller Q records from now on, with Helper C")
        await screen.keys("e")
        await screen.shows("entry 9, who records now, comma, helper ▸ Driller Q, Helper C")
        await screen.write("Driller B, Helper C")
        await screen.keys("enter")
        await screen.recorded(ev.EntryCorrected)
        await screen.shows("Driller B  casing", "entry 9 corrected to: Driller B records from now on")
        await screen.keys("up", "up", "e")  # from the correction, which the bar is on, up to the weather
        await screen.shows("▸ sleet, 11 C")
        await screen.write("sleet, 1 C")
        await screen.keys("enter")
        assert (await screen.recorded(ev.EntryCorrected, 2)).event.air_c == 1.0
        await screen.keys("up", "up", "e")
        await screen.shows("Entry 6: The crew is at …")
        await screen.keys("1")
        await screen.shows("standby, for what ▸ for the welder")
        await screen.keys("escape", "e", "2")
        await screen.write("mast")
        await screen.keys("enter")
        put_right = (await screen.recorded(ev.EntryCorrected, 3)).event
        assert (put_right.activity, put_right.note) == ("repair", "mast")
        await screen.keys("f2", "b", "9")
        await screen.shows("repair                                 1 min 40 s")
        assert "standby" not in screen.text.partition("TIMES SO FAR")[2]


async def test_what_cannot_be_corrected_says_so() -> None:
    day = some()
    day.record(ev.CheckConfirmed(check="flushed"))
    day.void(4)
    async with bench(day, place="log") as screen:
        await screen.shows("hole flushed")
        await screen.keys("e")
        await screen.shows("entry 7 was not made by the crew: correct what led to it")
        await screen.keys("i")
        await screen.shows("joint missed before entry 7")  # a void stands where it was made
        await screen.keys("escape", "up", "e")
        await screen.shows("entry 6 says nothing that could be corrected; v voids it")
        await screen.keys("up", "up", "e")
        await screen.shows("entry 4 is voided")
        await screen.keys("i")
        await screen.shows("entry 4 is voided; choose one that stands")
        await screen.keys("pageup", "i")
        await screen.shows("nothing goes before the opening")


def test_every_entry_of_an_operator_can_be_entered_again_or_says_why_not() -> None:
    day = eventful_day()
    day.record(ev.ZoneNoted(top_m=31.0, bottom_m=33.0, of="fracture", typed="31 to 33"))
    asked = set()
    for kept in list(standing(day.state)):
        if isinstance(kept.entry.event, OPERATORS):
            question = correcting.again(kept.entry.number, day.state, "metric")
            if isinstance(question, str):
                assert "v voids it" in question
                assert not isinstance(kept.entry.event, tuple(correcting.ACTIONS))
            else:
                asked.add(type(kept.entry.event))
            if isinstance(question, Ask) and question.kind is not None:
                again = question.then and question.then(answered(question, question.given, "", "metric"))
                assert isinstance(again, Ask)
                intent = again.make(0.0, "why", "")
                assert isinstance(intent, want.CorrectEntry)
    assert asked >= {ev.JointAdded, ev.JointRejected, ev.TopTagged, ev.ReturnsSeen, ev.PumpStopped, ev.StageEnded}


async def test_what_cannot_be_voided_says_so() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("pageup", "v")
        await screen.shows("entry 1 is none that can be voided")


async def test_a_note_from_the_log_and_stray_digits() -> None:
    async with bench(some(), place="log") as screen:
        await screen.keys("4", "2", "n")
        await screen.shows("note ▸")
        await screen.write("Two Men on a line")
        await screen.recorded(ev.NoteWritten, 2)
        assert screen.events(ev.NoteWritten)[-1].text == "Two Men on a line"
        await screen.shows("press a key ▸")


async def test_units_and_width_are_told_anew() -> None:
    async with bench(some(), place="log", size=SMALL) as screen:
        await screen.keys("up", "up", "up")
        await screen.keys("f7")
        await screen.shows("joint of 16.57 ft on")
        await screen.pilot.resize_terminal(132, 43)
        await screen.settled()
        await screen.shows("joint of 16.57 ft on", "wind from the west")
        await screen.keys("v")
        await screen.shows("void 2 (")


async def test_the_table_holds_the_latest_of_a_long_day() -> None:
    day = Day()
    for number in range(1_000):
        day.record(ev.NoteWritten(text=f"note {number}"))
    async with bench(day, place="log") as screen:
        await screen.shows("note 999")
        await screen.keys(*["pageup"] * 34)
        await screen.shows("note: note 600")
