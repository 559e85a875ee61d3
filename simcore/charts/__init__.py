"""Charts of a result set: numbers in ``*_data`` modules, drawing beside them, looks in one style file."""
