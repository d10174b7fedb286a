"""Tests of engine/paper."""
