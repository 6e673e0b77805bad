"""Single notes of a MIDI take are put right: removed, moved, struck harder or softer."""
