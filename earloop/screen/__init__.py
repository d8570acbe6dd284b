"""The screen: Textual widgets over one Session. The tree of modules mirrors what is on the screen."""

import os

# Textual draws at most so many frames a second; it reads this when it is first imported, which is in this room. The
# second frame of an answer would else wait for up to a sixtieth. Nothing is drawn where nothing has changed.
os.environ.setdefault("TEXTUAL_FPS", "120")
