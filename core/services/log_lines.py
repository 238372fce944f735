"""Lines of the log, plain for people or JSON for programs, without the secrets of addresses and of tokens."""

import logging
import re
from typing import Any

import structlog
from structlog.typing import EventDict, Processor, WrappedLogger

# Tokens of programs come in a field that is not logged; one that was sent in an address by mistake would be.
SECRET_ADDRESS = re.compile(r"(/(?:join|calendar|shared|told/stop)/|\brain_)[\w-]{20,}")

# What every line carries, whoever wrote it: a library by the standard logger, or what follows requests and tasks.
_SHARED: tuple[Processor, ...] = (
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.stdlib.add_logger_name,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
)


class MaskedLine(structlog.stdlib.ProcessorFormatter):
    """A formatter that leaves a secret recognisable as one, and unusable. as_json: one object a line."""

    def __init__(self, as_json: bool = False) -> None:
        made = (
            (structlog.processors.format_exc_info, structlog.processors.JSONRenderer())
            if as_json
            else (structlog.processors.format_exc_info, _plain)
        )
        super().__init__(
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, *made],
            foreign_pre_chain=_SHARED,
        )

    def format(self, record: logging.LogRecord) -> str:
        """The line, its traceback too."""
        return SECRET_ADDRESS.sub(r"\1(secret)", super().format(record))


def _plain(logger: WrappedLogger, method: str, event: EventDict) -> str:
    """Time (UTC), level and who says what; then the fields, and a traceback on lines of its own."""
    head = "{timestamp} {level} {logger}: {event}".format(
        timestamp=event.pop("timestamp"),
        level=event.pop("level").upper(),
        logger=event.pop("logger", ""),
        event=event.pop("event"),
    )
    traceback = event.pop("exception", "")
    fields = " ".join(f"{name}={_in_one_word(value)}" for name, value in sorted(event.items()))
    return head + (f" [{fields}]" if fields else "") + (f"\n{traceback}" if traceback else "")


def _in_one_word(value: Any) -> str:
    text = str(value)
    return repr(text) if re.search(r"[\s\"'\]=]", text) or not text else text


def hand_to_standard_log() -> None:
    """Have what is written with fields go the way of every other line: its level, its handler, its formatter."""
    structlog.configure(
        processors=[
            structlog.stdlib.filter_by_level,
            *_SHARED,
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=True,
    )
