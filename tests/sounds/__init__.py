"""Tests: sounds."""
