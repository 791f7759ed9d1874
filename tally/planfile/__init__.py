"""The plan file: a person writes TOML in any unit, the job is read from it in SI."""
