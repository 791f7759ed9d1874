"""What holds for every test: how long one takes says nothing of whether it holds."""

from hypothesis import settings

settings.register_profile("tally", deadline=None)
settings.load_profile("tally")
