"""Tests: quiz.learners."""
