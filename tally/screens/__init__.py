"""The doghouse: the Textual screens."""
