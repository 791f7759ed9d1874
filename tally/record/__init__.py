"""The notebook: the append-only session file, its lock and its raw meter log."""
