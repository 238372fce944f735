"""Lines of the log, without the secrets of addresses that are a permission by themselves."""

import logging
import re

SECRET_ADDRESS = re.compile(r"(/(?:join|calendar|shared)/)[\w-]{20,}")


class MaskedLine(logging.Formatter):
    """A formatter that leaves a secret address recognisable as one, and unusable."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, its traceback too."""
        return SECRET_ADDRESS.sub(r"\1(secret)", super().format(record))
