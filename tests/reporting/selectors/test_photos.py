"""Photos in a document: which may still be shown, and their small pictures."""

from core.services.files import void_file
from reporting.selectors.photos import mark_set_aside, thumbnails
from tests.factories import AttachmentFactory


def words_with(*rows):
    files = [{"key": str(row.pk), "is_photo": True, "is_active": True, "what": "joint"} for row in rows]
    return {"title": "x", "stages": [{"checks": [{"files": files}]}]}


def files_of(words):
    return words["stages"][0]["checks"][0]["files"]


def test_a_photo_that_was_set_aside_since_is_marked_and_has_no_picture(firm):
    kept, gone = AttachmentFactory.create_batch(2, surface=firm.surface)
    void_file(row=gone, by=firm.admin, reason="A face.")
    words = words_with(kept, gone)

    assert [file["is_active"] for file in files_of(mark_set_aside(words))] == [True, False]
    assert list(thumbnails(words)) == [str(kept.pk)]
    assert [file["is_active"] for file in files_of(words)] == [True, True]  # what was kept is not changed


def test_a_document_without_photos_asks_nothing_of_the_database(db, django_assert_num_queries):
    words = words_with()

    with django_assert_num_queries(0):
        assert mark_set_aside(words) is words


def test_a_picture_missing_on_the_disk_is_left_out_and_logged(firm, caplog):
    row = AttachmentFactory(surface=firm.surface)
    row.thumbnail.delete(save=False)
    type(row).objects.filter(pk=row.pk).update(thumbnail="sent/xx/gone")

    assert thumbnails(words_with(row)) == {}
    assert "missing on the disk" in caplog.text
