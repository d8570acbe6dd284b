"""The stand: the screen with the phrase on it, from heading to hints."""
