"""How messages reach and leave us: HTTP and the recorded one for tests."""
