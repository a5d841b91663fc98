"""An invented valley for demonstrations and tests: no real place, person or price."""
