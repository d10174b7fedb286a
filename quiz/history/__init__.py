"""The history: answers on disk, and everything that keeps them there."""
