"""The simulated rig's arithmetic: volume = rate x time, worked by hand."""

import re

import pytest

from tally.meters.simulated_rig import CommandFault, Rig, parsed_command, parsed_script


def run(rig: Rig, seconds: int, *commands: str) -> Rig:
    for text in commands:
        rig.obey(parsed_command(text))
    for _ in range(seconds * 5):
        rig.advance(0.2)
    return rig


def test_a_minute_at_sixty_litres_a_minute_is_sixty_litres() -> None:
    rig = run(Rig(rate_noise=0.0, total_m3=1.2345), 60, "rate 60")
    assert rig.total_m3 == pytest.approx(1.2945)
    assert rig.printed() == b"T 001294.50 L R 60.00 L/min\r\n"


def test_a_frozen_meter_misses_what_flows() -> None:
    rig = run(run(run(Rig(rate_noise=0.0), 10, "rate 60"), 10, "freeze"), 10, "thaw")
    assert rig.total_m3 == pytest.approx(0.020)
    assert rig.pumped_m3 == pytest.approx(0.030)


def test_a_frozen_meter_says_what_it_said() -> None:
    rig = run(Rig(), 10, "rate 60")
    before = rig.printed()
    assert run(rig, 10, "freeze").printed() == before


def test_reset_jump_and_rollover() -> None:
    rig = run(Rig(rate_noise=0.0, rollover_m3=0.1, total_m3=0.095), 10, "rate 60")
    assert rig.total_m3 == pytest.approx(0.005)
    rig.obey(parsed_command("jump 5"))
    assert rig.total_m3 == pytest.approx(0.010)
    rig.obey(parsed_command("reset"))
    assert rig.total_m3 == 0.0


def test_pulses_are_whole() -> None:
    rig = run(Rig(rate_noise=0.0, line="pulse", m3_per_pulse=1e-5), 10, "rate 60")
    assert rig.printed() == b"P 0001000\r\n"  # 10 L at 0.01 L a pulse


def test_silence_ends_by_itself() -> None:
    rig = run(Rig(), 1, "silent 5")
    assert rig.silent
    assert not run(rig, 5).silent


def test_the_same_seed_prints_the_same() -> None:
    assert run(Rig(seed=3), 20, "rate 60").printed() == run(Rig(seed=3), 20, "rate 60").printed()
    assert run(Rig(seed=3), 20, "rate 60").printed() != run(Rig(seed=4), 20, "rate 60").printed()


@pytest.mark.parametrize("text", ["", "rate", "rate fast", "rate nan", "rate 1 2", "dance", "stop 5"])
def test_what_is_no_command_says_what_is(text: str) -> None:
    with pytest.raises(CommandFault, match=r"accepted are|not a number"):
        parsed_command(text)


def test_a_script_runs_in_order_of_time_and_names_its_bad_line() -> None:
    steps = parsed_script("# a loss at ten seconds\nat 10 stop\n\nat 1.5 rate 60  # start\n")
    assert [(at_s, command.verb, command.number) for at_s, command in steps] == [
        (1.5, "rate", 60.0),
        (10.0, "stop", 0.0),
    ]
    for text in ("at 1 rate 60\n10 stop\n", "at 1 rate 60\nat ten stop\n", "at 1 stop\nat 2 dance\n"):
        with pytest.raises(CommandFault, match=re.compile("^line 2: ")):
            parsed_script(text)
