"""Column types of the records: moments that are always UTC, and plain JSON data."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Dialect, TypeDecorator
from sqlalchemy.dialects.postgresql import JSONB


class UtcDateTime(TypeDecorator[datetime]):
    """A moment in UTC.

    SQLite has no time zones and gives naive moments back; here a moment goes in with its zone, is stored as
    UTC and comes out with UTC. A moment without a zone is a bug of the caller and is refused.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Towards the database: UTC, without its zone where the database keeps none."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone cannot be stored")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """From the database: always with UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


# PostgreSQL keeps JSON so that it can be asked; SQLite keeps it as text. NaN is in neither: see `engine`.
PlainJson = JSON().with_variant(JSONB(), "postgresql")
