"""Settings become objects here: the room that names drivers, opens files and reads the clock."""
