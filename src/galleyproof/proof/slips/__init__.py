"""Slips: every wiring mistake the study knows, one small module per kind."""
