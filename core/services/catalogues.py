"""Catalogues of texts: read out of the sources, brought up to date, compiled.

Each app has its own at `<app>/locale/<language>/LC_MESSAGES/django.po`, for its code and for the templates of pages;
what the scripts of pages say stands in `core`, as `djangojs.po`. Babel reads and writes them, so that no system package
is needed; only the reading of Django's templates is ours, by Django's own lexer.
"""

import ast
import io
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.template.base import Lexer, Token, TokenType

from core.calc.languages import Language
from core.calc.translation import SOURCE_LANGUAGE

Found = tuple[int, str, Any, list[str]]  # as Babel wants it: line, function, texts, comments
KEYWORDS: dict[str, Any] = {
    **dict.fromkeys(("_", "_lazy", "gettext", "gettext_lazy", "gettext_noop")),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), (1, 2)),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), ((1, "c"), 2)),
}
TEMPLATE_APPS = {  # folders of templates whose pages are another app's
    "account": "accounts",
    "allauth": "accounts",
    "mfa": "accounts",
    "usersessions": "accounts",
}
BESIDE = {
    "core": ("config",),
    "maintenance": ("clogging",),
}  # folders that are no app, whose texts stand with one
CHOICES = {"TextChoice", "NumberChoice"}
COMMENTS = ("Translators:",)
# CLDR counts a third form for whole millions ("un million de"), which nothing here is counted in.
TWO_FORMS = {"fr": "nplurals=2; plural=(n > 1);"}
LANGUAGES = tuple(language.value for language in Language if language.value != SOURCE_LANGUAGE)
_CONSTANT = r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')"""
_TRANSLATE = re.compile(rf"(?:translate|trans)\s+{_CONSTANT}(?:.*\bcontext\s+{_CONSTANT})?")
_WITHIN = re.compile(rf"_\({_CONSTANT}\)")
_CONTEXT = re.compile(rf"\bcontext\s+{_CONSTANT}")


def catalogue_path(root: Path, app: str, language: str, domain: str = "django") -> Path:
    """Where the texts of an app lie in a language."""
    return root / app / "locale" / language / "LC_MESSAGES" / f"{domain}.po"


def texts_of(root: Path, app: str) -> Catalog:
    """Every text that the code and templates of an app show to people."""
    found = Catalog(project="Rainthrough", charset="utf-8")
    folders = (app, *BESIDE.get(app, ()))
    for path in (path for folder in folders for path in sorted((root / folder).rglob("*.py"))):
        if "migrations" not in path.parts:
            _add(found, path.relative_to(root), _python(path.read_text()))
    for path in _templates(root, app):
        _add(found, path.relative_to(root), _template(path.read_text()))
    return found


def texts_of_scripts(root: Path) -> Catalog:
    """Every text that the scripts of pages show."""
    found = Catalog(project="Rainthrough", charset="utf-8")
    for path in sorted((root / "static" / "js").rglob("*.js")):
        _add(
            found,
            path.relative_to(root),
            extract("javascript", io.BytesIO(path.read_bytes()), KEYWORDS, COMMENTS),
        )
    return found


def _templates(root: Path, app: str) -> list[Path]:
    base = root / "templates"
    paths = [path for path in sorted(base.rglob("*")) if path.suffix in (".html", ".txt")]
    return [path for path in paths if _app_of(path.relative_to(base)) == app]


def _app_of(path: Path) -> str:
    folder = path.parts[0] if len(path.parts) > 1 else "parts"
    return "core" if folder == "parts" else TEMPLATE_APPS.get(folder, folder)


def _add(catalogue: Catalog, path: Path, found: Iterable[Any]) -> None:
    for _line, texts, comments, context in found:
        if texts if isinstance(texts, str) else texts[0]:
            catalogue.add(texts, locations=[(path.as_posix(), 0)], auto_comments=comments, context=context)


def _python(source: str) -> Iterator[Any]:
    """Marked texts, nouns that are counted, and the labels of choices."""
    yield from extract("python", io.BytesIO(source.encode()), KEYWORDS, COMMENTS)
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            yield from _counted(node)
        elif isinstance(node, ast.JoinedStr):
            yield from _within(node)
        elif isinstance(node, ast.ClassDef) and CHOICES & {ast.unparse(base) for base in node.bases}:
            yield from ((line.lineno, label, [], None) for line in node.body for label in _labels(line))


def _within(said: ast.JoinedStr) -> Iterator[Any]:
    """Texts looked up within an f-string, which is one word to Babel before Python 3.12."""
    for node in ast.walk(said):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in KEYWORDS and node.args:
            text = node.args[0]
            if isinstance(text, ast.Constant) and isinstance(text.value, str):
                yield node.lineno, text.value, [], None


