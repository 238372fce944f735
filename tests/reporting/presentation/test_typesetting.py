"""What the compiler of papers makes of sources that are wrong, and of text that it cannot show."""

import pytest
import typst

from reporting.presentation import typesetting
from reporting.presentation.typesetting import UnsettableTextError, typeset

TITLED = b'#set document(title: "Record")\n#set text(lang: "en")\n'


class PanicException(BaseException):
    """Called as the compiler calls its own, which is no Exception."""


class Failing:
    """A compiler that fails in one way, or makes something that is no paper."""

    def __init__(self, error=None, made=None):
        self.error, self.made = error, made

    def __call__(self, *args, **kwargs):
        return self

    def compile(self, **kwargs):
        if self.error:
            raise self.error
        return self.made


def set_by(monkeypatch, compiler, tmp_path):
    monkeypatch.setattr(typesetting.typst, "Compiler", compiler)
    return typeset(b"", folder=tmp_path)


def test_a_source_becomes_a_paper(tmp_path):
    assert typeset(TITLED + b"Yard 7", folder=tmp_path).startswith(b"%PDF-")


def test_a_source_takes_its_data_from_what_it_is_given(tmp_path):
    source = TITLED + b'#assert.eq(sys.inputs.at("name"), "Yard 7")'

    assert typeset(source, folder=tmp_path, inputs={"name": "Yard 7"})
    with pytest.raises(typst.TypstError):
        typeset(source, folder=tmp_path, inputs={"name": "Yard 8"})


@pytest.mark.parametrize(
    "source", [b"#let", b"#unknown", b'#read("../outside.txt")', b'#read("missing.txt")']
)
def test_a_source_that_is_wrong_is_our_fault_and_no_fault_of_its_text(tmp_path, source):
    with pytest.raises(typst.TypstError):
        typeset(TITLED + source, folder=tmp_path)


def test_a_character_without_a_glyph_is_refused_as_text(tmp_path):
    with pytest.raises(UnsettableTextError):
        typeset(TITLED + "Yard \U0001f9f1".encode(), folder=tmp_path)


def test_a_panic_of_the_compiler_ends_no_process(monkeypatch, tmp_path):
    with pytest.raises(UnsettableTextError, match="shaping") as refusal:
        set_by(monkeypatch, Failing(PanicException("shaping")), tmp_path)

    assert isinstance(refusal.value.__cause__, PanicException)


@pytest.mark.parametrize("error", [KeyboardInterrupt, SystemExit, MemoryError])
def test_what_ends_the_process_on_purpose_is_let_through(monkeypatch, tmp_path, error):
    with pytest.raises(error):
        set_by(monkeypatch, Failing(error()), tmp_path)


@pytest.mark.parametrize("made", [None, [b"page 1", b"page 2"], "text"])
def test_what_is_no_pdf_is_never_handed_out(monkeypatch, tmp_path, made):
    with pytest.raises(TypeError, match="PDF as bytes"):
        set_by(monkeypatch, Failing(made=made), tmp_path)
