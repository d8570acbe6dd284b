"""Two readings of one score on the screen: both pictures, the list of differences, one and then the other heard."""
