"""Tables that ship with the program: pipe dimensions and local rule files."""
