"""What holds for every test: how long one takes says nothing of whether it holds."""

import os

from hypothesis import settings

settings.register_profile("tally", deadline=None)
settings.load_profile("tally")


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are cores: many tests wait for ports and for programs of their own."""
    return (os.cpu_count() or 1) + 1
