"""Barwright's library: from a free-time take to a tempo map. It knows nothing of windows."""
