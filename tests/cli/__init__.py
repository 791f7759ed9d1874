"""The commands that are more than wiring, as a shell starts them."""
