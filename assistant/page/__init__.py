"""The page on the wall: what is being said, large, to be read from across the bench and never touched."""
