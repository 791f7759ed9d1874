"""The options that say which meter and how it is read."""

from __future__ import annotations

import argparse
from pathlib import Path

BAUD, BITS = 9600, "8N1"
SOURCES = ("lines", "pulses", "strokes", "current", "modbus")
CHANNELS = ("grout in", "returns out", "hook load", "pressure", "density")
TYPES = ("uint16", "int16", "uint32", "int32", "uint64", "int64", "float32", "float64")
ORDERS = ("ABCD", "CDAB", "BADC", "DCBA")


def reading_options(parser: argparse.ArgumentParser) -> None:
    """How the meter is read, where what it sends is not to be looked at first."""
    how = parser.add_argument_group("how it is read", "without any of these, lines are looked at first")
    how.add_argument("--source", choices=SOURCES, help="what it sends, where the other options do not tell")
    how.add_argument("--pattern", help="regular expression with named groups, such as '(?P<total>[0-9.]+) L'")
    how.add_argument("--units", metavar="NAME=UNIT,…", default="", help="such as total=L,rate=L/min")
    how.add_argument("--k-factor", metavar="K", help='of a pulse counter: "98.5 pulses/L" or "0.0102 L/pulse"')
    how.add_argument("--stroke-volume", metavar="VOLUME", help='of a stroke counter: "1.2 L", what a stroke sweeps')
    how.add_argument("--efficiency", metavar="SHARE", help='of a stroke counter: "90 %%", what a stroke truly delivers')
    how.add_argument("--at-4", metavar="VALUE", help='of a current: what 4 mA stands for, "0 L/min" or "0 bar"')
    how.add_argument("--at-20", metavar="VALUE", help='what 20 mA stands for, "120 L/min" or "250 bar"')
    how.add_argument("--channel", choices=CHANNELS, help='what a current measures (default "grout in")')
    how.add_argument("--gallons", choices=("US", "imperial"), help="which ones, where a meter only says gal")
    bus = parser.add_argument_group("Modbus", "RTU on a port or socket://address:number, Modbus over TCP on tcp://")
    bus.add_argument("--address", type=_address, metavar="N", help="register, counted from 0: a manual's 40001 is 0")
    bus.add_argument("--unit-id", type=_unit_id, default=1, metavar="N", help="of the device (default 1)")
    bus.add_argument("--bank", choices=("holding", "input"), default="holding",
                     help="function 3 or 4: a manual's 4xxxx or 3xxxx (default holding)")  # fmt: skip
    bus.add_argument("--type", choices=TYPES, help="what the registers hold, where it is known")
    bus.add_argument("--order", choices=ORDERS, help="of their bytes, ABCD with the most significant first")
    bus.add_argument("--scale", type=_scale, metavar="X", help="one of what the register counts, in --units")
    bus.add_argument("--every", type=_every, metavar="SECONDS", help="how often it is asked (default 1)")
    plan = parser.add_argument_group("as a plan says")
    plan.add_argument("--plan", type=Path, metavar="PLAN.toml", help="take the port and how it is read from there")
    plan.add_argument("--instrument", metavar="NAME", help="the [[instrument]] of that name, not the meter that counts")


def port_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("port", nargs="?", metavar="PORT",
                        help="a device such as /dev/ttyUSB0 or COM3, socket://address:number or, for Modbus over TCP, "
                             "tcp://address:number; --plan may say it")  # fmt: skip
    parser.add_argument("--baud", type=_baud, help=f"bits a second (default {BAUD})")
    parser.add_argument("--bits", type=_bits, help=f"data bits, parity, stop bits (default {BITS})")


def shown_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--shown", choices=("metric", "us"), default="metric", help="units of what is printed")


def _address(text: str) -> int:
    if not text.isdecimal() or int(text) > 65_535:
        raise argparse.ArgumentTypeError(f"given {text}; a whole number from 0 to 65535 is accepted")
    return int(text)


def _unit_id(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 247:
        raise argparse.ArgumentTypeError(f"given {text}; a whole number from 1 to 247 is accepted")
    return int(text)


def _between(text: str, low: float, high: float, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not low <= value <= high:
        raise argparse.ArgumentTypeError(f"given {text}; {what} from {low:g} to {high:g} is accepted")
    return value


def _scale(text: str) -> float:
    return _between(text, 1e-9, 1e9, "a number")


def _every(text: str) -> float:
    return _between(text, 0.05, 60.0, "a number of seconds")


def _baud(text: str) -> int:
    if not text.isdecimal() or not 300 <= int(text) <= 4_000_000:
        raise argparse.ArgumentTypeError(f"given {text}; a whole number from 300 to 4000000 is accepted")
    return int(text)


def _bits(text: str) -> str:
    bits = text.upper()
    if not (len(bits) == 3 and bits[0] in "78" and bits[1] in "NEO" and bits[2] in "12"):
        raise argparse.ArgumentTypeError(f"given {text}; data bits, parity and stop bits such as 8N1, 8E1 or 7E1")
    return bits
