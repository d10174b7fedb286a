"""The music: theory, devices, lines, a band, and its sound. No screen, no store, no clock."""
