"""How far an import is."""

from core.calc.choices import TextChoice


class ImportStep(TextChoice):
    """What was asked of an import last. Of those at work its job says whether it waits, runs or is done."""

    MATCHING = "matching", "Columns to be matched"
    CHECKING = "checking", "Looked through"
    STORING = "storing", "Stored"
    STORED = "stored", "Taken in"
