"""The job: what was planned, what has happened, what it means. Pure."""
