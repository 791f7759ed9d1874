"""A scripted rig: the same bytes each time, and volumes that are worked by hand."""

from pathlib import Path

import pytest

from tally.meters.simulated_hole import Hole
from tally.meters.simulated_play import Play, Sent
from tally.meters.simulated_rig import Command, CommandFault, Rig, parsed_command, parsed_script
from tally.meters.simulated_script import read_script


def play(text: str = "", **settings: object) -> Play:
    rig = Rig(**({"rate_noise": 0.0} | settings))  # type: ignore[arg-type]
    return Play(rig, parsed_script(text), 0.2)


def data(sent: list[tuple[float, Sent]]) -> bytes:
    return b"".join(one.data for _, one in sent)


def test_the_same_seed_and_script_give_the_same_bytes() -> None:
    text = "at 1 rate 60\nat 3 spoil 20\nat 5 garbage\nat 8 noise 5\nat 9 flood 7\n"
    one, same, other = (data(list(play(text, seed=seed).through(20))) for seed in (3, 3, 4))
    assert one == same != other
    assert len(one.splitlines()) > 100


def test_spoiled_lines_move_no_rate() -> None:
    clean, spoiled = play("at 0 rate 60\n", rate_noise=0.05), play("at 0 spoil 50\nat 0 rate 60\n", rate_noise=0.05)
    one, other = data(list(clean.through(20))), data(list(spoiled.through(20)))
    assert clean.rig.pumped_m3 == spoiled.rig.pumped_m3
    assert one != other
    assert len(one) == len(other)  # one byte of a line is another, none is more


def test_returns_come_when_the_hole_is_full_and_less_what_is_lost() -> None:
    # 60 L/min is 1 L/s. 20 s fill 20 L; from 30 s on a quarter is lost: 10 s give 10 L, 20 s give 15 L of returns.
    tried = play("at 0 rate 60\nat 30 loss 25\n", hole=Hole(0.020))
    sent = list(tried.through(50))
    hole = tried.rig.hole
    assert hole is not None
    assert (hole.filled_m3, hole.lost_m3) == pytest.approx((0.020, 0.005), abs=3e-4)  # a step is 0.2 L
    assert hole.returned_m3 == pytest.approx(0.025, abs=3e-4)
    returns = [one.returns for _, one in sent]
    assert returns[0] == b"T 000000.00 L R 0.00 L/min\r\n"
    assert returns[-1].endswith(b" L R 45.00 L/min\r\n")


def test_a_washout_delays_returns_and_a_channel_brings_them_early() -> None:
    # 20 L and 10 L washed out: full at 30 s. A fifth comes back early from the start: 1 L/s x 0.2, full at 37.5 s.
    tried = play("at 0 rate 60\nat 5 washout 10\n", hole=Hole(0.020))
    list(tried.through(29))
    assert tried.rig.hole is not None
    assert tried.rig.hole.returned_m3 == pytest.approx(0.0, abs=3e-4)
    early = play("at 0 rate 60\nat 0 early 20\nat 5 washout 10\n", hole=Hole(0.020))
    list(early.through(30))
    assert early.rig.hole is not None
    assert early.rig.hole.returned_m3 == pytest.approx(0.006, abs=3e-4)
    assert early.rig.hole.filled_m3 == pytest.approx(0.024, abs=3e-4)


def test_a_stall_a_drop_out_and_a_reversed_meter() -> None:
    tried = play("at 0 rate 60\nat 10 stall 5\nat 20 dropout 4\nat 30 reverse\nat 40 forward\n")
    sent = list(tried.through(50))
    assert tried.rig.pumped_m3 == pytest.approx(0.045, abs=3e-4)  # 50 s less 5
    assert tried.rig.total_m3 == pytest.approx(0.025, abs=3e-4)  # 10 of them backward
    assert [(round(at_s), one.plug) for at_s, one in sent if one.plug] == [(20, "out"), (24, "in")]
    assert not [at_s for at_s, one in sent if 20.1 < at_s < 23.9 and one.data]


def test_a_flood_is_as_many_lines_as_were_asked_for() -> None:
    tried = play("at 1 flood 900\n")
    assert data(list(tried.through(2))).count(b"\r\n") == 910


def test_what_concerns_the_ground_needs_a_hole() -> None:
    with pytest.raises(CommandFault, match="needs a hole"):
        Rig().obey(parsed_command("loss 40"))


def test_a_toml_script_sets_the_rig_and_its_steps(tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    path.write_text(
        '[rig]\nseed = 7\nhole_l = 400\n[[step]]\nat_s = 9\ndo = "stop"\n[[step]]\nat_s = 1.5\ndo = "rate 60"\n',
        encoding="utf-8",
    )
    assert read_script(path) == (
        ["--seed", "7", "--hole", "400"],
        [(1.5, Command("rate", 60.0)), (9.0, Command("stop"))],
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[rig", "not TOML"),
        ("[pump]\n", "'pump'"),
        ("rig = 5\n", r"a table \[rig\]"),
        ("[rig]\nsede = 7\n", "'sede'"),
        ("[[step]]\nat_s = 1\n", "step 1"),
        ('[[step]]\nat_s = "1"\ndo = "stop"\n', "step 1"),
        ('[[step]]\nat_s = 1\ndo = "dance"\n', "step 1: 'dance' is no command"),
    ],
)
def test_a_wrong_script_says_what_is_accepted(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "rig.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CommandFault, match=words):
        read_script(path)
