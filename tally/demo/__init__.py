"""The demonstration: an invented job, a simulated meter and a crew that enters it by itself."""
