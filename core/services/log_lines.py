"""Lines of the log, without the secrets of addresses and of tokens that are a permission by themselves."""

import logging
import re

# Tokens of programs come in a field that is not logged; one that was sent in an address by mistake would be.
SECRET_ADDRESS = re.compile(r"(/(?:join|calendar|shared)/|\brain_)[\w-]{20,}")


class MaskedLine(logging.Formatter):
    """A formatter that leaves a secret address or token recognisable as one, and unusable."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, its traceback too."""
        return SECRET_ADDRESS.sub(r"\1(secret)", super().format(record))
