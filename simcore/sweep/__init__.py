"""Sweeps: many cases of one scenario, and the decision they allow."""
