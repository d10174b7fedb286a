"""The neck: which notes lie where, what is drawn, lit and said."""
