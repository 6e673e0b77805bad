"""The parts of the page that hands a take over to a sequencer."""
