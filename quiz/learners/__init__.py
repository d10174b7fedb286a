"""Simulated learners: what the schedule is measured on, and who plays in the demonstration.

None of them shares a formula with the scheduling library. They are no people: real players may
differ.
"""
