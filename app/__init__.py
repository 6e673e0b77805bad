"""The app: the command line, and the window over it."""
