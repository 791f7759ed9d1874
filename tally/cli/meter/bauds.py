"""The usual baud rates, tried one after another: which of them gives text that can be read, or a Modbus answer."""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass

from tally.cli.fault import CommandFault
from tally.cli.meter import wiring

RATES = (9600, 19_200, 38_400, 57_600, 115_200, 4800, 2400, 1200)
PARITIES = ("8N1", "8E1")
EACH_S = 2.0
ENOUGH = 4
"""Lines after which no more are waited for."""

_HEARD = "Seven data bits with parity (--bits 7E1), or no text at all (Modbus)?"
_SILENT = "Nothing arrived at all: check power, the two data wires (swap them), and whether it must be asked."


@dataclass(frozen=True, slots=True)
class _Try:
    baud: int
    bytes: int
    lines: int
    garbage: int
    sample: str

    @property
    def readable(self) -> bool:
        return self.lines > 0 and self.lines > 3 * self.garbage


def tried(options: argparse.Namespace) -> int:
    """Prints a row for each rate; exit code 0 where one gives text."""
    if "://" in options.port:
        raise CommandFault("a network address has no baud rate here: it is set in the converter at its other end")
    if wiring.source_of(options) == "modbus":
        return _asked(options)
    each_s = min(options.seconds or EACH_S, 60.0)
    found = []
    for baud in RATES:
        found.append(_try(options.port, baud, options.bits, each_s))
        print(_row(found[-1]), flush=True)
    best = max((one for one in found if one.readable), key=lambda one: (one.lines, -one.garbage), default=None)
    if best is None:
        heard = any(one.bytes for one in found)
        print("No rate gave lines of text.", _HEARD if heard else _SILENT)
        return 1
    print(f"{best.baud} baud gave readable text; next: tally meter listen {options.port} --baud {best.baud}")
    return 0


def _asked(options: argparse.Namespace) -> int:
    """A Modbus device asked at each rate, without parity and with it, until it answers."""
    from tally.meters.probe import Probe
    from tally.meters.transport import PortFault

    for baud in RATES:
        for bits in PARITIES:
            try:
                with Probe(options.port, baud, bits=bits, unit=options.unit_id, bank=options.bank) as probe:
                    answer = probe.ask(options.address)
            except PortFault as fault:
                raise CommandFault(str(fault)) from fault
            print(f"{baud:>7} {bits}  {'an answer' if answer.heard else answer.why.partition(':')[0]}", flush=True)
            if answer.heard:
                asked = f"{options.port} --baud {baud} --bits {bits} --address {options.address}"
                print(f"unit {options.unit_id} answers at {baud} baud, {bits}; next: tally meter listen {asked}")
                return 0
    print(f"Unit {options.unit_id} answered at no rate: another --unit-id? Check power and the two wires (swap them).")
    return 1


def _try(url: str, baud: int, bits: str, each_s: float) -> _Try:
    from tally.meters.dialect import shown
    from tally.meters.framing import Frame, LineFramer
    from tally.meters.transport import PortFault, open_port

    try:
        port = open_port(url, baud, bits=bits)
    except PortFault as fault:
        raise CommandFault(str(fault)) from fault
    framer, garbage, count = LineFramer(mid_line=True), 0, 0
    lines: list[bytes] = []
    try:
        end_s = time.monotonic() + each_s
        while time.monotonic() < end_s and len(lines) < ENOUGH:
            data = port.read(4096)
            count += len(data)
            for found in framer.feed(data):
                if isinstance(found, Frame) and _is_ascii_text(found.data):
                    lines.append(found.data)
                else:
                    garbage += 1
    except PortFault as fault:
        raise CommandFault(str(fault)) from fault
    finally:
        port.close()
    return _Try(baud, count, len(lines), garbage, shown(lines[-1].decode("ascii")) if lines else "")


def _is_ascii_text(line: bytes) -> bool:
    """A wrong rate also gives bytes above 127, which some meters print as degree signs: one in ten may be such."""
    return sum(byte > 126 for byte in line) * 10 <= len(line) and line.isascii()


def _row(one: _Try) -> str:
    if not one.bytes:
        return f"{one.baud:>7}  silence"
    said = f"{one.lines} lines of text, {one.garbage} of garbage"
    return f"{one.baud:>7}  {one.bytes} bytes, {said}{f': {one.sample}' if one.sample else ''}"
