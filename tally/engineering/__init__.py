"""The handbook: pure formulas on SI floats, each with its units, range and source."""
