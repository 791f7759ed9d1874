"""What screens and report draw: one view-model, computed from plan and state."""
