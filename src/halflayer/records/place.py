"""Where the records live: the data folder and the database URL, by environment or by default."""

from __future__ import annotations

import os
import re
from pathlib import Path

DATABASE_VARIABLE = "HALFLAYER_DB"
HOME_VARIABLE = "HALFLAYER_HOME"
FILE_NAME = "halflayer.sqlite"


def home() -> Path:
    """The data folder: `HALFLAYER_HOME`, or the user's data folder of this system. Not made here."""
    given = os.environ.get(HOME_VARIABLE, "").strip()
    if given:
        return Path(given).expanduser().absolute()
    from platformdirs import user_data_path

    return user_data_path("halflayer", appauthor=False)


def database_url() -> str:
    """The database: `HALFLAYER_DB` (a SQLAlchemy URL), or a SQLite file in the data folder."""
    given = os.environ.get(DATABASE_VARIABLE, "").strip()
    return given or f"sqlite:///{home() / FILE_NAME}"


def shown(url: str) -> str:
    """The URL as it may be printed: without the password."""
    return re.sub(r"(://[^:/@]*):[^@]*@", r"\1:***@", url)
