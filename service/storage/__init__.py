"""The records kept in a database through SQLAlchemy Core, and in memory for tests."""
