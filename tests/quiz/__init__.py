"""Tests: quiz."""