def _counted(call: ast.Call) -> Iterator[Any]:
    """Noun and plural of `counted(number, "noun")`."""
    if ast.unparse(call.func).split(".")[-1] == "counted":
        for noun in call.args[1:2]:
            if isinstance(noun, ast.Constant) and isinstance(noun.value, str):
                yield call.lineno, (f"{{count}} {noun.value}", f"{{count}} {noun.value}s"), [], None


def _labels(line: ast.stmt) -> Iterator[str]:
    """The label of a member of a list of choices: what follows its stored value."""
    if isinstance(line, ast.Assign) and isinstance(line.value, ast.Tuple):
        for said in line.value.elts[1:2]:
            if isinstance(said, ast.Constant) and isinstance(said.value, str):
                yield said.value


def _template(source: str) -> Iterator[Any]:
    """Texts of `translate` and `blocktranslate`, and those marked within other tags by `_("...")`."""
    tokens = iter(Lexer(source).tokenize())
    for token in tokens:
        if token.token_type is TokenType.BLOCK and token.contents.startswith(
            ("blocktranslate", "blocktrans")
        ):
            yield _block(token, tokens)
            continue
        if token.token_type not in (TokenType.BLOCK, TokenType.VAR):
            continue
        for constant in _WITHIN.findall(token.contents):
            yield token.lineno, _plain(constant), [], None
        if found := _TRANSLATE.match(token.contents):
            yield token.lineno, _plain(found[1]), [], _plain(found[2]) if found[2] else None


def _block(opening: Token, tokens: Iterator[Token]) -> Any:
    parts: list[list[str]] = [[]]
    for token in tokens:
        if token.token_type is TokenType.BLOCK and token.contents.startswith("endblocktrans"):
            break
        if token.token_type is TokenType.BLOCK and token.contents == "plural":
            parts.append([])
        elif token.token_type is TokenType.VAR:
            parts[-1].append(f"%({token.contents.split('|')[0]})s")
        else:
            parts[-1].append(token.contents.replace("%", "%%"))
    texts = ["".join(part) for part in parts]
    if "trimmed" in opening.contents.split():
        texts = [" ".join(line.strip() for line in text.strip().splitlines()) for text in texts]
    context = _CONTEXT.search(opening.contents)
    said = texts[0] if len(texts) == 1 else tuple(texts)
    return opening.lineno, said, [], _plain(context[1]) if context else None


def _plain(constant: str) -> str:
    """The text of a constant of a template: its quotes off, and what they made necessary."""
    return constant[1:-1].replace("\\" + constant[0], constant[0])


def read(path: Path, language: str) -> Catalog:
    """A catalogue as it is stored; an empty one where there is none yet."""
    if not path.exists():
        return _empty(language)
    with path.open("rb") as file:
        return read_po(file, locale=language)


def _empty(language: str) -> Catalog:
    catalogue = Catalog(locale=language, project="Rainthrough", charset="utf-8", fuzzy=False)
    catalogue.header_comment = "# What Rainthrough says, in the language of this folder."
    if language in TWO_FORMS:
        catalogue.mime_headers = [("Plural-Forms", TWO_FORMS[language])]
    return catalogue


def bring_up_to_date(path: Path, language: str, found: Catalog) -> Catalog:
    """Take new texts into a catalogue and those no longer said out of it; what is translated stays."""
    stored = read(path, language)
    stored.update(found, no_fuzzy_matching=True, update_creation_date=False)
    stored.obsolete.clear()
    if not len(stored):
        return stored
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        write_po(file, stored, width=110, omit_header=False, sort_output=True, include_lineno=False)
    compile_beside(path, stored)
    return stored


def bring_up_to_date_all(root: Path, apps: Iterable[str]) -> Iterator[str]:
    """Bring the catalogues of some apps up to date, and say of each how many texts it has and how many are open."""
    for language in LANGUAGES:
        for app in apps:
            domains = {"django": texts_of(root, app)}
            if app == "core":
                domains["djangojs"] = texts_of_scripts(root)
            for domain, found in domains.items():
                path = catalogue_path(root, app, language, domain)
                stored = bring_up_to_date(path, language, found)
                yield f"{path.relative_to(root)}: {len(stored)} texts, {len(open_texts(stored))} not translated"


def open_texts(catalogue: Catalog) -> list[Message]:
    """The texts that nobody has translated yet, or only in part of their plurals."""
    said = ((message, message.string) for message in catalogue if message.id)
    return [
        message
        for message, string in said
        if not (all(string) if isinstance(string, (tuple, list)) else string)
    ]


def compile_beside(path: Path, catalogue: Catalog) -> None:
    """Write what the server reads, beside the texts that people edit."""
    with path.with_suffix(".mo").open("wb") as file:
        write_mo(file, catalogue)
