"""THE OFFICE: many sessions at once, listed, and as tables for an engine that asks questions of years of jobs."""
