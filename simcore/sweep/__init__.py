"""Sweeps: plan of cases, one case, storage, statistics and decision."""
