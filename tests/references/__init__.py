"""Reference solutions of whole lines, written from the equations; see :mod:`.regenerate`."""
