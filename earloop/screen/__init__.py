"""The screen: Textual widgets over one Session. The tree of modules mirrors what is on the screen."""
