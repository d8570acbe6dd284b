"""The map of the whole piece: its course in one width, and its phrases to go to."""
