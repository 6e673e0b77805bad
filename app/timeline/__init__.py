"""The timeline: lanes of one take under each other, all showing the same stretch of time."""
