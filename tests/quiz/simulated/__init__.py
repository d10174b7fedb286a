"""Tests: quiz.learners (simulated learners)."""
