"""Known zones in a plan file: every key read, every mistake told at its place."""

from tally.job.plan import Plan
from tally.planfile.example import example
from tally.planfile.reader import read_text

ZONE = '\n[[hole.zone]]\nfrom = "21 m"\nto = "72 ft"\nkind = "fracture"\nnote = "flush lost"\nspread = "40 %"\n'


def read(zone: str) -> Plan | list[str]:
    found = read_text(example().replace("\n[casing]", f"{zone}\n[casing]", 1))
    return (
        found
        if isinstance(found, Plan)
        else [f"{mistake.key}: {mistake.given}; {mistake.accepted}" for mistake in found]
    )


def test_every_key_is_read() -> None:
    plan = read(ZONE)
    assert isinstance(plan, Plan), plan
    (zone,) = plan.hole.zones
    assert (zone.top_m, zone.kind, zone.note, zone.spread_share) == (21.0, "fracture", "flush lost", 0.40)
    assert abs(zone.bottom_m - 72 * 0.3048) < 1e-9  # 1 ft is 0.3048 m exactly


def test_spread_and_note_may_be_left_out_and_all_of_it() -> None:
    plan = read('\n[[hole.zone]]\nfrom = "0 m"\nto = "48 m"\nkind = "loss"\n')
    assert isinstance(plan, Plan) and plan.hole.zones[0].spread_share is None
    none = read("")
    assert isinstance(none, Plan) and none.hole.zones == ()


def test_what_is_wrong_is_told_with_its_key() -> None:
    wrong = read(ZONE.replace("72 ft", "20 m").replace("fracture", "cave").replace("40 %", "300 %"))
    assert isinstance(wrong, list)
    assert any(line.startswith("hole.zone[1].to: 20 m; a depth below the zone's top") for line in wrong)
    assert any(line.startswith('hole.zone[1].kind: cave; "fracture" or "void"') for line in wrong)
    assert any(line.startswith("hole.zone[1].spread: 300 %; a share from 0 % to 200 %") for line in wrong)


def test_a_zone_below_the_hole_is_told() -> None:
    (wrong,) = read(ZONE.replace("72 ft", "49 m"))
    assert wrong == "hole.zone[1].to: 49 m is below the hole's bottom at 48 m; a zone inside the hole"
