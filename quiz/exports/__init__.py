"""What leaves as files: on paper, as pictures, as sound, as MIDI."""
