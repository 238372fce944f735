"""Typed access to columns of JSON."""

from typing import TYPE_CHECKING, Any, Generic, Self, TypeVar, overload

from core.calc.payload import Payload

P = TypeVar("P", bound=Payload)


class StoredPayload(property, Generic[P]):
    """What a column of JSON holds, as its dataclass: `outlook = StoredPayload(ForecastOutlook, "outlook_json")`.

    Reads None where nothing is stored or an edition wrote it that cannot be read; the column keeps what it has, so
    saving the row for another reason loses nothing. Django takes it in a model's constructor like a field.
    """

    def __init__(self, payload: type[P], column: str) -> None:
        self.payload, self.column = payload, column
        super().__init__(self._read_once, self._write, doc=payload.__doc__)

    def _read_once(self, row: Any) -> P | None:
        """A page asks for the same payload at many places, and reading one checks every value in it."""
        stored, key = getattr(row, self.column), f"_{self.column}_read"
        kept = row.__dict__.get(key)
        if kept is None or kept[0] is not stored:
            kept = row.__dict__[key] = (stored, self._read(row))
        return kept[1]  # type: ignore[no-any-return]

    def _read(self, row: Any) -> P | None:
        return self.payload.read(getattr(row, self.column))

    def _write(self, row: Any, value: P | None) -> None:
        setattr(row, self.column, None if value is None else value.to_json())

    if TYPE_CHECKING:

        @overload  # type: ignore[override]
        def __get__(self, row: None, owner: type) -> Self: ...
        @overload
        def __get__(self, row: object, owner: type) -> P | None: ...
        def __get__(self, row: Any, owner: Any = None) -> Any: ...
        def __set__(self, row: Any, value: P | None) -> None: ...


class StoredFact(StoredPayload[P]):
    """The same of something recorded, which nobody can make anew: `readings = StoredFact(FieldReadings, ...)`.

    Where it cannot be read it raises UnreadablePayloadError, and the page that needs it says so: a page without it
    would look as if nothing had been recorded.
    """

    def _read(self, row: Any) -> P:
        return self.payload.from_json(getattr(row, self.column))

    if TYPE_CHECKING:

        @overload  # type: ignore[override]
        def __get__(self, row: None, owner: type) -> Self: ...
        @overload
        def __get__(self, row: object, owner: type) -> P: ...
        def __get__(self, row: Any, owner: Any = None) -> Any: ...
