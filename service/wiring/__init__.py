"""Settings become objects here: the only room that names drivers, opens files and reads the clock."""
