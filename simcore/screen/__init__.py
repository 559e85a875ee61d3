"""What a run says on a terminal: lines of styled words, built from a result set alone."""
