"""Checks against published values and other programs."""
