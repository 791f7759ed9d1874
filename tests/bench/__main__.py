"""Speed as ratios, each against a baseline measured in the same run: `python -m tests.bench [NAME ...]`.

A ratio says something on any machine; seconds do not. Nothing here is a test, and no test asserts on time.
"""

import argparse

from tests.bench import handbook, meters, notebook, replay, screens, start
from tests.bench.row import Bench, Row, Size

BENCHES: dict[str, Bench] = {
    **notebook.BENCHES,
    **handbook.BENCHES,
    **start.BENCHES,
    **screens.BENCHES,
    **replay.BENCHES,
    **meters.BENCHES,
}
LONG: dict[str, Bench] = screens.LONG | meters.LONG


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument(
        "names",
        nargs="*",
        metavar="NAME",
        help=f"of {', '.join(BENCHES)}; without one, all of these; {', '.join(LONG)} when named",
    )
    options = parser.parse_args()
    print(f"{'what':<58} {'ours':>10} {'baseline':>10} {'ratio':>7} {'wanted':>7}")
    for name in options.names or BENCHES:
        for row in (BENCHES | LONG)[name]():
            print(told(row), flush=True)


def told(row: Row | Size) -> str:
    if isinstance(row, Size):
        more_mb = row.ours_mb - row.baseline_mb
        return f"{row.what:<58} {row.ours_mb:>7.1f} MB {row.baseline_mb:>7.1f} MB {more_mb:>+7.1f} {row.most_mb:>+7g}"
    wanted = f"{row.most:>7g}" if row.most is not None else f"{'–':>7}"
    return f"{row.what:<58} {seconds(row.ours_s):>10} {seconds(row.baseline_s):>10} {row.ratio:>7.3g} {wanted}"


def seconds(value_s: float) -> str:
    for factor, unit in ((1.0, "s"), (1e3, "ms"), (1e6, "us")):
        if value_s * factor >= 1:
            return f"{value_s * factor:.2f} {unit}"
    return f"{value_s * 1e9:.0f} ns"


if __name__ == "__main__":
    main()
