"""The running session: one thread that decides, saves, applies and publishes."""
