"""Tests of quiz/progress."""
