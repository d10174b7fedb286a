"""Lines on paper: bars of written notes, as tablature text and as MusicXML."""
