"""The tests of lastbar."""
