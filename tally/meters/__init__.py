"""The instruments: bytes from a port to readings in SI."""
