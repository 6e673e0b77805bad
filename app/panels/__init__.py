"""The parts of the side panel."""
