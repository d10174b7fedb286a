"""Answers that are played: what is plugged in, and a take as it comes."""
