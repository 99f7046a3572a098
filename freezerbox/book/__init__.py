"""The one file a household keeps, and the only door to SQLite."""
