"""Tests of the engine, one module each."""
