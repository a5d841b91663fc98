"""The records kept in a database through SQLAlchemy Core, and in memory for tests."""

from service.storage.database import DATABASE_FAULTS, Database, DatabaseUnavailable
from service.storage.memory import MemoryStore
from service.storage.migrate import SchemaMismatch

__all__ = ["DATABASE_FAULTS", "Database", "DatabaseUnavailable", "MemoryStore", "SchemaMismatch"]
