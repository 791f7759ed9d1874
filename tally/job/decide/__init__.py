"""Operator's intent -> events to record, or a refusal that says why. Pure: nothing is recorded here."""
