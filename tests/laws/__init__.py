"""Tests: laws."""
